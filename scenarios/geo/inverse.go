package geo

import (
	"math"

	"swellbench/scenarios/frame"
)

// Inverse returns the length of the shortest line on the ellipsoid from p to q, in m, and its azimuths at both ends, in
// rad clockwise from true north, 0 ≤ x < 2π, both in the direction of travel. Heights do not matter.
//
// Good to nanometres for any two points, also where they are nearly opposite. Where several lines are shortest
// (opposite points, or a pole and the other) it takes one of them. From a point to itself the azimuths are 0. Source:
// Karney 2013, sections 3 to 5: Newton's method on the azimuth at p, started by the solution of the spherical triangle
// or, near the opposite point, of the astroid, and safeguarded by bisection.
func Inverse(p, q Position) (distance, azimuth1, azimuth2 float64) { return wgs84.inverse(p, q) }

// A triangle is the inverse problem brought to one octant: the first point in the south and not nearer to the equator
// than the second, the second to the east of it.
type triangle struct {
	e                     *ellipsoid
	sbet1, cbet1, dn1     float64 // parametric latitude; √(1 + e'² sin² β)
	sbet2, cbet2, dn2     float64
	lam12, slam12, clam12 float64
	rest                  float64 // π − lam12, to full accuracy
}

func (e *ellipsoid) inverse(p, q Position) (s12, az1, az2 float64) {
	t, turn := e.triangle(p, q)
	var salp1, calp1, salp2, calp2 float64
	switch {
	case p.Lat == q.Lat && t.lam12 == 0 && t.cbet1 > 0:
		return 0, 0, 0
	case t.slam12 == 0 || t.cbet1 == tiny: // along a meridian
		s12, salp1, calp1, salp2, calp2 = t.meridian()
	case t.sbet1 == 0 && t.rest >= e.f*math.Pi: // along the equator
		s12, salp1, calp1, salp2, calp2 = e.a*t.lam12, 1, 0, 1, 0
	default:
		var ok bool
		if s12, salp1, calp1, salp2, calp2, ok = t.short(); !ok {
			salp1, calp1 = t.guess()
			a, _ := t.solve(salp1, calp1)
			s12, _ = t.lengths(a.x, a.sig12, a.ssig1, a.csig1, a.ssig2, a.csig2)
			salp1, calp1, salp2, calp2 = a.salp1, a.calp1, a.salp2, a.calp2
		}
	}
	az1, az2 = turn.azimuths(salp1, calp1, salp2, calp2)
	return s12, az1, az2
}

// A turning is what brought two points into the octant of a [triangle].
type turning struct {
	lonSign, latSign float64
	swapped          bool
}

// azimuths returns the azimuths between the points as they were.
func (t turning) azimuths(salp1, calp1, salp2, calp2 float64) (az1, az2 float64) {
	if t.swapped { // run through it backwards
		salp1, salp2 = salp2, salp1
		calp1, calp2 = -calp2, -calp1
	}
	return azimuth(t.lonSign*salp1, t.latSign*calp1), azimuth(t.lonSign*salp2, t.latSign*calp2)
}

// triangle brings two points into one octant.
func (e *ellipsoid) triangle(p, q Position) (t triangle, turn turning) {
	t.e = e
	t.lam12, t.rest = lonBetween(p.Lon, q.Lon)
	turn.lonSign, turn.latSign = 1, 1
	if t.lam12 < 0 {
		turn.lonSign, t.lam12 = -1, -t.lam12
	}
	lat1, lat2 := p.Lat, q.Lat
	if math.Abs(lat1) < math.Abs(lat2) {
		turn.swapped = true
		lat1, lat2 = lat2, lat1
	}
	if lat1 >= 0 {
		turn.latSign, lat1, lat2 = -1, -lat1, -lat2
	}
	t.sbet1, t.cbet1 = e.parametric(lat1)
	t.sbet2, t.cbet2 = e.parametric(lat2)
	// Latitudes that agree in one of the two numbers are to agree in both, or a line along a parallel goes astray.
	if t.cbet1 < -t.sbet1 {
		if t.cbet2 == t.cbet1 {
			t.sbet2 = math.Copysign(t.sbet1, t.sbet2)
		}
	} else if math.Abs(t.sbet2) == -t.sbet1 {
		t.cbet2 = t.cbet1
	}
	t.dn1 = math.Sqrt(1 + e.ep2*t.sbet1*t.sbet1)
	t.dn2 = math.Sqrt(1 + e.ep2*t.sbet2*t.sbet2)
	if t.lam12 > math.Pi/2 {
		t.slam12, t.clam12 = math.Sincos(t.rest)
		t.clam12 = -t.clam12
	} else {
		t.slam12, t.clam12 = math.Sincos(t.lam12)
	}
	return t, turn
}

func azimuth(s, c float64) float64 { return frame.Wrap2Pi(math.Atan2(s, c)) }

// lonBetween returns the longitude of b as seen from a, in rad, −π ≤ d ≤ π, and π − |d|, each to full accuracy. The
// float64 nearest to π is taken as π itself, so that positions on opposite meridians are.
func lonBetween(a, b float64) (d, rest float64) {
	a, b = wrapLon(a), wrapLon(b)
	d = b - a
	bb := d - b
	low := (b - (d - bb)) + (-a - bb) // what the difference lost by rounding
	switch {
	case d > math.Pi:
		d, low = d-2*math.Pi, low-twoPiLow
	case d < -math.Pi:
		d, low = d+2*math.Pi, low+twoPiLow
	}
	switch abs := math.Abs(d); {
	case abs == math.Pi:
		return d, 0
	case abs < negligible:
		d = 0
	}
	rest = math.Pi - math.Abs(d) + (twoPiLow/2 - math.Copysign(1, d)*low)
	return d + low, math.Max(0, rest)
}

// meridian solves the triangle where both points lie on one meridian circle.
func (t *triangle) meridian() (s12, salp1, calp1, salp2, calp2 float64) {
	salp1, calp1, salp2, calp2 = t.slam12, t.clam12, 0, 1
	ssig1, csig1 := t.sbet1, calp1*t.cbet1
	ssig2, csig2 := t.sbet2, calp2*t.cbet2
	sig12 := math.Atan2(math.Max(0, csig1*ssig2-ssig1*csig2), csig1*csig2+ssig1*ssig2)
	s, _ := t.lengths(expansion(t.e.ep2), sig12, ssig1, csig1, ssig2, csig2)
	return s, salp1, calp1, salp2, calp2
}

// lengths returns the distance and the reduced length, in m, of the arc sig12 between two σ.
func (t *triangle) lengths(x, sig12, ssig1, csig1, ssig2, csig2 float64) (s12, m12 float64) {
	a1, c1 := seriesA1(x), seriesC1(x)
	j := newSecondSeries(x, a1, &c1)
	s12 = t.e.b * (1 + a1) * (sig12 + (c1.sum(ssig2, csig2) - c1.sum(ssig1, csig1)))
	j12 := j.rate*sig12 + (j.c.sum(ssig2, csig2) - j.c.sum(ssig1, csig1))
	m12 = t.e.b * (t.dn2*(csig1*ssig2) - t.dn1*(ssig1*csig2) - csig1*csig2*j12)
	return s12, m12
}
