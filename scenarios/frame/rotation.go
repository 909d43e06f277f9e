package frame

import (
	"math"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
)

// A Rotation turns vectors from one set of axes into another. It is a value, free to copy and share. The zero
// Rotation is the identity.
//
// It holds a unit quaternion q, so q and −q are the same rotation and == does not compare rotations: use
// [Rotation.AngleTo].
type Rotation struct{ q quat.Number }

// num returns the quaternion, with the identity for the zero value.
func (r Rotation) num() quat.Number {
	if r.q == (quat.Number{}) {
		return quat.Number{Real: 1}
	}
	return r.q
}

// FromQuat returns the rotation v → q·v·q*. q need not be of unit length, only its direction counts; the zero
// quaternion is taken as the identity.
func FromQuat(q quat.Number) Rotation {
	m := max(math.Abs(q.Real), math.Abs(q.Imag), math.Abs(q.Jmag), math.Abs(q.Kmag))
	if m == 0 {
		return Rotation{}
	}
	w, x, y, z := q.Real/m, q.Imag/m, q.Jmag/m, q.Kmag/m // neither overflow nor underflow below
	n := 1 / math.Sqrt(w*w+x*x+y*y+z*z)
	return Rotation{quat.Number{Real: w * n, Imag: x * n, Jmag: y * n, Kmag: z * n}}
}

// FromMatrix returns the rotation of the row-major matrix m.
//
// m must be a rotation matrix but for rounding; of any other the result is some rotation. Source: Shepperd,
// Quaternion from Rotation Matrix, J. Guidance and Control 1 (1978): divide by the largest component only.
func FromMatrix(m [9]float64) Rotation {
	var q quat.Number
	switch t := m[0] + m[4] + m[8]; {
	case t >= m[0] && t >= m[4] && t >= m[8]:
		q = quat.Number{Real: 1 + t, Imag: m[7] - m[5], Jmag: m[2] - m[6], Kmag: m[3] - m[1]}
	case m[0] >= m[4] && m[0] >= m[8]:
		q = quat.Number{Real: m[7] - m[5], Imag: 1 + m[0] - m[4] - m[8], Jmag: m[1] + m[3], Kmag: m[2] + m[6]}
	case m[4] >= m[8]:
		q = quat.Number{Real: m[2] - m[6], Imag: m[1] + m[3], Jmag: 1 - m[0] + m[4] - m[8], Kmag: m[5] + m[7]}
	default:
		q = quat.Number{Real: m[3] - m[1], Imag: m[2] + m[6], Jmag: m[5] + m[7], Kmag: 1 - m[0] - m[4] + m[8]}
	}
	return FromQuat(q)
}

// Quat returns the unit quaternion of the rotation, w first. Its sign is free.
func (r Rotation) Quat() quat.Number { return r.num() }

// Matrix returns the rotation as a row-major matrix.
func (r Rotation) Matrix() [9]float64 {
	q := r.num()
	w, x, y, z := q.Real, q.Imag, q.Jmag, q.Kmag
	return [9]float64{
		1 - 2*(y*y+z*z), 2 * (x*y - w*z), 2 * (x*z + w*y),
		2 * (x*y + w*z), 1 - 2*(x*x+z*z), 2 * (y*z - w*x),
		2 * (x*z - w*y), 2 * (y*z + w*x), 1 - 2*(x*x+y*y),
	}
}

// Apply returns the vector v, given in the axes that r comes from, in those it leads to.
func (r Rotation) Apply(v r3.Vec) r3.Vec {
	if r.q == (quat.Number{}) {
		return v
	}
	w, x, y, z := r.q.Real, r.q.Imag, r.q.Jmag, r.q.Kmag
	// v + w·t + u×t with t = 2·u×v, u the vector part
	tx, ty, tz := 2*(y*v.Z-z*v.Y), 2*(z*v.X-x*v.Z), 2*(x*v.Y-y*v.X)
	return r3.Vec{
		X: v.X + w*tx + y*tz - z*ty,
		Y: v.Y + w*ty + z*tx - x*tz,
		Z: v.Z + w*tz + x*ty - y*tx,
	}
}

// Inverse returns the rotation back.
func (r Rotation) Inverse() Rotation { return Rotation{quat.Conj(r.q)} }

// Mul returns the rotation that applies s first, then r. Its matrix is the product of theirs.
func (r Rotation) Mul(s Rotation) Rotation {
	q := quat.Mul(r.num(), s.num())
	// One step towards unit length, so that a long chain of products does not drift away from it.
	n := 1.5 - 0.5*(q.Real*q.Real+q.Imag*q.Imag+q.Jmag*q.Jmag+q.Kmag*q.Kmag)
	return Rotation{quat.Scale(n, q)}
}

// AngleTo returns the angle of the one turn that leads from r to s, in rad, 0 ≤ x ≤ π.
func (r Rotation) AngleTo(s Rotation) float64 {
	d := quat.Mul(quat.Conj(r.num()), s.num())
	return 2 * math.Atan2(math.Sqrt(d.Imag*d.Imag+d.Jmag*d.Jmag+d.Kmag*d.Kmag), math.Abs(d.Real))
}

// Interpolate returns the rotation at the fraction f of the shortest way from a (f = 0) to b (f = 1), at constant
// angular rate. f outside [0, 1] extrapolates. Where a and b are half a turn apart, two ways are shortest and it takes
// one of them.
//
// Source: Shoemake, Animating Rotation with Quaternion Curves, SIGGRAPH 1985 (from memory), written as a power of the
// turn from a to b, which stays accurate for small turns.
func Interpolate(a, b Rotation, f float64) Rotation {
	d := quat.Mul(quat.Conj(a.num()), b.num())
	if d.Real < 0 {
		d = quat.Scale(-1, d)
	}
	n := math.Sqrt(d.Imag*d.Imag + d.Jmag*d.Jmag + d.Kmag*d.Kmag)
	if n == 0 {
		return a
	}
	s, c := math.Sincos(f * math.Atan2(n, d.Real))
	s /= n
	return a.Mul(Rotation{quat.Number{Real: c, Imag: s * d.Imag, Jmag: s * d.Jmag, Kmag: s * d.Kmag}})
}
