// Package deriv differentiates numerically, for tests that hold analytic derivatives against the values themselves.
//
// Central differences of the 8th order: the error is of the order of h⁸ times the ninth derivative, plus the rounding of
// the values divided by h. Source of the weights: Fornberg, Generation of finite difference formulas on arbitrarily
// spaced grids, Math. Comp. 51 (1988), table 1.
package deriv

import "gonum.org/v1/gonum/spatial/r3"

var weights = [...]float64{4.0 / 5, -1.0 / 5, 4.0 / 105, -1.0 / 280}

// Of returns the derivative of f at t, with the step h.
func Of(f func(t float64) float64, t, h float64) float64 {
	var d float64
	for i, w := range weights {
		k := float64(i+1) * h
		d += w * (f(t+k) - f(t-k))
	}
	return d / h
}

// OfVec returns the derivative of f at t, component by component, with the step h.
func OfVec(f func(t float64) r3.Vec, t, h float64) r3.Vec {
	var d r3.Vec
	for i, w := range weights {
		k := float64(i+1) * h
		d = r3.Add(d, r3.Scale(w, r3.Sub(f(t+k), f(t-k))))
	}
	return r3.Scale(1/h, d)
}

// Rate returns the angular rate at t of axes that turn: along the axes themselves, in rad per unit of t, from how the
// unit vectors right, forward, up, in axes that stand still, change. h is the step.
func Rate(axes func(t float64) (right, forward, up r3.Vec), t, h float64) r3.Vec {
	pick := func(i int) func(float64) r3.Vec {
		return func(t float64) r3.Vec {
			right, forward, up := axes(t)
			return [...]r3.Vec{right, forward, up}[i]
		}
	}
	right, forward, up := axes(t)
	return r3.Vec{
		X: r3.Dot(OfVec(pick(1), t, h), up),
		Y: r3.Dot(OfVec(pick(2), t, h), right),
		Z: r3.Dot(OfVec(pick(0), t, h), forward),
	}
}
