package nmea0183

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swellbench/scenarios/opt"
)

// A draw makes random sentences, over the whole range of each field, every number of decimals and every edition.
type draw struct {
	t *rapid.T
	f Format
}

func newDraw(t *rapid.T) draw {
	d := draw{t: t}
	for g := range groups {
		d.f.Digits[g] = Digits{Decimals: uint8(rapid.IntRange(0, MaxDecimals).Draw(t, g.String())), Whole: uint8(rapid.IntRange(0, 5).Draw(t, "whole"))}
	}
	d.f.Version = Version(rapid.IntRange(0, int(V411)).Draw(t, "version"))
	d.f.BareNulls = rapid.Bool().Draw(t, "bare")
	return d
}

func (d draw) absent() bool { return rapid.IntRange(0, 4).Draw(d.t, "absent") == 0 }

func (d draw) float(lo, hi float64) opt.Opt[float64] {
	if d.absent() {
		return opt.None[float64]()
	}
	x := rapid.Float64Range(lo, hi).Draw(d.t, "x")
	if rapid.Bool().Draw(d.t, "near the end") { // where wraps and carries are
		x = max(lo, min(hi, hi-math.Abs(x)*1e-9))
	}
	return opt.Of(x)
}

// circle is 0 ≤ x < 360.
func (d draw) circle() opt.Opt[float64] { return d.float(0, math.Nextafter(360, 0)) }

func (d draw) int(lo, hi int) opt.Opt[int] {
	if d.absent() {
		return opt.None[int]()
	}
	return opt.Of(rapid.IntRange(lo, hi).Draw(d.t, "n"))
}

func (d draw) time() opt.Opt[time.Duration] {
	if d.absent() {
		return opt.None[time.Duration]()
	}
	n := rapid.Int64Range(0, int64(day+time.Second)-1).Draw(d.t, "time")
	if rapid.Bool().Draw(d.t, "late") {
		n = int64(day) - n%3e9
	}
	return opt.Of(time.Duration(n))
}

func (d draw) date(first, last int) opt.Opt[Date] {
	if d.absent() {
		return opt.None[Date]()
	}
	y, m := rapid.IntRange(first, last).Draw(d.t, "year"), rapid.IntRange(1, 12).Draw(d.t, "month")
	n := daysIn(y, m)
	if rapid.Bool().Draw(d.t, "last day") {
		return opt.Of(Date{y, m, n})
	}
	return opt.Of(Date{y, m, rapid.IntRange(1, n).Draw(d.t, "day")})
}

func (d draw) mode() opt.Opt[Mode] {
	if d.absent() || !d.f.Version.hasMode() {
		return opt.None[Mode]()
	}
	return opt.Of(Mode(modeLetters[rapid.IntRange(0, len(modeLetters)-1).Draw(d.t, "mode")]))
}

func (d draw) talker() Talker {
	return rapid.SampledFrom([]Talker{{'G', 'P'}, {'U', '9'}}).Draw(d.t, "talker")
}

func (d draw) position() (lat, lon opt.Opt[float64]) {
	lat, lon = d.float(-90, 90), d.float(-180, 180)
	if !lat.Has() || !lon.Has() {
		return opt.None[float64](), opt.None[float64]()
	}
	return lat, lon
}

