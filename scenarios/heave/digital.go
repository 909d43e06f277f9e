package heave

import "math"

// A Section is one biquad of a sampled filter: y = B[0]·x + B[1]·x₁ + B[2]·x₂ − A[1]·y₁ − A[2]·y₂ with A[0] = 1, where
// the index counts samples back.
type Section struct{ B, A [3]float64 }

// Sections returns the sampled filter at the rate, in Hz, as a chain of sections, a first-order one in front. It is for
// whoever rebuilds the filter on samples; [Output] does not sample. Nil where there is no filter, or the rate is too low
// for the cut-off to lie below half of it.
//
// Source: bilinear transform with the cut-off pre-warped, ωc → tan(ωc/2f): s = K⁻¹·(1−z⁻¹)/(1+z⁻¹), K = tan(ωc/2f)
// (Oppenheim & Schafer, Discrete-Time Signal Processing, ch. 7, from memory).
func (f Filter) Sections(rateHz float64) []Section {
	if f.order == 0 || !(rateHz*f.periodS > 2) {
		return nil
	}
	k := math.Tan(f.omega() / (2 * rateHz))
	quadratic := func(damping float64) Section { // s²/(s² + damping·s + 1)
		n := 1 + damping*k + k*k
		return Section{[3]float64{1 / n, -2 / n, 1 / n}, [3]float64{1, 2 * (k*k - 1) / n, (1 - damping*k + k*k) / n}}
	}
	if f.order == 2 {
		return []Section{quadratic(math.Sqrt2)}
	}
	return []Section{{[3]float64{1 / (1 + k), -1 / (1 + k), 0}, [3]float64{1, (k - 1) / (k + 1), 0}}, quadratic(1)}
}

// A Sampled filter runs over samples, one after the other. Its zero value passes them as they are.
type Sampled struct {
	sections []Section
	state    [][2]float64
}

// Sampled returns the filter at the rate, in Hz, at rest.
func (f Filter) Sampled(rateHz float64) *Sampled {
	s := f.Sections(rateHz)
	return &Sampled{s, make([][2]float64, len(s))}
}

// Next takes the next sample and returns the output, in the same unit (transposed direct form II).
func (s *Sampled) Next(x float64) float64 {
	for i, c := range s.sections {
		z := &s.state[i]
		y := c.B[0]*x + z[0]
		z[0] = c.B[1]*x - c.A[1]*y + z[1]
		z[1] = c.B[2]*x - c.A[2]*y
		x = y
	}
	return x
}
