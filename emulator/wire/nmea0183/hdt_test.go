package nmea0183

import (
	"math"
	"strings"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

func buildHDT(f fields, in *Fields) (Sentence, Format) {
	return &HDT{Talker: in.Talker(), HeadingDeg: f.float("heading_true_deg")}, form(in, map[int]Group{1: Heading})
}

func TestHDT(t *testing.T) {
	tests := []struct {
		name     string
		deg      opt.Opt[float64]
		decimals uint8
		want     string
		err      string
	}{
		{name: "east", deg: opt.Of(90.0), decimals: 2, want: "HEHDT,90.00,T"},
		{name: "rounds up into north", deg: opt.Of(359.996), decimals: 2, want: "HEHDT,0.00,T"},
		{name: "one decimal", deg: opt.Of(359.99), decimals: 1, want: "HEHDT,0.0,T"},
		{name: "no decimals", deg: opt.Of(359.5), decimals: 0, want: "HEHDT,0,T"},
		{name: "just not north", deg: opt.Of(359.4999), decimals: 0, want: "HEHDT,359,T"},
		{name: "nine decimals", deg: opt.Of(359.9999999994), decimals: 9, want: "HEHDT,359.999999999,T"},
		{name: "nine decimals round", deg: opt.Of(359.9999999996), decimals: 9, want: "HEHDT,0.000000000,T"},
		{name: "a half goes up", deg: opt.Of(0.125), decimals: 2, want: "HEHDT,0.13,T"},
		{name: "a half in decimal digits goes up", deg: opt.Of(1.005), decimals: 2, want: "HEHDT,1.01,T"},
		{name: "just below a half", deg: opt.Of(1.00499999), decimals: 2, want: "HEHDT,1.00,T"},
		{name: "minus zero", deg: opt.Of(math.Copysign(0, -1)), decimals: 2, want: "HEHDT,0.00,T"},
		{name: "null", want: "HEHDT,,T"},
		{name: "not a number", deg: opt.Of(math.NaN()), err: "encode HDT: heading is NaN, allowed: 0° ≤ heading < 360°"},
		{name: "full circle", deg: opt.Of(360.0), err: "encode HDT: heading is 360, allowed: 0° ≤ heading < 360°"},
		{name: "below zero", deg: opt.Of(-1e-300), err: "encode HDT: heading is -1e-300, allowed: 0° ≤ heading < 360°"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := HDT{HeadingDeg: test.deg}
			f := hdtFormat.With(Heading, Digits{Decimals: test.decimals})
			got, err := s.Append(nil, &f)
			if test.err != "" {
				if err == nil || err.Error() != test.err || len(got) != 0 {
					t.Errorf("got %q, error %v", got, err)
				}
				return
			}
			if err != nil || string(got) != sealed(test.want) {
				t.Errorf("got %q, error %v, want %q", got, err, sealed(test.want))
			}
		})
	}
}

func TestHDTOfAReading(t *testing.T) {
	for want, rad := range map[string]float64{
		"HEHDT,274.07,T": 274.07 * math.Pi / 180,
		"HEHDT,0.00,T":   math.Nextafter(2*math.Pi, 0), // the last double of the circle
		"HEHDT,0.00,T ":  2 * math.Pi,                  // the next one, still less than a full turn
		"HEHDT,45.13,T":  45.125 * math.Pi / 180,       // 45.125° is a half of the last digit, whatever rad make of it
		"HEHDT,180.00,T": math.Pi,
	} {
		want = sealed(strings.TrimSpace(want))
		if got := encode(t, "HDT", Options{}, &wire.Reading{Heading: opt.Of(rad)}); got != want {
			t.Errorf("%v: got %q, want %q", rad, got, want)
		}
	}
	if got := encode(t, "HDT", Options{Talker: "GN"}, &wire.Reading{}); got != sealed("GNHDT,,T") {
		t.Errorf("got %q", got)
	}
	e, _ := New("HDT", Options{})
	want := "encode HDT: heading is -57.29577951308232, allowed: 0° ≤ heading < 360°"
	if got, err := e.Append([]byte("x"), &wire.Reading{Heading: opt.Of(-1.0)}); err == nil || err.Error() != want || string(got) != "x" {
		t.Errorf("got %q, error %v", got, err)
	}
}
