package nmea0183

import (
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
	for _, c := range []struct {
		in   []string
		want string
	}{
		{nil, "no sentences"},
		{[]string{"$GPHDT,0.00,T*06"}, `"$GPHDT,0.00,T*06"`},
		{[]string{"hello"}, `"hello"`},
		{[]string{"$GPHDT,0.00,T*05\r\n$GPHDT,0.00,T*05"}, "verbatim: sentence"},
	} {
		if _, err := Verbatim(c.in, 1); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: error %v, want %q in it", c.in, err, c.want)
		}
	}
}
