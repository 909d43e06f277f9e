package units

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The values on the right are constants of the Go language, which the compiler computes exactly and rounds once:
// a reference that shares nothing with the parser. Factors: NIST SP 811 (2008), appendix B.8, from memory.
func TestParse(t *testing.T) {
	type row struct {
		in   string
		want float64
	}
	for d, rows := range map[*dimension][]row{
		&length: {
			{"1.2 m", 1.2}, {"1.2 mm", 0.0012}, {"-1.2e3 mm", -1.2}, {"35 cm", 0.35}, {"3.7 km", 3700}, {"10 ft", 3.048},
			{"1 NM", 1852}, {".5 m", 0.5}, {"5. m", 5}, {"+2 m", 2}, {"2m", 2}, {" 2 \t m ", 2}, {"0 m", 0}, {"0.1 mm", 0.0001},
			{"1e310 mm", 1e307}, {"1E-3 km", 1},
		},
		&angle: {
			{"90 deg", math.Pi / 2}, {"-0.5 deg", -math.Pi / 360}, {"1 rad", 1}, {"3 mrad", 0.003}, {"1 arcmin", math.Pi / 10800},
			{"1 arcsec", math.Pi / 648000}, {"360 deg", 2 * math.Pi},
		},
		&duration: {
			{"6.5 s", 6.5}, {"250 ms", 0.25}, {"3 us", 3e-6}, {"3 µs", 3e-6}, {"3 μs", 3e-6}, {"12 min", 720}, {"1.5 h", 5400},
		},
		&speed:        {{"8 kn", 8 * 1852.0 / 3600}, {"4.5 m/s", 4.5}, {"36 km/h", 10}},
		&frequency:    {{"10 Hz", 10}, {"0.2 kHz", 200}, {"12 /min", 0.2}},
		&angularRate:  {{"0.5 deg/h", math.Pi / 180 / 7200}, {"15 deg/s", math.Pi / 12}, {"30 deg/min", math.Pi / 360}, {"2 rad/s", 2}},
		&mass:         {{"62 t", 62000}, {"850 kg", 850}},
		&acceleration: {{"9.81 m/s2", 9.81}, {"9.81 m/s²", 9.81}, {"1 mg", 0.00980665}, {"100 ug", 9.80665e-4}},
	} {
		for _, r := range rows {
			got, err := d.parse(r.in)
			if err != nil || got != r.want {
				t.Errorf("%s %q: %v, %v; want %v", d.name, r.in, got, err, r.want)
			}
			if !regexp.MustCompile(d.pattern()).MatchString(strings.TrimSpace(r.in)) {
				t.Errorf("%s %q does not match the schema's pattern %s", d.name, r.in, d.pattern())
			}
		}
	}
}

func TestParseErrors(t *testing.T) {
	for _, r := range []struct {
		d        *dimension
		in, want string
	}{
		{&speed, "8", "8 has no unit; write 8 kn, 8 m/s or 8 km/h"},
		{&mass, "62.5", "62.5 has no unit; write 62.5 kg or 62.5 t"},
		{&length, "", "nothing is written; write a length such as 1.2 m"},
		{&length, "  ", "nothing is written; write a length such as 1.2 m"},
		{&length, "8 kn", "8 kn is a speed, not a length; allowed units: m, mm, cm, km, ft, NM"},
		{&angle, "5 min", "5 min is a duration, not an angle; allowed units: deg, rad, mrad, arcmin, arcsec"},
		{&angle, "1 deg/s", "1 deg/s is an angular rate, not an angle; allowed units: deg, rad, mrad, arcmin, arcsec"},
		{&frequency, "10 hz", "10 hz: the unit is written Hz; allowed units: Hz, kHz, /min"},
		{&speed, "8 knots", "8 knots has a unit that is not known; a speed is allowed in: kn, m/s, km/h"},
		{&speed, "8 kn kn", "8 kn kn has a unit that is not known; a speed is allowed in: kn, m/s, km/h"},
		{&length, "1,5 m", "1,5 m has a comma; the decimal mark is a point, as in 1.2 m"},
		{&length, "m", "m has no number; write a length such as 1.2 m"},
		{&length, "nan m", "nan m is no number that can be used; write a length such as 1.2 m"},
		{&length, "-.inf", "-.inf is no number that can be used; write a length such as 1.2 m"},
		{&length, "Infinity km", "Infinity km is no number that can be used; write a length such as 1.2 m"},
		{&length, "long", "long is no number with a unit; write a length such as 1.2 m"},
		{&length, "- 5 m", "- 5 m is no number with a unit; write a length such as 1.2 m"},
		{&length, ".", ". is no number with a unit; write a length such as 1.2 m"},
		{&length, "\u22121.8 m", "\u22121.8 m begins with a typeset dash; write the minus as -"},
		{&length, "1e400 m", "1e400 m is beyond all that can be held; write a smaller number"},
		{&length, "1e308 km", "1e308 km is beyond all that can be held; write a smaller number"},
		{&length, "1e99999999999999999999 km", "1e99999999999999999999 km is beyond all that can be held; write a smaller number"},
		{&length, "0x10 m", "0 x10 m has a unit that is not known; a length is allowed in: m, mm, cm, km, ft, NM"},
		{&length, "1_000 m", "1 _000 m has a unit that is not known; a length is allowed in: m, mm, cm, km, ft, NM"},
		{&length, "1 \x1b[31mm", `1 "\x1b[31mm" has a unit that is not known; a length is allowed in: m, mm, cm, km, ft, NM`},
		{&length, strings.Repeat("9", 200) + " m", strings.Repeat("9", 40) + "... is too long; write a length such as 1.2 m"},
	} {
		v, err := r.d.parse(r.in)
		if err == nil || err.Error() != r.want || v != 0 {
			t.Errorf("%s %q: %v, error %v\nwant error %s", r.d.name, r.in, v, err, r.want)
		}
		if regexp.MustCompile(r.d.pattern()).MatchString(r.in) && !strings.Contains(r.want, "beyond") && len(r.in) <= maxText {
			t.Errorf("%s %q is refused, but matches the schema's pattern", r.d.name, r.in)
		}
	}
}

