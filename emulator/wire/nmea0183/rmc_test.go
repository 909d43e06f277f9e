package nmea0183

import (
	"math"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

func formRMC(in *Fields) Format {
	f := form(in, map[int]Group{1: Seconds, 3: Minutes, 7: Speed, 8: Course, 10: Variation})
	f.Digits[Seconds].Whole, f.Digits[Minutes].Whole = 0, 0
	f.Version = map[int]Version{11: V200, 12: V230, 13: V410}[in.Len()]
	return f
}

func buildRMC(f fields, in *Fields) (Sentence, Format) {
	s := &RMC{Talker: in.Talker(), Time: f.time(), Status: Status(f.letter("status").Or('?')), LatDeg: f.float("lat"), LonDeg: f.float("lon"),
		SpeedKn: f.float("sog_kn"), CourseDeg: f.float("cog_deg"), VariationDeg: f.float("mag_var_deg")}
	if y, ok := f.int("yy").Value(); ok {
		s.Date = opt.Of(Date{2000 + y, f.int("month").Or(0), f.int("day").Or(0)})
	}
	if m, ok := f.letter("mode").Value(); ok {
		s.Mode = opt.Of(Mode(m))
	}
	if n, ok := f.letter("nav_status").Value(); ok {
		s.NavStatus = opt.Of(NavStatus(n))
	}
	return s, formRMC(in)
}

func TestRMCOfAReading(t *testing.T) {
	tests := []struct {
		name   string
		o      Options
		change func(r *wire.Reading)
		want   string
	}{
		// 3.0969 m/s / (1852/3600) = 6.01989 kn.
		{"all there", Options{}, nil, "GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W,R,V"},
		{"literal status", Options{LiteralStatus: true}, nil, "GNRMC,081502.20,V,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W,R,V"},
		{"2.3 knows no R", Options{Version: V230}, nil, "GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W,D"},
		{"3.01 knows R", Options{Version: V301}, nil, "GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W,R"},
		{"2.3 knows no P", Options{Version: V230}, func(r *wire.Reading) { r.Fix = wire.FixPrecise }, "GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W,A"},
		{"3.01 knows no P", Options{Version: V301}, func(r *wire.Reading) { r.Fix = wire.FixPrecise }, "GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W,A"},
		{"4.11 knows F and P", Options{Version: V411}, func(r *wire.Reading) { r.Fix = wire.FixRTKFloat }, "GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W,F,V"},
		{"2.0", Options{Version: V200}, nil, "GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W"},
		{"no fix", Options{}, func(r *wire.Reading) { r.Fix = wire.FixNone; r.Variation = opt.None[float64]() }, "GNRMC,081502.20,V,,,,,,,140626,,,N,V"},
		{"nothing", Options{}, func(r *wire.Reading) { *r = wire.Reading{} }, "GNRMC,,V,,,,,,,,,,N,V"},
		{"estimated is void by the standard", Options{}, func(r *wire.Reading) { r.Fix = wire.FixEstimated },
			"GNRMC,081502.20,V,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.9,W,E,V"},
		{"at rest", Options{}, func(r *wire.Reading) { r.SpeedMS = opt.Of(0.0); r.CourseRad = opt.None[float64]() },
			"GNRMC,081502.20,A,5403.49612,N,00319.00079,W,0.00,,140626,0.9,W,R,V"},
		{"course rounds to north", Options{}, func(r *wire.Reading) { r.CourseRad = opt.Of(359.996 * math.Pi / 180) },
			"GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,0.00,140626,0.9,W,R,V"},
		{"variation of no size is east", Options{}, func(r *wire.Reading) { r.Variation = opt.Of(-0.0001) },
			"GNRMC,081502.20,A,5403.49612,N,00319.00079,W,6.02,12.45,140626,0.0,E,R,V"},
		{"the last moment of a year belongs to the next", Options{}, func(r *wire.Reading) { r.UTC = opt.Of(time.Date(2026, 12, 31, 23, 59, 59, 995e6, time.UTC)) },
			"GNRMC,000000.00,A,5403.49612,N,00319.00079,W,6.02,12.45,010127,0.9,W,R,V"},
		{"the last moment of February", Options{}, func(r *wire.Reading) { r.UTC = opt.Of(time.Date(2028, 2, 29, 23, 59, 59, 999e6, time.UTC)) },
			"GNRMC,000000.00,A,5403.49612,N,00319.00079,W,6.02,12.45,010328,0.9,W,R,V"},
		{"just before the last moment", Options{}, func(r *wire.Reading) { r.UTC = opt.Of(time.Date(2026, 12, 31, 23, 59, 59, 994999999, time.UTC)) },
			"GNRMC,235959.99,A,5403.49612,N,00319.00079,W,6.02,12.45,311226,0.9,W,R,V"},
		{"minute and hour carry", Options{Decimals: map[string]int{"seconds": 0}}, func(r *wire.Reading) { r.UTC = opt.Of(time.Date(2026, 12, 31, 11, 59, 59, 500e6, time.UTC)) },
			"GNRMC,120000,A,5403.49612,N,00319.00079,W,6.02,12.45,311226,0.9,W,R,V"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			r := reading()
			if test.change != nil {
				test.change(r)
			}
			if got := encode(t, "RMC", test.o, r); got != sealed(test.want) {
				t.Errorf("got  %q\nwant %q", got, sealed(test.want))
			}
		})
	}
}

