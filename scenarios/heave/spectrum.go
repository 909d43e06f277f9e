package heave

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/integrate/quad"
)

// A SeaEffect is what a filter does in a seaway, as standard deviations, in m.
type SeaEffect struct {
	Heave        float64 // of the true heave
	Filtered     float64 // of real-time heave
	Error        float64 // of real-time heave minus true heave
	DelayedError float64 // of delayed heave minus true heave
}

// InSea returns the effect where the true heave has the spectrum, in m²·s/rad over the frequency met in rad/s, between
// the frequencies low and high, in rad/s.
//
// Source: σ² = ∫ S·|R|² dω with R = 1, H, H−1 and |H|²−1.
func (f Filter) InSea(spectrum func(omega float64) float64, low, high float64) SeaEffect {
	var e SeaEffect
	if !(low > 0 && high > low) {
		return SeaEffect{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	}
	// Even pieces of ln ω, Gauss and Legendre in each: a spectrum has its kinks at the peak and may be narrow.
	const pieces, points = 64, 12
	var x, w [points]float64
	ratio := math.Log(high/low) / pieces
	for i := range pieces {
		a := math.Log(low) + float64(i)*ratio
		quad.Legendre{}.FixedLocations(x[:], w[:], a, a+ratio)
		for j := range points {
			omega := math.Exp(x[j])
			s, h := spectrum(omega)*omega*w[j], f.Response(omega)
			g := real(h * cmplx.Conj(h))
			d := cmplx.Abs(h - 1)
			e.Heave += s
			e.Filtered += s * g
			e.Error += s * d * d
			e.DelayedError += s * (1 - g) * (1 - g)
		}
	}
	return SeaEffect{math.Sqrt(e.Heave), math.Sqrt(e.Filtered), math.Sqrt(e.Error), math.Sqrt(e.DelayedError)}
}
