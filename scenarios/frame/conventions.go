package frame

import (
	"math"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
)

// NEDFRD returns the same orientation for those who turn forward-right-down axes into north-east-down: P·C·P with P
// the matrix that swaps the first two axes and reverses the third. Its yaw, pitch and roll (z-y-x) are the heading,
// pitch and roll of r, without any change of sign.
func (r Rotation) NEDFRD() Rotation {
	return Rotation{quat.Number{Real: r.q.Real, Imag: r.q.Jmag, Jmag: r.q.Imag, Kmag: -r.q.Kmag}}
}

// FromNEDFRD returns the rotation from right-forward-up to east-north-up of a rotation from forward-right-down to
// north-east-down. It undoes [Rotation.NEDFRD].
func FromNEDFRD(r Rotation) Rotation { return r.NEDFRD() }

// SwapDown returns the vector v with its first two components swapped and the third reversed: right-forward-up to
// forward-right-down, east-north-up to north-east-down, and back. Angular rates change like lever arms.
func SwapDown(v r3.Vec) r3.Vec { return r3.Vec{X: v.Y, Y: v.X, Z: -v.Z} }

// A RollFirst is an orientation in the other order of tilting, Rz(−heading)·Ry(roll)·Rx(pitch), in rad: roll is the
// inclination of the right axis, and pitch turns about the rolled right axis. At pitch 20°, roll 35° the angles differ
// from those of an [Attitude] by degrees.
type RollFirst struct{ Heading, Roll, Pitch float64 }

// Rotation returns the rotation from vessel axes to east-north-up.
func (a RollFirst) Rotation() Rotation {
	// Swapping the axes turns the order into that of an Attitude with roll and pitch exchanged.
	return Attitude{Heading: -a.Heading, Pitch: a.Roll, Roll: a.Pitch}.Rotation().NEDFRD()
}

// RollFirst returns the angles of the rotation in roll-first order: 0 ≤ heading < 2π, −π/2 ≤ roll ≤ π/2,
// −π < pitch ≤ π. Where roll is ±90°, pitch is 0 and the heading has all of it.
func (r Rotation) RollFirst() RollFirst {
	a := r.NEDFRD().Attitude()
	return RollFirst{Heading: Wrap2Pi(-a.Heading), Roll: a.Pitch, Pitch: a.Roll}
}

// Inclinations returns what two inclinometers along the axes read, in rad: how far the right axis points below the
// horizontal, asin(cos pitch·sin roll), and how far the forward axis points above it, the pitch. The first is not the
// roll.
func (a Attitude) Inclinations() (rightDown, forwardUp float64) {
	u := a.up()
	return math.Atan2(-u.X, math.Sqrt(u.Y*u.Y+u.Z*u.Z)), math.Atan2(u.Y, math.Sqrt(u.X*u.X+u.Z*u.Z))
}

// TiltFromInclinations returns pitch and roll, in rad, of a vessel that is the right way up from the inclinations of
// its axes. It undoes [Attitude.Inclinations] for −π/2 ≤ roll ≤ π/2. NaN where no attitude has both (the squares of
// their sines add up to more than 1).
func TiltFromInclinations(rightDown, forwardUp float64) (pitch, roll float64) {
	u := r3.Vec{X: -math.Sin(rightDown), Y: math.Sin(forwardUp)}
	z2 := 1 - u.X*u.X - u.Y*u.Y
	if z2 < 0 && z2 > -1e-15 { // rounding at the edge
		z2 = 0
	}
	u.Z = math.Sqrt(z2)
	return tilt(u)
}