func (d draw) sentence(kind string) Sentence {
	lat, lon := d.position()
	status := rapid.SampledFrom([]Status{Valid, Void}).Draw(d.t, "status")
	switch kind {
	case "GGA":
		return &GGA{Talker: d.talker(), Time: d.time(), LatDeg: lat, LonDeg: lon, Quality: Quality(rapid.IntRange(0, 8).Draw(d.t, "quality")),
			Satellites: d.int(0, 99), HDOP: d.float(0, 9999), AltitudeM: d.float(-99999, 99999), UndulationM: d.float(-999, 999),
			AgeS: d.float(0, 99999), Station: d.int(0, 4095)}
	case "RMC":
		s := &RMC{Talker: d.talker(), Time: d.time(), Status: status, LatDeg: lat, LonDeg: lon, SpeedKn: d.float(0, 9999), CourseDeg: d.circle(),
			Date: d.date(1980, 2078), VariationDeg: d.float(-180, 180), Mode: d.mode()}
		if d.f.Version.hasNavStatus() && !d.absent() {
			s.NavStatus = opt.Of(NavStatus("SCUV"[rapid.IntRange(0, 3).Draw(d.t, "nav")]))
		}
		return s
	case "VTG":
		return &VTG{Talker: d.talker(), CourseDeg: d.circle(), MagneticDeg: d.circle(), SpeedKn: d.float(0, 9999), SpeedKmh: d.float(0, 9999), Mode: d.mode()}
	case "ZDA":
		return &ZDA{Talker: d.talker(), Time: d.time(), Date: d.date(1, 9998), ZoneMin: d.int(-839, 839)}
	case "HDT":
		return &HDT{Talker: d.talker(), HeadingDeg: d.circle()}
	case "ROT":
		return &ROT{Talker: d.talker(), RateDegMin: d.float(-99999, 99999), Status: status}
	case "XDR":
		s := &XDR{Talker: d.talker()}
		for range rapid.IntRange(1, 6).Draw(d.t, "measurements") {
			m := Measurement{Type: 'A', Unit: 'D', Group: Angle, Value: d.float(-180, 180), Name: rapid.StringMatching(`([a-zþ][ -~éþ]{0,7})?`).Draw(d.t, "name")}
			if rapid.Bool().Draw(d.t, "linear") {
				m = Measurement{Type: 'D', Unit: 'M', Group: Heave, Value: d.float(-9999, 9999), Name: m.Name}
			}
			s.Measurements = append(s.Measurements, m)
		}
		return s
	}
	return d.sentenceMore(kind, lat, lon, status)
}

// TestRoundTrip: what is written is framed, is read (so no minutes of 60) within half of its last digit, and is written again byte for byte.
func TestRoundTrip(t *testing.T) {
	for _, row := range Messages {
		t.Run(row.Type, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				d := newDraw(t)
				s := d.sentence(row.Type)
				text, err := s.Append(nil, &d.f)
				if err != nil {
					t.Fatal(err)
				}
				if minusZero.Match(text) && row.Type != "ZDA" && row.Type != "TXT" { // a zone may be -00,30, a text anything
					t.Fatalf("a negative zero in %s", text)
				}
				evs := decode(text, rapid.IntRange(1, len(text)).Draw(t, "piece"))
				if len(evs) != 1 || evs[0].Kind != Accepted {
					t.Fatalf("%q is framed as %+v", text, evs)
				}
				got, err := Parse(text)
				if err != nil {
					t.Fatalf("%q: %v", text, err)
				}
				for _, e := range near(d.f, s, got) {
					t.Errorf("%q: %s", text, e)
				}
				again, err := got.Append(nil, &d.f)
				if err != nil || !bytes.Equal(again, text) {
					t.Fatalf("read and written again:\n%q\n%q, %v", text, again, err)
				}
			})
		})
	}
}

var minusZero = regexp.MustCompile(`,-0*(\.0*)?[,*]`)

