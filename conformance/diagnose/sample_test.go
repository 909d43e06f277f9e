package diagnose

import (
	"testing"
	"time"

	"swellbench/conformance/compare"
	"swellbench/conformance/observe"
	"swellbench/scenarios"
)

// The sample does not grow with the log, is spread over all of it, and keeps what is furthest off.
func TestSampleIsBounded(t *testing.T) {
	others.load()
	n := others.cases[0]
	d := n.k.device
	cmp := compare.New(compare.Run{Device: d, Truth: truthOf(t, n), Start: n.k.cmp.UTC(0)})
	dg := New(d, cmp, nil, Options{StartS: 0.5})
	const rows = 60_000
	length := n.k.length
	for i := range rows {
		s := length * float64(i) / rows
		o := observe.Observation{Line: int64(i + 1), Time: cmp.UTC(s), PitchRad: observe.Of(0.01), RollRad: observe.Of(0.02)}
		if i == rows/3 {
			o.RollRad = observe.Of(3.0)
		}
		dg.Add(cmp.Row(&o))
	}
	kept := dg.sample.rows()
	if len(kept) > maxRows+int(compare.NQ)*maxWorst+maxSilent || len(kept) < 500 {
		t.Errorf("%d rows are kept of %d", len(kept), rows)
	}
	var quarters [4]int
	worst := false
	for _, r := range kept {
		quarters[min(3, max(0, int(4*r.s/length)))]++
		worst = worst || r.line == rows/3+1
	}
	for i, q := range quarters {
		if q < len(kept)/10 {
			t.Errorf("%d of %d rows are of quarter %d", q, len(kept), i+1)
		}
	}
	if !worst {
		t.Error("the row furthest off is not kept")
	}
	at := time.Now()
	if d := dg.Diagnose([]string{"parse.values", "offset.mounting"}); len(d.Findings) == 0 {
		t.Error("a consumer that always says the same has no findings")
	}
	t.Logf("diagnosed in %v", time.Since(at))
}

// Stamps that stand still, or lie far away, neither grow the sample nor break it.
func TestSampleOfOddStamps(t *testing.T) {
	others.load()
	n := others.cases[0]
	cmp := compare.New(compare.Run{Device: n.k.device, Truth: truthOf(t, n), Start: n.k.cmp.UTC(0)})
	dg := New(n.k.device, cmp, nil, Options{})
	for i := range 20_000 {
		o := observe.Observation{Line: int64(i + 1), Time: cmp.UTC(5), RollRad: observe.Of(1.0), LatRad: observe.Of(-0.7), LonRad: observe.Of(1.0)}
		switch i % 4 {
		case 1:
			o.Time = o.Time.Add(18 * time.Second)
		case 2:
			o.Time = o.Time.AddDate(-46, 0, 0).Add(7 * time.Second)
		case 3:
			o.Time = time.Time{}
		}
		dg.Add(cmp.Row(&o))
	}
	if kept := dg.sample.rows(); len(kept) > maxRows+int(compare.NQ)*maxWorst+maxSilent {
		t.Errorf("%d rows are kept", len(kept))
	}
	dg.Diagnose([]string{"time.validity"}) // does not panic
}

func truthOf(t *testing.T, n named) scenarios.Truth {
	t.Helper()
	truth, err := n.k.device.Scenario().Truth()
	if err != nil {
		t.Fatal(err)
	}
	return truth
}

func BenchmarkAdd(b *testing.B) {
	others.load()
	n := others.cases[0]
	truth, err := n.k.device.Scenario().Truth()
	if err != nil {
		b.Fatal(err)
	}
	cmp := compare.New(compare.Run{Device: n.k.device, Truth: truth, Start: n.k.cmp.UTC(0)})
	dg := New(n.k.device, cmp, nil, Options{})
	o := observe.Observation{Time: cmp.UTC(5), RollRad: observe.Of(1.0), PitchRad: observe.Of(0.0), HeadingRad: observe.Of(1.0), LatRad: observe.Of(-0.7), LonRad: observe.Of(1.0), Source: "GGA+HDT+XDR"}
	r := cmp.Row(&o)
	for b.Loop() {
		dg.Add(r)
	}
}
