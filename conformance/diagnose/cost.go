package diagnose

import (
	"math"

	"swellbench/conformance/compare"
	"swellbench/scenarios/frame"
)

// nu is the degrees of freedom of the distribution of residuals: few, so that outliers do not decide.
const nu = 4

// rho is minus twice the logarithm of the density of a residual of z standard deviations, less that of none.
func rho(z float64) float64 { return (nu + 1) * math.Log1p(z*z/nu) }

// still is how many standard deviations count as none where sets of mistakes are compared: rounding errs by a bounded
// amount, and alike in all observations of a vessel at rest, so that a number fitted to it explains nothing.
const still = 1.5

func rhoStill(z float64) float64 { return rho(math.Max(0, math.Abs(z)-still)) }

// What a value costs that is shown where there is none, or a null where there is a value: more than any residual, so
// that saying nothing explains no number. And a wrong state of the fix: as much as a residual of ten standard deviations.
var (
	categorical = rho(1e15)
	wrongFix    = rho(10)
	onGrid      = 4.0
)

// A residual is one quantity of one observation under a pipeline.
type residual struct {
	row, q int
	d      float64 // observed minus predicted; m for latitude and longitude
	z      float64 // the same in standard deviations; NaN where a value stands against none
	tol    float64 // that it may be off by
}

// beyond tells whether a residual is beyond the tolerance.
func (k *kase) beyond(x *residual) bool {
	return math.IsNaN(x.z) || !(math.Abs(x.d) <= x.tol)
}

// fixQ is the state of the fix where a residual needs a quantity.
const fixQ = int(compare.NQ)

// times are the scenario times at which the values of a row may be valid under the pipeline.
func (k *kase) times(p *pipeline, i int, buf []float64) []float64 {
	r := &k.rows[i]
	c := context{k: k, row: r}
	s := r.s
	for _, f := range p.stamp {
		s = f(&c, s)
	}
	if r.timed {
		if p.arrived {
			if t, ok := k.arrivedBy(r, s); ok {
				return append(buf, t)
			}
			return append(buf, s)
		}
		if r.host {
			if t, ok := k.arrivedBy(r, s); ok { // nothing else can be said of it
				return append(buf, t)
			}
		}
		return append(buf, k.at(s))
	}
	// Stamped by the epoch of its burst, or by the last one before it, or on arrival: all are right.
	e := k.snap(s)
	on := math.Abs(e-s) <= k.cmp.StampToleranceS
	if on {
		buf = append(buf, e)
		if k.step > 0 {
			buf = append(buf, e+k.step)
		}
	}
	for _, b := range r.kinds {
		from, _ := k.cmp.Window(b, s)
		for n := math.Floor(s*b.Rate + 1e-6); n/b.Rate >= from-1e-6 && len(buf) < 5; n-- {
			if t := n / b.Rate; !on || math.Abs(t-e) > 1e-9 {
				buf = append(buf, t)
			}
		}
		if len(buf) >= 5 {
			break
		}
	}
	if len(buf) == 0 {
		buf = append(buf, s)
	}
	return buf
}

// at is the epoch that a stamp says, or the stamp itself where it says none.
func (k *kase) at(s float64) float64 {
	if e := k.snap(s); math.Abs(e-s) <= k.cmp.StampToleranceS {
		return e
	}
	return s
}

// compareRow appends the residuals of a row against a prediction, and returns what they cost by rho.
func (k *kase) compareRow(p *pipeline, i int, o *out, dst []residual, rho func(float64) float64) ([]residual, float64) {
	r := &k.rows[i]
	cost := 0.0
	for q := range compare.NQ {
		bit := uint16(1) << q
		if r.said&bit == 0 || r.spared&bit != 0 || !k.carried[q] {
			continue
		}
		if (o.has^r.value)&bit != 0 { // a value against none
			if r.value&bit == 0 && r.beyond&bit == 0 {
				continue // a null, and not one that is known to be wrong: an epoch may lack what it takes
			}
			dst = append(dst, residual{row: i, q: int(q), d: math.NaN(), z: math.NaN()})
			cost += categorical
			continue
		}
		if o.has&bit == 0 {
			continue
		}
		d := k.difference(q, r, o)
		blur := 1.0
		if p.blur[q] > 1 {
			blur = p.blur[q]
			cost += 2 * math.Log(blur)
		}
		z := d / (r.sigma[q] * blur)
		if math.IsNaN(z) {
			z = 1e9
		}
		z = math.Max(-1e12, math.Min(1e12, z))
		dst = append(dst, residual{row: i, q: int(q), d: d, z: z, tol: r.tol[q] * blur})
		cost += rho(z)
	}
	if r.timed && !r.host {
		switch {
		case p.arrived:
			cost += k.spread[0]
		case len(p.stamp) > 0:
			cost += k.spread[1]
		}
	}
	if p.arrived && r.timed && !r.host && math.Abs(k.snap(r.s)-r.s) <= k.cmp.StampToleranceS {
		cost += onGrid // a clock that is read on arrival shows the very time of an epoch by chance only
	}
	if r.fixSaid && k.fix {
		if r.fix != o.fix {
			dst = append(dst, residual{row: i, q: fixQ, d: math.NaN(), z: math.NaN()})
			cost += wrongFix
		}
	}
	return dst, cost
}

func (k *kase) difference(q compare.Q, r *row, o *out) float64 {
	switch q {
	case compare.Lat, compare.Lon:
		lat, height := o.v[compare.Lat], 0.0
		if o.known(compare.Height) {
			height = o.v[compare.Height]
		}
		if math.Abs(lat) > math.Pi/2 {
			lat = r.x[compare.Lat]
		}
		n, e := metres(lat, height)
		if q == compare.Lat {
			return (r.x[q] - o.v[q]) * n
		}
		return frame.WrapPi(r.x[q]-o.v[q]) * e
	case compare.Heading, compare.Course, compare.Roll:
		return frame.WrapPi(r.x[q] - o.v[q])
	}
	return r.x[q] - o.v[q]
}

// A view is some of the rows.
type view []int

// score is how well a pipeline explains the rows of a view, for the comparison of pipelines.
func (k *kase) score(p *pipeline, v view) float64 {
	sum := 0.0
	var buf [8]float64
	var res [int(compare.NQ) + 1]residual
	for _, i := range v {
		sum += k.best(p, i, buf[:0], res[:0], nil)
	}
	return sum
}

// best is what the row costs at the best of its times; the residuals of that are put into keep.
func (k *kase) best(p *pipeline, i int, buf []float64, scratch []residual, keep *[]residual) float64 {
	least, n := math.Inf(1), 0
	if keep != nil {
		n = len(*keep)
	}
	c := context{k: k, row: &k.rows[i]}
	by := rhoStill
	if keep != nil {
		by = rho
	}
	for _, t := range k.times(p, i, buf) {
		c.t = t
		k.looks++
		o := p.run(&c)
		res, cost := k.compareRow(p, i, &o, scratch[:0], by)
		if cost < least {
			least = cost
			if keep != nil {
				*keep = append((*keep)[:n], res...)
			}
		}
	}
	return least
}

// residuals are all of a view under a pipeline, and what they cost a fit.
func (k *kase) residuals(p *pipeline, v view) (all []residual, cost float64) {
	var buf [8]float64
	var scratch [int(compare.NQ) + 1]residual
	for _, i := range v {
		cost += k.best(p, i, buf[:0], scratch[:0], &all)
	}
	return all, cost
}
