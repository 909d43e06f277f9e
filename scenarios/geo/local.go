package geo

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// A Local is the local level frame (east, north, up) at a position, with its sines and cosines worked out, for repeated
// use. It is a value, free to copy and share. Make one with [LocalAt].
type Local struct {
	origin              r3.Vec // Earth-centred, m
	east, north, zenith r3.Vec // unit vectors, Earth-centred
}

// LocalAt returns the local level frame at p. At a pole, where every direction is south or north, the longitude of p
// says where east and north point.
func LocalAt(p Position) Local {
	sp, cp := math.Sincos(p.Lat)
	sl, cl := math.Sincos(p.Lon)
	return localAt(ecef(sp, cp, sl, cl, p.Height), sp, cp, sl, cl)
}

// LocalFromECEF returns the local level frame at the point v, in m in Earth-centred axes: [LocalAt] of [FromECEF], but
// that no angle is worked out.
func LocalFromECEF(v r3.Vec) Local {
	p := math.Sqrt(v.X*v.X + v.Y*v.Y)
	s, c := latitudeOf(v, p)
	return localOf(v, p, s, c)
}

func localOf(v r3.Vec, p, s, c float64) Local {
	sl, cl := 0.0, 1.0
	if p > 0 {
		sl, cl = v.Y/p, v.X/p
	}
	return localAt(v, s, c, sl, cl)
}

func localAt(origin r3.Vec, sp, cp, sl, cl float64) Local {
	return Local{
		origin: origin,
		east:   r3.Vec{X: -sl, Y: cl},
		north:  r3.Vec{X: -sp * cl, Y: -sp * sl, Z: cp},
		zenith: r3.Vec{X: cp * cl, Y: cp * sl, Z: sp},
	}
}

// North returns how far north of the origin, in m, the point at the latitude lat and the height, in m, of the origin's
// meridian is: [Local.ENU] of it.
func (l *Local) North(lat, height float64) float64 {
	s, c := math.Sincos(lat)
	n := SemiMajorM / math.Sqrt(1-EccentricitySquared*s*s)
	// along the axis and away from it
	z, p := (n*oneMinusE2+height)*s-l.origin.Z, (n+height)*c-l.fromAxis()
	return l.north.Z*z - l.zenith.Z*p
}

// East returns how far east of the origin, in m, the point lies that is turned from it by the longitude lon, in rad:
// [Local.ENU] of it.
func (l *Local) East(lon float64) float64 { return l.fromAxis() * math.Sin(lon) }

// fromAxis is how far the origin is from the axis of the Earth, m.
func (l *Local) fromAxis() float64 {
	return math.Sqrt(l.origin.X*l.origin.X + l.origin.Y*l.origin.Y)
}

// Origin returns where the frame is, in m in Earth-centred axes.
func (l *Local) Origin() r3.Vec { return l.origin }

// Position returns where the point enu, in m east, north, up of the origin, lies. Exact anywhere, for any distance.
func (l Local) Position(enu r3.Vec) Position { return FromECEF(r3.Add(l.origin, l.ToECEF(enu))) }

// Move returns the local level frame at the point enu, in m east, north, up of the origin, and its position.
func (l *Local) Move(enu r3.Vec) (Local, Position) {
	v := r3.Add(l.origin, l.ToECEF(enu))
	p := math.Sqrt(v.X*v.X + v.Y*v.Y)
	s, c := latitudeOf(v, p)
	return localOf(v, p, s, c), positionOf(v, p, s, c)
}

// ENU returns where p lies, in m east, north, up of the origin. It undoes [Local.Position].
func (l Local) ENU(p Position) r3.Vec { return l.FromECEF(r3.Sub(p.ECEF(), l.origin)) }

// ToECEF returns a vector such as a velocity, given east, north, up, in Earth-centred axes.
func (l Local) ToECEF(v r3.Vec) r3.Vec {
	return r3.Vec{
		X: l.east.X*v.X + l.north.X*v.Y + l.zenith.X*v.Z,
		Y: l.east.Y*v.X + l.north.Y*v.Y + l.zenith.Y*v.Z,
		Z: l.north.Z*v.Y + l.zenith.Z*v.Z,
	}
}

// FromECEF returns a vector given in Earth-centred axes east, north, up. It undoes [Local.ToECEF].
func (l Local) FromECEF(v r3.Vec) r3.Vec {
	return r3.Vec{X: r3.Dot(l.east, v), Y: r3.Dot(l.north, v), Z: r3.Dot(l.zenith, v)}
}

// Rotation returns the rotation from east-north-up to Earth-centred axes.
func (l Local) Rotation() frame.Rotation {
	return frame.FromMatrix([9]float64{
		l.east.X, l.north.X, l.zenith.X,
		l.east.Y, l.north.Y, l.zenith.Y,
		0, l.north.Z, l.zenith.Z,
	})
}

// EarthRate returns the rate at which the local level frame at the latitude lat turns with the Earth, in rad/s east,
// north, up: Ω(0, cos lat, sin lat). Source: Groves 2013, ch. 2.
func EarthRate(lat float64) r3.Vec {
	s, c := math.Sincos(lat)
	return r3.Vec{Y: EarthRateRadS * c, Z: EarthRateRadS * s}
}

// TransportRate returns the rate at which the local level frame turns relative to the Earth because it is carried along
// at the velocity v, in m/s east, north, up; the result is rad/s east, north, up:
// (−vN/(M+h), vE/(N+h), vE·tan lat/(N+h)).
//
// Towards the poles the rate about up grows without bound. Source: Groves 2013, ch. 5.
func TransportRate(p Position, v r3.Vec) r3.Vec {
	e := v.X / (PrimeVerticalRadius(p.Lat) + p.Height)
	return r3.Vec{X: -v.Y / (MeridianRadius(p.Lat) + p.Height), Y: e, Z: e * math.Tan(p.Lat)}
}
