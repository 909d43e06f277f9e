package gnss

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// An Orbit is a Kepler ellipse whose node moves evenly, seen from the turning Earth.
type Orbit struct {
	SemiMajorM    float64
	Eccentricity  float64
	Inclination   float64 // rad
	MeanMotion    float64 // rad/s
	NodeLongitude float64 // of the ascending node at the epoch, rad, east of Greenwich, on the turning Earth
	NodeRate      float64 // of that longitude, rad/s: the node's own rate less the Earth's
	Perigee       float64 // argument of perigee, rad
	MeanAnomaly   float64 // at the epoch, rad
	EpochUnix     float64 // s since 1970, counted as UTC counts them
}

// At returns the position at an instant, in s since 1970, in m in Earth-centred, Earth-fixed axes.
//
// Source: IS-GPS-200, table 20-IV with the subset of terms that an almanac has (20.3.3.5.2.1). For a circular orbit it is
// u = u0 + n(t − t0) in a plane that stands still among the stars.
func (o *Orbit) At(unix float64) r3.Vec {
	dt := unix - o.EpochUnix
	m := o.MeanAnomaly + o.MeanMotion*dt
	var x, y float64 // in the plane, towards perigee and across
	if o.Eccentricity == 0 {
		s, c := math.Sincos(m)
		x, y = o.SemiMajorM*c, o.SemiMajorM*s
	} else {
		s, c := math.Sincos(eccentricAnomaly(m, o.Eccentricity))
		x, y = o.SemiMajorM*(c-o.Eccentricity), o.SemiMajorM*math.Sqrt(1-o.Eccentricity*o.Eccentricity)*s
	}
	if o.Perigee != 0 {
		s, c := math.Sincos(o.Perigee)
		x, y = x*c-y*s, x*s+y*c
	}
	so, co := math.Sincos(o.NodeLongitude + o.NodeRate*dt)
	si, ci := math.Sincos(o.Inclination)
	return r3.Vec{X: x*co - y*ci*so, Y: x*so + y*ci*co, Z: y * si}
}

// eccentricAnomaly solves Kepler's equation M = E − e·sin E for E, in rad, by Newton's method. It starts at
// E = M + e·sin M, which for e ≤ 0.5 converges in a few steps.
func eccentricAnomaly(m, e float64) float64 {
	m = math.Remainder(m, 2*math.Pi)
	ea := m + e*math.Sin(m)
	for range 12 {
		s, c := math.Sincos(ea)
		d := (ea - e*s - m) / (1 - e*c)
		ea -= d
		if math.Abs(d) < 1e-15 {
			break
		}
	}
	return ea
}
