package waves

import "math"

// hermite sets v to the quintic between the support points a and b at the part f of the step. A point holds value, rate
// times step, and acceleration times step squared.
//
// The six basis polynomials have one of value, slope and curvature at one end 1 and all others 0; that of a's value is 1
// less that of b's, so only the difference of the values counts, and no digits are lost to their size.
func hermite(v *Values, a, b *point, f, gridHz float64) {
	f2 := f * f
	f3 := f2 * f
	g0 := f3 * (10 + f*(-15+6*f))
	h1 := f + f3*(-6+f*(8-3*f))
	h2 := f2 * (0.5 + f*(-1.5+f*(1.5-0.5*f)))
	g1 := f3 * (-4 + f*(7-3*f))
	g2 := f3 * (0.5 + f*(-1+0.5*f))
	r := gridHz
	g0d := r * f2 * (30 + f*(-60+30*f))
	h1d := r * (1 + f2*(-18+f*(32-15*f)))
	h2d := r * f * (1 + f*(-4.5+f*(6-2.5*f)))
	g1d := r * f2 * (-12 + f*(28-15*f))
	g2d := r * f2 * (1.5 + f*(-4+2.5*f))
	r *= gridHz
	g0dd := r * f * (60 + f*(-180+120*f))
	h1dd := r * f * (-36 + f*(96-60*f))
	h2dd := r * (1 + f*(-9+f*(18-10*f)))
	g1dd := r * f * (-24 + f*(84-60*f))
	g2dd := r * f * (3 + f*(-12+10*f))
	for i := range Channels {
		d, a1, a2, b1, b2 := b.value[i]-a.value[i], a.rate[i], a.accel[i], b.rate[i], b.accel[i]
		v.Value[i] = a.value[i] + (g0*d + h1*a1 + h2*a2 + g1*b1 + g2*b2)
		v.Rate[i] = g0d*d + h1d*a1 + h2d*a2 + g1d*b1 + g2d*b2
		v.Accel[i] = g0dd*d + h1dd*a1 + h2dd*a2 + g1dd*b1 + g2dd*b2
	}
}

// fade is the share of the next knot's responses at the part x of the way to it, with two derivatives by x.
func fade(x float64) (f, d, dd float64) {
	return x * x * x * (10 + x*(-15+6*x)), 30 * x * x * (1 - x) * (1 - x), 60 * x * (1 - x) * (1 - 2*x)
}

// InterpolationError is how far the elevation that a [Sum] interpolates lies from the plain sum of the components: the
// standard deviation of the difference over that of the elevation, for a vessel at speedMS in the worst direction.
//
// Between support points h apart a quintic Hermite interpolant misses a sinusoid of frequency ω by
// (ωh)⁶/720·(x(1−x))³, whose root mean square over x is √(6!·6!/13!) of the factor before. (The error of Hermite
// interpolation: any textbook of numerical analysis.) A hull that follows short waves less than long ones does better.
func InterpolationError(components []Component, speedMS, gridHz float64) float64 {
	const rms = 0.009124 // √(6!·6!/13!)
	sum, all := 0.0, 0.0
	for _, c := range components {
		q := math.Pow((c.Omega+c.K*math.Abs(speedMS))/gridHz, 6) / 720 * rms
		p := c.Amplitude * c.Amplitude
		sum += p * q * q
		all += p
	}
	if !(all > 0) {
		return 0
	}
	return math.Sqrt(sum / all)
}

// GridHz is the coarsest grid of 5, 10, 20, 40, 80 and 160 Hz on which [InterpolationError] is at most tolerance, and the
// finest of them where none is fine enough.
func GridHz(components []Component, speedMS, tolerance float64) float64 {
	g := 5.0
	for range 5 {
		if InterpolationError(components, speedMS, g) <= tolerance {
			break
		}
		g *= 2
	}
	return g
}
