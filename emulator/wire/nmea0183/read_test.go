package nmea0183

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// randomReading is one over the whole range of what sentences carry.
func randomReading(t *rapid.T) wire.Reading {
	d := draw{t: t}
	fix := wire.Fix(rapid.IntRange(0, int(wire.FixSimulated)).Draw(t, "fix"))
	rad := func(v opt.Opt[float64]) opt.Opt[float64] { return scaled(v, degree) }
	at := time.Unix(rapid.Int64Range(315532800+86400, 3.4e9).Draw(t, "at"), rapid.Int64Range(0, 999999999).Draw(t, "ns")).UTC()
	if rapid.Bool().Draw(t, "late") {
		at = at.Truncate(day).Add(-time.Duration(rapid.Int64Range(1, 2e9).Draw(t, "before midnight")))
	}
	r := wire.Reading{Fix: fix, Variation: rad(d.float(-180, 180)), Satellites: d.int(0, 99), HDOP: d.float(0, 99), PDOP: d.float(0, 99), VDOP: d.float(0, 99), DiffAge: d.float(0, 999),
		DiffStation: d.int(0, 1023), Undulation: d.float(-110, 90), Heading: rad(d.circle()), Pitch: rad(d.float(-90, 90)), Roll: rad(d.float(-180, 180)), HeaveM: d.float(-50, 50),
		RateOfTurn: scaled(d.float(-9999, 9999), degreeMinute), SpeedMS: d.float(0, 1000), CourseRad: rad(d.circle())}
	if !d.absent() {
		r.UTC = opt.Of(at)
	}
	if !d.absent() {
		r.Position = opt.Of(geo.Position{Lat: d.float(-90, 90).Or(0) * degree, Lon: frame.WrapPi(d.float(-180, 180).Or(0) * degree), Height: d.float(-500, 9000).Or(0)})
	}
	if fix == wire.FixNone && !d.absent() {
		r.Void = opt.Of(geo.Position{Lat: d.float(-90, 90).Or(0) * degree, Lon: frame.WrapPi(d.float(-180, 180).Or(0) * degree), Height: d.float(-500, 9000).Or(0)})
	}
	if !d.absent() {
		r.Sigma = opt.Of(r3.Vec{X: d.float(0, 99).Or(1), Y: d.float(0, 99).Or(1), Z: d.float(0, 99).Or(1)})
		v, _ := r.Sigma.Value()
		r.SigmaEN = v.X * v.Y * rapid.Float64Range(-1, 1).Draw(t, "correlation")
	}
	if !d.absent() {
		r.WaterSpeed = opt.Of([2]float64{rapid.Float64Range(-20, 20).Draw(t, "ahead"), rapid.Float64Range(-9, 9).Draw(t, "starboard")})
	}
	for sys := range wire.Systems {
		if sys > 0 && rapid.IntRange(0, 3).Draw(t, "system") > 0 {
			continue
		}
		most := 20
		if sys == wire.QZSS {
			most = 10 // that is how many numbers it has
		}
		for n := range rapid.IntRange(0, most).Draw(t, "satellites") {
			s := wire.Satellite{System: sys, Number: n + 1, Elevation: rapid.Float64Range(0, math.Pi/2).Draw(t, "elevation"),
				Azimuth: rapid.Float64Range(0, math.Nextafter(2*math.Pi, 0)).Draw(t, "azimuth"), SNR: d.float(0, 99), Used: rapid.Bool().Draw(t, "used")}
			r.Sky = append(r.Sky, s)
		}
	}
	return r
}

