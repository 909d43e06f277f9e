package nmea0183

import (
	"gonum.org/v1/gonum/spatial/r3"

	"errors"
	"math"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

func buildGGA(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{1: Seconds, 2: Minutes, 8: HDOP, 9: Altitude, 11: Undulation, 13: Age})
	form.Digits[Seconds].Whole, form.Digits[Minutes].Whole = 0, 0
	form.BareNulls = len(in.Field(9)) == 0 && len(in.Field(10)) == 0
	return &GGA{Talker: in.Talker(), Time: f.time(), LatDeg: f.float("lat"), LonDeg: f.float("lon"), Quality: Quality(f.int("quality").Or(-1)),
		Satellites: f.int("sats_used"), HDOP: f.float("hdop"), AltitudeM: f.float("alt_m"), UndulationM: f.float("geoid_sep_m"),
		AgeS: f.float("diff_age_s"), Station: f.int("diff_station")}, form
}

// reading is one in which all is known.
func reading() *wire.Reading {
	return &wire.Reading{
		UTC: opt.Of(time.Date(2026, 6, 14, 8, 15, 2, 200e6, time.UTC)), Fix: wire.FixRTKFixed,
		Position:   opt.Of(geo.Position{Lat: 54.058268723 * math.Pi / 180, Lon: -3.316679818 * math.Pi / 180, Height: 63.544}),
		Undulation: opt.Of(51.204), Variation: opt.Of(-0.9 * math.Pi / 180), SpeedMS: opt.Of(3.0969), CourseRad: opt.Of(12.45 * math.Pi / 180),
		Satellites: opt.Of(19), HDOP: opt.Of(0.6), DiffAge: opt.Of(1.2), DiffStation: opt.Of(1023),
		Heading: opt.Of(274.07 * math.Pi / 180), Pitch: opt.Of(-1.35 * math.Pi / 180), Roll: opt.Of(4.8 * math.Pi / 180),
		HeaveM: opt.Of(-0.57), RateOfTurn: opt.Of(-11.23 / 60 * math.Pi / 180),
		PDOP: opt.Of(1.31), VDOP: opt.Of(1.12), Sigma: opt.Of(r3.Vec{X: 0.0121, Y: 0.0153, Z: 0.0251}), SigmaEN: 0.00004, Sky: skyOfTen(),
		VelocityEN: opt.Of([2]float64{0.6677, 3.0241}), WaterSpeed: opt.Of([2]float64{3.0512, -0.1034}),
	}
}

// skyOfTen is ten satellites of GPS, eight of them in use.
func skyOfTen() []wire.Satellite {
	var sky []wire.Satellite
	for i := range 10 {
		s := wire.Satellite{Number: 2 + 3*i, Elevation: float64(8*i+3) * degree, Azimuth: float64(37*i) * degree, SNR: opt.Of(float64(31 + 2*i)), Used: i > 1}
		if i == 0 {
			s.SNR = opt.None[float64]()
		}
		sky = append(sky, s)
	}
	return sky
}

