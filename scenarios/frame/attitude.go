package frame

import (
	"math"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
)

// singularRad is how close to ±90° a pitch must be, in rad, for roll to be put into the heading. It lies above the
// rounding of a product of rotations (some 1e-15), and the rotation changes by no more than this.
const singularRad = 1e-14

// An Attitude is the orientation of the vessel or of a device in the local level frame, or of the device in the
// vessel (mounting angles), in rad. Any values are allowed; [Attitude.Canonical] brings them into the usual range.
type Attitude struct {
	Heading float64 // clockwise from true north; of a mounting: clockwise seen from above
	Pitch   float64 // positive bow up; of a mounting: the device's forward axis raised
	Roll    float64 // positive starboard side down; of a mounting: the device's right axis lowered
}

// Rotation returns the rotation C = Rz(−heading)·Rx(pitch)·Ry(roll), from vessel axes to east-north-up; of mounting
// angles, from device axes to vessel axes.
func (a Attitude) Rotation() Rotation {
	sh, ch := math.Sincos(a.Heading / 2)
	if a.Pitch == 0 && a.Roll == 0 {
		return Rotation{quat.Number{Real: ch, Kmag: -sh}}
	}
	sp, cp := math.Sincos(a.Pitch / 2)
	sr, cr := math.Sincos(a.Roll / 2)
	return Rotation{quat.Number{
		Real: ch*cp*cr + sh*sp*sr,
		Imag: ch*sp*cr + sh*cp*sr,
		Jmag: ch*cp*sr - sh*sp*cr,
		Kmag: ch*sp*sr - sh*cp*cr,
	}}
}

// Canonical returns the same attitude with 0 ≤ heading < 2π, −π/2 ≤ pitch ≤ π/2, −π < roll ≤ π.
//
// A pitch beyond ±90° folds back, heading and roll then both turn by 180°. At ±90° roll becomes 0, see the package
// comment.
func (a Attitude) Canonical() Attitude {
	h, p, r := a.Heading, WrapPi(a.Pitch), a.Roll
	if math.Abs(p) > math.Pi/2 {
		p = math.Copysign(math.Pi, p) - p
		h, r = WrapPi(h)+math.Pi, WrapPi(r)+math.Pi
	}
	if math.Pi/2-math.Abs(p) < singularRad {
		return Attitude{Heading: Wrap2Pi(h - math.Copysign(1, p)*r), Pitch: math.Copysign(math.Pi/2, p)}
	}
	return Attitude{Heading: Wrap2Pi(h), Pitch: p, Roll: WrapPi(r)}
}

// Attitude returns heading, pitch and roll of the rotation, in the ranges of [Attitude.Canonical]. The singularity
// is described in the package comment.
//
// The half sums and half differences of heading and roll come straight from the quaternion, so that the attitude
// stands for the rotation to rounding error at any pitch, however badly heading and roll can be told apart.
// Derivation: with H, P, R half the angles, w+x = √2·cos(45°−P)·cos(H−R), y+z = −√2·cos(45°−P)·sin(H−R),
// w−x = √2·sin(45°−P)·cos(H+R), y−z = √2·sin(45°−P)·sin(H+R). Compare Bernardes & Viollet, Quaternion to Euler angles
// conversion, PLoS ONE 17 (2022), from memory.
func (r Rotation) Attitude() Attitude {
	q := r.num()
	ac, as := q.Real+q.Imag, -q.Jmag-q.Kmag // of H−R
	bc, bs := q.Real-q.Imag, q.Jmag-q.Kmag  // of H+R
	a, b := math.Sqrt(ac*ac+as*as), math.Sqrt(bc*bc+bs*bs)
	switch {
	case b < singularRad/math.Sqrt2:
		return Attitude{Heading: Wrap2Pi(2 * math.Atan2(as, ac)), Pitch: math.Pi / 2}
	case a < singularRad/math.Sqrt2:
		return Attitude{Heading: Wrap2Pi(2 * math.Atan2(bs, bc)), Pitch: -math.Pi / 2}
	}
	d, s := math.Atan2(as, ac), math.Atan2(bs, bc)
	return Attitude{
		Heading: Wrap2Pi(s + d),
		Pitch:   math.Atan2(2*(q.Real*q.Imag+q.Jmag*q.Kmag), a*b), // sin p and cos p
		Roll:    WrapPi(s - d),
	}
}

// TiltTotal returns the angle between the up axis and the vertical, in rad, 0 ≤ x ≤ π. The heading does not matter.
func (a Attitude) TiltTotal() float64 {
	u := a.up()
	return math.Atan2(math.Sqrt(u.X*u.X+u.Y*u.Y), u.Z)
}

// up returns the unit vector towards the zenith along right, forward, up: the last row of the matrix.
func (a Attitude) up() r3.Vec {
	sp, cp := math.Sincos(a.Pitch)
	sr, cr := math.Sincos(a.Roll)
	return r3.Vec{X: -cp * sr, Y: sp, Z: cp * cr}
}

// tilt returns pitch and roll of axes in which u points to the zenith. u need not be of unit length.
func tilt(u r3.Vec) (pitch, roll float64) {
	cp := math.Sqrt(u.X*u.X + u.Z*u.Z)
	pitch = math.Atan2(u.Y, cp)
	if cp < singularRad*math.Abs(u.Y) {
		return pitch, 0
	}
	return pitch, WrapPi(math.Atan2(-u.X, u.Z))
}
