package geo

import (
	"math"

	"swellbench/scenarios/frame"
)

// A Line is the geodesic that leaves a position at an azimuth, prepared so that many points of it cost little. It is a
// value, free to copy; asking it for points changes nothing. Make one with [LineFrom].
//
// Source: Karney 2013, sections 2 to 4, series to the sixth order. In his words α0 is the azimuth where the geodesic
// crosses the equator, σ the arc from there on the auxiliary sphere, ω the longitude on it.
type Line struct {
	e            *ellipsoid
	start        Position
	salp0, calp0 float64
	ssig1, csig1 float64
	somg1, comg1 float64
	dn1, k2      float64
	stau1, ctau1 float64
	perTau       float64 // 1/(b·A1), rad of τ a metre
	b11          float64 // B1 at the start
	a3, b31      float64 // −f·sin α0·A3, and B3 at the start
	c1p, c3      coeffs
	second       secondSeries
}

// A secondSeries gives J = ∫(1+k²sin²σ)^½ − (1+k²sin²σ)^−½ dσ, on which the reduced length rests.
type secondSeries struct {
	rate, b1 float64 // A1 − A2; J without its mean rate, at the start
	c        coeffs
}

// A LinePoint is one point of a [Line].
type LinePoint struct {
	Position Position // at the height of the start
	Azimuth  float64  // of the line there, away from the start, rad, 0 ≤ x < 2π
	// ReducedLength m12, in m: turning the start azimuth by dα moves the point by m12·dα to the right.
	ReducedLength float64
	// Scale M12: two lines that start parallel, dt apart, are M12·dt apart there.
	Scale float64
}

// LineFrom returns the geodesic from p at the azimuth, in rad clockwise from true north. At a pole, azimuth is counted
// as if p were the point of its longitude just short of it: azimuth 0 at longitude 10° and latitude 90° goes on along
// the meridian of −170°.
func LineFrom(p Position, azimuth float64) Line { return wgs84.line(p, azimuth) }

func (e *ellipsoid) line(p Position, azimuth float64) Line {
	l := Line{e: e, start: p}
	sbet1, cbet1 := e.parametric(p.Lat)
	salp1, calp1 := math.Sincos(azimuth)
	l.salp0 = salp1 * cbet1
	l.calp0 = math.Sqrt(calp1*calp1 + salp1*salp1*sbet1*sbet1)
	l.ssig1, l.csig1 = sbet1, calp1*cbet1
	l.somg1 = l.salp0 * sbet1
	if sbet1 == 0 && calp1 == 0 {
		l.csig1 = 1
	}
	l.comg1 = l.csig1
	l.ssig1, l.csig1 = normalize(l.ssig1, l.csig1)
	l.k2 = l.calp0 * l.calp0 * e.ep2
	l.dn1 = math.Sqrt(1 + l.k2*l.ssig1*l.ssig1)
	x := expansion(l.k2)

	c1, a1 := seriesC1(x), seriesA1(x)
	l.perTau = 1 / (e.b * (1 + a1))
	l.b11 = c1.sum(l.ssig1, l.csig1)
	s, c := math.Sincos(l.b11)
	l.stau1, l.ctau1 = l.ssig1*c+l.csig1*s, l.csig1*c-l.ssig1*s
	l.c1p = seriesC1p(x)

	l.a3 = -e.f * l.salp0 * e.seriesA3(x)
	l.c3 = e.seriesC3(x)
	l.b31 = l.c3.sum(l.ssig1, l.csig1)

	l.second = newSecondSeries(x, a1, &c1)
	l.second.b1 = l.second.c.sum(l.ssig1, l.csig1)
	return l
}

// newSecondSeries returns J for the expansion parameter x, with A1 − 1 and C1 for it.
func newSecondSeries(x, a1 float64, c1 *coeffs) (s secondSeries) {
	c2, a2 := seriesC2(x), seriesA2(x)
	s.rate = a1 - a2
	for i := range s.c {
		s.c[i] = (1+a1)*c1[i] - (1+a2)*c2[i]
	}
	return s
}

// Start returns the position the line leaves from.
func (l *Line) Start() Position { return l.start }