// TestReadingRoundTrip: what is read of what was written of a reading is within the resolutions that the encoder states,
// and what cannot be known is absent.
func TestReadingRoundTrip(t *testing.T) {
	for _, row := range Messages {
		t.Run(row.Type, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				o := Options{Version: Version(rapid.IntRange(0, int(V411)).Draw(t, "version")), Decimals: map[string]int{}}
				for _, d := range row.Decimals {
					o.Decimals[d.Group.String()] = rapid.IntRange(0, 7).Draw(t, d.Group.String())
				}
				if o.Version.hasTags() && rapid.Bool().Draw(t, "tag") {
					o.Tag = TagBlock{Source: "GN0001", Time: TagMilliseconds, Group: true, Count: true}
				}
				e, err := New(row.Type, o)
				if err != nil {
					t.Fatal(err)
				}
				r := randomReading(t)
				text, err := e.Append([]byte("x"), &r)
				if err != nil {
					t.Fatal(err)
				}
				// Of the time of day the date is known from before: from some hours around.
				got := wire.Reading{Heading: opt.Of(1.0), Sky: slices.Clone(r.Sky)}
				if row.Type == "VBW" {
					got.Heading = r.Heading
				}
				if row.Type == "GSV" {
					got.Sky = nil
				}
				if at, ok := r.UTC.Value(); ok {
					got.UTC = opt.Of(at.Add(time.Duration(rapid.Int64Range(-int64(11*time.Hour), int64(11*time.Hour)).Draw(t, "before"))))
				}
				for i := range got.Sky {
					got.Sky[i].Used = false
				}
				kind, carries, err := Family.Read(text[1:], &got)
				if err != nil || kind != e.Kind() && row.Type != "GSV" || carries != row.carries {
					t.Fatalf("%q: %s, %v, %v", text, kind, carries, err)
				}
				for _, res := range e.Resolutions() {
					if bad := off(res, &r, &got, o.Version); bad != "" {
						t.Errorf("%q: %s", text, bad)
					}
				}
				if bad := skyOff(row.Type, &r, &got); bad != "" {
					t.Errorf("%q: %s", text, bad)
				}
			})
		})
	}
}

func skyOff(kind string, r, got *wire.Reading) string {
	if kind != "GSA" && kind != "GSV" {
		return ""
	}
	if len(got.Sky) != len(r.Sky) {
		return fmt.Sprintf("%d satellites came back as %d", len(r.Sky), len(got.Sky))
	}
	noFix := r.Fix == wire.FixNone
	for i, s := range r.Sky {
		g := got.Sky[i]
		if g.System != s.System || g.Number != s.Number || kind == "GSA" && g.Used != s.Used {
			return fmt.Sprintf("satellite %+v came back as %+v (no fix: %v)", s, g, noFix)
		}
		if kind == "GSV" {
			half := 0.5*degree + 1e-9
			if math.Abs(g.Elevation-s.Elevation) > half || math.Abs(frame.AngleDiff(g.Azimuth, s.Azimuth)) > half || g.Azimuth >= 2*math.Pi ||
				g.SNR.Has() != s.SNR.Has() || math.Abs(g.SNR.Or(0)-s.SNR.Or(0)) > 0.5+1e-9 {
				return fmt.Sprintf("satellite %+v came back as %+v", s, g)
			}
		}
	}
	return ""
}

