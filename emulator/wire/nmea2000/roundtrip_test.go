package nmea2000

import (
	"bytes"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

func drawOpt(t *rapid.T, name string, lo, hi float64) opt.Opt[float64] {
	switch rapid.IntRange(0, 7).Draw(t, name+" is") {
	case 0:
		return opt.None[float64]()
	case 1:
		return opt.Of(lo)
	case 2:
		return opt.Of(hi)
	}
	return opt.Of(rapid.Float64Range(lo, hi).Draw(t, name))
}

func drawInt(t *rapid.T, name string, lo, hi int) opt.Opt[int] {
	if rapid.IntRange(0, 7).Draw(t, name+" is") == 0 {
		return opt.None[int]()
	}
	return opt.Of(rapid.IntRange(lo, hi).Draw(t, name))
}

// drawReading draws over all that the messages can carry.
func drawReading(t *rapid.T) wire.Reading {
	r := wire.Reading{
		T: rapid.Float64Range(0, 1e6).Draw(t, "t"), Fix: wire.Fix(rapid.IntRange(0, int(wire.FixSimulated)).Draw(t, "fix")),
		Undulation: drawOpt(t, "undulation", -2e7, 2e7), Variation: drawOpt(t, "variation", -math.Pi, math.Pi),
		SpeedMS: drawOpt(t, "speed", 0, 655.32), CourseRad: drawOpt(t, "course", 0, 2*math.Pi),
		Satellites: drawInt(t, "satellites", 0, 252), HDOP: drawOpt(t, "hdop", -327.68, 327.64), PDOP: drawOpt(t, "pdop", -327.68, 327.64),
		VDOP: drawOpt(t, "vdop", -327.68, 327.64), TDOP: drawOpt(t, "tdop", -327.68, 327.64),
		DiffAge: drawOpt(t, "age", 0, 655.32), DiffStation: drawInt(t, "station", 0, 4092),
		Heading: drawOpt(t, "heading", 0, 2*math.Pi), Yaw: drawOpt(t, "yaw", -math.Pi, 2*math.Pi),
		Pitch: drawOpt(t, "pitch", -math.Pi/2, math.Pi/2), Roll: drawOpt(t, "roll", -math.Pi, math.Pi),
		RateOfTurn: drawOpt(t, "rate of turn", -67.1, 67.1), HeaveM: drawOpt(t, "heave", -327.68, 327.64),
		Count: rapid.Uint32().Draw(t, "count"),
	}
	if rapid.Bool().Draw(t, "placed") {
		r.Position = opt.Of(geo.Position{Lat: rapid.Float64Range(-math.Pi/2, math.Pi/2).Draw(t, "lat"),
			Lon: rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "lon"), Height: rapid.Float64Range(-1e4, 9e6).Draw(t, "height")})
	}
	if rapid.Bool().Draw(t, "dated") {
		r.UTC = opt.Of(time.Unix(rapid.Int64Range(0, 65532*86400-1).Draw(t, "unix"), rapid.Int64Range(0, 999999999).Draw(t, "ns")).UTC())
	}
	return r
}

// readAll reads the lines of one message.
func readAll(t interface{ Fatalf(string, ...any) }, lines []byte, r *wire.Reading) (kind string, carries bool) {
	var d Reader
	for line := range bytes.SplitAfterSeq(lines, []byte{'\r'}) {
		if len(line) == 0 {
			continue
		}
		if carries {
			t.Fatalf("the message is whole before its last line %q", line)
		}
		var err error
		if kind, carries, err = d.Read(line, r); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
	}
	return kind, carries
}

func near(t *rapid.T, what string, got, want opt.Opt[float64], half float64, turn bool) {
	t.Helper()
	g, ok := got.Value()
	w, ok2 := want.Value()
	if ok != ok2 {
		t.Fatalf("%s is %v (known: %v), sent was %v (known: %v)", what, g, ok, w, ok2)
	}
	diff := math.Abs(g - w)
	if turn {
		diff = math.Abs(frame.WrapPi(g - w))
	}
	if ok && diff > half+4e-16*math.Max(1, math.Abs(w)) { // half a step, and the conversions of a double
		t.Fatalf("%s is %v, sent was %v: off by %g, more than half a step, %g", what, g, w, diff, half)
	}
	if ok && g == 0 && math.Signbit(g) {
		t.Fatalf("%s is -0", what)
	}
}

func TestRoundTrip(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(kind, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) { roundTrip(t, kind) })
		})
	}
}

