package frame

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// InducedHeaveM returns how much higher than on a level vessel the attitude a puts the point l, relative to the vessel
// reference point: the up component of C·l less that of l, in m, positive up. l is in m right, forward, up.
//
// The heading does not matter. Small angles: forward·pitch − right·roll; a point above the reference point always
// comes down, in second order. With a mean trim or list that is to be left out, take the difference of two.
func InducedHeaveM(a Attitude, l r3.Vec) float64 {
	p, r := halved(a.Pitch), halved(a.Roll)
	return inducedHeave(&p, &r, l)
}

// An angle is its sines and cosines, all from those of its half.
type angle struct{ sin, cos, halfSquare float64 } // halfSquare is sin² of the half

func halved(x float64) angle {
	s, c := math.Sincos(x / 2)
	return angle{2 * s * c, 1 - 2*s*s, s * s}
}

func inducedHeave(p, r *angle, l r3.Vec) float64 {
	// cos p·cos r − 1 without cancellation
	drop := 2 * (p.halfSquare + r.halfSquare - 2*p.halfSquare*r.halfSquare)
	return -p.cos*r.sin*l.X + p.sin*l.Y - drop*l.Z
}

// InducedMotion returns how far the attitude a moves the point l forward, to starboard and up from where it is on a
// level vessel of the same heading, in m: the horizontal parts along and across the heading, and [InducedHeaveM]. l is in
// m right, forward, up from the vessel reference point. Small angles: surge = −up·pitch, sway = up·roll.
//
// Source: Rx(pitch)·Ry(roll)·l − l, the attitude matrix of the package comment without its heading.
func InducedMotion(a Attitude, l r3.Vec) (surge, sway, heave float64) {
	p, r := halved(a.Pitch), halved(a.Roll)
	x, z := r.cos*l.X+r.sin*l.Z, r.cos*l.Z-r.sin*l.X
	return p.cos*l.Y - p.sin*z - l.Y, x - l.X, inducedHeave(&p, &r, l)
}

// PointVelocity returns the velocity, in m/s east, north, up, of the point l of a rigid vessel: v + C(w×l). v is the
// velocity of the vessel reference point, east, north, up; c the attitude; w the angular rate relative to the local
// level frame along right, forward, up, in rad/s; l in m right, forward, up. Source: Groves 2013, ch. 2.
func PointVelocity(v r3.Vec, c Rotation, w, l r3.Vec) r3.Vec {
	return r3.Add(v, c.Apply(r3.Cross(w, l)))
}

// PointAcceleration returns the acceleration, in m/s² east, north, up, of the point l of a rigid vessel:
// a + C(α×l + w×(w×l)). a is the acceleration of the vessel reference point, alpha the derivative of w along right,
// forward, up, in rad/s²; the others are those of [PointVelocity]. Source: Groves 2013, ch. 2.
func PointAcceleration(a r3.Vec, c Rotation, w, alpha, l r3.Vec) r3.Vec {
	return r3.Add(a, c.Apply(r3.Add(r3.Cross(alpha, l), r3.Cross(w, r3.Cross(w, l)))))
}

// SpecificForce returns what ideal accelerometers along right, forward, up read, in m/s²: Cᵀ(a + g·up). a is the
// acceleration east, north, up, c the attitude, g the local gravity, positive (package geo: NormalGravity). At rest
// and level that is g along up.
//
// The frame is taken as not turning; Coriolis terms (1 mm/s² at 7 m/s) belong to a. Source: Groves 2013, ch. 2.
func SpecificForce(a r3.Vec, c Rotation, g float64) r3.Vec {
	a.Z += g
	return c.Inverse().Apply(a)
}

// TiltFromSpecificForce returns pitch and roll, in rad, of axes along which accelerometers read f, taken as at rest.
// Any unit of f will do. While the vessel accelerates they are apparent angles, off by about acceleration/g.
func TiltFromSpecificForce(f r3.Vec) (pitch, roll float64) { return tilt(f) }