// off says what came back further off than the resolution explains.
func off(res wire.Resolution, r, got *wire.Reading, v Version) string {
	half := res.Half*(1+1e-7) + 1e-12
	value := func(a, b opt.Opt[float64], circle bool) string {
		d := math.Abs(a.Or(0) - b.Or(0))
		if circle {
			d = math.Abs(frame.AngleDiff(a.Or(0), b.Or(0)))
		}
		if a.Has() != b.Has() || !(d <= half+math.Abs(a.Or(0))*0x1p-48) {
			return fmt.Sprintf("%s %v came back as %v", res.Quantity, a, b)
		}
		return ""
	}
	fixed := r.Fix != wire.FixNone
	known := func(x opt.Opt[float64]) opt.Opt[float64] {
		if !fixed {
			return opt.None[float64]()
		}
		return x
	}
	place := func(r *wire.Reading, of func(geo.Position) float64) opt.Opt[float64] {
		p, ok := r.Position.Value()
		if r.Fix == wire.FixNone { // an edition without modes calls an estimated position void, too
			p, ok = r.Void.Value()
		}
		if ok {
			return opt.Of(of(p))
		}
		return opt.None[float64]()
	}
	switch res.Quantity {
	case wire.Time:
		a, ok := r.UTC.Value()
		b, ok2 := got.UTC.Value()
		if ok != ok2 || math.Abs(a.Sub(b).Seconds()) > half+1e-9 {
			return fmt.Sprintf("time %v came back as %v", a, b)
		}
	case wire.Latitude:
		return value(place(r, func(p geo.Position) float64 { return p.Lat }), place(got, func(p geo.Position) float64 { return p.Lat }), false)
	case wire.Longitude:
		a, b := place(r, func(p geo.Position) float64 { return p.Lon }), place(got, func(p geo.Position) float64 { return p.Lon })
		return value(a, b, true)
	case wire.Height:
		if !place(r, func(p geo.Position) float64 { return p.Height }).Has() || !r.Undulation.Has() {
			return ""
		}
		return value(place(r, func(p geo.Position) float64 { return p.Height }), place(got, func(p geo.Position) float64 { return p.Height }), false)
	case wire.Speed:
		return value(known(r.SpeedMS), got.SpeedMS, false)
	case wire.Course:
		return value(known(r.CourseRad), got.CourseRad, true)
	case wire.Heading:
		if !r.Variation.Has() && !got.Heading.Has() { // of HDG
			return ""
		}
		return value(r.Heading, got.Heading, true)
	case wire.Pitch:
		return value(r.Pitch, got.Pitch, false)
	case wire.Roll:
		return value(r.Roll, got.Roll, true)
	case wire.Heave:
		return value(r.HeaveM, got.HeaveM, false)
	case wire.RateOfTurn:
		return value(r.RateOfTurn, got.RateOfTurn, false)
	case wire.FixState:
		want := fixes[r.Fix].mode.in(v).Fix()
		if got.Fix != want && got.Fix != r.Fix && v.hasMode() {
			return fmt.Sprintf("fix %v came back as %v", r.Fix, got.Fix)
		}
	default:
		return "a quantity of which nothing is known here: " + string(res.Quantity)
	}
	return ""
}

