package draws

import (
	"math"
	"testing"
)

func TestSameAskSameAnswer(t *testing.T) {
	a, b := At(7, "heading", 12), At(7, "heading", 12)
	for range 10 {
		if x, y := a.Uint64(), b.Uint64(); x != y {
			t.Fatalf("two sources of one epoch differ: %x, %x", x, y)
		}
	}
}

func TestPartsSeedsAndEpochsDiffer(t *testing.T) {
	seen := map[uint64]string{}
	for _, c := range []struct {
		seed uint64
		part string
		k    int
	}{{7, "heading", 1}, {7, "heading", 2}, {7, "heading", 256}, {7, "heading", -1}, {8, "heading", 1}, {7, "roll", 1}} {
		s := At(c.seed, c.part, c.k)
		x := s.Uint64()
		if was, ok := seen[x]; ok {
			t.Errorf("%+v draws the same as %s", c, was)
		}
		seen[x] = c.part
	}
}

// Mean, variance and fourth moment of n standard normal draws lie within five standard errors of 0, 1 and 3
// (variances of the sample moments of a normal distribution: 1/n, 2/n, 96/n; any statistics handbook). Consecutive
// epochs must not correlate: the same bound on the lag-one product.
func TestNormalMoments(t *testing.T) {
	const n = 200000
	var m, m2, m4, lag, last float64
	for k := range n {
		s := At(3, "moments", k)
		x := s.Normal()
		m, m2, m4, lag = m+x, m2+x*x, m4+x*x*x*x, lag+x*last
		last = x
	}
	for _, c := range []struct {
		name             string
		got, want, sigma float64
	}{
		{"mean", m / n, 0, math.Sqrt(1.0 / n)},
		{"variance", m2 / n, 1, math.Sqrt(2.0 / n)},
		{"fourth moment", m4 / n, 3, math.Sqrt(96.0 / n)},
		{"lag-one product", lag / n, 0, math.Sqrt(1.0 / n)},
	} {
		if math.Abs(c.got-c.want) > 5*c.sigma {
			t.Errorf("%s is %g, want %g ± %g", c.name, c.got, c.want, 5*c.sigma)
		}
	}
}

func TestNoAllocation(t *testing.T) {
	var sum float64
	if n := testing.AllocsPerRun(100, func() { s := At(1, "alloc", 5); sum += s.Normal() + s.Uniform() }); n != 0 {
		t.Errorf("%v allocations a draw, want 0", n)
	}
}
