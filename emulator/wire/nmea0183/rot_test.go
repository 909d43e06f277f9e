package nmea0183

import (
	"math"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

func buildROT(f fields, in *Fields) (Sentence, Format) {
	return &ROT{Talker: in.Talker(), RateDegMin: f.float("rate_deg_per_min"), Status: Status(f.letter("status").Or('?'))},
		form(in, map[int]Group{1: Rate})
}

func TestROT(t *testing.T) {
	for want, r := range map[string]opt.Opt[float64]{
		"TIROT,-11.23,A":  opt.Of(-11.23 / 60 * math.Pi / 180),
		"TIROT,360.00,A":  opt.Of(6 * math.Pi / 180), // 6°/s
		"TIROT,0.00,A":    opt.Of(-1e-9),             // no -0.00
		"TIROT,-0.01,A":   opt.Of(-0.005 / 60 * math.Pi / 180),
		"TIROT,,V":        opt.None[float64](),
		"TIROT,3437.75,A": opt.Of(1.0), // 1 rad/s = 180/π·60 °/min
	} {
		if got := encode(t, "ROT", Options{}, &wire.Reading{RateOfTurn: r}); got != sealed(want) {
			t.Errorf("got %q, want %q", got, sealed(want))
		}
	}
	for want, s := range map[string]ROT{
		"encode ROT: rate of turn is +Inf, allowed: -99999 °/min ≤ rate ≤ 99999 °/min": {RateDegMin: opt.Of(math.Inf(1)), Status: Valid},
		`encode ROT: status is "B", allowed: A or V`:                                   {Status: 'B'},
	} {
		if got, err := s.Append([]byte("before"), nil); err == nil || err.Error() != want || string(got) != "before" {
			t.Errorf("got %q, error %v\nwant error %s", got, err, want)
		}
	}
	for body, want := range map[string]string{
		"TIROT,,":     `decode ROT: status is "", allowed: A or V`,
		"TIROT,1.0":   `decode ROT: status is "", allowed: A or V`,
		"TIROT,1 0,A": `decode ROT: rate of turn is "1 0", allowed: -99999 °/min ≤ rate ≤ 99999 °/min`,
	} {
		if s, err := Parse([]byte(sealed(body))); err == nil || err.Error() != want || s != nil {
			t.Errorf("%s\ngot  %v\nwant %s", body, err, want)
		}
	}
}
