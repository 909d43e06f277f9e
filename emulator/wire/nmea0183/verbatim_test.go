package nmea0183

import (
	"math"
	"strings"
	"testing"

	"swellbench/emulator/wire"
)

func TestVerbatim(t *testing.T) {
	v, err := Verbatim([]string{"$GPHDT,0.00,T*05", "$TIROT,30.0,A*08"}, 10)
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []string{"$GPHDT,0.00,T*05\r\n", "$TIROT,30.0,A*08\r\n", "$GPHDT,0.00,T*05\r\n"} {
		got, err := v.Append([]byte("before"), &wire.Reading{T: float64(k) / 10})
		if string(got) != "before"+want || err != nil {
			t.Errorf("epoch %d: %q, %v", k, got, err)
		}
	}
	if v.Kind() != "verbatim" || len(v.Resolutions()) != 0 {
		t.Errorf("kind is %s, resolutions are %v", v.Kind(), v.Resolutions())
	}
	for at, want := range map[float64]string{-0.1: "$TIROT,30.0,A*08\r\n", -0.2: "$GPHDT,0.00,T*05\r\n", 0.29999999999: "$TIROT,30.0,A*08\r\n"} {
		if got, err := v.Append(nil, &wire.Reading{T: at}); string(got) != want || err != nil {
			t.Errorf("at %g s: %q, %v, want %q", at, got, err, want)
		}
	}
	if got, err := v.Append(nil, &wire.Reading{T: math.NaN()}); len(got) == 0 || err != nil { // must not panic
		t.Errorf("no time at all: %q, %v", got, err)
	}
	for _, c := range []struct {
		in   []string
		want string
	}{
		{nil, "no sentences"},
		{[]string{"$GPHDT,0.00,T*06"}, `"$GPHDT,0.00,T*06"`},
		{[]string{"hello"}, `"hello"`},
		{[]string{"$GPHDT,0.00,T*05\r\n$GPHDT,0.00,T*05"}, "has a line end"},
		{[]string{"$GPHDT,0.00,T*05\r\n"}, `verbatim: sentence "$GPHDT,0.00,T*05\r\n" has a line end; leave it out, CR LF is added`},
	} {
		if _, err := Verbatim(c.in, 1); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: error %v, want %q in it", c.in, err, c.want)
		}
	}
}
