package geo

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Position is a geodetic position on WGS 84. The zero Position lies in the Gulf of Guinea: where a position may be
// missing, say so beside it.
type Position struct {
	Lat    float64 // rad, north positive, −π/2 ≤ Lat ≤ π/2
	Lon    float64 // rad, east positive, −π < Lon ≤ π
	Height float64 // m above the ellipsoid
}

// ECEF returns the position in Earth-centred, Earth-fixed axes, in m: X towards latitude and longitude 0, Z towards the
// north pole. Source: Groves 2013, ch. 2.
func (p Position) ECEF() r3.Vec {
	sp, cp := math.Sincos(p.Lat)
	sl, cl := math.Sincos(p.Lon)
	return ecef(sp, cp, sl, cl, p.Height)
}

func ecef(sp, cp, sl, cl, height float64) r3.Vec {
	n := SemiMajorM / math.Sqrt(1-EccentricitySquared*sp*sp)
	return r3.Vec{X: (n + height) * cp * cl, Y: (n + height) * cp * sl, Z: (n*oneMinusE2 + height) * sp}
}

// deepM is the distance from the centre of the Earth, in m, below which [FromECEF] searches instead of iterating.
const deepM = 5e6

// FromECEF returns the geodetic position of the point v, in m in Earth-centred, Earth-fixed axes. It is good to
// nanometres from deep within the Earth to beyond the satellites, also on the axis, where the longitude is 0. Near the
// centre, where several points of the ellipsoid lie straight up, the nearest one is taken, and of two alike the
// northern.
//
// Source: Bowring, The accuracy of geodetic latitude and height equations, Survey Review 28 (1985), from memory,
// repeated once more than he found needful; below 5,000 km from the centre, the nearest point of the meridian ellipse.
func FromECEF(v r3.Vec) Position {
	p := math.Sqrt(v.X*v.X + v.Y*v.Y)
	s, c := latitudeOf(v, p)
	return positionOf(v, p, s, c)
}

// positionOf is the position of v, at the distance p from the axis, where sine and cosine of the latitude are known.
func positionOf(v r3.Vec, p, s, c float64) Position {
	out := Position{
		Lat: math.Atan2(s, c),
		// the height above the plane that touches the ellipsoid there
		Height: p*c + v.Z*s - SemiMajorM*math.Sqrt(1-EccentricitySquared*s*s),
	}
	if p > 0 {
		out.Lon = math.Atan2(v.Y, v.X)
		if out.Lon == -math.Pi {
			out.Lon = math.Pi
		}
	}
	return out
}

// latitudeOf returns sine and cosine of the geodetic latitude of v, at the distance p from the axis.
func latitudeOf(v r3.Vec, p float64) (s, c float64) {
	r := math.Sqrt(v.X*v.X + v.Y*v.Y + v.Z*v.Z)
	// s and c along sine and cosine of the latitude
	if r < deepM {
		s, c = nearest(p, v.Z)
	} else {
		s, c = v.Z*(1+SecondEccentricitySquared*SemiMinorM/r), p
		for range 2 {
			sb := (1 - Flattening) * s // along sine and cosine of the parametric latitude
			n := 1 / math.Sqrt(sb*sb+c*c)
			sb, c = sb*n, c*n
			s, c = v.Z+SecondEccentricitySquared*SemiMinorM*sb*sb*sb, p-EccentricitySquared*SemiMajorM*c*c*c
		}
	}
	n := 1 / math.Sqrt(s*s+c*c)
	return s * n, c * n
}

// nearest returns sine and cosine, times some positive number, of the geodetic latitude of that point of the meridian
// ellipse which is nearest to (p, z) inside it.
//
// The point is (a²p/(t+a²), b²z/(t+b²)) with the greatest t that puts it onto the ellipse; bisection cannot miss it.
// Source: Eberly, Distance from a point to an ellipse, 2013, from memory. u = t/b² + 1 keeps its digits near 0.
func nearest(p, z float64) (s, c float64) {
	const e = SecondEccentricitySquared
	x, y := p/SemiMajorM, math.Abs(z)/SemiMinorM
	if y < 1e-60 { // far below rounding, and no digits are left to work with
		if k := x / EccentricitySquared; k < 1 { // inside the evolute, the equator is not nearest
			s = math.Sqrt(1-k*k) / SemiMinorM
			if z < 0 {
				s = -s
			}
			return s, k / SemiMajorM
		}
		return 0, 1
	}
	n := (1 + e) * x
	lo, hi := y, 1.0
	for {
		u := lo + (hi-lo)/2
		if u <= lo || u >= hi {
			break
		}
		if g, h := n/(u+e), y/u; g*g+h*h > 1 {
			lo = u
		} else {
			hi = u
		}
	}
	// the normal of the ellipse is along (x/a², y/b²)
	return math.Copysign(y/hi, z) / SemiMinorM, n / (hi + e) / SemiMajorM
}