func TestString(t *testing.T) {
	for _, r := range []struct {
		v    fmt.Stringer
		want string
	}{
		{Length(1.2), "1.2 m"}, {Length(0.0015), "1.5 mm"}, {Length(0.35), "0.35 m"}, {Length(3000), "3 km"}, {Length(0), "0 m"},
		{Length(math.Copysign(0, -1)), "-0 m"}, {Length(-1.8), "-1.8 m"}, {Length(123456.789), "123456.789 m"},
		{Length(1e-9), "1e-9 m"}, {Length(5e-324), "5e-324 m"}, {Length(math.MaxFloat64), "1.7976931348623157e308 m"},
		{Angle(math.Pi / 2), "90 deg"}, {Angle(-math.Pi / 360), "-0.5 deg"}, {Angle(0.3), "0.3 rad"}, {Angle(0), "0 deg"},
		{Duration(0.25), "0.25 s"}, {Duration(0.002), "2 ms"}, {Duration(720), "720 s"}, {Duration(5400), "1.5 h"}, {Duration(6.5), "6.5 s"},
		{Speed(8 * 1852.0 / 3600), "8 kn"}, {Speed(5), "5 m/s"}, {Speed(0), "0 kn"},
		{Frequency(10), "10 Hz"}, {Frequency(1.0 / 60), "1 /min"},
		{AngularRate(math.Pi / 180 / 7200), "0.5 deg/h"}, {AngularRate(math.Pi / 12), "15 deg/s"},
		{Mass(62000), "62 t"}, {Mass(850), "850 kg"}, {Mass(0), "0 kg"},
		{Acceleration(9.80665e-4), "0.1 mg"}, {Acceleration(9.80665e-5), "10 ug"}, {Acceleration(0.02), "0.02 m/s2"},
	} {
		if got := r.v.String(); got != r.want {
			t.Errorf("%T(%v) is written %q, want %q", r.v, r.v, got, r.want)
		}
	}
}

func TestIn(t *testing.T) {
	for _, r := range []struct{ got, want string }{
		{Length(0.0015).In("m"), "0.0015 m"},
		{Length(10).In("ft"), "32.808398950131234 ft"},
		{Length(math.MaxFloat64).In("mm"), "1.7976931348623157e311 mm"},
		{Length(1).In("kn"), "1 m"},
		{Angle(0.3).In("deg"), "17.188733853924696 deg"},
		{Speed(5).In("kn"), "9.719222462203024 kn"},
	} {
		if r.got != r.want {
			t.Errorf("%q, want %q", r.got, r.want)
		}
	}
}

