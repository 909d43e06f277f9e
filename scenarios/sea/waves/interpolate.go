package waves

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