// TestRead: what is not known becomes absent, what is not spoken of stays.
func TestRead(t *testing.T) {
	before := reading()
	for _, test := range []struct {
		sentence string
		check    func(r *wire.Reading) bool
	}{
		{"GPGGA,,,,,,0,,,,M,,M,,", func(r *wire.Reading) bool {
			return !r.UTC.Has() && !r.Position.Has() && r.Fix == wire.FixNone && !r.Satellites.Has() && !r.HDOP.Has() && !r.Undulation.Has() && r.Heading == before.Heading
		}},
		{"GPGGA,235959.00,5403.0000,S,00319.0000,W,8,05,1.0,10.0,M,-4.0,M,,", func(r *wire.Reading) bool {
			p, _ := r.Position.Value()
			at, _ := r.UTC.Value()
			return r.Fix == wire.FixSimulated && p.Height == 6 && p.Lat < 0 && at.Equal(time.Date(2026, 6, 13, 23, 59, 59, 0, time.UTC)) // nearer than the end of the same day
		}},
		{"GNRMC,120000.00,V,,,,,,,140626,,,N,V", func(r *wire.Reading) bool {
			return r.Fix == wire.FixNone && !r.Position.Has() && !r.SpeedMS.Has() && !r.CourseRad.Has() && !r.VelocityEN.Has() && !r.Variation.Has()
		}},
		{"GNRMC,235960.50,A,5403.0000,N,00319.0000,W,10.0,090.0,311216,,,A", func(r *wire.Reading) bool {
			at, _ := r.UTC.Value()
			v, _ := r.VelocityEN.Value()
			return at.Equal(time.Date(2017, 1, 1, 0, 0, 0, 5e8, time.UTC)) && r.Leap == wire.LeapNow && math.Abs(v[0]-10*1852/3600.) < 1e-9 && math.Abs(v[1]) < 1e-9
		}},
		{"GNGLL,5403.0000,N,00319.0000,W,081503.00,V,E", func(r *wire.Reading) bool { return r.Fix == wire.FixEstimated && r.Position.Has() }},
		{"GNGLL,5403.0000,N,00319.0000,W,081503.00,V,A", func(r *wire.Reading) bool { return r.Fix == wire.FixNone }},
		{"GNGNS,081503.00,5403.0000,N,00319.0000,W,NAFN,11,,,,,,V", func(r *wire.Reading) bool { return r.Fix == wire.FixRTKFloat }},
		{"HETHS,,V", func(r *wire.Reading) bool { return !r.Heading.Has() }},
		{"HETHS,10.0,E", func(r *wire.Reading) bool { return r.HeadingEstimated && math.Abs(r.Heading.Or(0)-10*degree) < 1e-12 }},
		{"HEHDT,360.0,T", func(r *wire.Reading) bool { return r.Heading == opt.Of(0.0) }},
		{"HCHDG,350.0,1.5,E,20.0,E", func(r *wire.Reading) bool {
			return math.Abs(r.Heading.Or(0)-11.5*degree) < 1e-12 && math.Abs(r.Variation.Or(0)-20*degree) < 1e-12
		}},
		{"HCHDG,350.0,,,,", func(r *wire.Reading) bool { return math.Abs(r.Heading.Or(0)-349.1*degree) < 1e-12 }},
		{"TIROT,12.0,V", func(r *wire.Reading) bool { return !r.RateOfTurn.Has() }},
		{"TIROT,30.0,A", func(r *wire.Reading) bool { return math.Abs(r.RateOfTurn.Or(0)-0.5*degree) < 1e-15 }},
		{"IIXDR,A,1.5,D,ptch,A,,D,Roll,D,-0.2,M,Heave,A,-90.0,D,YAW,C,20.0,C,PITCH", func(r *wire.Reading) bool {
			return math.Abs(r.Pitch.Or(0)-1.5*degree) < 1e-15 && !r.Roll.Has() && r.HeaveM == opt.Of(-0.2) && math.Abs(r.Yaw.Or(0)-270*degree) < 1e-12
		}},
		{"IIXDR,A,1.5,D,SPIN", func(r *wire.Reading) bool { return r.Pitch == before.Pitch && r.Roll == before.Roll }},
		{"VDVBW,10.0,-1.0,A,,,V,,V,,V", func(r *wire.Reading) bool {
			v, _ := r.WaterSpeed.Value()
			return math.Abs(v[0]-10*knot) < 1e-12 && math.Abs(v[1]+knot) < 1e-12 && !r.SpeedMS.Has() && !r.CourseRad.Has()
		}},
		{"GNGST,081503.00,1.0,2.0,1.0,45.0,1.5,1.6,3.0", func(r *wire.Reading) bool {
			s, _ := r.Sigma.Value()
			return s == r3.Vec{X: 1.6, Y: 1.5, Z: 3} && math.Abs(r.SigmaEN-1.5) < 1e-12 // (a² − b²)/2 · sin 2θ
		}},
		{"GNGST,,,,,,,,", func(r *wire.Reading) bool { return !r.Sigma.Has() }},
		{"GPZDA,,,,,,", func(r *wire.Reading) bool { return !r.UTC.Has() }},
		{"IIZZZ,1", func(r *wire.Reading) bool { return r.UTC == before.UTC }},
	} {
		r := *reading()
		if _, _, err := Family.Read([]byte(sealed(test.sentence)), &r); err != nil || !test.check(&r) {
			t.Errorf("%s: %v, %+v", test.sentence, err, r)
		}
	}
	// An error leaves the reading as it was.
	for _, s := range []string{sealed("GPGGA,081503.00,5403.0000,N,,,1,,,,M,,M,,"), "$GPGGA*00", sealed("IIXDR,A,1.5,D,PITCH,A,x,D,ROLL"), sealed("GPGSV,255,1,99,01,01,001,01")} {
		r := *reading()
		if _, carries, err := Family.Read([]byte(s), &r); err == nil || carries || r.Position != before.Position || r.Pitch != before.Pitch {
			t.Errorf("%s: %v, %v, %+v", s, carries, err, r)
		}
	}
	// The TAG block's time is the stamp of a sentence that has none.
	r := wire.Reading{}
	body := "s:HE0001,c:1803567601250"
	if _, _, err := Family.Read([]byte("\\"+body+"*"+tagSum(body)+"\\"+sealed("HEHDT,10.0,T")), &r); err != nil || !r.UTC.Or(time.Time{}).Equal(time.UnixMilli(1803567601250)) {
		t.Errorf("%v, %v", err, r.UTC)
	}
}

