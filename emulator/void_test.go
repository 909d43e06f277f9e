package emulator

import (
	"math"
	"strings"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/geo"
)

const outage = `start: 2026-06-01T12:00:00Z
duration: 9 s
seed: 7
installation:
  points: {sensor: [0 m, 0 m, 0 m], antenna-primary: [1 m, 2 m, 3 m]}
track:
  position: {latitude: -29.418273 deg, longitude: 33.756128 deg, height: 27.63 m}
  heading: 122.7 deg
  course: 126.4 deg
  speed: 9.3 kn
geoid: {undulation: 26.85 m}
gnss: {fix: rtk-fixed, times: {hot: 0.5 s, fixed: 0 s}, conditions: [{condition: blocked, from: 2.9 s, until: 4.9 s}, {condition: receiver-restart, from: 7 s, until: 8 s}]}
device: {without-fix: WORD}
streams:
  - {format: nmea0183, line: {baud: 57600}, messages: [{type: GGA, rate: 1 Hz}]}
`

func withoutFix(t *testing.T, word, gnss string) *Device {
	t.Helper()
	text := strings.Replace(outage, "WORD", word, 1)
	if gnss != "" {
		from := strings.Index(text, "gnss:")
		text = text[:from] + gnss + text[from+strings.Index(text[from:], "\n"):]
	}
	sc, err := scenarios.Parse("outage.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	d, err := New(sc)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// What stands in position fields without a fix is what the scenario says, and is never among what the device believes.
func TestVoidPosition(t *testing.T) {
	for _, word := range []string{"blank", "last", "carried-on", "zero"} {
		d := withoutFix(t, word, "")
		before := d.Reading(2.899)
		last, ok := before.Position.Value()
		if !ok || before.Void.Has() {
			t.Fatalf("%s: before the outage %+v", word, before)
		}
		for _, at := range []float64{2.9, 3.5, 5.3} {
			r := d.Reading(at)
			void, has := r.Void.Value()
			if r.Fix != wire.FixNone || r.Position.Has() || has != (word != "blank") {
				t.Errorf("%s at %g s: fix %v, position %v, void %v", word, at, r.Fix, r.Position, r.Void)
				continue
			}
			away, azimuth, _ := geo.Inverse(last, void)
			switch word {
			case "last":
				if void != last {
					t.Errorf("last at %g s: %v, want %v", at, void, last)
				}
			case "carried-on": // 9.3 kn toward 126.4°, worked by hand; a knot is 1852 m an hour
				if want := 9.3 * 1852 / 3600 * (at - 2.9); math.Abs(away-want) > 1e-3 || want > 1 && math.Abs(azimuth*180/math.Pi-126.4) > 0.01 {
					t.Errorf("carried-on at %g s: %g m toward %g°, want %g m", at, away, azimuth*180/math.Pi, want)
				}
			case "zero":
				if void.Lat != 0 || void.Lon != 0 || void.Height != 26.85 {
					t.Errorf("zero at %g s: %v", at, void)
				}
			}
		}
		if r := d.Reading(6.2); !r.Position.Has() || r.Void.Has() {
			t.Errorf("%s: after the outage %v, void %v", word, r.Position, r.Void)
		}
		if r := d.Reading(7.5); r.Void.Has() {
			t.Errorf("%s: a receiver that is down says %v", word, r.Void)
		}
	}
	for _, word := range []string{"last", "carried-on"} { // there has never been one
		if r := withoutFix(t, word, "gnss: {fix: none}").Reading(3); r.Void.Has() || r.Position.Has() {
			t.Errorf("%s without a fix ever: %v", word, r.Void)
		}
	}
	_, err := scenarios.Parse("outage.yaml", []byte(strings.Replace(outage, "WORD", "lst", 1)))
	if want := "outage.yaml:13:23: without-fix is lst; did you mean last?"; err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("%v, want %s", err, want)
	}
}
