package track

import (
	"math"

	"swellbench/scenarios/geo"
)

// A plan lays plan coordinates on the ellipsoid: the point at the distance s and the bearing θ from the plan's origin
// is the point at the geodesic distance s and the azimuth θ from the anchor.
//
// In these geodesic polar coordinates the length element of the surface is ds² + G²dθ², where G is the reduced length
// of the geodesic (in a flat plan G = s). From it follow the velocity and the acceleration over the surface for any
// curve, with G′ = dG/ds (the geodesic scale) and G″ = −K·G, K being the Gaussian curvature. That K changes over the
// ellipsoid is in G and in the velocity; the accelerations leave it out (G does not change with θ, the scale is the same
// both ways), which is some 1e-10 m/s² for 5 m/s a thousand kilometres from the anchor. Sources: do Carmo, Differential
// Geometry of Curves and Surfaces, 1976, ch. 4 (geodesic polar coordinates), from memory; Karney, J. Geodesy 87 (2013),
// for the reduced length and the scale.
type plan struct{ anchor geo.Position }

// planAt makes the plan about the anchor, whose height does not matter.
func planAt(anchor geo.Position) plan {
	anchor.Height = 0
	return plan{anchor}
}

// nearM is the distance from the anchor below which G is taken from the first terms of its series, G = s·(1 − K·s²/6):
// the next term, a millionth of a millionth at most, is less than what the rounding of the reduced length is of s.
const nearM = 3000

// surface carries a point of a curve to the ellipsoid.
func (p plan) surface(c *planState) surfaceState {
	s := math.Hypot(c.x, c.y)
	if s == 0 {
		return surfaceState{
			lat: p.anchor.Lat, lon: p.anchor.Lon, normal: normalAt(p.anchor.Lat),
			vE: c.vx, vN: c.vy, aE: c.ax, aN: c.ay,
			heading: c.h, turn: c.hRate, turnDot: c.hAccel,
		}
	}
	theta := math.Atan2(c.x, c.y)
	g := geo.DirectScaled(p.anchor, theta, s)
	lat := g.Position.Lat

	// Velocity and acceleration along the bearing, and a quarter turn clockwise of it.
	sin, cos := math.Sincos(theta)
	vr, vt := c.vx*sin+c.vy*cos, c.vx*cos-c.vy*sin
	ar, at := c.ax*sin+c.ay*cos, c.ax*cos-c.ay*sin
	bearingRate := vt / s
	bearingAccel := (at - 2*vr*bearingRate) / s

	normal := normalAt(lat)
	curvature := 1 / (normal.m * normal.n)
	ks2 := curvature * s * s
	// k = G/s, slope = dk/ds, fall = G′ − 1, bend = 1 − k·G′
	k, slope, fall, bend := 1-ks2/6, -curvature*s/3, -ks2/2, ks2*2/3
	if s > nearM {
		k, fall = g.ReducedLength/s, g.Scale-1
		slope, bend = (g.Scale-k)/s, 1-k*g.Scale
	}
	// The bow turns against the ground as the direction of the bearing does, by G′θ̇ where the plan has θ̇.
	turn := c.hRate + fall*bearingRate
	turnDot := c.hAccel + fall*bearingAccel - curvature*k*vr*vt
	ar += vt * bearingRate * bend
	at = k*at + 2*slope*vr*vt
	vt *= k

	sin, cos = math.Sincos(g.Azimuth)
	return surfaceState{
		lat: lat, lon: g.Position.Lon, normal: normal,
		vE: vr*sin + vt*cos, vN: vr*cos - vt*sin,
		aE: ar*sin + at*cos, aN: ar*cos - at*sin,
		heading: c.h + g.Azimuth - theta,
		turn:    turn, turnDot: turnDot,
	}
}