// encode writes a reading with a fresh encoder.
func encode(t *testing.T, kind string, o Options, r *wire.Reading) string {
	t.Helper()
	e, err := New(kind, o)
	if err != nil {
		t.Fatal(err)
	}
	text, err := e.Append(nil, r)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// sealed adds the checksum and line end to the text of a sentence.
func sealed(body string) string {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	const hex = "0123456789ABCDEF"
	return "$" + body + "*" + string(hex[sum>>4]) + string(hex[sum&15]) + "\r\n"
}

func TestGGAOfAReading(t *testing.T) {
	tests := []struct {
		name   string
		o      Options
		change func(r *wire.Reading)
		want   string
	}{
		// 54.058268723° = 54° 3.49612338′, 3.316679818° = 3° 19.00078908′, 63.544 - 51.204 = 12.340 m, worked by hand.
		{"all there", Options{}, nil, "GNGGA,081502.20,5403.49612,N,00319.00079,W,4,19,0.6,12.34,M,51.20,M,1,1023"},
		{"seven decimals", Options{Talker: "GP", Decimals: map[string]int{"minutes": 7, "seconds": 0, "altitude": 3, "undulation": 3, "age": 1, "hdop": 2}}, nil,
			"GPGGA,081502,5403.4961234,N,00319.0007891,W,4,19,0.60,12.340,M,51.204,M,1.2,1023"},
		{"no decimals", Options{Decimals: map[string]int{"minutes": 0, "seconds": 0, "altitude": 0, "undulation": 0, "hdop": 0}}, nil,
			"GNGGA,081502,5403,N,00319,W,4,19,1,12,M,51,M,1,1023"},
		{"no fix: what stands there is void", Options{}, func(r *wire.Reading) {
			r.Fix, r.Satellites, r.HDOP = wire.FixNone, opt.Of(0), opt.None[float64]()
			r.Void, r.Position = r.Position, opt.None[geo.Position]()
		}, "GNGGA,081502.20,5403.49612,N,00319.00079,W,0,00,,12.34,M,51.20,M,,"},
		{"no fix: what is known of the position is void", Options{}, func(r *wire.Reading) { r.Fix = wire.FixNone; r.Satellites = opt.Of(0); r.HDOP = opt.None[float64]() },
			"GNGGA,081502.20,,,,,0,00,,,M,,M,,"},
		{"nothing at all", Options{}, func(r *wire.Reading) { *r = wire.Reading{} }, "GNGGA,,,,,,0,,,,M,,M,,"},
		{"nothing, units left out", Options{BareNulls: true}, func(r *wire.Reading) { *r = wire.Reading{} }, "GNGGA,,,,,,0,,,,,,,,"},
		{"no undulation, no height above the sea", Options{}, func(r *wire.Reading) { r.Undulation = opt.None[float64]() },
			"GNGGA,081502.20,5403.49612,N,00319.00079,W,4,19,0.6,,M,,M,1,1023"},
		{"estimated", Options{}, func(r *wire.Reading) {
			r.Fix = wire.FixEstimated
			r.DiffAge, r.DiffStation = opt.None[float64](), opt.None[int]()
		},
			"GNGGA,081502.20,5403.49612,N,00319.00079,W,6,19,0.6,12.34,M,51.20,M,,"},
		{"south-west, and minutes that round up to a degree", Options{}, func(r *wire.Reading) {
			r.Position = opt.Of(geo.Position{Lat: -33.99999999 * math.Pi / 180, Lon: -70.99999999 * math.Pi / 180, Height: 51.204})
		}, "GNGGA,081502.20,3400.00000,S,07100.00000,W,4,19,0.6,0.00,M,51.20,M,1,1023"},
		{"a hair below zero is zero", Options{}, func(r *wire.Reading) {
			r.Position = opt.Of(geo.Position{Lat: -1e-12, Lon: -1e-12, Height: 51.203})
		}, "GNGGA,081502.20,0000.00000,N,00000.00000,E,4,19,0.6,0.00,M,51.20,M,1,1023"},
		{"antimeridian", Options{}, func(r *wire.Reading) {
			r.Position = opt.Of(geo.Position{Lat: math.Pi / 2, Lon: math.Pi, Height: 0})
		}, "GNGGA,081502.20,9000.00000,N,18000.00000,E,4,19,0.6,-51.20,M,51.20,M,1,1023"},
		{"the time carries to midnight", Options{}, func(r *wire.Reading) { r.UTC = opt.Of(time.Date(2026, 12, 31, 23, 59, 59, 995e6, time.UTC)) },
			"GNGGA,000000.00,5403.49612,N,00319.00079,W,4,19,0.6,12.34,M,51.20,M,1,1023"},
		{"another zone is not UTC", Options{}, func(r *wire.Reading) {
			r.UTC = opt.Of(time.Date(2026, 6, 14, 8, 15, 2, 200e6, time.FixedZone("", 3600*5+1800)))
		}, "GNGGA,024502.20,5403.49612,N,00319.00079,W,4,19,0.6,12.34,M,51.20,M,1,1023"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			r := reading()
			if test.change != nil {
				test.change(r)
			}
			if got := encode(t, "GGA", test.o, r); got != sealed(test.want) {
				t.Errorf("got  %q\nwant %q", got, sealed(test.want))
			}
		})
	}
}

// TestHalfAPosition: without one of latitude and longitude there is neither.
func TestHalfAPosition(t *testing.T) {
	for _, s := range []GGA{{LatDeg: opt.Of(1.0)}, {LonDeg: opt.Of(1.0)}} {
		if got, err := s.Append(nil, nil); err != nil || string(got) != sealed("GNGGA,,,,,,0,,,,M,,M,,") {
			t.Errorf("got %q, error %v", got, err)
		}
	}
}

