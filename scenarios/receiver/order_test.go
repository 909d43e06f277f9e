package receiver

import (
	"cmp"
	"iter"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"swellbench/scenarios/draws"
	"swellbench/scenarios/units"
)

// every gives the epochs k·period for k from 0 to n-1.
func every(period float64, n int) iter.Seq[float64] {
	return func(yield func(float64) bool) {
		for k := range n {
			if !yield(float64(k) * period) {
				return
			}
		}
	}
}

func none(float64) float64 { return 0 }

// Of n epochs each held with probability p, the number held lies within five standard deviations √(np(1−p)) of np
// (binomial distribution, any statistics handbook).
func TestShareHeld(t *testing.T) {
	c := clock(t, Spec{OutOfOrder: []Held{{Share: 0.2, By: 0.25, From: 100, Until: 2100}}}, "2026-06-01T12:00:00Z")
	held, outside := 0, 0
	for at := range every(0.1, 30000) {
		switch h := c.Held(at); {
		case h == 0:
		case h != 0.25:
			t.Fatalf("held by %g s", h)
		case at < 100 || at >= 2100:
			outside++
		default:
			held++
		}
	}
	if n, p := 20000.0, 0.2; math.Abs(float64(held)-n*p) > 5*math.Sqrt(n*p*(1-p)) {
		t.Errorf("%d of %g epochs held, want a share of %g", held, n, p)
	}
	if outside > 0 {
		t.Errorf("%d epochs held when none should be", outside)
	}
	always := clock(t, Spec{OutOfOrder: []Held{{Share: 1, By: 0.25}, {Share: 1, By: 0.5}, {Share: 1, By: 0.1}}}, "2026-06-01T12:00:00Z")
	if h := always.Held(3); h != 0.5 {
		t.Errorf("held by %g s, want the most of three", h)
	}
}

// Every epoch goes out once, in order of time of emission, never before its latency has passed; without held ones the
// order is that of validity.
func TestEmissions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		by := rapid.Float64Range(0.01, 2).Draw(t, "by")
		spec := Spec{OutOfOrder: []Held{{Share: rapid.Float64Range(0.01, 1).Draw(t, "share"), By: units.Duration(by)}}}
		if rapid.Bool().Draw(t, "in order") {
			spec = Spec{}
		}
		c, err := New(spec, standIn, rapid.Uint64().Draw(t, "seed"))
		if err != nil {
			t.Fatal(err)
		}
		const n = 300
		period := rapid.SampledFrom([]float64{0.01, 0.1, 1}).Draw(t, "period")
		random := rapid.SampledFrom([]float64{0, 0.3}).Draw(t, "random latency")
		latency := func(at float64) float64 {
			src := draws.At(c.seed, "test latency", int(at*1e6))
			return 0.02 + random*src.Uniform()
		}
		all := slices.Collect(c.Emissions(every(period, n), latency))
		if len(all) != n {
			t.Fatalf("%d emissions, want %d", len(all), n)
		}
		// The same by sorting: when each would go out in its turn, and how much later it does.
		var want []Emission
		last := math.Inf(-1)
		for at := range every(period, n) {
			due := max(last, at+latency(at))
			h := c.Held(at)
			if h == 0 {
				last = due
			}
			want = append(want, Emission{at, due + h})
		}
		slices.SortStableFunc(want, func(a, b Emission) int { return cmp.Compare(a.Due, b.Due) })
		if !slices.Equal(all, want) {
			t.Errorf("emissions are\n%v\nwant\n%v", all, want)
		}
		for _, e := range all {
			if e.Due < e.Valid+latency(e.Valid)+c.Held(e.Valid) {
				t.Errorf("the epoch at %g s goes out at %g s", e.Valid, e.Due)
			}
		}
		if len(spec.OutOfOrder) == 0 && !slices.IsSortedFunc(all, func(a, b Emission) int { return cmp.Compare(a.Valid, b.Valid) }) {
			t.Error("not in order of validity, and nothing was held")
		}
	})
}

func TestOvertaking(t *testing.T) {
	// At 10 Hz an epoch that is held for 250 ms is overtaken by the next two.
	c := clock(t, Spec{OutOfOrder: []Held{{Share: 1, By: 0.25, From: 0.3, Until: 0.35}}}, "2026-06-01T12:00:00Z")
	var got []int
	for e := range c.Emissions(every(0.1, 8), none) {
		got = append(got, int(math.Round(e.Valid*10)))
	}
	if want := []int{0, 1, 2, 4, 5, 3, 6, 7}; !slices.Equal(got, want) {
		t.Errorf("epochs go out as %v, want %v", got, want)
	}
	for range c.Emissions(every(0.1, 8), none) {
		break // stopping early is no harm
	}
}

func TestSeeds(t *testing.T) {
	order := func(seed uint64) []Emission {
		c, err := New(Spec{OutOfOrder: []Held{{Share: 0.3, By: 0.35}}}, standIn, seed)
		if err != nil {
			t.Fatal(err)
		}
		return slices.Collect(c.Emissions(every(0.1, 200), none))
	}
	if !slices.Equal(order(1), order(1)) {
		t.Error("one seed, two orders")
	}
	if slices.Equal(order(1), order(2)) {
		t.Error("two seeds, one order")
	}
}
