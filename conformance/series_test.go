package conformance

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"swellbench/conformance/compare"
)

// Against the sorted values themselves: never below, at most 9 % above (2^(1/8) − 1).
func TestQuantiles(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var c quantiles
	var all []float64
	for range 20000 {
		x := math.Exp(r.NormFloat64()*4) * float64(1-2*r.IntN(2))
		c.add(x)
		all = append(all, math.Abs(x))
	}
	slices.Sort(all)
	for _, p := range []float64{0.01, 0.5, 0.95, 0.999} {
		want := all[int(math.Ceil(p*20000))-1]
		if got := c.at(p); !(got >= want && got <= 1.0906*want) {
			t.Errorf("%g: %g, want %g to 9 %% more", p, got, want)
		}
	}
	var zeros quantiles
	zeros.add(0)
	if got := zeros.at(0.95); got != 0 {
		t.Errorf("of zeros %g", got)
	}
	for _, x := range []float64{math.Inf(1), math.NaN(), 1e300, 1e-300} {
		zeros.add(x) // counted somewhere, no panic
	}
	if got := new(quantiles).at(0.5); !math.IsNaN(got) {
		t.Errorf("of nothing %g", got)
	}
}

// However many values there are, the worst of them is in the picture, and the picture does not grow.
func TestSeriesKeepsTheWorst(t *testing.T) {
	s := newSeries(nil, 1000)
	worst := compare.Value{T: 500.5, Diff: 9, Tolerance: 1}
	for k := range 200000 {
		v := compare.Value{T: float64(k) / 200, Diff: math.Sin(float64(k)), Tolerance: 1}
		s.add(compare.Heave, &v)
	}
	s.add(compare.Heave, &worst)
	all, _ := s.all()
	if len(all) != 1 || all[0].Quantity != "heave" || len(all[0].Points) > 2*(SeriesSlots+1) || len(all[0].Points) < SeriesSlots {
		t.Fatalf("%d series, %d points", len(all), len(all[0].Points))
	}
	if !slices.ContainsFunc(all[0].Points, func(p SeriesPoint) bool { return p.Deviation == 9 && p.T == 500.5 }) {
		t.Error("the worst is gone")
	}
	if !slices.IsSortedFunc(all[0].Points, func(a, b SeriesPoint) int { return int(math.Copysign(1, a.T-b.T)) }) {
		t.Error("not in order")
	}
}

// The bucket of a magnitude is the eighth of an octave at or above it.
func TestBucket(t *testing.T) {
	for e := -300; e <= 300; e++ {
		for k := range 8 {
			edge := math.Exp2(float64(e)/8 + float64(k)/64)
			want := int(math.Ceil(8*math.Log2(edge) - 1e-9))
			if got := bucket(edge); got != want {
				t.Fatalf("%g is in bucket %d, want %d", edge, got, want)
			}
		}
	}
	for x, want := range map[float64]int{0: smallest, -1: smallest, math.Inf(1): largest, 1e-300: smallest, 1e300: largest, 1: 0, 2: 8, 1.0000001: 1, 5e-324: smallest} {
		if got := bucket(x); got != want {
			t.Errorf("%g is in bucket %d, want %d", x, got, want)
		}
	}
	if got := bucket(math.NaN()); got != smallest {
		t.Errorf("no number is in bucket %d", got)
	}
}