// TestReadSky: the sky follows the sentences, whatever order they come in, and stays bounded.
func TestReadSky(t *testing.T) {
	var r wire.Reading
	say := func(body string) {
		t.Helper()
		if _, _, err := Family.Read([]byte(sealed(body)), &r); err != nil {
			t.Fatal(err)
		}
	}
	numbers := func() (n []int) {
		for _, s := range r.Sky {
			u := 1
			if s.Used {
				u = -1
			}
			n = append(n, u*(int(s.System)*100+s.Number))
		}
		return n
	}
	expect := func(want ...int) {
		t.Helper()
		if got := numbers(); !slices.Equal(got, want) {
			t.Errorf("the sky is %v, want %v", got, want)
		}
	}
	say("GPGSV,2,1,05,01,10,100,30,02,20,200,31,03,30,300,,04,40,010,33,1")
	say("GLGSV,1,1,01,65,45,000,,1")
	say("GPGSV,2,2,05,05,50,050,35,1")
	expect(1, 2, 3, 4, 5, 101)
	say("GNGSA,A,3,02,05,,,,,,,,,,,1.5,1.0,1.2,1")
	say("GNGSA,A,3,65,,,,,,,,,,,,1.5,1.0,1.2,2")
	expect(1, -2, 3, 4, -5, -101)
	say("GPGSV,1,1,02,05,51,051,36,02,21,201,30,1") // two are left, in another order
	expect(-5, -2, -101)
	say("GPGSV,3,3,12,09,51,051,36,1") // its group's beginning is missing
	expect(-5, -2, -101)
	say("GNGSA,A,1,,,,,,,,,,,,,,,,1")
	expect(5, 2, -101)
	if r.PDOP.Has() || r.VDOP.Has() {
		t.Error("dilutions stay")
	}
	say("GPGSV,1,1,00,1")
	expect(-101)
	say("GNGSV,1,1,04,07,51,051,36,68,21,201,30,303,10,010,20,405,12,012,22") // of one talker for all: the first's system
	expect(-101, 7)
	for i := range 5000 { // never the last sentence, always other satellites
		say(fmt.Sprintf("GPGSV,9,%d,99,%d,10,100,30,%d,20,200,31,1", i%9+1, 1+i%499, 501+i%499))
		if len(r.Sky) > maxSatellite+1 {
			t.Fatalf("%d satellites", len(r.Sky))
		}
	}
}

func TestReadAllocatesNothing(t *testing.T) {
	var messages [][]byte
	for _, e := range encoders(t) {
		b, err := e.Append(nil, reading())
		if err != nil {
			t.Fatal(err)
		}
		messages = append(messages, b)
	}
	r := *reading()
	r.Sky = slices.Clone(r.Sky)
	run := func() {
		for _, m := range messages {
			if _, _, err := Family.Read(m, &r); err != nil {
				t.Fatal(err)
			}
		}
	}
	run()
	if n := testing.AllocsPerRun(100, run); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
