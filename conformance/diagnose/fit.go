package diagnose

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// A pick is a variant with the values of its parameters.
type pick struct {
	v *variant
	x []float64
}

// A model is a set of mistakes, and how well it explains a view.
type model struct {
	picks []pick
	cost  float64 // of the residuals
	crit  float64 // and of the freedom taken

	coarse float64 // cost on the coarse view
}

// build makes the pipeline of a set of mistakes.
func (k *kase) build(picks []pick) *pipeline {
	p := correct()
	for _, x := range picks {
		x.v.apply(p, x.x)
	}
	return p
}

// with adds a variant, in the order of the table; false where it clashes.
func (m *model) with(v *variant) ([]pick, bool) {
	at := len(m.picks)
	for i, p := range m.picks {
		if p.v.slot == v.slot || p.v == v {
			return nil, false
		}
		if p.v.number > v.number && i < at {
			at = i
		}
	}
	x := make([]float64, len(v.params))
	return slices.Insert(slices.Clone(m.picks), at, pick{v, x}), true
}

// without leaves one out.
func (m *model) without(i int) []pick { return slices.Delete(clonePicks(m.picks), i, i+1) }

func clonePicks(ps []pick) []pick {
	out := make([]pick, len(ps))
	for i, p := range ps {
		out[i] = pick{p.v, slices.Clone(p.x)}
	}
	return out
}

func freedom(ps []pick) int {
	n := 0
	for _, p := range ps {
		n += len(p.x)
	}
	return n
}

// aPrice is what any mistake costs, so that one more is named only for good reason.
const (
	aPrice  = 4
	aNumber = 6 // and more if it is no word but a number
)

func price(ps []pick, values int) float64 {
	c := float64(freedom(ps)) * math.Log(float64(max(2, values)))
	for _, p := range ps {
		c += aPrice + p.v.extra
		if len(p.x) > 0 {
			c += aNumber
		}
	}
	return c
}

// evaluate works out what a set of mistakes costs on a view, after its parameters were fitted.
func (k *kase) evaluate(ps []pick, v view, rounds int) model {
	m := model{picks: ps}
	if freedom(ps) > 0 && rounds > 0 {
		k.refine(ps, v, rounds)
	}
	m.cost = k.score(k.build(ps), v)
	m.crit = m.cost + price(ps, len(v))
	return m
}

// start looks for where the fit of the pick with number i may begin.
func (k *kase) start(ps []pick, i int, v view) {
	p := &ps[i]
	var try func(j int)
	best, at := math.Inf(1), slices.Clone(p.x)
	try = func(j int) {
		if j == len(p.x) {
			if c := k.score(k.build(ps), v); c < best {
				best, at = c, slices.Clone(p.x)
			}
			return
		}
		starts := p.v.params[j].starts
		if len(starts) == 0 {
			starts = []float64{0}
		}
		for _, s := range starts {
			p.x[j] = s
			try(j + 1)
		}
	}
	try(0)
	copy(p.x, at)
}

// refine fits all parameters at once: weighted least squares by Gauss and Newton, the weights those of the
// distribution (iteratively reweighted), steps damped where they do not help.
func (k *kase) refine(ps []pick, v view, rounds int) {
	res, cost := k.residuals(k.build(ps), v)
	damp := 1e-6
	for range rounds {
		j, z := k.jacobian(ps, v, res)
		if j == nil {
			return
		}
		step := solve(j, z, damp)
		old := clonePicks(ps)
		move(ps, step)
		next, c := k.residuals(k.build(ps), v)
		if !(c < cost) {
			for i := range ps {
				copy(ps[i].x, old[i].x)
			}
			if damp *= 100; damp > 1e3 {
				return
			}
			continue
		}
		gain := cost - c
		res, cost, damp = next, c, math.Max(1e-9, damp/10)
		if gain < 1e-3 {
			return
		}
	}
}

func move(ps []pick, step []float64) {
	n := 0
	for i := range ps {
		for j := range ps[i].x {
			most := 50 * ps[i].v.params[j].typical
			ps[i].x[j] += math.Max(-most, math.Min(most, step[n]*ps[i].v.params[j].typical))
			n++
		}
	}
}