func TestGGAQuality(t *testing.T) {
	// Source of the numbers: NMEA Revealed, GGA.
	for fix, want := range map[wire.Fix]Quality{wire.FixNone: 0, wire.FixAutonomous: 1, wire.FixDifferential: 2, wire.FixPrecise: 3,
		wire.FixRTKFixed: 4, wire.FixRTKFloat: 5, wire.FixEstimated: 6, wire.FixManual: 7, wire.FixSimulated: 8} {
		r := reading()
		r.Fix = fix
		s, err := Parse([]byte(encode(t, "GGA", Options{}, r)))
		if err != nil {
			t.Fatal(err)
		}
		if q := s.(*GGA).Quality; q != want || q.Fix() != fix {
			t.Errorf("%v is quality %d, which is %v; want %d", fix, q, q.Fix(), want)
		}
	}
}

func TestGGARefuses(t *testing.T) {
	nan := opt.Of(math.NaN())
	for want, s := range map[string]GGA{
		"encode GGA: latitude is NaN, allowed: -90° ≤ latitude ≤ 90°":                                             {LatDeg: nan, LonDeg: opt.Of(0.0)},
		"encode GGA: longitude is 180.5, allowed: -180° ≤ longitude ≤ 180°":                                       {LatDeg: opt.Of(1.0), LonDeg: opt.Of(180.5)},
		"encode GGA: quality is 9, allowed: 0 to 8":                                                               {Quality: 9},
		"encode GGA: satellites in use is -1, allowed: 0 to 99":                                                   {Satellites: opt.Of(-1)},
		"encode GGA: HDOP is -0.1, allowed: 0 ≤ HDOP ≤ 9999":                                                      {HDOP: opt.Of(-0.1)},
		"encode GGA: altitude is +Inf, allowed: -99999 m ≤ altitude ≤ 99999 m":                                    {AltitudeM: opt.Of(math.Inf(1))},
		"encode GGA: undulation is 1000, allowed: -999 m ≤ undulation ≤ 999 m":                                    {UndulationM: opt.Of(1000.0)},
		"encode GGA: age of corrections is -1, allowed: 0 s ≤ age ≤ 99999 s":                                      {AgeS: opt.Of(-1.0)},
		"encode GGA: station is 4096, allowed: 0 to 4095":                                                         {Station: opt.Of(4096)},
		"encode GGA: time of day is -1, allowed: 0 s ≤ time < 86401 s (the last second only in a leap second)":    {Time: opt.Of(-time.Second)},
		"encode GGA: talker is \"P1\", allowed: a capital letter other than P, then a capital letter or a digit":  {Talker: Talker{'P', '1'}},
		"encode GGA: time of day is 86401, allowed: 0 s ≤ time < 86401 s (the last second only in a leap second)": {Time: opt.Of(86401 * time.Second)},
		"encode GGA: longitude is NaN, allowed: -180° ≤ longitude ≤ 180°":                                         {LatDeg: opt.Of(1.0), LonDeg: nan, HDOP: nan},
		"encode GGA: latitude is 90.00000001, allowed: -90° ≤ latitude ≤ 90°":                                     {LatDeg: opt.Of(90.00000001), LonDeg: opt.Of(0.0)},
		"encode GGA: HDOP is 10000, allowed: 0 ≤ HDOP ≤ 9999":                                                     {HDOP: opt.Of(10000.0)},
		"encode GGA: altitude is NaN, allowed: -99999 m ≤ altitude ≤ 99999 m":                                     {AltitudeM: nan},
	} {
		if got, err := s.Append([]byte("before"), nil); err == nil || err.Error() != want || string(got) != "before" {
			t.Errorf("got %q, error %v\nwant error %s", got, err, want)
		}
	}
	e, _ := New("GGA", Options{})
	r := reading()
	r.Fix = 99
	var re *wire.RangeError
	if got, err := e.Append([]byte("before"), r); !errors.As(err, &re) || string(got) != "before" {
		t.Errorf("fix 99: %q, %v", got, err)
	}
}

