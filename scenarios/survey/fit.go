package survey

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// A Pair is one point in both sets of axes, in m.
type Pair struct {
	From, To r3.Vec
	SigmaM   float64 // standard deviation of one coordinate of the difference, both sides together; positive
}

// A Fit is the turn and shift that bring one set of axes to another.
type Fit struct {
	Rotation  frame.Rotation
	Shift     r3.Vec   // m: to = Rotation·from + Shift
	Residuals []r3.Vec // m, along the axes led to: to less what the fit makes of from
	Chi2      float64  // squares of the residuals over those of their standard deviations, summed
	Freedom   int      // 3n − 6

	// Scale is the size of the figure led to by that of the figure come from, 1 where lengths agree.
	Scale float64
	// Covariance of the small turn about the axes led to, by which the rotation may be off, rad², row-major.
	Covariance [9]float64
	// Weakest is the axis, of those led to, about which the turn is known worst; WeakestSigma how well, in rad.
	Weakest      r3.Vec
	WeakestSigma float64
}

// AngleSigmas returns the standard deviations of heading, pitch and roll of the rotation, in rad. At a pitch of ±90°
// those of heading and roll have no bound.
func (f Fit) AngleSigmas() frame.Attitude {
	a, back := f.Rotation.Attitude(), f.Rotation.Inverse()
	var s [3]float64
	var d [3]frame.Rates // of the angles by a small turn about each of the axes led to
	for i, axis := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		d[i] = frame.EulerRates(a, back.Apply(axis))
	}
	for i := range 3 {
		for j := range 3 {
			c := f.Covariance[3*i+j]
			s[0] += c * d[i].Heading * d[j].Heading
			s[1] += c * d[i].Pitch * d[j].Pitch
			s[2] += c * d[i].Roll * d[j].Roll
		}
	}
	return frame.Attitude{Heading: math.Sqrt(s[0]), Pitch: math.Sqrt(s[1]), Roll: math.Sqrt(s[2])}
}

// A FitError says why points do not fix a rotation, and what to do.
type FitError struct{ Reason string }

func (e *FitError) Error() string { return e.Reason }

const (
	// minPairs: two points leave the turn about the line between them free.
	minPairs = 3
	// flat is the ratio of inertia about the line nearest to all points to that across it, below which the points are
	// in one line but for rounding.
	flat = 1e-9
	// maxWeakest, in rad: a turn known no better than this is not known; first-order propagation ends about there too.
	maxWeakest = 10 * math.Pi / 180
	// mirrorGain is by how much a mirror image must fit better, in chi-squared, to be told: exp(15) times as likely.
	mirrorGain = 30
)