// Whatever is written reads back as the very same value, in every unit that In may be asked for.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		for _, d := range dimensions {
			texts := []string{d.format(v)}
			for _, u := range d.units {
				texts = append(texts, d.in(u.symbol, v))
			}
			for _, s := range texts {
				got, err := d.parse(s)
				if err != nil || math.Float64bits(got) != math.Float64bits(v) {
					t.Fatalf("%s %v is written %q, read back as %v, error %v", d.name, v, s, got, err)
				}
				if ok, err := regexp.MatchString(d.pattern(), s); !ok || err != nil {
					t.Fatalf("%s is written %q, which does not match %s (%v)", d.name, s, d.pattern(), err)
				}
			}
		}
	})
}

// A value typed with a few digits comes back as it was typed, or shorter.
func TestWritesWhatWasTyped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(dimensions).Draw(t, "dimension")
		u := rapid.SampledFrom(d.units).Draw(t, "unit")
		typed := fmt.Sprintf("%v", float64(rapid.IntRange(-99999, 99999).Draw(t, "n"))/100) + " " + u.symbol
		v, err := d.parse(typed)
		if err != nil {
			t.Fatal(err)
		}
		if got := d.in(u.symbol, v); got != typed {
			t.Fatalf("%q comes back as %q", typed, got)
		}
		if got := d.format(v); u.write && v != 0 && len(got) > len(typed) {
			t.Fatalf("%q comes back as %q", typed, got)
		}
	})
}

func TestTable(t *testing.T) {
	seen := map[string]string{}
	for _, d := range dimensions {
		if !d.units[0].write {
			t.Errorf("%s: the first unit must be one that String writes", d.name)
		}
		for _, u := range d.units {
			if other, ok := seen[u.symbol]; ok {
				t.Errorf("%s is a unit of both %s and %s", u.symbol, other, d.name)
			}
			seen[u.symbol] = d.name
		}
		for _, e := range d.examples {
			if _, err := d.parse(e); err != nil {
				t.Errorf("example %q: %v", e, err)
			}
		}
	}
}

func TestUnmarshalKeepsOnError(t *testing.T) {
	x := Speed(3)
	if err := x.UnmarshalText([]byte("8")); err == nil || x != 3 {
		t.Errorf("x is %v, error %v; want it untouched and an error", x, err)
	}
	if err := x.UnmarshalText([]byte("8 kn")); err != nil || x.String() != "8 kn" {
		t.Errorf("x is %v, error %v", x, err)
	}
}

// The exported functions each read and write their own dimension.
func TestExported(t *testing.T) {
	check := func(name, got string, err error, want string) {
		t.Helper()
		if err != nil || got != want {
			t.Errorf("%s: %q, %v; want %q", name, got, err, want)
		}
	}
	l, err := ParseLength("1.2 m")
	check("length", l.String()+" "+l.In("mm"), err, "1.2 m 1200 mm")
	a, err := ParseAngle("90 deg")
	check("angle", a.String()+" "+a.In("arcmin"), err, "90 deg 5400 arcmin")
	d, err := ParseDuration("6.5 s")
	check("duration", d.String()+" "+d.In("ms"), err, "6.5 s 6500 ms")
	s, err := ParseSpeed("8 kn")
	check("speed", s.String()+" "+s.In("km/h"), err, "8 kn 14.816 km/h")
	f, err := ParseFrequency("10 Hz")
	check("frequency", f.String()+" "+f.In("/min"), err, "10 Hz 600 /min")
	w, err := ParseAngularRate("0.5 deg/h")
	check("angular rate", w.String()+" "+w.In("deg/s"), err, "0.5 deg/h 0.00013888888888888889 deg/s")
	m, err := ParseMass("62 t")
	check("mass", m.String()+" "+m.In("kg"), err, "62 t 62000 kg")
	g, err := ParseAcceleration("1 mg")
	check("acceleration", g.String()+" "+g.In("ug"), err, "1 mg 1000 ug")
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"8 kn", "-1.2e3 mm", "1e999999999 m", "1e-999999999 m", "NaN", "5 /min", "9.81 m/s²", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, d := range dimensions {
			v, err := d.parse(s)
			if err != nil {
				if v != 0 || strings.ContainsAny(err.Error(), "\n\x1b") {
					t.Errorf("%q: %v with error %q", s, v, err)
				}
				continue
			}
			if back, err := d.parse(d.format(v)); err != nil || back != v {
				t.Errorf("%q is %v, comes back as %v, %v", s, v, back, err)
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := speed.parse("8.25 kn"); err != nil {
			b.Fatal(err)
		}
	}
}
