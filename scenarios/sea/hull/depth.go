package hull

import "math"

// pressure gives the amplitude of the wave's pressure at depth z below the surface, over that at the surface:
// exp(−kz), in water of finite depth cosh k(d−z)/cosh kd. That is the Smith factor. It needs no depth: tanh kd is
// Wave.Shallow. Below the bottom it is what it is there.
//
// Source: linear wave theory, Faltinsen (1990) table 2.1.
func (w Wave) pressure(k, z float64) float64 {
	if w.Shallow == 1 {
		return math.Exp(-k * z)
	}
	kd := math.Atanh(w.Shallow)
	kz := min(k*z, kd)
	return math.Cosh(kd-kz) / math.Cosh(kd)
}

// orbit gives the amplitude of the water's horizontal movement, over that of the surface, averaged from the surface down
// to depth z: (1−exp(−kz))/kz, in water of finite depth the mean of cosh k(d−z)/sinh kd.
//
// Source: linear wave theory, Faltinsen (1990) table 2.1; the mean is its integral.
func (w Wave) orbit(z float64) float64 {
	kz := w.K * z
	if w.Shallow == 1 {
		if kz < 1e-8 {
			return 1
		}
		return -math.Expm1(-kz) / kz
	}
	kd := math.Atanh(w.Shallow)
	kz = min(kz, kd)
	if kz < 1e-8 {
		return 1 / w.Shallow
	}
	// sinh kd − sinh(kd−kz), written as a product so that it keeps its digits.
	return 2 * math.Cosh(kd-kz/2) * math.Sinh(kz/2) / (kz * math.Sinh(kd))
}

// mean is sin(x)/x: the mean of a wave over a length of 2x/k, over the elevation in its middle.
func mean(x float64) float64 {
	if math.Abs(x) < 1e-4 {
		return 1 - x*x/6
	}
	return math.Sin(x) / x
}

// slope is 3(sin x − x cos x)/x³: the slope of the straight line that fits a wave best, in least squares, over a length
// of 2x/k, over the slope in its middle.
func slope(x float64) float64 {
	if x = math.Abs(x); x < 0.3 {
		x *= x // the power series: the closed form loses its digits there
		return 1 - x/10*(1-x/28*(1-x/54*(1-x/88)))
	}
	sin, cos := math.Sincos(x)
	return 3 * (sin - x*cos) / (x * x * x)
}