// At returns the point of the line at the distance s along the ellipsoid, in m; negative is behind the start.
func (l *Line) At(s float64) LinePoint {
	out, sig12, ssig2, csig2 := l.at(s)
	csig12 := math.Cos(sig12)
	dn2 := math.Sqrt(1 + l.k2*ssig2*ssig2)
	j12 := l.second.rate*sig12 + (l.second.c.sum(ssig2, csig2) - l.second.b1)
	t := l.k2 * (ssig2 - l.ssig1) * (ssig2 + l.ssig1) / (l.dn1 + dn2)
	out.ReducedLength = l.e.b * (dn2*(l.csig1*ssig2) - l.dn1*(l.ssig1*csig2) - l.csig1*csig2*j12)
	out.Scale = csig12 + (t*ssig2-csig2*j12)*l.ssig1/l.dn1
	return out
}

// Course returns position and azimuth of [Line.At] alone.
func (l *Line) Course(s float64) (Position, float64) {
	out, _, _, _ := l.at(s)
	return out.Position, out.Azimuth
}

// at fills in position and azimuth of the point, and returns the arc to it with sine and cosine of where it ends.
func (l *Line) at(s float64) (out LinePoint, sig12, ssig2, csig2 float64) {
	e := l.e
	tau12 := s * l.perTau
	st, ct := math.Sincos(tau12)
	b12 := -l.c1p.sum(l.stau1*ct+l.ctau1*st, l.ctau1*ct-l.stau1*st)
	sig12 = tau12 - (b12 - l.b11)
	ssig12, csig12 := math.Sincos(sig12)
	ssig2, csig2 = l.ssig1*csig12+l.csig1*ssig12, l.csig1*csig12-l.ssig1*ssig12

	sbet2 := l.calp0 * ssig2
	salp2, calp2 := l.salp0, l.calp0*csig2
	cbet2 := math.Sqrt(salp2*salp2 + calp2*calp2)
	if cbet2 == 0 { // exactly at a pole, on a meridian
		cbet2, calp2, csig2 = tiny, tiny, tiny
	}
	somg2, comg2 := l.salp0*ssig2, csig2
	omg12 := math.Atan2(somg2*l.comg1-comg2*l.somg1, comg2*l.comg1+somg2*l.somg1)
	lam12 := omg12 + l.a3*(sig12+(l.c3.sum(ssig2, csig2)-l.b31))

	out.Position = Position{
		Lat:    math.Atan2(sbet2, e.f1*cbet2),
		Lon:    wrapLon(l.start.Lon + lam12),
		Height: l.start.Height,
	}
	out.Azimuth = frame.Wrap2Pi(math.Atan2(salp2, calp2))
	return out, sig12, ssig2, csig2
}

// Direct returns where one arrives from p at the azimuth, in rad clockwise from true north, after the distance, in m
// along the ellipsoid, and the azimuth of the line there, 0 ≤ azimuth2 < 2π. The height stays that of p; distance is
// counted on the ellipsoid all the same. Good to nanometres for any distance; negative ones go backwards. For many
// points of one line take [LineFrom], for the spread of neighbouring lines [DirectScaled].
func Direct(p Position, azimuth, distance float64) (arrival Position, azimuth2 float64) {
	a := DirectScaled(p, azimuth, distance)
	return a.Position, a.Azimuth
}

// DirectScaled is [Direct] together with the reduced length and the geodesic scale, which a path made of geodesics
// needs for its exact velocity.
func DirectScaled(p Position, azimuth, distance float64) LinePoint {
	l := wgs84.line(p, azimuth)
	return l.At(distance)
}

// negligible is an angle, in rad, so small that it is taken as 0, lest products of several such sines underflow.
const negligible = 1e-30

// parametric returns sine and cosine of the parametric latitude of the geodetic one, the cosine positive; NaN beyond
// the poles.
func (e *ellipsoid) parametric(lat float64) (s, c float64) {
	if math.Abs(lat) < negligible {
		return math.Copysign(0, lat), 1
	}
	if math.Abs(lat) >= math.Pi/2 {
		if math.Abs(lat) > math.Pi/2+4*eps {
			return math.NaN(), math.NaN()
		}
		return math.Copysign(1, lat), tiny
	}
	s, c = math.Sincos(lat)
	return normalize(e.f1*s, c)
}

// twoPiLow is what 2π is more than the float64 nearest to it. Source: the digits of π.
const twoPiLow = 2.4492935982947064e-16

// wrapLon brings a longitude, in rad, into −π < x ≤ π without losing digits of it.
func wrapLon(x float64) float64 {
	switch {
	case x > math.Pi && x < 3*math.Pi:
		x = x - 2*math.Pi - twoPiLow
	case x <= -math.Pi && x > -3*math.Pi:
		x = x + 2*math.Pi + twoPiLow
	}
	return frame.WrapPi(x)
}