func TestRMCModeAndStatus(t *testing.T) {
	// NMEA Revealed, mode indicator; the status of E, M, S and N is V in it too.
	for fix, want := range map[wire.Fix]string{wire.FixNone: "NV", wire.FixAutonomous: "AA", wire.FixDifferential: "DA", wire.FixPrecise: "PA",
		wire.FixRTKFixed: "RA", wire.FixRTKFloat: "FA", wire.FixEstimated: "EV", wire.FixManual: "MV", wire.FixSimulated: "SV"} {
		r := reading()
		r.Fix = fix
		s, err := Parse([]byte(encode(t, "RMC", Options{}, r)))
		if err != nil {
			t.Fatal(err)
		}
		m := s.(*RMC)
		if got := string([]byte{byte(m.Mode.Or('?')), byte(m.Status)}); got != want || m.Mode.Or('?').Fix() != fix {
			t.Errorf("%v is %s, want %s", fix, got, want)
		}
		if (fix != wire.FixNone) != m.LatDeg.Has() {
			t.Errorf("%v has position %v", fix, m.LatDeg)
		}
	}
}

func TestRMCRefuses(t *testing.T) {
	ok := RMC{Status: Valid}
	change := func(f func(s *RMC)) RMC { s := ok; f(&s); return s }
	for want, s := range map[string]RMC{
		`encode RMC: status is "\x00", allowed: A or V`:                           {},
		"encode RMC: speed is -1, allowed: 0 ≤ speed ≤ 9999 kn or km/h":           change(func(s *RMC) { s.SpeedKn = opt.Of(-1.0) }),
		"encode RMC: course is 360, allowed: 0° ≤ course < 360°":                  change(func(s *RMC) { s.CourseDeg = opt.Of(360.0) }),
		"encode RMC: variation is NaN, allowed: -180° ≤ variation ≤ 180°":         change(func(s *RMC) { s.VariationDeg = opt.Of(math.NaN()) }),
		"encode RMC: year is 2080, allowed: 1980 to 2079, as two digits are sent": change(func(s *RMC) { s.Date = opt.Of(Date{2080, 1, 1}) }),
		"encode RMC: month is 13, allowed: 1 to 12":                               change(func(s *RMC) { s.Date = opt.Of(Date{2026, 13, 1}) }),
		"encode RMC: day is 29, allowed: a day of its month":                      change(func(s *RMC) { s.Date = opt.Of(Date{2026, 2, 29}) }),
		`encode RMC: mode is "X", allowed: one of ADEMSNPRF`:                      change(func(s *RMC) { s.Mode = opt.Of(Mode('X')) }),
		`encode RMC: navigational status is "A", allowed: one of SCUV`:            change(func(s *RMC) { s.NavStatus = opt.Of(NavStatus('A')) }),
	} {
		if got, err := s.Append([]byte("before"), nil); err == nil || err.Error() != want || string(got) != "before" {
			t.Errorf("got %q, error %v\nwant error %s", got, err, want)
		}
	}
	// A date that does not exist must not crash the carry into the next day.
	for _, d := range []Date{{}, {2026, 0, 1}, {2026, 14, 99}, {2026, -1, -1}} {
		s := RMC{Status: Valid, Time: opt.Of(day - 1), Date: opt.Of(d)}
		if _, err := s.Append(nil, nil); err == nil {
			t.Errorf("date %v is written", d)
		}
	}
	for body, want := range map[string]string{
		"GPRMC,,,,,,,,,,,,N,V":      `decode RMC: status is "", allowed: A or V`,
		"GPRMC,,B,,,,,,,,,,N,V":     `decode RMC: status is "B", allowed: one of AV`,
		"GPRMC,,A,,,,,,,310226,,,N": `decode RMC: date is "310226", allowed: ddmmyy, a day of the calendar`,
		"GPRMC,,A,,,,,,,010026,,,N": `decode RMC: date is "010026", allowed: ddmmyy, a day of the calendar`,
		"GPRMC,,A,,,,,,,10127,,,N":  `decode RMC: date is "10127", allowed: ddmmyy, a day of the calendar`,
		"GPRMC,,A,,,,,,,,1.5,X,N":   `decode RMC: variation is "X", allowed: the letter E or W`,
		"GPRMC,,A,,,,,,360.1,,,,N":  `decode RMC: course is "360.1", allowed: 0° ≤ course ≤ 360°`,
		"GPRMC,,A,,,,,,,,,,X":       `decode RMC: mode is "X", allowed: one of ADEMSNPRF`,
		"GPRMC":                     `decode RMC: status is "", allowed: A or V`,
	} {
		if s, err := Parse([]byte(sealed(body))); err == nil || err.Error() != want || s != nil {
			t.Errorf("%s\ngot  %v\nwant %s", body, err, want)
		}
	}
}
