package waves

import "math"

// Wavenumber solves ω² = g·k·tanh(k·d), the dispersion of linear (Airy) waves, for k in rad/m. depthM may be +Inf: deep
// water. NaN where a depth is not above 0 or omega is negative.
//
// The start is that of Guo, Simple and explicit solution of wave dispersion equation, 2002 (from memory), within 1 %;
// each of Newton's steps doubles the digits. For any depth and frequency it ends after at most 5 of them.
func Wavenumber(omega, depthM, g float64) float64 {
	deep := omega * omega / g
	switch {
	case !(depthM > 0) || !(omega >= 0) || !(g > 0):
		return math.NaN()
	case deep*depthM > 25: // tanh is 1 to the last bit
		return deep
	case deep == 0:
		return 0
	}
	y := deep * depthM
	if y < 1e-20 {
		return math.Sqrt(y) / depthM
	}
	x := y / math.Pow(-math.Expm1(-math.Pow(y, 1.25)), 0.4)
	for range 8 {
		t := math.Tanh(x)
		step := (x*t - y) / (t + x*(1-t*t))
		x -= step
		if math.Abs(step) < 1e-15*x {
			break
		}
	}
	return x / depthM
}

// GroupRatio is n, the speed of wave groups over that of the wave: ½ in deep water, 1 in shallow.
func GroupRatio(k, depthM float64) float64 {
	kd2 := 2 * k * depthM
	switch {
	case kd2 > 700:
		return 0.5
	case kd2 < 1e-9:
		return 1
	}
	return 0.5 * (1 + kd2/math.Sinh(kd2))
}