// FitRotation finds the turn and shift with the least weighted squares of residuals, weights 1/σ².
//
// The best rotation follows from the singular value decomposition of Σ w·to·fromᵀ about the centres of gravity, with
// the sign of the last singular value chosen so that it is a rotation, never a mirror image. Sources: Kabsch, Acta
// Cryst. A32 (1976) 922 and A34 (1978) 827; Wahba, SIAM Review 7 (1965) 409; Markley, J. Astronaut. Sci. 36 (1988)
// 245. The covariance of the turn is the inverse of the normal matrix Σ w(|r|²·1 − r·rᵀ) of the small turn about the
// centre of gravity, r from there (least squares; compare Markley 1988; from memory).
//
// Errors are *FitError: too few points; all in one line or too nearly so; the points fit as a mirror image only.
func FitRotation(pairs []Pair) (Fit, error) {
	if len(pairs) < minPairs {
		return Fit{}, &FitError{fmt.Sprintf("%d points fix no rotation; %d or more that are not in one line are needed", len(pairs), minPairs)}
	}
	var sum float64
	var ca, cb r3.Vec
	for _, p := range pairs {
		if !(p.SigmaM > 0) || math.IsInf(p.SigmaM, 0) {
			return Fit{}, &FitError{fmt.Sprintf("a point has the standard deviation %g m; allowed: a positive one", p.SigmaM)}
		}
		w := 1 / (p.SigmaM * p.SigmaM)
		sum += w
		ca, cb = r3.Add(ca, r3.Scale(w, p.From)), r3.Add(cb, r3.Scale(w, p.To))
	}
	ca, cb = r3.Scale(1/sum, ca), r3.Scale(1/sum, cb)

	h := mat.NewDense(3, 3, nil)
	var sizeA, sizeB float64
	for _, p := range pairs {
		w := 1 / (p.SigmaM * p.SigmaM)
		a, b := r3.Sub(p.From, ca), r3.Sub(p.To, cb)
		sizeA, sizeB = sizeA+w*r3.Norm2(a), sizeB+w*r3.Norm2(b)
		h.RankOne(h, w, mat.NewVecDense(3, []float64{b.X, b.Y, b.Z}), mat.NewVecDense(3, []float64{a.X, a.Y, a.Z}))
	}
	var svd mat.SVD
	if !finite(sizeA, sizeB) || !svd.Factorize(h, mat.SVDFull) {
		return Fit{}, &FitError{"the coordinates are too large to work with; look at their units"}
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	s := svd.Values(nil)
	d := 1.0
	if mat.Det(&u)*mat.Det(&v) < 0 {
		d = -1
	}
	if !(s[1] > flat*s[0]) {
		return Fit{}, &FitError{"the points lie in one line, so the turn about it is free; measure one more point, well aside from that line"}
	}
	var r mat.Dense
	r.Product(&u, mat.NewDiagDense(3, []float64{1, 1, d}), v.T())
	f := Fit{
		Rotation: frame.FromMatrix([9]float64{
			r.At(0, 0), r.At(0, 1), r.At(0, 2), r.At(1, 0), r.At(1, 1), r.At(1, 2), r.At(2, 0), r.At(2, 1), r.At(2, 2)}),
		Freedom: 3*len(pairs) - 6,
		Scale:   math.Sqrt(sizeB / sizeA),
	}
	f.Shift = r3.Sub(cb, f.Rotation.Apply(ca))

	normal := mat.NewSymDense(3, nil)
	for _, p := range pairs {
		w := 1 / (p.SigmaM * p.SigmaM)
		q := f.Rotation.Apply(r3.Sub(p.From, ca))
		res := r3.Sub(r3.Sub(p.To, cb), q)
		f.Residuals = append(f.Residuals, res)
		f.Chi2 += w * r3.Norm2(res)
		x, n2 := [3]float64{q.X, q.Y, q.Z}, r3.Norm2(q)
		for i := range 3 {
			for j := i; j < 3; j++ {
				c := -x[i] * x[j]
				if i == j {
					c += n2
				}
				normal.SetSym(i, j, normal.At(i, j)+w*c)
			}
		}
	}
	if gain := 4 * s[2]; d < 0 && gain > mirrorGain && gain > f.Chi2/2 {
		return Fit{}, &FitError{"the points fit as a mirror image only, so one set of axes is left-handed where it is said to be right-handed; " +
			"look at the order and the signs of the axes, and whether two points were mistaken for one another"}
	}
	var eig mat.EigenSym
	if !eig.Factorize(normal, true) {
		return Fit{}, &FitError{"the coordinates cannot be worked with; look at their units"}
	}
	values := eig.Values(nil)
	var axes mat.Dense
	eig.VectorsTo(&axes)
	f.Weakest = r3.Vec{X: axes.At(0, 0), Y: axes.At(1, 0), Z: axes.At(2, 0)}
	f.WeakestSigma = 1 / math.Sqrt(values[0])
	if !(values[0] > flat*values[2]) || !(f.WeakestSigma <= maxWeakest) {
		return Fit{}, &FitError{fmt.Sprintf("the points lie so nearly in one line, or so close together, that the turn about one axis is known to %.3g deg only; "+
			"measure one more point, well aside from that line", frame.Deg(f.WeakestSigma))}
	}
	for k := range 3 {
		for i := range 3 {
			for j := range 3 {
				f.Covariance[3*i+j] += axes.At(i, k) * axes.At(j, k) / values[k]
			}
		}
	}
	return f, nil
}

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
