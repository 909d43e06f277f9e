package geo

import "math"

// An attempt is the geodesic that leaves the first point at one azimuth, where it meets the latitude of the second.
type attempt struct {
	salp1, calp1               float64 // azimuth at the first point
	salp2, calp2               float64 // azimuth at the latitude of the second
	excess                     float64 // longitude it gained there beyond the wanted one, rad
	slope                      float64 // d excess / d azimuth
	x, sig12                   float64 // ε and arc
	ssig1, csig1, ssig2, csig2 float64
}

// try follows the geodesic that leaves the first point at the azimuth of sine salp1, cosine calp1. Karney 2013, sec. 4.
func (t *triangle) try(salp1, calp1 float64) (a attempt) {
	e := t.e
	a.salp1, a.calp1 = salp1, calp1
	if t.sbet1 == 0 && calp1 == 0 {
		calp1 = -tiny // the equator is left southwards, in the direction of the limit
	}
	salp0 := salp1 * t.cbet1
	calp0 := math.Sqrt(calp1*calp1 + salp1*salp1*t.sbet1*t.sbet1)
	somg1, comg1 := salp0*t.sbet1, calp1*t.cbet1
	a.ssig1, a.csig1 = normalize(t.sbet1, comg1)

	a.salp2, a.calp2 = salp1, math.Abs(calp1)
	if t.cbet2 != t.cbet1 {
		a.salp2 = salp0 / t.cbet2
	}
	if t.cbet2 != t.cbet1 || math.Abs(t.sbet2) != -t.sbet1 {
		d := (t.sbet1 - t.sbet2) * (t.sbet1 + t.sbet2) // cos² β2 − cos² β1, without cancellation
		if t.cbet1 < -t.sbet1 {
			d = (t.cbet2 - t.cbet1) * (t.cbet1 + t.cbet2)
		}
		a.calp2 = math.Sqrt(comg1*comg1+d) / t.cbet2
	}
	somg2, comg2 := salp0*t.sbet2, a.calp2*t.cbet2
	a.ssig2, a.csig2 = normalize(t.sbet2, comg2)

	a.sig12 = math.Atan2(math.Max(0, a.csig1*a.ssig2-a.ssig1*a.csig2), a.csig1*a.csig2+a.ssig1*a.ssig2)
	r1, r2 := 1/math.Sqrt(somg1*somg1+comg1*comg1), 1/math.Sqrt(somg2*somg2+comg2*comg2)
	somg12 := math.Max(0, comg1*somg2-somg1*comg2) * r1 * r2
	comg12 := (comg1*comg2 + somg1*somg2) * r1 * r2
	eta := math.Atan2(somg12*t.clam12-comg12*t.slam12, comg12*t.clam12+somg12*t.slam12)

	a.x = expansion(calp0 * calp0 * e.ep2)
	c3 := e.seriesC3(a.x)
	a.excess = eta - e.f*e.seriesA3(a.x)*salp0*(a.sig12+(c3.sum(a.ssig2, a.csig2)-c3.sum(a.ssig1, a.csig1)))
	if a.calp2 == 0 {
		a.slope = -2 * e.f1 * t.dn1 / t.sbet1
	} else {
		_, m12 := t.lengths(a.x, a.sig12, a.ssig1, a.csig1, a.ssig2, a.csig2)
		a.slope = m12 / e.b * e.f1 / (a.calp2 * t.cbet2)
	}
	return a
}

const (
	newtonSteps = 20 // far more than any guess has needed; then bisection
	maxSteps    = newtonSteps + 53 + 10
)

// solve finds the geodesic to the second point, from a first azimuth at the first, in so many steps. The excess grows
// with the azimuth and is 0 once between 0 and π. Karney 2013, sec. 4.
func (t *triangle) solve(salp1, calp1 float64) (a attempt, steps int) {
	lowS, lowC, highS, highC := tiny, 1.0, tiny, -1.0 // azimuths with negative and positive excess
	near, bracketed := false, false                   // close enough: by Newton's steps, by bisection
	for ; steps < maxSteps; steps++ {
		a = t.try(salp1, calp1)
		limit := eps
		if near {
			limit = 8 * eps
		}
		if bracketed || !(math.Abs(a.excess) >= limit) {
			break
		}
		switch {
		case a.excess > 0 && (steps > newtonSteps || calp1/salp1 > highC/highS):
			highS, highC = salp1, calp1
		case a.excess < 0 && (steps > newtonSteps || calp1/salp1 < lowC/lowS):
			lowS, lowC = salp1, calp1
		}
		if steps < newtonSteps && a.slope > 0 {
			if step := -a.excess / a.slope; math.Abs(step) < math.Pi {
				s, c := math.Sincos(step)
				if ns := salp1*c + calp1*s; ns > 0 {
					salp1, calp1 = normalize(ns, calp1*c-salp1*s)
					// The next step would move by less than rounding; one look more, and a laxer limit.
					near = math.Abs(a.excess) <= 16*eps
					continue
				}
			}
		}
		salp1, calp1 = normalize((lowS+highS)/2, (lowC+highC)/2)
		near = false
		bracketed = math.Abs(lowS-salp1)+(lowC-calp1) < eps || math.Abs(salp1-highS)+(calp1-highC) < eps
	}
	return a, steps
}