func TestGGAParseRefuses(t *testing.T) {
	for body, want := range map[string]string{
		"GPGGA,123519.00,4860.0000,N,01131.0000,E,1,08,0.9,545.4,M,46.9,M,,": `decode GGA: latitude is "4860.0000", allowed: degrees in 2 digits and minutes below 60 in two, -90° ≤ latitude ≤ 90°`,
		"GPGGA,123519.00,9100.0000,N,01131.0000,E,1,08,0.9,545.4,M,46.9,M,,": `decode GGA: latitude is "9100.0000", allowed: degrees in 2 digits and minutes below 60 in two, -90° ≤ latitude ≤ 90°`,
		"GPGGA,123519.00,4807.0000,N,18100.0000,E,1,08,0.9,545.4,M,46.9,M,,": `decode GGA: longitude is "18100.0000", allowed: degrees in 3 digits and minutes below 60 in two, -180° ≤ longitude ≤ 180°`,
		"GPGGA,123519.00,4807.0000,X,01131.0000,E,1,08,0.9,545.4,M,46.9,M,,": `decode GGA: latitude is "X", allowed: the letter N or S`,
		"GPGGA,123519.00,4807.0000,N,01131.0000,,1,08,0.9,545.4,M,46.9,M,,":  `decode GGA: longitude is "", allowed: the letter E or W`,
		"GPGGA,123519.00,,,01131.0000,E,1,08,0.9,545.4,M,46.9,M,,":           `decode GGA: position is "", allowed: latitude and longitude, or neither`,
		"GPGGA,123519.00,4807.0,N,1131.0,E,1,08,0.9,545.4,M,46.9,M,,":        `decode GGA: longitude is "1131.0", allowed: degrees in 3 digits and minutes below 60 in two, -180° ≤ longitude ≤ 180°`,
		"GPGGA,123519.00,48-7.0,N,01131.0,E,1,08,0.9,545.4,M,46.9,M,,":       `decode GGA: latitude is "48-7.0", allowed: degrees in 2 digits and minutes below 60 in two, -90° ≤ latitude ≤ 90°`,
		"GPGGA,126019.00,,,,,0,,,,M,,M,,":                                    `decode GGA: time is "126019.00", allowed: hhmmss.ss from 000000 to 235959, or 235960 in a leap second`,
		"GPGGA,120060.00,,,,,0,,,,M,,M,,":                                    `decode GGA: time is "120060.00", allowed: hhmmss.ss from 000000 to 235959, or 235960 in a leap second`,
		"GPGGA,12351,,,,,0,,,,M,,M,,":                                        `decode GGA: time is "12351", allowed: hhmmss.ss from 000000 to 235959, or 235960 in a leap second`,
		"GPGGA,,,,,,,,,,M,,M,,":                                              `decode GGA: quality is "", allowed: 0 to 8`,
		"GPGGA,,,,,,9,,,,M,,M,,":                                             `decode GGA: quality is "9", allowed: 0 to 8`,
		"GPGGA,,,,,,1,,1e3,,M,,M,,":                                          `decode GGA: HDOP is "1e3", allowed: 0 ≤ HDOP ≤ 9999`,
		"GPGGA,,,,,,1,,,12.0,F,,M,,":                                         `decode GGA: unit of altitude is "F", allowed: M`,
		"GPGGA,,,,,,1,,,--1,M,,M,,":                                          `decode GGA: altitude is "--1", allowed: -99999 m ≤ altitude ≤ 99999 m`,
		"GPGGA,,,,,,1,,,-,M,,M,,":                                            `decode GGA: altitude is "-", allowed: -99999 m ≤ altitude ≤ 99999 m`,
		"GPGGA":                                                              `decode GGA: quality is "", allowed: 0 to 8`,
	} {
		s, err := Parse([]byte(sealed(body)))
		if err == nil || err.Error() != want || s != nil {
			t.Errorf("%s\ngot  %v\nwant %s", body, err, want)
		}
	}
}

func TestGGAParseTakes(t *testing.T) {
	for body, want := range map[string]GGA{
		"GPGGA,,,,,,0":                        {},
		"GPGGA,,,N,,E,0,,,,M,,M,,,extra,9":    {},
		"GPGGA,1,2":                           {}, // refused below
		"GPGGA,,,,,,1,,,+5.,M,.5,M,000007,":   {Quality: 1, AltitudeM: opt.Of(5.0), UndulationM: opt.Of(0.5), AgeS: opt.Of(7.0)},
		"GPGGA,,,,,,1,,,-0.0,M,-.25,,,":       {Quality: 1, AltitudeM: opt.Of(0.0), UndulationM: opt.Of(-0.25)},
		"GPGGA,,,,,,1,,1.2345678901234567890": {Quality: 1, HDOP: opt.Of(1.2345678901234567890)},
		"GPGGA,123519.1234567899,4807.12345678901234567890,N,01131,E,1": {Quality: 1, Time: opt.Of(45319*time.Second + 123456789),
			LatDeg: opt.Of(48 + 7.12345678901234567890/60), LonDeg: opt.Of(11 + 31.0/60)},
	} {
		s, err := Parse([]byte(sealed(body)))
		if body == "GPGGA,1,2" {
			if err == nil {
				t.Errorf("%s is accepted", body)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", body, err)
			continue
		}
		want.Talker = Talker{'G', 'P'}
		compare(t, s, &want)
		if a, ok := s.(*GGA).AltitudeM.Value(); ok && a == 0 && math.Signbit(a) {
			t.Errorf("%s: a negative zero", body)
		}
	}
}
