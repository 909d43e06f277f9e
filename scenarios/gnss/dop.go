package gnss

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// DOP is the dilution of precision of a fix, by kind. Source: Kaplan & Hegarty, Understanding GPS: Principles and
// Applications, 2nd ed. 2006, ch. 7.
type DOP struct {
	Geometric, Position, Horizontal, Vertical, Time float64
}

// A Geometry is what the directions to the satellites of a fix make of the range errors.
type Geometry struct {
	DOP DOP
	// Cofactor is the position part of (GᵀG)⁻¹: east-east, north-north, up-up, east-north, east-up, north-up.
	Cofactor [6]float64
}

// The directions are taken to lie on one cone where the determinant of P is less than minimumDet of the cube of its
// trace, of which rounding alone makes 1e-17, and in one spot where the trace is less than minimumTrace a satellite.
const (
	minimumDet   = 1e-14
	minimumTrace = 1e-12
)

// NewGeometry returns the geometry of unit vectors from the antenna to the satellites, in east, north, up. It is false
// where there are fewer than four, or where they lie on one cone so that they give no fix.
//
// The rows of G are [−e, −n, −u, 1]. The clock is taken out first: with m the mean direction of n satellites the
// position part of (GᵀG)⁻¹ is the inverse of P = Σ uuᵀ − n·mmᵀ, and the clock's is 1/n + mᵀP⁻¹m (the inverse by blocks,
// any textbook on linear algebra). Nothing is allocated; the test holds it against the inverse by gonum.
func NewGeometry(sight []r3.Vec) (Geometry, bool) {
	n := float64(len(sight))
	if n < 4 {
		return Geometry{}, false
	}
	var m r3.Vec
	for _, u := range sight {
		m = r3.Add(m, u)
	}
	m = r3.Scale(1/n, m)
	var ee, nn, uu, en, eu, nu float64
	for _, u := range sight {
		d := r3.Sub(u, m) // Σ (u−m)(u−m)ᵀ is the same P without its cancellation
		ee, nn, uu = ee+d.X*d.X, nn+d.Y*d.Y, uu+d.Z*d.Z
		en, eu, nu = en+d.X*d.Y, eu+d.X*d.Z, nu+d.Y*d.Z
	}
	cee, cen, ceu := nn*uu-nu*nu, nu*eu-en*uu, en*nu-nn*eu
	det := ee*cee + en*cen + eu*ceu
	if trace := ee + nn + uu; !(det > minimumDet*trace*trace*trace && trace > minimumTrace*n) {
		return Geometry{}, false
	}
	q := [6]float64{cee / det, (ee*uu - eu*eu) / det, (ee*nn - en*en) / det, cen / det, ceu / det, (en*eu - ee*nu) / det}
	tt := 1/n + m.X*(q[0]*m.X+2*q[3]*m.Y+2*q[4]*m.Z) + m.Y*(q[1]*m.Y+2*q[5]*m.Z) + m.Z*q[2]*m.Z
	h2 := q[0] + q[1]
	return Geometry{
		DOP: DOP{
			Geometric:  math.Sqrt(h2 + q[2] + tt),
			Position:   math.Sqrt(h2 + q[2]),
			Horizontal: math.Sqrt(h2),
			Vertical:   math.Sqrt(q[2]),
			Time:       math.Sqrt(tt),
		},
		Cofactor: q,
	}, true
}

// scale multiplies all dilutions by k.
func (g Geometry) scale(k float64) Geometry {
	d := &g.DOP
	d.Geometric, d.Position, d.Horizontal, d.Vertical, d.Time = d.Geometric*k, d.Position*k, d.Horizontal*k, d.Vertical*k, d.Time*k
	for i := range g.Cofactor {
		g.Cofactor[i] *= k * k
	}
	return g
}

// A shape turns three independent numbers of unit variance into an error with the covariance of a geometry: the lower
// triangle of its Cholesky factor, row by row.
type shape [6]float64

func (g Geometry) shape() shape {
	q := g.Cofactor
	l11 := math.Sqrt(max(q[0], 0))
	if l11 == 0 {
		return shape{}
	}
	l21, l31 := q[3]/l11, q[4]/l11
	l22 := math.Sqrt(max(q[1]-l21*l21, 0))
	if l22 == 0 {
		return shape{l11, l21, 0, l31}
	}
	l32 := (q[5] - l31*l21) / l22
	return shape{l11, l21, l22, l31, l32, math.Sqrt(max(q[2]-l31*l31-l32*l32, 0))}
}

func (l *shape) apply(z r3.Vec) r3.Vec {
	return r3.Vec{X: l[0] * z.X, Y: l[1]*z.X + l[2]*z.Y, Z: l[3]*z.X + l[4]*z.Y + l[5]*z.Z}
}
