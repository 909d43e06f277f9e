package diagnose

import (
	"math"
	"slices"
	"sync"
	"time"

	"swellbench/conformance/compare"
	"swellbench/emulator"
	"swellbench/scenarios/library"
)

// elsewhere are ready-made scenarios that excite what others do not, each a kase with observations of a correct
// consumer. They are asked, not played: what would two mistakes say there?
type elsewhere struct {
	mu    sync.Mutex // a kase keeps what it has worked out
	once  sync.Once
	cases []named
}

type named struct {
	name string
	k    *kase
	vs   []variant
	all  view
}

var others elsewhere

// asked are the scenarios that are asked, in order of preference: the shortest and plainest first.
var asked = []string{"circle", "harbour-swell", "quay-pose", "north-weave", "midnight", "antimeridian", "gnss-gap", "storm-swell", "figure-of-eight", "survey-lines"}

const instants = 40 // at which a scenario is asked

// load works the scenarios out, the first time they are needed. One that cannot be is left out.
func (e *elsewhere) load() {
	e.once.Do(func() {
		known := library.Names()
		for _, name := range asked {
			if !slices.Contains(known, name) {
				continue
			}
			sc, err := library.Open(name)
			if err != nil {
				continue
			}
			if sc.Start.Now {
				sc = sc.WithStart(time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC))
			}
			d, err := emulator.New(sc)
			if err != nil {
				continue
			}
			cmp := compare.New(compare.Run{Device: d, Truth: d.Truth(), Start: d.UTC(0)})
			k := newKase(d, cmp, nil)
			point := cmp.ExpectedPoint()
			for i := range instants {
				t := k.snap(0.6 + (k.length-1)*float64(i)/instants)
				tol := cmp.TolerancesAt(t, point, "")
				r := row{line: int64(i + 1), s: t, timed: true, point: point, at: cmp.PointAt(point), arrival: math.NaN()}
				for q := range compare.NQ {
					if k.carried[q] {
						r.said |= 1 << q
					}
					r.sigma[q], r.tol[q] = tol.Sigma(q), tol.Total[q]
				}
				c := context{k: k, row: &r, t: t}
				o := k.right.run(&c)
				r.x, r.value = o.v, o.has
				k.rows = append(k.rows, r)
			}
			n := named{name: name, k: k, vs: variantsOf(k)}
			for i := range k.rows {
				n.all = append(n.all, i)
			}
			e.cases = append(e.cases, n)
		}
	})
}

// same finds a variant in another scenario.
func (n *named) same(v *variant) *variant {
	for i := range n.vs {
		w := &n.vs[i]
		if w.h.id == v.h.id && w.slot == v.slot && w.note == v.note && (w.label == v.label && w.title == v.title || w.titleText() == v.titleText()) {
			return w
		}
	}
	return nil
}

// tells is the name of the scenario that tells two mistakes apart: where most of what they say differs by more than
// tolerances. "" if none does.
func (e *elsewhere) tells(a, b pick) string {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.load()
	best, most := "", 0.1
	for i := range e.cases {
		n := &e.cases[i]
		va, vb := n.same(a.v), n.same(b.v)
		if va == nil || vb == nil || va == vb {
			continue
		}
		pa, pb := n.k.build([]pick{{va, a.x}}), n.k.build([]pick{{vb, b.x}})
		if share := n.differ(pa, pb); share > most+0.3 || share > most && best == "" {
			best, most = n.name, share
		}
	}
	return best
}

// differ is the share of instants at which two pipelines say what differs by more than twice the tolerances.
func (n *named) differ(a, b *pipeline) float64 {
	count := 0
	var buf [8]float64
	for i := range n.k.rows {
		r := &n.k.rows[i]
		c := context{k: n.k, row: r}
		c.t = n.k.times(a, i, buf[:0])[0]
		x := a.run(&c)
		c.t = n.k.times(b, i, buf[:0])[0]
		y := b.run(&c)
		z := *r
		z.x, z.value = x.v, x.has
		for q := range compare.NQ {
			bit := uint16(1) << q
			if r.said&bit == 0 {
				continue
			}
			if (x.has^y.has)&bit != 0 || x.has&y.has&bit != 0 && math.Abs(n.k.difference(q, &z, &y)) > 2*r.tol[q] {
				count++
				break
			}
		}
	}
	return float64(count) / float64(max(1, len(n.k.rows)))
}

// excites is the name of a scenario in which the parameter with number j of a variant can be observed.
func (e *elsewhere) excites(v *variant, j int) string {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.load()
	best, least := "", 1.0
	for i := range e.cases {
		n := &e.cases[i]
		w := n.same(v)
		if w == nil {
			continue
		}
		s := n.k.spreadOf([]pick{{w, make([]float64, len(w.params))}}, n.all)
		if s.sigma[j] < least/3 {
			best, least = n.name, s.sigma[j]
		}
	}
	return best
}
