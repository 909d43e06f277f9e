package geo

import "math"

// sphere returns the azimuth at the first point of the triangle with the spherical longitude difference ω12, not
// normalized, in the form that keeps its digits for short and for nearly opposite points alike.
func (t *triangle) sphere(somg12, comg12 float64) (salp1, calp1 float64) {
	salp1 = t.cbet2 * somg12
	if comg12 >= 0 {
		calp1 = t.sbet2*t.cbet1 - t.cbet2*t.sbet1 + t.cbet2*t.sbet1*somg12*somg12/(1+comg12)
	} else {
		calp1 = t.sbet2*t.cbet1 + t.cbet2*t.sbet1 - t.cbet2*t.sbet1*somg12*somg12/(1-comg12)
	}
	return salp1, calp1
}

// meanDN returns √(1+e'² sin² β) at the middle latitude: the scale of the sphere that fits the ellipsoid there.
func (t *triangle) meanDN() float64 {
	s, c := t.sbet1+t.sbet2, t.cbet1+t.cbet2
	return math.Sqrt(1 + t.e.ep2*s*s/(s*s+c*c))
}

// near tells whether the points are near enough for a fitting sphere to be a good guess.
func (t *triangle) near() bool {
	return t.cbet2*t.cbet1+t.sbet2*t.sbet1 >= 0 && t.sbet2*t.cbet1-t.cbet2*t.sbet1 < 0.5 && t.cbet2*t.lam12 < 0.5
}

// short solves the triangle outright where the points are so close that the fitting sphere is exact to rounding. Karney
// 2013, sec. 4, last part.
func (t *triangle) short() (s12, salp1, calp1, salp2, calp2 float64, ok bool) {
	if !t.near() {
		return
	}
	dn := t.meanDN()
	somg12, comg12 := math.Sincos(t.lam12 / (t.e.f1 * dn))
	salp1, calp1 = t.sphere(somg12, comg12)
	ssig12 := math.Sqrt(salp1*salp1 + calp1*calp1)
	if !(ssig12 < t.e.etol2) {
		return
	}
	csig12 := t.sbet1*t.sbet2 + t.cbet1*t.cbet2*comg12
	salp2 = t.cbet1 * somg12
	calp2 = t.sbet2*t.cbet1 - t.cbet2*t.sbet1 - t.cbet1*t.sbet2*somg12*somg12/(1+comg12)
	return math.Atan2(ssig12, csig12) * t.e.b * dn, salp1, calp1, salp2, calp2, true
}

// guess returns an azimuth at the first point for Newton's method to start from. Karney 2013, sec. 5.
func (t *triangle) guess() (salp1, calp1 float64) {
	e := t.e
	somg12, comg12 := t.slam12, t.clam12
	if t.near() {
		if w := t.lam12 / (e.f1 * t.meanDN()); w < math.Pi { // beyond, close to a pole, it is no longitude difference
			somg12, comg12 = math.Sincos(w)
		}
	}
	salp1, calp1 = t.sphere(somg12, comg12)
	ssig12 := math.Sqrt(salp1*salp1 + calp1*calp1)
	csig12 := t.sbet1*t.sbet2 + t.cbet1*t.cbet2*comg12
	if csig12 < 0 && ssig12 < 6*e.n*math.Pi*t.cbet1*t.cbet1 {
		salp1, calp1 = t.antipodal()
	}
	if salp1 <= 0 {
		return 1, 0
	}
	return normalize(salp1, calp1)
}

// antipodal guesses the azimuth for points that are nearly opposite: geodesics there envelop an astroid. Karney 2013,
// eq. 51 to 59.
func (t *triangle) antipodal() (salp1, calp1 float64) {
	e := t.e
	lonScale := e.f * t.cbet1 * e.seriesA3(expansion(t.sbet1*t.sbet1*e.ep2)) * math.Pi
	x := -t.rest / lonScale
	sum := t.sbet2*t.cbet1 + t.cbet2*t.sbet1 // sin(β1+β2)
	y := sum / (lonScale * t.cbet1)
	if y > -200*eps && x > -1-1000*math.Sqrt(eps) { // on the cut: several solutions, and the astroid degenerates
		salp1 = math.Min(1, -x)
		return salp1, -math.Sqrt(1 - salp1*salp1)
	}
	k := astroid(x, y)
	somg12, comg12 := math.Sincos(lonScale * -x * k / (1 + k))
	comg12 = -comg12
	return t.cbet2 * somg12, sum - t.cbet2*t.sbet1*somg12*somg12/(1-comg12)
}

// astroid returns the positive root of κ⁴ + 2κ³ − (x²+y²−1)κ² − 2y²κ − y² = 0. Karney 2013, eq. 55, solved as a cubic.
func astroid(x, y float64) float64 {
	p, q := x*x, y*y
	r := (p + q - 1) / 6
	if q == 0 && r <= 0 {
		return 0
	}
	s := p * q / 4
	r2 := r * r
	r3 := r * r2
	u := r
	if disc := s * (s + 2*r3); disc >= 0 {
		t3 := s + r3
		t3 += math.Copysign(math.Sqrt(disc), t3) // the sign that does not cancel
		if c := math.Cbrt(t3); c != 0 {
			u += c + r2/c
		}
	} else {
		u += 2 * r * math.Cos(math.Atan2(math.Sqrt(-disc), -(s+r3))/3)
	}
	v := math.Sqrt(u*u + q)
	uv := u + v
	if u < 0 {
		uv = q / (v - u)
	}
	w := (uv - q) / (2 * v)
	return uv / (math.Sqrt(uv+w*w) + w)
}
