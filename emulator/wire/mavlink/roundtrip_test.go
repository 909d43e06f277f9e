package mavlink

import (
	"fmt"
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// A source of the numbers of a reading.
type source struct {
	float func(name string, lo, hi float64) float64
	int   func(name string, lo, hi int64) int64
}

// drawReading often draws near an end, or 0.
func drawReading(t *rapid.T) *wire.Reading {
	return makeReading(source{
		float: func(name string, lo, hi float64) float64 {
			switch x := rapid.Float64Range(lo, hi).Draw(t, name); rapid.IntRange(0, 5).Draw(t, "where") {
			case 0:
				return max(lo, hi-math.Abs(x)*1e-9)
			case 1:
				return min(hi, lo+math.Abs(x)*1e-9)
			case 2:
				return max(lo, min(hi, x*1e-9))
			default:
				return x
			}
		},
		int: func(name string, lo, hi int64) int64 { return rapid.Int64Range(lo, hi).Draw(t, name) },
	})
}

// makeReading makes a reading in which anything may be absent but what a device always has, over the whole range of each
// message.
func makeReading(s source) *wire.Reading {
	near := s.float
	maybe := func(name string, lo, hi float64) opt.Opt[float64] {
		if s.int("absent", 0, 4) == 0 {
			return opt.None[float64]()
		}
		return opt.Of(near(name, lo, hi))
	}
	vec := func(name string, most float64) r3.Vec {
		return r3.Vec{X: near(name, -most, most), Y: near(name, -most, most), Z: near(name, -most, most)}
	}
	circle := math.Nextafter(2*math.Pi, 0)
	r := &wire.Reading{
		T:                near("T", 0, 49*86400),
		Fix:              wire.Fix(s.int("fix", 0, int64(wire.FixSimulated))),
		HDOP:             maybe("HDOP", 0, 655.34),
		VDOP:             maybe("VDOP", 0, 655.34),
		DiffAge:          maybe("age", 0, 4e6),
		Heading:          maybe("heading", 0, circle),
		Yaw:              maybe("yaw", 0, circle),
		Pitch:            maybe("pitch", -math.Pi/2, math.Pi/2),
		Roll:             maybe("roll", -math.Pi, math.Pi),
		Rates:            opt.Of(vec("rate", 32.76)),
		Origin:           opt.Of(geo.Position{Lat: near("lat0", -1.5, 1.5), Lon: near("lon0", -math.Pi, math.Pi), Height: near("h0", -1e3, 1e4)}),
		Series:           uint32(s.int("series", 0, math.MaxUint32)),
		Satellites:       opt.Of(int(s.int("satellites", 0, 99))),
		SpecificForce:    opt.Of(vec("force", 32.76*9.80665)),
		HeadingEstimated: s.int("estimated", 0, 4) == 0,
	}
	if s.int("no UTC", 0, 4) > 0 {
		r.UTC = opt.Of(time.Unix(s.int("UTC", oldest/1e6, 4e9), s.int("ns", 0, 999_999_999)).UTC())
	}
	if s.int("no position", 0, 4) > 0 {
		r.Position = opt.Of(geo.Position{Lat: near("lat", -math.Pi/2, math.Pi/2), Lon: near("lon", -math.Pi, math.Pi), Height: near("height", -1e4, 1e5)})
		r.Undulation = opt.Of(near("undulation", -150, 150))
		v := vec("velocity", 320)
		r.VelocityEN, r.VelocityUp = opt.Of([2]float64{v.X, v.Y}), opt.Of(v.Z)
		setCourse(r)
		r.Sigma = opt.Of(r3.Vec{X: near("sE", 0, 1e3), Y: near("sN", 0, 1e3), Z: near("sU", 0, 1e3)})
	}
	if r.Heading.Has() {
		r.HeadingSigma = maybe("sigma", 0, math.Pi)
	}
	return r
}

// TestRoundTrip: what a message says of a reading is read as within half of its last digit, what it cannot say is not
// sent, and what is read is sent as the same bytes again.
func TestRoundTrip(t *testing.T) {
	for _, row := range Messages {
		for version := 1; version <= 2; version++ {
			t.Run(fmt.Sprintf("%s v%d", row.Type, version), func(t *testing.T) {
				e, err := New(row.Type, Options{Version: version, System: 7, Component: 200})
				if err != nil {
					t.Fatal(err)
				}
				rapid.Check(t, func(t *rapid.T) { roundTrip(t, e, row.Type, Version(version)) })
			})
		}
	}
}

func roundTrip(t *rapid.T, e wire.Encoder, kind string, v Version) {
	r := drawReading(t)
	b, err := e.Append([]byte("x"), r)
	if err != nil {
		t.Fatal(err)
	}
	if b = b[1:]; len(b) == 0 {
		_, moving := velocity(r)
		switch kind {
		case "ATTITUDE", "ATTITUDE_QUATERNION":
			if r.Yaw.Has() && r.Pitch.Has() && r.Roll.Has() {
				t.Fatal("an attitude is not sent")
			}
		case "LOCAL_POSITION_NED", "GLOBAL_POSITION_INT":
			if r.Position.Has() && moving {
				t.Fatal("a position is not sent")
			}
		default:
			t.Fatal("not sent")
		}
		return
	}
	if p := probe(b, false); p != (wire.Probe{Verdict: wire.Whole, Len: len(b)}) {
		t.Fatalf("%x: %+v", b, p)
	}
	h, m, err := Parse(b)
	if err != nil || h != (Header{Version: v, Sequence: uint8(r.Series), System: 7, Component: 200}) {
		t.Fatalf("%+v %v", h, err)
	}
	if bad := spoiled(m); bad != "" {
		t.Fatalf("%+v: %s", m, bad)
	}
	got := wire.Reading{Origin: r.Origin, Series: r.Series, Fix: r.Fix, T: r.T, Satellites: r.Satellites, Undulation: r.Undulation}
	name, carries, err := Read(b, &got)
	if err != nil || name != kind || carries != (kind != "HEARTBEAT") {
		t.Fatalf("%s %v %v", name, carries, err)
	}
	seen := got
	compare(t, e, kind, r, &seen)

	// What has been read says the same again, where the way there and back is one of numbers only.
	if kind == "HEARTBEAT" || kind == "LOCAL_POSITION_NED" || kind == "ATTITUDE_QUATERNION" {
		return
	}
	if g, ok := m.(*GPSRawInt); ok && g.AltEllipsoid == 0 {
		return
	}
	if g, ok := m.(*GPS2Raw); ok && g.AltEllipsoid == 0 {
		return
	}
	got.HeadingEstimated = got.HeadingEstimated || r.HeadingEstimated
	again, err := e.Append(nil, &got)
	_, m2, err2 := Parse(again)
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	forgetLossy(m, m2)
	if fmt.Sprint(m) != fmt.Sprint(m2) {
		t.Fatalf("%+v\nagain %+v", m, m2)
	}
}

// forgetLossy clears what a reading has in another form than the message.
func forgetLossy(all ...Message) {
	for _, m := range all {
		switch m := m.(type) {
		case *GPSRawInt:
			m.HAcc = 0
		case *GPS2Raw:
			m.HAcc = 0
		case *GlobalPositionInt: // the fix has no part in it
			m.Alt, m.RelativeAlt = 0, 0
		}
	}
}

// spoiled finds floats that must not go out.
func spoiled(m Message) string {
	p := payload(m)
	for _, f := range m.Definition().Fields {
		for i := range max(f.Length, 1) {
			if f.Type != "float" {
				continue
			}
			x := getFloat(p[f.Offset+4*i:])
			if !finite(x) || x == 0 && math.Signbit(float64(x)) {
				return fmt.Sprintf("%s is %g", f.Name, x)
			}
		}
	}
	if q, ok := m.(*AttitudeQuaternion); ok && negative(q.Q1, q.Q2, q.Q3, q.Q4) {
		return "the quaternion of the other sign"
	}
	return ""
}

func compare(t *rapid.T, e wire.Encoder, kind string, want, got *wire.Reading) {
	half := map[wire.Quantity]float64{}
	for _, r := range e.Resolutions() {
		half[r.Quantity] = r.Half*(1+1e-6) + 1e-15
	}
	if v, ok := half[wire.Velocity]; ok {
		half[wire.Speed] = v * math.Sqrt2
	}
	value := func(q wire.Quantity, w, g opt.Opt[float64], circle bool) {
		h, ok := half[q]
		if !ok {
			return
		}
		d := math.Abs(w.Or(0) - g.Or(0))
		if circle {
			d = math.Abs(frame.WrapPi(w.Or(0) - g.Or(0)))
		}
		if w.Has() != g.Has() || d > h {
			t.Fatalf("%s: %v came back as %v, %g off", q, w, g, d)
		}
	}
	position := func(p opt.Opt[geo.Position]) (lat, lon, height opt.Opt[float64]) {
		if p, ok := p.Value(); ok {
			return opt.Of(p.Lat), opt.Of(p.Lon), opt.Of(p.Height)
		}
		return lat, lon, height
	}
	w := *want
	gps := kind == "GPS_RAW_INT" || kind == "GPS2_RAW"
	if gps { // what GNSS knows
		if w.Fix <= wire.FixEstimated || !w.Position.Has() {
			w.Position, w.SpeedMS, w.CourseRad = opt.None[geo.Position](), opt.None[float64](), opt.None[float64]()
		}
		if w.HeadingEstimated {
			w.Heading = opt.None[float64]()
		}
		if f := fixes[fixTypes[w.Fix]]; !w.Position.Has() && got.Fix != wire.FixNone || w.Position.Has() && got.Fix != f {
			t.Fatalf("fix %v came back as %v", w.Fix, got.Fix)
		}
		if w.DiffAge.Has() && w.Position.Has() && kind == "GPS2_RAW" && !(math.Abs(w.DiffAge.Or(0)-got.DiffAge.Or(-9)) <= 0.0005001) {
			t.Fatalf("age %v came back as %v", w.DiffAge, got.DiffAge)
		}
	}
	if p, ok := w.Position.Value(); ok && gps && half[wire.Heading] != 0 && math.Abs(p.Height) <= 0.0005 {
		w.Position, got.Position = opt.None[geo.Position](), opt.None[geo.Position]() // 0 mm cannot be told from none
	}
	a1, a2, a3 := position(w.Position)
	b1, b2, b3 := position(got.Position)
	if u, ok := w.Undulation.Value(); ok && (kind == "GLOBAL_POSITION_INT" || gps && half[wire.Heading] == 0) && a3.Has() {
		a3, b3 = opt.Of(a3.Or(0)-u), opt.Of(b3.Or(0)-got.Undulation.Or(0)) // what it says is the height above mean sea level
		half[wire.Height] += 1e-11
	}
	value(wire.Latitude, a1, b1, false)
	value(wire.Longitude, a2, b2, true)
	value(wire.Height, a3, b3, false)
	if lon := b2.Or(0); lon <= -math.Pi || lon > math.Pi {
		t.Fatalf("longitude %v", b2)
	}
	if kind != "LOCAL_POSITION_NED" {
		value(wire.Speed, w.SpeedMS, got.SpeedMS, false)
	}
	value(wire.Course, w.CourseRad, got.CourseRad, true)
	switch kind {
	case "ATTITUDE":
		value(wire.Yaw, w.Yaw, got.Yaw, true)
		value(wire.Pitch, w.Pitch, got.Pitch, false)
		value(wire.Roll, w.Roll, got.Roll, true)
	case "ATTITUDE_QUATERNION":
		a := frame.Attitude{Heading: w.Yaw.Or(0), Pitch: w.Pitch.Or(0), Roll: w.Roll.Or(0)}
		b := frame.Attitude{Heading: got.Yaw.Or(0), Pitch: got.Pitch.Or(0), Roll: got.Roll.Or(0)}
		if d := a.Rotation().AngleTo(b.Rotation()); d > 0x1p-23*1.001 {
			t.Fatalf("%+v came back as %+v, %g off", a, b, d)
		}
	default:
		value(wire.Heading, w.Heading, got.Heading, true)
	}
	vector := func(name string, w, g opt.Opt[r3.Vec], half float64) {
		d := r3.Sub(w.Or(r3.Vec{}), g.Or(r3.Vec{}))
		if w.Has() != g.Has() || max(math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)) > half*(1+1e-6) {
			t.Fatalf("%s %v came back as %v", name, w, g)
		}
	}
	switch kind {
	case "ATTITUDE", "ATTITUDE_QUATERNION":
		vector("rates", w.Rates, got.Rates, 0x1p-19)
	case "HIGHRES_IMU":
		vector("rates", w.Rates, got.Rates, 0x1p-19)
		vector("force", w.SpecificForce, got.SpecificForce, 0x1p-16)
	case "SCALED_IMU":
		vector("rates", w.Rates, got.Rates, 0.5e-3)
		vector("force", w.SpecificForce, got.SpecificForce, 0.5e-3*9.80665)
	case "LOCAL_POSITION_NED":
		// A float32 holds a place up to 16,384 km away to 0.5 m, half of it by rounding; along three axes.
		p, _ := w.Position.Value()
		g, _ := got.Position.Value()
		if d := r3.Norm(r3.Sub(p.ECEF(), g.ECEF())); d > 0.5*math.Sqrt(3) {
			t.Fatalf("position %v came back as %v, %g m off", p, g, d)
		}
		near := r3.Norm(r3.Sub(p.ECEF(), w.Origin.Or(geo.Position{}).ECEF())) < 6e6 // else the axes of the places that differ count
		a, b := w.VelocityEN.Or([2]float64{}), got.VelocityEN.Or([2]float64{})
		if d := math.Hypot(a[0]-b[0], a[1]-b[1]); near && math.Abs(p.Lat) < 1.5 && d > 1e-4 {
			t.Fatalf("velocity %v came back as %v", a, b)
		}
		if d := math.Abs(w.VelocityUp.Or(0) - got.VelocityUp.Or(0)); near && d > 1e-4 {
			t.Fatalf("velocity %v up came back as %v", w.VelocityUp, got.VelocityUp)
		}
	}
	if _, ok := half[wire.Time]; ok {
		timeOf(t, kind, want, got, half[wire.Time])
	}
}

func timeOf(t *rapid.T, kind string, w, g *wire.Reading, half float64) {
	usec := kind == "GPS_RAW_INT" || kind == "GPS2_RAW" || kind == "HIGHRES_IMU"
	if usec || kind == "SYSTEM_TIME" {
		a, ok := w.UTC.Value()
		b := g.UTC.Or(time.Time{})
		if ok != g.UTC.Has() || a.Sub(b).Abs() > time.Duration(half*1e9) {
			t.Fatalf("time %v came back as %v", w.UTC, g.UTC)
		}
		if ok && usec {
			return
		}
		half = 0.5e-3 // of the other field
	}
	if math.Abs(w.T-g.T) > half*1.001+1e-8 {
		t.Fatalf("%g s came back as %g", w.T, g.T)
	}
}