// near names what differs by more than rounding explains.
func near(f Format, want, got Sentence) (bad []string) {
	value := func(what string, g Group, unit float64, circle bool, w, x opt.Opt[float64]) {
		off := math.Abs(w.Or(0) - x.Or(0))
		if circle {
			off = min(off, 360-off)
		}
		// Of half a digit a hair more: the stated one for ties, and what doubles cannot tell apart.
		allowed := f.half(g)*unit*(1+1e-8) + math.Abs(w.Or(0))*0x1p-49
		if w.Has() != x.Has() || !(off <= allowed) {
			bad = append(bad, fmt.Sprintf("%s %v came back as %v", what, w, x))
		}
	}
	exact := func(what string, w, x any) {
		if w != x {
			bad = append(bad, fmt.Sprintf("%s %v came back as %v", what, w, x))
		}
	}
	clock := func(w, x opt.Opt[time.Duration], wd, xd opt.Opt[Date]) {
		half := time.Duration(math.Ceil(f.half(Seconds) * 1e9))
		a, b := w.Or(0), x.Or(0)
		next := b == 0 && a != 0 && (a >= day+time.Second-half || a < day && a >= day-half) // carried into the next day
		if next {
			b = day
			if a >= day {
				b += time.Second
			}
			if d, ok := wd.Value(); ok {
				wd = opt.Of(d.next())
			}
		}
		if w.Has() != x.Has() || (a-b).Abs() > half {
			bad = append(bad, fmt.Sprintf("time %v came back as %v", w, x))
		}
		if w.Has() {
			exact("date", wd, xd)
		}
	}
	switch w := want.(type) {
	default:
		a, b := reflect.ValueOf(want).Elem(), reflect.ValueOf(got).Elem()
		nearStruct(a, b, "", value, exact, clock)
	case *GGA:
		x := got.(*GGA)
		clock(w.Time, x.Time, opt.None[Date](), opt.None[Date]())
		value("latitude", Minutes, 1./60, false, w.LatDeg, x.LatDeg)
		value("longitude", Minutes, 1./60, false, w.LonDeg, x.LonDeg)
		value("HDOP", HDOP, 1, false, w.HDOP, x.HDOP)
		value("altitude", Altitude, 1, false, w.AltitudeM, x.AltitudeM)
		value("undulation", Undulation, 1, false, w.UndulationM, x.UndulationM)
		value("age", Age, 1, false, w.AgeS, x.AgeS)
		exact("the rest", GGA{Talker: w.Talker, Quality: w.Quality, Satellites: w.Satellites, Station: w.Station},
			GGA{Talker: x.Talker, Quality: x.Quality, Satellites: x.Satellites, Station: x.Station})
	case *RMC:
		x := got.(*RMC)
		clock(w.Time, x.Time, w.Date, x.Date)
		value("latitude", Minutes, 1./60, false, w.LatDeg, x.LatDeg)
		value("longitude", Minutes, 1./60, false, w.LonDeg, x.LonDeg)
		value("speed", Speed, 1, false, w.SpeedKn, x.SpeedKn)
		value("course", Course, 1, true, w.CourseDeg, x.CourseDeg)
		value("variation", Variation, 1, false, w.VariationDeg, x.VariationDeg)
		exact("the rest", RMC{Talker: w.Talker, Status: w.Status, Mode: w.Mode, NavStatus: w.NavStatus},
			RMC{Talker: x.Talker, Status: x.Status, Mode: x.Mode, NavStatus: x.NavStatus})
	case *VTG:
		x := got.(*VTG)
		value("course", Course, 1, true, w.CourseDeg, x.CourseDeg)
		value("magnetic course", Course, 1, true, w.MagneticDeg, x.MagneticDeg)
		value("knots", Speed, 1, false, w.SpeedKn, x.SpeedKn)
		value("km/h", Speed, 1, false, w.SpeedKmh, x.SpeedKmh)
		exact("the rest", VTG{Talker: w.Talker, Mode: w.Mode}, VTG{Talker: x.Talker, Mode: x.Mode})
	case *ZDA:
		x := got.(*ZDA)
		clock(w.Time, x.Time, w.Date, x.Date)
		exact("the rest", ZDA{Talker: w.Talker, ZoneMin: w.ZoneMin}, ZDA{Talker: x.Talker, ZoneMin: x.ZoneMin})
	case *HDT:
		x := got.(*HDT)
		value("heading", Heading, 1, true, w.HeadingDeg, x.HeadingDeg)
		exact("talker", w.Talker, x.Talker)
	case *ROT:
		x := got.(*ROT)
		value("rate", Rate, 1, false, w.RateDegMin, x.RateDegMin)
		exact("the rest", ROT{Talker: w.Talker, Status: w.Status}, ROT{Talker: x.Talker, Status: x.Status})
	case *XDR:
		x := got.(*XDR)
		exact("measurements", len(w.Measurements), len(x.Measurements))
		for i := range min(len(w.Measurements), len(x.Measurements)) {
			a, b := w.Measurements[i], x.Measurements[i]
			value(a.Name, a.Group, 1, false, a.Value, b.Value)
			a.Value, b.Value = opt.None[float64](), opt.None[float64]()
			exact("measurement", a, b)
		}
	}
	return bad
}
