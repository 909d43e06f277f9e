package nmea0183

import (
	"strings"
	"testing"

	"swellbench/emulator/wire"
)

// Every state of the fix has a quality and a mode of its own, which lead back to it; others lead nowhere.
func TestFixes(t *testing.T) {
	for i, r := range fixes {
		if r.fix != wire.Fix(i) || r.quality.Fix() != r.fix || r.mode.Fix() != r.fix || strings.IndexByte(modeLetters, byte(r.mode)) < 0 {
			t.Errorf("row %d: %v, quality %d is %v, mode %c is %v", i, r.fix, r.quality, r.quality.Fix(), r.mode, r.mode.Fix())
		}
	}
	if len(fixes) != len(modeLetters) {
		t.Errorf("%d states, %d modes", len(fixes), len(modeLetters))
	}
	for _, q := range []Quality{-1, 9, 1 << 40} {
		if q.Fix() != wire.FixNone {
			t.Errorf("quality %d is %v", q, q.Fix())
		}
	}
	for _, m := range []Mode{0, 'B', 'a', 255} {
		if m.Fix() != wire.FixNone {
			t.Errorf("mode %d is %v", m, m.Fix())
		}
	}
}

func TestUnknownFixIsRefused(t *testing.T) {
	for _, kind := range []string{"GGA", "RMC", "VTG"} {
		e, err := New(kind, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			fix  wire.Fix
			want string
		}{
			{-1, "encode " + kind + ": fix is -1, allowed: 0 (none) to 8 (simulated)"},
			{9, "encode " + kind + ": fix is 9, allowed: 0 (none) to 8 (simulated)"},
		} {
			b, err := e.Append([]byte("before"), &wire.Reading{Fix: c.fix})
			if err == nil || err.Error() != c.want || string(b) != "before" {
				t.Errorf("%s: %q, %v, want %s", kind, b, err, c.want)
			}
		}
	}
}

// With a fix whose position is not known the position is null, and nothing else is touched.
func TestFixWithoutPosition(t *testing.T) {
	r := wire.Reading{Fix: wire.FixEstimated}
	for kind, want := range map[string]string{
		"GGA": "GNGGA,,,,,,6,,,,M,,M,,",
		"RMC": "GNRMC,,V,,,,,,,,,,E,V",
		"VTG": "GNVTG,,T,,M,,N,,K,E",
	} {
		e, err := New(kind, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if b, err := e.Append(nil, &r); err != nil || string(b) != sealed(want) {
			t.Errorf("%s: %q, %v, want %q", kind, b, err, sealed(want))
		}
	}
}

func TestParseTimeRefuses(t *testing.T) {
	for _, s := range []string{"240000", "236000", "235961", "225960", "12000", "1200000", "120000.5x", "12000x", "+20000", "235860.00"} {
		if d, ok := parseTime([]byte(s)); ok {
			t.Errorf("%q is read as %v", s, d)
		}
	}
}

func TestTagTime(t *testing.T) {
	for _, c := range []struct {
		tag, want string
	}{
		{"c:1451606401", "2016-01-01T00:00:01Z"},
		{"s:GN0001,c:1451606401500", "2016-01-01T00:00:01.5Z"},
		{"c:99999999999", "5138-11-16T09:46:39Z"},
		{"c:100000000000", "1973-03-03T09:46:40Z"},
		{"c:-1", ""}, {"c:", ""}, {"c:12x", ""}, {"s:x", ""}, {"", ""}, {"c:99999999999999999999", ""},
	} {
		at, ok := Tag(c.tag).Time()
		if got := at.Format("2006-01-02T15:04:05.999Z"); ok != (c.want != "") || ok && got != c.want {
			t.Errorf("%q is %s, %v, want %q", c.tag, got, ok, c.want)
		}
	}
}
