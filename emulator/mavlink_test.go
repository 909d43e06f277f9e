package emulator_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mavlink"
	"swellbench/emulator/wire/mixed"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

const mavlinkStream = `streams:
  - format: mavlink
    mavlink: {version: VERSION, system: 42, component: 220}
    line: {baud: 460800}
    messages:
      - {type: HEARTBEAT, rate: 1 Hz}
      - {type: SYSTEM_TIME, rate: 1 Hz}
      - {type: GPS_RAW_INT, rate: 5 Hz}
      - {type: GPS2_RAW, rate: 5 Hz}
      - {type: ATTITUDE, rate: 50 Hz}
      - {type: ATTITUDE_QUATERNION, rate: 50 Hz}
      - {type: GLOBAL_POSITION_INT, rate: 10 Hz}
      - {type: LOCAL_POSITION_NED, rate: 10 Hz}
      - {type: HIGHRES_IMU, rate: 50 Hz}
      - {type: SCALED_IMU, rate: 50 Hz}
`

func mavlinkScenario(version string) string {
	before, _, _ := strings.Cut(head, "streams:")
	return strings.Replace(before, "duration: 10 s", "duration: 60 s", 1) + strings.Replace(mavlinkStream, "VERSION", version, 1) +
		"gnss: {errors: {}, conditions: [{condition: blocked, from: 20 s, until: 30 s}]}\n" +
		"device: {start-up: {alignment: 5 s}}\n" + points
}

// What a stream sends is read as what the device reports, without a gap in the numbers; nothing that cannot be said is
// sent: no attitude while it aligns, no position without GNSS.
func TestMAVLinkStream(t *testing.T) {
	for _, version := range []string{"1", "2"} {
		d := device(t, mavlinkScenario(version))
		var stream bytes.Buffer
		var sent []line.Sent
		if err := emulator.Render(d, 0, &stream, func(s line.Sent) { sent = append(sent, s) }); err != nil {
			t.Fatal(err)
		}
		s := mixed.New(mavlink.Family)
		s.Push(stream.Bytes())
		s.Flush()
		n := 0
		count := map[string]int{}
		for e, ok := s.Next(); ok; e, ok = s.Next() {
			if e.Kind != mixed.Message {
				t.Fatalf("%v at %d: %s", e.Kind, e.Offset, e.Why)
			}
			want := d.Reading(sent[n].Valid)
			got := wire.Reading{Origin: want.Origin}
			kind, _, err := mavlink.Read(e.Bytes, &got)
			if err != nil || kind != sent[n].Kind {
				t.Fatalf("message %d is %s, %v; sent as %s", n, kind, err, sent[n].Kind)
			}
			if h, _, err := mavlink.Parse(e.Bytes); err != nil || h.Sequence != uint8(n) || h.System != 42 || h.Component != 220 {
				t.Fatalf("message %d: %+v %v", n, h, err)
			}
			count[kind]++
			n++
			sameReading(t, kind, sent[n-1].Valid, &want, &got)
		}
		if n != len(sent) {
			t.Errorf("version %s: %d of %d messages", version, n, len(sent))
		}
		for kind, want := range map[string]int{"HEARTBEAT": 60, "SYSTEM_TIME": 60, "GPS_RAW_INT": 300, "GPS2_RAW": 300, "ATTITUDE": 55 * 50, "ATTITUDE_QUATERNION": 55 * 50,
			"GLOBAL_POSITION_INT": 500, "LOCAL_POSITION_NED": 500, "HIGHRES_IMU": 3000, "SCALED_IMU": 3000} {
			if got := count[kind]; got > want || got < want-30 { // the fix takes a moment to come back
				t.Errorf("version %s: %d of %s, want %d", version, got, kind, want)
			}
		}
	}
}

func sameReading(t *testing.T, kind string, at float64, want, got *wire.Reading) {
	t.Helper()
	off := func(what string, w, g opt.Opt[float64], tol float64) {
		if w.Has() != g.Has() || math.Abs(frame.WrapPi(w.Or(0)-g.Or(0))) > tol {
			t.Fatalf("%s at %g s: %s %v came as %v", kind, at, what, w, g)
		}
	}
	switch kind {
	case "ATTITUDE", "ATTITUDE_QUATERNION":
		off("roll", want.Roll, got.Roll, 3e-7)
		off("pitch", want.Pitch, got.Pitch, 3e-7)
		off("yaw", want.Yaw, got.Yaw, 3e-7)
	case "GPS_RAW_INT", "GPS2_RAW":
		if got.Fix != want.Fix || got.Position.Has() != want.Position.Has() {
			t.Fatalf("%s at %g s: %v came as %v", kind, at, want.Fix, got.Fix)
		}
		off("speed", want.SpeedMS, got.SpeedMS, 0.005001)
	case "GLOBAL_POSITION_INT":
		off("heading", want.Heading, got.Heading, 0.005001*math.Pi/180)
		off("upward speed", want.VelocityUp, got.VelocityUp, 0.005001)
	case "LOCAL_POSITION_NED":
		if d := frame.BaselineOf(geo.LocalAt(want.Position.Or(geo.Position{})).ENU(got.Position.Or(geo.Position{}))).Length; d > 1e-4 {
			t.Fatalf("%s at %g s: %g m off", kind, at, d)
		}
	case "HIGHRES_IMU", "SCALED_IMU":
		d := r3.Sub(want.SpecificForce.Or(r3.Vec{}), got.SpecificForce.Or(r3.Vec{}))
		if !got.SpecificForce.Has() || r3.Norm(d) > 0.5e-3*9.80665*math.Sqrt(3) {
			t.Fatalf("%s at %g s: specific force %v off", kind, at, d)
		}
	}
	if kind == "SYSTEM_TIME" || strings.HasPrefix(kind, "GPS") || kind == "HIGHRES_IMU" {
		w, ok := want.UTC.Value()
		if g, has := got.UTC.Value(); has != ok || w.Sub(g).Abs() > 501 {
			t.Fatalf("%s at %g s: %v came as %v", kind, at, want.UTC, got.UTC)
		}
	}
}

func TestMAVLinkProblems(t *testing.T) {
	text := strings.NewReplacer("version: 2", "version: 3", "{type: ATTITUDE, rate: 50 Hz}", "{type: ATTITUDE, rate: 50 Hz, talker: GP}").Replace(mavlinkScenario("2"))
	_, err := scenarios.Parse("test.yaml", []byte(text))
	if err == nil || !strings.Contains(err.Error(), "version is 3; allowed: 1 or 2") {
		t.Error(err)
	}
	text = strings.NewReplacer("{type: ATTITUDE, rate: 50 Hz}", "{type: ATTITUDE, rate: 50 Hz, talker: GP}", "{type: HIGHRES_IMU,", "{type: RAW_IMU,").Replace(mavlinkScenario("2"))
	sc, err := scenarios.Parse("test.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	_, err = emulator.New(sc)
	for _, want := range []string{"test.yaml:", "mavlink: ATTITUDE has the key talker; allowed: type and rate", `mavlink: type is "RAW_IMU", allowed: HEARTBEAT, SYSTEM_TIME,`} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v\nlacks %s", err, want)
		}
	}
	_, err = scenarios.Parse("test.yaml", []byte(strings.Replace(mavlinkScenario("2"), "format: mavlink", "format: nmea0183", 1)))
	if err == nil || !strings.Contains(err.Error(), "it goes with format mavlink only") {
		t.Error(err)
	}
}
