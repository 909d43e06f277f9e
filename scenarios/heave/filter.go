package heave

import (
	"fmt"
	"math"
	"math/cmplx"
)

// A Filter is a Butterworth high-pass filter. The zero Filter is none: it passes everything as it is. Make one with
// [New]. It is a value, free to copy and share.
type Filter struct {
	order   int
	periodS float64 // of the cut-off
}

// Limits of what makes sense. Common practice, no source.
const (
	MinCutOffS = 1.0
	MaxCutOffS = 600.0
)

// New makes the filter of that order, 2 or 3, and that cut-off period, in s, where half the power passes.
func New(order int, cutOffS float64) (Filter, error) {
	if _, ok := polynomials[order]; !ok {
		return Filter{}, fmt.Errorf("heave filter: order is %d; allowed: 2 or 3", order)
	}
	if !(cutOffS >= MinCutOffS && cutOffS <= MaxCutOffS) {
		return Filter{}, fmt.Errorf("heave filter: cut-off period is %g s; allowed: %g s to %g s", cutOffS, MinCutOffS, MaxCutOffS)
	}
	return Filter{order, cutOffS}, nil
}

// polynomials is the table of Butterworth polynomials: the coefficients of 1, s, s², … in front of sⁿ, for a cut-off of
// 1 rad/s. Order 2: s² + √2·s + 1. Order 3: (s + 1)(s² + s + 1) = s³ + 2s² + 2s + 1.
var polynomials = map[int][]float64{
	2: {1, math.Sqrt2},
	3: {1, 2, 2},
}

// Order returns 2 or 3, or 0 where there is no filter.
func (f Filter) Order() int { return f.order }

// CutOffS returns the cut-off period, in s.
func (f Filter) CutOffS() float64 { return f.periodS }

// omega returns the cut-off frequency, in rad/s.
func (f Filter) omega() float64 { return 2 * math.Pi / f.periodS }

// Response returns H at the frequency omega, in rad/s: the heave put out for a true heave of exp(iωt), in m per m. A
// positive phase is a lead.
//
// Source: H = sⁿ/(sⁿ + … + 1) with s = iω/ωc and the polynomials above.
func (f Filter) Response(omega float64) complex128 {
	if f.order == 0 {
		return 1
	}
	// In r = 1/s the numerator is 1, and long periods do not overflow: H = 1/(1 + a₁·r + … + rⁿ).
	if omega == 0 {
		return 0
	}
	r := complex(0, -f.omega()/omega)
	den, power := complex(1, 0), complex(1, 0)
	a := polynomials[f.order]
	for i := len(a) - 1; i >= 0; i-- {
		power *= r
		den += complex(a[i], 0) * power
	}
	return 1 / den
}

// An Effect is what a filter does to waves of one period.
type Effect struct {
	Gain  float64 // amplitude put out for a true amplitude of 1
	Lead  float64 // how far the output leads, rad, 0 to n·π/2
	LeadS float64 // the same as time, s
	Error float64 // amplitude of real-time heave minus true heave for a true amplitude of 1: |H−1|

	DelayedGain  float64 // of delayed heave: |H|², without any lead
	DelayedError float64 // of delayed heave: 1−|H|²
}

// At returns the effect on waves met with the period, in s. A period that is not positive gives NaN throughout.
//
// Source: |H|² = 1/(1 + (T/Tc)^2n), the definition of the Butterworth filter.
func (f Filter) At(periodS float64) Effect {
	if !(periodS > 0) {
		nan := math.NaN()
		return Effect{nan, nan, nan, nan, nan, nan}
	}
	if f.order == 0 {
		return Effect{Gain: 1, DelayedGain: 1}
	}
	h := f.Response(2 * math.Pi / periodS)
	x := math.Pow(periodS/f.periodS, float64(2*f.order))
	lead := cmplx.Phase(h)
	if lead < 0 { // order 3 leads by up to 270°
		lead += 2 * math.Pi
	}
	e := Effect{
		Gain: 1 / math.Sqrt(1+x), Lead: lead, LeadS: lead / (2 * math.Pi) * periodS, Error: cmplx.Abs(h - 1),
		DelayedGain: 1 / (1 + x), DelayedError: x / (1 + x),
	}
	if math.IsInf(x, 1) {
		e.DelayedError = 1
	}
	return e
}

// GainDB returns the gain in dB.
func (e Effect) GainDB() float64 { return 20 * math.Log10(e.Gain) }

// LongestPeriodS returns the longest period, in s, of waves whose real-time heave is wrong by no more than part of
// their amplitude, such as 0.1.
func (f Filter) LongestPeriodS(part float64) float64 {
	if f.order == 0 || !(part > 0) {
		return 0
	}
	low, high := 0.0, f.periodS // |H−1| grows with the period up to the cut-off and beyond 1 there
	for range 60 {
		if mid := (low + high) / 2; f.At(mid).Error <= part {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// CutOffFor returns the shortest cut-off period, in s, at which waves of the period, in s, are wrong by no more than
// part of their amplitude in real-time heave, at the same order.
func (f Filter) CutOffFor(periodS, part float64) float64 {
	if l := f.LongestPeriodS(part); l > 0 {
		return periodS * f.periodS / l // the response depends on the ratio of the periods alone
	}
	return math.NaN()
}