func roundTrip(t *rapid.T, kind string) {
	sent := drawReading(t)
	o := Options{Magnetic: rapid.Bool().Draw(t, "magnetic"), Source: opt.Of(rapid.IntRange(0, MaxAddress).Draw(t, "source"))}
	e := mustNew(t, kind, o)
	lines, err := e.Append(nil, &sent)
	if err != nil {
		t.Fatalf("%v", err)
	}
	got := drawReading(t) // what was there before must not shine through
	before := got
	got.Variation = sent.Variation
	k, carries := readAll(t, lines, &got)
	if row, _ := RowOf(kind); k != kind || carries != (row.read != nil) {
		t.Fatalf("read as %q, carries %v", k, carries)
	}
	// A magnetic direction is rounded, and so is the variation that comes with it.
	direction := 0.5e-4
	switch kind {
	case "126992":
		checkTime(t, &got, &sent)
	case "127250":
		near(t, "variation", got.Variation, sent.Variation, 0.5e-4, true)
		want := sent.Heading
		if o.Magnetic {
			direction = 1e-4
			want = turned(want, turned(sent.Variation, opt.Of(0.0), 1), 1)
			want = turned(want, sent.Variation, -1)
		}
		near(t, "heading", got.Heading, want, direction, true)
	case "127251":
		near(t, "rate of turn", got.RateOfTurn, sent.RateOfTurn, 0.5/32e6, false)
	case "127252":
		near(t, "heave", got.HeaveM, sent.HeaveM, 0.005, false)
	case "127257":
		near(t, "yaw", got.Yaw, sent.Yaw, 0.5e-4, true)
		near(t, "pitch", got.Pitch, sent.Pitch, 0.5e-4, false)
		near(t, "roll", got.Roll, sent.Roll, 0.5e-4, true)
	case "127258":
		near(t, "variation", got.Variation, sent.Variation, 0.5e-4, true)
	case "129025":
		checkPosition(t, &got, &sent, frame.Rad(0.5e-7))
		if p, ok := got.Position.Value(); ok && p.Height != before.Position.Or(geo.Position{}).Height {
			t.Fatalf("height is %v, of which the message says nothing", p.Height)
		}
	case "129026":
		want := sent.CourseRad
		if o.Magnetic && !sent.Variation.Has() {
			want = opt.None[float64]()
		}
		near(t, "course", got.CourseRad, want, direction, true)
		near(t, "speed", got.SpeedMS, sent.SpeedMS, 0.005, false)
		if got.VelocityEN.Has() != (got.CourseRad.Has() && got.SpeedMS.Has()) {
			t.Fatalf("velocity known: %v", got.VelocityEN.Has())
		}
	case "129029":
		checkTime(t, &got, &sent)
		checkPosition(t, &got, &sent, 0)
		if s, ok := sent.Position.Value(); ok {
			near(t, "height", opt.Of(got.Position.Or(geo.Position{}).Height), opt.Of(s.Height), 0.5e-6, false)
		}
		if got.Fix != sent.Fix || got.Satellites != sent.Satellites || got.DiffStation != sent.DiffStation {
			t.Fatalf("fix %v, satellites %v, station %v; sent were %v, %v, %v", got.Fix, got.Satellites, got.DiffStation, sent.Fix, sent.Satellites, sent.DiffStation)
		}
		near(t, "hdop", got.HDOP, sent.HDOP, 0.005, false)
		near(t, "pdop", got.PDOP, sent.PDOP, 0.005, false)
		near(t, "undulation", got.Undulation, sent.Undulation, 0.005, false)
		near(t, "age", got.DiffAge, sent.DiffAge, 0.005, false)
	case "129539":
		near(t, "hdop", got.HDOP, sent.HDOP, 0.005, false)
		near(t, "vdop", got.VDOP, sent.VDOP, 0.005, false)
		near(t, "tdop", got.TDOP, sent.TDOP, 0.005, false)
	}
}

func mustNew(t interface{ Fatalf(string, ...any) }, kind string, o Options) wire.Encoder {
	e, err := New(kind, o)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return e
}

func checkTime(t *rapid.T, got, sent *wire.Reading) {
	t.Helper()
	g, ok := got.UTC.Value()
	s, ok2 := sent.UTC.Value()
	if ok != ok2 || ok && g.Sub(s).Abs() > tick/2 {
		t.Fatalf("time is %v (known: %v), sent was %v (known: %v)", g, ok, s, ok2)
	}
}

func checkPosition(t *rapid.T, got, sent *wire.Reading, half float64) {
	t.Helper()
	g, ok := got.Position.Value()
	s, ok2 := sent.Position.Value()
	if ok != ok2 {
		t.Fatalf("position known: %v, sent was %v", ok, ok2)
	}
	near(t, "latitude", opt.Of(g.Lat+0), opt.Of(s.Lat), half, false)
	near(t, "longitude", opt.Of(g.Lon+0), opt.Of(s.Lon), half, true)
}

// TestFieldsHoldAnyInteger: what Put writes Raw reads, and nothing beside it changes.
func TestFieldsHoldAnyInteger(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		row := &Messages[rapid.IntRange(0, len(Messages)-1).Draw(t, "row")]
		f := &row.Fields[rapid.IntRange(0, len(row.Fields)-1).Draw(t, "field")]
		if f.Type == Reserved || f.Type == Spare {
			return
		}
		payload := rapid.SliceOfN(rapid.Byte(), row.Length, row.Length+8).Draw(t, "payload")
		lo := int64(0)
		if f.Type == Signed {
			lo = -f.top() - 1
		}
		raw := rapid.Int64Range(lo, f.top()).Draw(t, "raw")
		others := map[string]int64{}
		for i := range row.Fields {
			if g := &row.Fields[i]; g.Name != f.Name && g.Type < Reserved {
				others[g.Name], _ = g.Raw(payload)
			}
		}
		f.Put(payload, raw)
		got, state := f.Raw(payload)
		if got != raw {
			t.Fatalf("%s holds %d, put was %d", f.Name, got, raw)
		}
		_, hi := f.Limits()
		if null, ok := f.Null(); ok && (raw == null) != (state == NotAvailable) || (state == Known) != (raw <= hi) {
			t.Fatalf("%s of %d is %v", f.Name, raw, state)
		}
		for i := range row.Fields {
			if g := &row.Fields[i]; g.Name != f.Name && g.Type < Reserved {
				if n, _ := g.Raw(payload); n != others[g.Name] {
					t.Fatalf("putting %s changed %s", f.Name, g.Name)
				}
			}
		}
	})
}
