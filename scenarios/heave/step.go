package heave

import "math"

// Step returns the real-time heave t, in s, after the vessel was lifted by 1 m and stayed there, as by ballast or a
// lock. The filter forgets it, and undershoots on the way.
//
// Source: inverse Laplace transform of H/s by partial fractions. Order 2, with a = ωc/√2: exp(−at)·(cos at − sin at).
// Order 3, with τ = ωc·t: exp(−τ) − exp(−τ/2)·sin(βτ)/β, β = √3/2.
func (f Filter) Step(t float64) float64 {
	if t < 0 {
		return 0
	}
	switch x := f.omega() * t; f.order {
	case 2:
		s, c := math.Sincos(x / math.Sqrt2)
		return math.Exp(-x/math.Sqrt2) * (c - s)
	case 3:
		return math.Exp(-x) - math.Exp(-x/2)*math.Sin(beta*x)/beta
	}
	return 1
}

const beta = 0.8660254037844386 // √3/2: the imaginary part of the poles of order 3

// AccelerationStep returns the error of real-time heave, in m, t after an error of the vertical acceleration of 1 m/s²
// set in and stayed, such as a bias of the accelerometer after a change of temperature.
//
// Source: inverse Laplace transform of H/s³ by partial fractions. Order 2: (1 − exp(−at)·(cos at + sin at))/ωc², which
// stays at 1/ωc². Order 3: (exp(−τ) − exp(−τ/2)·(cos βτ − sin(βτ)/2β))/ωc², which is forgotten.
func (f Filter) AccelerationStep(t float64) float64 {
	if t < 0 {
		return 0
	}
	w := f.omega()
	switch x := w * t; f.order {
	case 2:
		s, c := math.Sincos(x / math.Sqrt2)
		return (1 - math.Exp(-x/math.Sqrt2)*(c+s)) / (w * w)
	case 3:
		s, c := math.Sincos(beta * x)
		return (math.Exp(-x) - math.Exp(-x/2)*(c-s/(2*beta))) / (w * w)
	}
	return t * t / 2
}

// StandingErrorM returns the error of heave that stays, in m, where the vertical acceleration has a standing error, in
// m/s²: b/ωc² at order 2, none at order 3. Without a filter it grows without bound: +Inf.
func (f Filter) StandingErrorM(accelMS2 float64) float64 {
	switch w := f.omega(); {
	case accelMS2 == 0 || f.order == 3:
		return 0
	case f.order == 2:
		return accelMS2 / (w * w)
	}
	return math.Copysign(math.Inf(1), accelMS2)
}

// SettleS returns how long after a step of height the output stays within part of the step, such as 0.05, in s. Without
// a filter a step is never forgotten: +Inf.
func (f Filter) SettleS(part float64) float64 {
	if f.order == 0 || !(part > 0) {
		return math.Inf(1)
	}
	// The slowest pole decays as exp(−τ/2) or faster, so that nothing of 1e-9 is left after τ = 42. The last sample
	// outside, then bisection; lobes are πτ/β apart, many samples each.
	const last, samples = 42.0, 4200
	unit := 1 / f.omega()
	for i := samples; i > 0; i-- {
		if low := last * float64(i-1) / samples; math.Abs(f.Step(low*unit)) > part {
			high := last * float64(i) / samples
			for range 60 {
				if mid := (low + high) / 2; math.Abs(f.Step(mid*unit)) > part {
					low = mid
				} else {
					high = mid
				}
			}
			return high * unit
		}
	}
	return 0
}
