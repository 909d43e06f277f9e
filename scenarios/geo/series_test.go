package geo

import (
	"fmt"
	"math"
	"testing"
)

// TestSeriesAgainstIntegrals compares each series with the integral it stands for, worked out by quadrature: Karney
// 2013, eq. 7 (distance), 8 (longitude) and 40 (reduced length).
func TestSeriesAgainstIntegrals(t *testing.T) {
	// Flatter ellipsoids than the Earth bring the last terms above rounding.
	for _, e := range []*ellipsoid{wgs84, newEllipsoid(6378137, 1/grs80InverseFlattening), newEllipsoid(1, 1.0/50), newEllipsoid(1, 1.0/20)} {
		// What the sixth order leaves out: n⁷, and n⁶ in the longitude, where f stands before the integral. The factors
		// are twice or less what was found.
		const rounding = 1e-14
		n6 := math.Pow(e.n, 6)
		tol, tol3, tolBack := 0.09*n6*e.n+rounding, 0.4*n6+rounding, 4*n6*e.n+rounding
		for calp0 := 0.0; calp0 <= 1; calp0 += 0.125 {
			k2 := calp0 * calp0 * e.ep2
			x := expansion(k2)
			a1, a2, a3 := 1+seriesA1(x), 1+seriesA2(x), e.seriesA3(x)
			c1, c2, c1p, c3 := seriesC1(x), seriesC2(x), seriesC1p(x), e.seriesC3(x)
			for sigma := -3.0; sigma <= 3; sigma += 0.75 {
				s, c := math.Sincos(sigma)
				i1 := a1 * (sigma + c1.sum(s, c))
				i2 := a2 * (sigma + c2.sum(s, c))
				i3 := a3 * (sigma + c3.sum(s, c))
				w := func(u float64) float64 { return math.Sqrt(1 + k2*math.Sin(u)*math.Sin(u)) }
				name := fmt.Sprintf("f 1/%.4g, cos α0 %v, σ %v", 1/e.f, calp0, sigma)
				within(t, name+": I1", i1, quadrature(w, sigma), tol)
				within(t, name+": I2", i2, quadrature(func(u float64) float64 { return 1 / w(u) }, sigma), tol)
				within(t, name+": I3", i3, quadrature(func(u float64) float64 { return (2 - e.f) / (1 + (1-e.f)*w(u)) }, sigma), tol3)
				ts, tc := math.Sincos(i1 / a1)
				within(t, name+": back", i1/a1+c1p.sum(ts, tc), sigma, tolBack)
			}
		}
	}
}

func within(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	if !near(got, want, tol) {
		t.Errorf("%s is %.17g, want %.17g, off by %.2g, allowed: %.2g", name, got, want, got-want, tol)
	}
}

// quadrature returns the integral of f from 0 to x by Gauss and Legendre's rule of five points, in 64 pieces.
func quadrature(f func(float64) float64, x float64) (sum float64) {
	nodes := [5]float64{0, 0.5384693101056831, -0.5384693101056831, 0.9061798459386640, -0.9061798459386640}
	weights := [5]float64{0.5688888888888889, 0.4786286704993665, 0.4786286704993665, 0.2369268850561891, 0.2369268850561891}
	const pieces = 64
	h := x / pieces / 2
	for i := range pieces {
		for k := range nodes {
			sum += weights[k] * f((2*float64(i)+1+nodes[k])*h)
		}
	}
	return sum * h
}
