package heave

import (
	"math"
	"strings"
	"testing"

	"swellbench/scenarios/strictyaml"
)

func TestSpec(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"plain", "cut-off: 20 s", ""},
		{"all", "cut-off: 2 min\norder: 2\noutput: delayed", ""},
		{"nothing chosen", "order: 2", `cut-off`},
		{"too short", "cut-off: 500 ms", "cut-off period is 0.5 s; allowed: 1 s to 600 s"},
		{"too long", "cut-off: 1 h", "cut-off period is 1 h; allowed: 1 s to 600 s"},
		{"order", "cut-off: 20 s\norder: 4", "order is 4; allowed: 2 or 3"},
		{"output", "cut-off: 20 s\noutput: tomorrow", "tomorrow"},
		{"unit", "cut-off: 20 m", "20 m"},
	} {
		var s Spec
		doc, err := strictyaml.DecodeBytes("f.yaml", []byte(c.text), &s)
		if err == nil {
			err = doc.Problems(s.Validate())
		}
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "f.yaml:")) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	if f, err := (Spec{CutOff: 20}).Filter(); err != nil || f.Order() != 3 || f.CutOffS() != 20 {
		t.Errorf("defaults: %+v, %v", f, err)
	}
	if _, err := (Spec{CutOff: -20}).Filter(); err == nil {
		t.Error("a negative cut-off period makes a filter")
	}
	for _, bad := range []Spec{{CutOff: 20, Output: "x"}, {Order: 3}} {
		if len(bad.Validate()) == 0 {
			t.Errorf("%+v passes", bad)
		}
	}
}

func TestWords(t *testing.T) {
	f, _ := New(3, 20)
	// Worked by hand: 47.3° is 1.05 s of 8 s, and √((1−0.998)² + 4·0.998·sin²(47.3°/2)) = 0.801.
	want := "in waves of 8 s the heave filter of order 3 with a cut-off of 20 s puts out 99.8 % of the true height, but leads it by 47.3° (1.1 s), " +
		"so real-time heave is wrong by 80.1 % of the amplitude; phase counts more than gain, which alone would cost 0.2 %; " +
		"delayed heave would be wrong by 0.41 %, and 10 % in real time takes a cut-off of 160 s, which settles 154 s after a change"
	if got := f.Describe(8); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	ws := Spec{CutOff: 20}.Warnings(8)
	if len(ws) != 1 || ws[0].Path != "cut-off" || ws[0].Text != want {
		t.Errorf("warnings: %+v", ws)
	}
	if ws := (Spec{CutOff: 20, Output: Delayed}).Warnings(8); len(ws) != 0 {
		t.Errorf("delayed heave of 8 s waves is fine, but: %+v", ws)
	}
	if ws := (Spec{CutOff: 20, Output: Delayed}).Warnings(16); len(ws) != 1 || !strings.Contains(ws[0].Text, "forward and backward") {
		t.Errorf("delayed heave of 16 s waves: %+v", ws)
	}
	for _, none := range []float64{0, -1, math.NaN()} {
		if ws := (Spec{CutOff: 20}).Warnings(none); ws != nil {
			t.Errorf("waves of %g s: %+v", none, ws)
		}
		f.Describe(none)
		f.DescribeDelayed(none)
	}
	if (Spec{}).Warnings(8) != nil {
		t.Error("no filter, but a warning")
	}
}

func TestLimits(t *testing.T) {
	f, _ := New(3, 20)
	if p := f.LongestPeriodS(0.1); math.Abs(f.At(p).Error-0.1) > 1e-9 {
		t.Errorf("waves of %g s are wrong by %g, want 0.1", p, f.At(p).Error)
	}
	if c := f.CutOffFor(8, 0.1); math.Abs(Filter{3, c}.At(8).Error-0.1) > 1e-9 {
		t.Errorf("a cut-off of %g s makes 8 s waves wrong by %g, want 0.1", c, Filter{3, c}.At(8).Error)
	}
	if e := f.At(math.Inf(1)); e.Gain != 0 || e.DelayedError != 1 || f.Response(0) != 0 {
		t.Errorf("a constant height passes: %+v", e)
	}
	if e := f.At(-1); !math.IsNaN(e.Gain) {
		t.Errorf("a negative period: %+v", e)
	}
	if e := (Filter{}).At(8); e != (Effect{Gain: 1, DelayedGain: 1}) {
		t.Errorf("no filter: %+v", e)
	}
	for _, c := range []struct {
		order  int
		period float64
	}{{1, 20}, {4, 20}, {0, 20}, {2, 0}, {2, -5}, {3, math.NaN()}, {3, math.Inf(1)}} {
		if _, err := New(c.order, c.period); err == nil {
			t.Errorf("New(%d, %g) succeeds", c.order, c.period)
		}
	}
	if s := f.InSea(func(float64) float64 { return 1 }, 1, 0.5); !math.IsNaN(s.Heave) {
		t.Errorf("an empty band: %+v", s)
	}
}

func TestSchema(t *testing.T) {
	schema, err := strictyaml.Schema(Spec{}, "heave filter")
	if err != nil || !strings.Contains(string(schema), "real-time") {
		t.Errorf("%v: %s", err, schema)
	}
}
