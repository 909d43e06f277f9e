package nmea0183

import (
	"math"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

func buildVTG(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{1: Course, 3: Course, 5: Speed})
	if text := in.Field(3); len(text) > 0 && text[0] == '0' { // of two courses, the one with zeros in front shows more
		form.Digits[Course] = digitsOf(text)
	} else if text := in.Field(1); len(text) > 0 {
		form.Digits[Course] = digitsOf(text)
	}
	form.BareNulls = len(in.Field(2)) == 0
	form.Version = map[int]Version{8: V200, 9: V410}[in.Len()]
	s := &VTG{Talker: in.Talker(), CourseDeg: f.float("cog_true_deg"), MagneticDeg: f.float("cog_mag_deg"), SpeedKn: f.float("sog_kn"),
		SpeedKmh: f.float("sog_kmh")}
	if m, ok := f.letter("mode").Value(); ok {
		s.Mode = opt.Of(Mode(m))
	}
	return s, form
}

func TestVTGOfAReading(t *testing.T) {
	tests := []struct {
		name   string
		o      Options
		change func(r *wire.Reading)
		want   string
	}{
		// 3.0969 m/s is 6.01989 kn and 11.14884 km/h; 12.45° - (-0.9°) = 13.35° magnetic.
		{"all there", Options{}, nil, "GNVTG,12.45,T,13.35,M,6.020,N,11.149,K,R"},
		{"2.0", Options{Version: V200, Talker: "GP"}, nil, "GPVTG,12.45,T,13.35,M,6.020,N,11.149,K"},
		{"2.3 knows no F", Options{Version: V230}, func(r *wire.Reading) { r.Fix = wire.FixRTKFloat }, "GNVTG,12.45,T,13.35,M,6.020,N,11.149,K,D"},
		{"no fix", Options{}, func(r *wire.Reading) { r.Fix = wire.FixNone }, "GNVTG,,T,,M,,N,,K,N"},
		{"no fix, units left out", Options{BareNulls: true}, func(r *wire.Reading) { r.Fix = wire.FixNone }, "GNVTG,,,,,,,,,N"},
		{"at rest", Options{}, func(r *wire.Reading) { r.CourseRad = opt.None[float64](); r.SpeedMS = opt.Of(0.021) }, "GNVTG,,T,,M,0.041,N,0.076,K,R"},
		{"no variation", Options{}, func(r *wire.Reading) { r.Variation = opt.None[float64]() }, "GNVTG,12.45,T,,M,6.020,N,11.149,K,R"},
		{"magnetic wraps down", Options{}, func(r *wire.Reading) { r.Variation = opt.Of(13 * math.Pi / 180) }, "GNVTG,12.45,T,359.45,M,6.020,N,11.149,K,R"},
		{"magnetic wraps up", Options{Decimals: map[string]int{"course": 1}}, func(r *wire.Reading) {
			r.CourseRad, r.Variation = opt.Of(359.96*math.Pi/180), opt.Of(-0.02*math.Pi/180)
		}, "GNVTG,0.0,T,0.0,M,6.020,N,11.149,K,R"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			r := reading()
			if test.change != nil {
				test.change(r)
			}
			if got := encode(t, "VTG", test.o, r); got != sealed(test.want) {
				t.Errorf("got  %q\nwant %q", got, sealed(test.want))
			}
		})
	}
}

func TestVTGRefuses(t *testing.T) {
	for want, s := range map[string]VTG{
		"encode VTG: course is -0.1, allowed: 0° ≤ course < 360°":         {CourseDeg: opt.Of(-0.1)},
		"encode VTG: magnetic course is 360, allowed: 0° ≤ course < 360°": {MagneticDeg: opt.Of(360.0)},
		"encode VTG: speed is NaN, allowed: 0 ≤ speed ≤ 9999 kn or km/h":  {SpeedKmh: opt.Of(math.NaN())},
	} {
		if got, err := s.Append([]byte("before"), nil); err == nil || err.Error() != want || string(got) != "before" {
			t.Errorf("got %q, error %v\nwant error %s", got, err, want)
		}
	}
	for body, want := range map[string]string{
		"GPVTG,12.0,M,,M,1.0,N,2.0,K,A": `decode VTG: unit of true course is "M", allowed: T`,
		"GPVTG,12.0,T,,M,1.0,K,2.0,N,A": `decode VTG: unit of speed is "K", allowed: N`,
		"GPVTG,,T,,M,-1.0,N,,K,A":       `decode VTG: speed is "-1.0", allowed: 0 ≤ speed ≤ 9999 kn or km/h`,
	} {
		if s, err := Parse([]byte(sealed(body))); err == nil || err.Error() != want || s != nil {
			t.Errorf("%s\ngot  %v\nwant %s", body, err, want)
		}
	}
	// A broken reading is refused whether or not there is a variation to take off.
	e, _ := New("VTG", Options{})
	r := reading()
	r.CourseRad = opt.Of(math.NaN())
	if got, err := e.Append(nil, r); err == nil || len(got) != 0 {
		t.Errorf("course NaN gives %q", got)
	}
}