// jacobian is the derivative of the weighted residuals by the parameters, each in units of its typical size, and the
// weighted residuals themselves. Numeric: the pipeline with each parameter moved by its step.
func (k *kase) jacobian(ps []pick, v view, res []residual) (*mat.Dense, []float64) {
	m := freedom(ps)
	if len(res) == 0 || m == 0 {
		return nil, nil
	}
	j := mat.NewDense(len(res), m, nil)
	z := make([]float64, len(res))
	w := make([]float64, len(res))
	for i, r := range res {
		if math.IsNaN(r.z) {
			continue
		}
		w[i] = math.Sqrt((nu + 1) / (nu + r.z*r.z))
		z[i] = w[i] * r.z
	}
	n := 0
	for a := range ps {
		for b := range ps[a].x {
			prm := &ps[a].v.params[b]
			was := ps[a].x[b]
			ps[a].x[b] = was + prm.step
			up, _ := k.residuals(k.build(ps), v)
			ps[a].x[b] = was - prm.step
			down, _ := k.residuals(k.build(ps), v)
			ps[a].x[b] = was
			join(res, up, down, func(i int, u, d float64) {
				if x := (u - d) / (2 * prm.step) * prm.typical * w[i]; !math.IsNaN(x) && !math.IsInf(x, 0) {
					j.Set(i, n, x)
				}
			})
			n++
		}
	}
	return j, z
}

// join walks three lists of residuals that are in the same order, where all have the same value of a row.
func join(res, up, down []residual, f func(i int, u, d float64)) {
	a, b := 0, 0
	// Equality holds almost always; where it does not, a little ahead.
	for i := range res {
		if a < len(up) && up[a].row == res[i].row && up[a].q == res[i].q && b < len(down) && down[b].row == res[i].row && down[b].q == res[i].q {
			f(i, up[a].z, down[b].z)
			a, b = a+1, b+1
			continue
		}
		for n := range min(16, len(up)-a) {
			if up[a+n].row == res[i].row && up[a+n].q == res[i].q {
				a += n + 1
				break
			}
		}
		for n := range min(16, len(down)-b) {
			if down[b+n].row == res[i].row && down[b+n].q == res[i].q {
				b += n + 1
				break
			}
		}
	}
}

// solve is the step that takes the weighted residuals down: j·step = −z by singular values, damped.
func solve(j *mat.Dense, z []float64, damp float64) []float64 {
	_, m := j.Dims()
	step := make([]float64, m)
	u, s, v, ok := svd(j)
	if !ok || s[0] == 0 {
		return step
	}
	for i := range s {
		if s[i] < 1e-10*s[0] {
			continue
		}
		dot := 0.0
		for r := range z {
			dot -= u.At(r, i) * z[r]
		}
		c := dot * s[i] / (s[i]*s[i] + damp*s[0]*s[0])
		for a := range m {
			step[a] += c * v.At(a, i)
		}
	}
	return step
}

// svd is the thin singular value decomposition.
func svd(j *mat.Dense) (u *mat.Dense, s []float64, v *mat.Dense, ok bool) {
	var d mat.SVD
	if !d.Factorize(j, mat.SVDThin) {
		return nil, nil, nil, false
	}
	u, v = new(mat.Dense), new(mat.Dense)
	d.UTo(u)
	d.VTo(v)
	return u, d.Values(nil), v, true
}

// A spread is how well parameters are known: their standard deviations in units of their typical size, and whether the
// case excites them at all.
type spread struct {
	sigma []float64
	weak  []bool // known no better than its typical size: not observable here
}

// spreadOf works out the covariance of the parameters: the inverse of JᵀJ, by singular values, times the variance of
// the residuals where that is more than one.
func (k *kase) spreadOf(ps []pick, v view) spread {
	m := freedom(ps)
	out := spread{make([]float64, m), make([]bool, m)}
	res, _ := k.residuals(k.build(ps), v)
	j, z := k.jacobian(ps, v, res)
	if j == nil {
		for i := range out.weak {
			out.sigma[i], out.weak[i] = math.Inf(1), true
		}
		return out
	}
	return spreadFrom(j, z)
}

func spreadFrom(j *mat.Dense, z []float64) spread {
	n, m := j.Dims()
	out := spread{make([]float64, m), make([]bool, m)}
	chi := 0.0
	for _, x := range z {
		chi += x * x
	}
	left := math.Max(1, chi/float64(max(1, n-m)))
	_, s, v, ok := svd(j)
	for a := range m {
		sum := 0.0
		for i := range s {
			if !ok || s[i] <= 1e-12*(s[0]+1e-300) {
				if !ok || math.Abs(v.At(a, i)) > 1e-6 {
					sum = math.Inf(1)
				}
				continue
			}
			c := v.At(a, i) / s[i]
			sum += c * c
		}
		out.sigma[a] = math.Sqrt(sum * left)
		out.weak[a] = !(out.sigma[a] < 1)
	}
	return out
}
