package track

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// A surfaceState is motion over the ellipsoid at one instant.
type surfaceState struct {
	lat, lon float64 // rad
	normal   normal  // at lat
	vE, vN   float64 // velocity along the surface, m/s
	aE, aN   float64 // its derivative, the part along the surface (the covariant one), m/s²
	heading  float64 // true, rad
	turn     float64 // clockwise turning of the bow over the ground, meridian convergence left out, rad/s
	turnDot  float64 // rad/s²
}

// A normal is the ellipsoid at a latitude: sine and cosine of it, w² = 1 − e²·sin², and the radii of curvature along and
// across the meridian, m. It is asked for several times at one place, and dear.
type normal struct{ sin, cos, w2, m, n float64 }

// normalAt gives the ellipsoid at the latitude. Source of the radii: as [geo.MeridianRadius] and [geo.PrimeVerticalRadius].
func normalAt(lat float64) normal {
	sin, cos := math.Sincos(lat)
	w2 := 1 - geo.EccentricitySquared*sin*sin
	n := geo.SemiMajorM / math.Sqrt(w2)
	return normal{sin, cos, w2, n * (1 - geo.EccentricitySquared) / w2, n}
}

// poleCos keeps the convergence of the meridians finite at a pole: it stands for 6 µm from it.
const poleCos = 1e-12

// atHeight gives the path h above the ellipsoid, with the radii of curvature M and N there.
//
// The point is Q + h·u, with Q on the surface and u the normal. Along the lines of curvature, which are east and north,
// u̇ = (vE/N, vN/M): so the velocity is v·(1 + h/N) and v·(1 + h/M). The acceleration is that over the surface, plus
// the pull towards the centre of curvature, vE²/N + vN²/M, plus h·ü. The derivatives of the radii fold with the
// meridian convergence into the terms with e² below, which are finite at the poles. Derived from the equations of
// Gauss and Weingarten (do Carmo, Differential Geometry of Curves and Surfaces, 1976, ch. 3 and 4, from memory).
func (s *surfaceState) atHeight(h float64) PathState {
	m, n, w2, sinL, cosL := s.normal.m, s.normal.n, s.normal.w2, s.normal.sin, s.normal.cos
	fold := geo.EccentricitySquared * sinL * cosL

	p, q := s.vE/n, s.vN/m // u̇ along east and north, rad/s
	uE := s.aE/n - 2*fold/w2*p*q
	uN := s.aN/m - fold/(1-geo.EccentricitySquared)*p*p - 3*fold/w2*q*q
	uU := -(p*p + q*q)

	tanL := sinL / max(cosL, poleCos)
	convergence := p * tanL // longitude rate times sin lat
	convergenceDot := (uE+p*q*tanL)*tanL + p*q*(1+tanL*tanL)

	sinH, cosH := math.Sincos(s.heading)
	along := func(e, n, u float64) r3.Vec { // east, north, up to starboard, heading, up
		return r3.Vec{X: e*cosH - n*sinH, Y: e*sinH + n*cosH, Z: u}
	}
	return PathState{
		Position:     geo.Position{Lat: s.lat, Lon: s.lon, Height: h},
		Velocity:     r3.Vec{X: s.vE * (1 + h/n), Y: s.vN * (1 + h/m)},
		Acceleration: r3.Vec{X: s.aE + h*uE, Y: s.aN + h*uN, Z: -(s.vE*p + s.vN*q) + h*uU},
		Heading:      frame.Wrap2Pi(s.heading),
		HeadingRate:  s.turn + convergence,
		HeadingAccel: s.turnDot + convergenceDot,
		// The level frame tilts at u × u̇ and turns at −turn about u.
		Rate:    along(-q, p, -s.turn),
		RateDot: along(-uN-s.turn*p, uE-s.turn*q, -s.turnDot),
	}
}
