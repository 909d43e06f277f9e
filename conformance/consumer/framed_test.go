package consumer

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/layout"
	"swellbench/emulator/wire/mavlink"
	"swellbench/emulator/wire/nmea2000"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/opt"
)

// heardIn is what the consumer says of a file of some format, however it is cut into reads.
func heardIn(t testing.TB, in *installation.Installation, format, stream string, defects ...string) []observed {
	t.Helper()
	var first string
	for i, r := range []io.Reader{strings.NewReader(stream), iotest.OneByteReader(strings.NewReader(stream)), iotest.HalfReader(strings.NewReader(stream))} {
		var out bytes.Buffer
		if err := Run(t.Context(), Config{Installation: in, Format: format, Defects: defects, Layout: hullBox(t)}, r, &out); err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			first = out.String()
		}
		if out.String() != first {
			t.Errorf("in one piece\n%sin reader %d\n%s", first, i, out.String())
		}
	}
	return decodeLines(t, []byte(first))
}

func hullBox(t testing.TB) *layout.Layout {
	t.Helper()
	b, err := layout.Examples.ReadFile("examples/hull-box.yaml")
	if err != nil {
		t.Fatal(err)
	}
	l, err := layout.Parse("hull-box.yaml", b)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func framesOf(t testing.TB, version mavlink.Version, ms ...mavlink.Message) string {
	t.Helper()
	var b []byte
	for i, m := range ms {
		var err error
		if b, err = mavlink.AppendFrame(b, mavlink.Header{Version: version, Sequence: byte(i), System: 1, Component: 1}, m); err != nil {
			t.Fatal(err)
		}
	}
	return string(b)
}

// noonUsec is 2026-06-01T12:00:00Z.
const noonUsec = 1780315200_000_000

// What comes before the time since switch-on is related to UTC waits for it; the count of ms wraps; one that begins again
// waits for the next relation.
func TestTimeSinceStart(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	att := func(ms uint32, roll float32) mavlink.Message {
		return &mavlink.Attitude{TimeBootMS: ms, Roll: roll, Yaw: -1.5}
	}
	sys := func(ms uint32, usec uint64) mavlink.Message {
		return &mavlink.SystemTime{TimeBootMS: ms, TimeUnixUsec: usec}
	}
	stream := framesOf(t, mavlink.V2,
		att(math.MaxUint32-99, 0.1), sys(math.MaxUint32-99, 0), sys(math.MaxUint32-99, noonUsec), att(100, 0.2), // 0.2 s later
		att(1000, 0.3), sys(1000, noonUsec+1_100_000),
		att(1_000_000, 0.4), // half an hour later
		att(500, 0.5),       // switched off and on
		sys(600, noonUsec+3600_000_000))
	all := heardIn(t, in, "mavlink", stream)
	want := []struct {
		time string
		roll float64
	}{{"12:00:00.000", 0.1}, {"12:00:00.200", 0.2}, {"12:00:01.100", 0.3}, {"12:16:40.100", 0.4}, {"12:59:59.900", 0.5}}
	if len(all) != len(want)+1 { // the last relation comes alone
		t.Fatalf("%d observations, want %d: %v", len(all), len(want)+1, all)
	}
	for i, w := range want {
		if all[i]["time"] != "2026-06-01T"+w.time+"Z" {
			t.Errorf("observation %d is of %v, want %s", i, all[i]["time"], w.time)
		}
		all[i].near(t, "roll", w.roll*180/math.Pi, 1e-5)
		all[i].near(t, "heading", 360-1.5*180/math.Pi, 1e-5)
	}
}

// Without a relation an attitude belongs to the burst that it comes in; it is held back for a while in vain.
func TestNoRelation(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	fix := func(usec uint64, fix uint8) mavlink.Message {
		return &mavlink.GPSRawInt{TimeUsec: usec, FixType: fix, Lat: 50e7, Lon: -4e7, Alt: 10e3, AltEllipsoid: 60e3, Vel: 250, COG: 9000, EPH: 65535, EPV: 65535, SatellitesVisible: 255, Yaw: 65535}
	}
	stream := framesOf(t, mavlink.V2, fix(noonUsec, 6), &mavlink.Attitude{TimeBootMS: 7, Roll: 0.1}, fix(noonUsec+1e6, 1), &mavlink.Attitude{TimeBootMS: 1007, Roll: 0.2})
	all := heardIn(t, in, "mavlink", stream)
	if len(all) != 2 || all[0]["source"] != "GPS_RAW_INT+ATTITUDE" || all[1]["time"] != "2026-06-01T12:00:01.000Z" {
		t.Fatalf("observed %v", all)
	}
	all[0].near(t, "height", 60, 1e-9)
	all[0].near(t, "course", 90, 1e-9)
	all[0].near(t, "speed", 2.5, 1e-9)
	for _, key := range []string{"lat", "lon", "height", "speed", "course"} {
		if v, said := all[1][key]; !said || v != nil {
			t.Errorf("%s is %v without a fix, want null", key, v)
		}
	}
	if all[0]["fix"] != "rtk-fixed" || all[1]["fix"] != "none" { // common.xml: 6 is RTK fixed, 1 no fix
		t.Errorf("fix %v, %v", all[0]["fix"], all[1]["fix"])
	}
	// Version 1 has no height above the ellipsoid: nothing is said of it, and not that of the sea.
	one := heardIn(t, in, "mavlink", framesOf(t, mavlink.V1, fix(noonUsec, 3)))
	if _, said := one[0]["height"]; said || one[0]["lat"] == nil {
		t.Errorf("from version 1: %v", one[0])
	}
}

// canLines writes messages of NMEA 2000 for a reading.
func canLines(t testing.TB, r wire.Reading, o nmea2000.Options, kinds ...string) (out string) {
	t.Helper()
	for _, k := range kinds {
		e, err := nmea2000.New(k, o)
		if err != nil {
			t.Fatal(err)
		}
		b, err := e.Append(nil, &r)
		if err != nil {
			t.Fatal(err)
		}
		out += string(b)
	}
	return out
}

func canReading(k int) wire.Reading {
	at := time.Date(2026, 6, 1, 12, 0, 0, k*1e8, time.UTC)
	return wire.Reading{T: float64(k) / 10, UTC: opt.Of(at), Count: uint32(k), Fix: wire.FixRTKFloat, Position: opt.Of(geo.Position{Lat: 0.9, Lon: -0.1, Height: 30}),
		Undulation: opt.Of(47.0), Heading: opt.Of(float64(k) / 100), Pitch: opt.Of(float64(k) / 100), Roll: opt.Of(-0.1), HeaveM: opt.Of(float64(k) / 10)}
}

// In a file, where no silence tells epochs apart, sequence identifiers do: an attitude whose time was lost is not taken for
// one of the epoch before.
func TestSequenceIdentifiers(t *testing.T) {
	in := boat(installation.AntennaPrimary, map[string]r3.Vec{"antenna-secondary": {Y: 2}})
	for _, c := range []struct {
		name string
		sid  nmea2000.SID
		lone bool // what has lost its time is left out
	}{{"moments", nmea2000.SIDMoment, true}, {"none", nmea2000.SIDNone, false}} {
		o := nmea2000.Options{SID: c.sid, MomentHz: 10}
		stream := ""
		for k := range 12 {
			kinds := []string{"126992", "127250", "127257", "127252"}
			if k == 8 {
				kinds = kinds[3:]
			}
			if k == 7 {
				kinds = kinds[:3]
			}
			stream += canLines(t, canReading(k), o, kinds...)
		}
		all := heardIn(t, in, "nmea2000", stream)
		mixedUp := false
		for _, o := range all {
			h, ok := o["heave"].(float64)
			mixedUp = mixedUp || ok && math.Abs(h*10-math.Round(o.num(t, "heading")*math.Pi/180*100)) > 0.5
		}
		if mixedUp == c.lone {
			t.Errorf("%s: values of two instants together is %v, want %v: %v", c.name, mixedUp, !c.lone, all)
		}
		if n := len(all); n != 11 {
			t.Errorf("%s: %d observations, want 11", c.name, n)
		}
	}
}

// A device that counts each kind of message by itself is read as one without identifiers.
func TestSequenceCounts(t *testing.T) {
	in := boat(installation.AntennaPrimary, map[string]r3.Vec{"antenna-secondary": {Y: 2}})
	stream := ""
	for k := range 40 {
		r := canReading(k)
		if k%4 == 0 {
			slow := r
			slow.Count = uint32(k / 4)
			stream += canLines(t, slow, nmea2000.Options{SID: nmea2000.SIDCount}, "129029")
		}
		stream += canLines(t, r, nmea2000.Options{SID: nmea2000.SIDCount}, "126992", "127250", "127257")
	}
	all := heardIn(t, in, "nmea2000", stream)
	for i, o := range all {
		if want := []string{"126992+127250+127257", "129029+126992+127250+127257"}[max(0, 1-i%4)]; o["source"] != want {
			t.Errorf("observation %d is of %v, want %s", i, o["source"], want)
		}
	}
	if len(all) != 40 {
		t.Errorf("%d observations, want 40", len(all))
	}
}

// Codes for not available are null, and so is a position of which a frame is lost.
func TestNotAvailable(t *testing.T) {
	in := boat(installation.AntennaPrimary, map[string]r3.Vec{"antenna-secondary": {Y: 2}})
	whole := canReading(1)
	blank := wire.Reading{T: 0.2, UTC: opt.Of(whole.UTC.Or(time.Time{}).Add(1e8))}
	kinds := []string{"126992", "129029", "129026", "127250", "127257", "127252"}
	all := heardIn(t, in, "nmea2000", canLines(t, whole, nmea2000.Options{}, kinds...)+canLines(t, blank, nmea2000.Options{}, kinds...))
	if len(all) != 2 {
		t.Fatalf("observed %v", all)
	}
	all[0].near(t, "height", 30, 1e-6)
	for _, key := range []string{"lat", "lon", "height", "speed", "course", "heading", "pitch", "roll", "heave"} {
		if v, said := all[1][key]; !said || v != nil {
			t.Errorf("%s is %v, %v, want null", key, v, said)
		}
	}
	lines := strings.SplitAfter(canLines(t, whole, nmea2000.Options{}, "129029"), "\r")
	lost := strings.Join(append(lines[:2:2], lines[3:]...), "") + canLines(t, whole, nmea2000.Options{}, "126992", "127250")
	if got := heardIn(t, in, "nmea2000", lost); len(got) != 1 || got[0]["lat"] != nil {
		t.Errorf("a position of which a frame is lost: %v", got)
	}
}

// Sentences, frames and described messages on one line, with rubbish between them.
func TestMixedStream(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	e, err := hullBox(t).New("MOTION")
	if err != nil {
		t.Fatal(err)
	}
	r := canReading(5)
	r.UTC = opt.Of(time.Date(2026, 6, 1, 12, 0, 1, 0, time.UTC))
	box, err := e.Append(nil, &r)
	if err != nil {
		t.Fatal(err)
	}
	stream := burst(t, "Z1 G1") + "\xfd\x09rubbish" + string(box) + framesOf(t, mavlink.V1, &mavlink.SystemTime{TimeUnixUsec: noonUsec + 1e6, TimeBootMS: 10}, &mavlink.Attitude{TimeBootMS: 10, Roll: 0.25, Pitch: 0.125})
	all := heardIn(t, in, "nmea0183+mavlink+layout", stream)
	if len(all) != 1 || all[0]["source"] != "ZDA+GGA+MOTION+SYSTEM_TIME+ATTITUDE" {
		t.Fatalf("observed %v", all)
	}
	all[0].near(t, "roll", 0.25*180/math.Pi, 1e-5)
	all[0].near(t, "heave", 0.5, 1e-6)
	if only := heardIn(t, in, "nmea0183", stream); len(only) != 1 || only[0]["source"] != "ZDA+GGA" {
		t.Errorf("the sentences alone: %v", only)
	}
}

// FuzzFramed feeds any bytes as a stream of any formats. It never panics, and each line it writes is an observation.
func FuzzFramed(f *testing.F) {
	f.Add([]byte(framesOf(f, mavlink.V2, &mavlink.SystemTime{TimeUnixUsec: noonUsec, TimeBootMS: 10}, &mavlink.Attitude{TimeBootMS: 10, Roll: 0.25})), uint8(1), 57600)
	f.Add([]byte(canLines(f, canReading(1), nmea2000.Options{}, "126992", "129029", "127250", "127257", "127252")), uint8(2), 115200)
	f.Add([]byte(burst(f, "Z1 G1 H1")), uint8(7), 0)
	in := boat("sonar", map[string]r3.Vec{"antenna-primary": {X: 1, Y: -2, Z: 3}, "antenna-secondary": {X: 3, Y: -2, Z: 3}, "sonar": {Y: 4}})
	in.Mounting = mountingDeg(90, 10, 20)
	box := hullBox(f)
	f.Fuzz(func(t *testing.T, stream []byte, formats uint8, baud int) {
		words := []string{"layout"}
		for i, w := range []string{"mavlink", "nmea2000", "nmea0183"} {
			if formats>>i&1 == 1 {
				words = append(words, w)
			}
		}
		cfg := Config{Installation: in, Format: strings.Join(words, "+"), Layout: box, Baud: baud & 0xfffff, Clock: func() time.Time { return time.Unix(1e9, 0) }}
		for i, d := range BinaryDefects {
			if formats>>(3+i)&1 == 1 {
				cfg.Defects = append(cfg.Defects, d.Name)
			}
		}
		var out, again bytes.Buffer
		if err := Run(t.Context(), cfg, bytes.NewReader(stream), &out); err != nil {
			t.Fatal(err)
		}
		for line := range bytes.Lines(out.Bytes()) {
			checkLine(t, line)
		}
		if err := Run(t.Context(), cfg, iotest.HalfReader(bytes.NewReader(stream)), &again); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(out.Bytes(), again.Bytes()) {
			t.Fatalf("in one piece %s\nin many %s", out.Bytes(), again.Bytes())
		}
	})
}
