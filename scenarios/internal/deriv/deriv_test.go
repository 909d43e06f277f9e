package deriv

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// Polynomials up to the 8th degree come out exactly, the 9th does not: that is what the order means.
func TestOrder(t *testing.T) {
	for n := range 10 {
		got := Of(func(x float64) float64 { return math.Pow(x, float64(n)) }, 1, 0.5)
		err := math.Abs(got - float64(n))
		if n < 9 && err > 1e-13 {
			t.Errorf("derivative of t^%d at 1 is %.15g, want %d", n, got, n)
		}
		if n == 9 && err < 1e-3 {
			t.Errorf("derivative of t^9 with a step of 0.5 is off by %g only; the order is not 8", err)
		}
	}
}

func TestRateOfSpin(t *testing.T) {
	// 0.3 rad/s about up, counter-clockwise.
	axes := func(t float64) (right, forward, up r3.Vec) {
		s, c := math.Sincos(0.3 * t)
		return r3.Vec{X: c, Y: s}, r3.Vec{X: -s, Y: c}, r3.Vec{Z: 1}
	}
	if got := Rate(axes, 1.7, 0.1); r3.Norm(r3.Sub(got, r3.Vec{Z: 0.3})) > 1e-13 {
		t.Errorf("rate is %v, want 0.3 about up", got)
	}
}
