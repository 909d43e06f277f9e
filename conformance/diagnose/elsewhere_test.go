package diagnose

import (
	"math"
	"testing"

	"swellbench/conformance/compare"
	"swellbench/emulator/wire"
)

// The scenarios that are asked tell apart what one alone does not, and excite every continuous parameter.
func TestElsewhere(t *testing.T) {
	others.load()
	if len(others.cases) < 5 {
		t.Fatalf("%d scenarios", len(others.cases))
	}
	n := &others.cases[0]
	find := func(id, label string) *variant {
		for i := range n.vs {
			if n.vs[i].h.id == id && n.vs[i].label == label {
				return &n.vs[i]
			}
		}
		t.Fatalf("%s has no %s, %s", n.name, id, label)
		return nil
	}
	sign := pick{v: find("attitude-sign-reversed", "roll")}
	constant := pick{v: find("constant-offset", "roll"), x: []float64{0.1}}
	if got := others.tells(sign, constant); got == "" {
		t.Error("no scenario tells a sign from a constant")
	}
	if got := others.tells(sign, sign); got != "" {
		t.Errorf("%s tells a mistake from itself", got)
	}
	for i := range n.vs {
		v := &n.vs[i]
		for j, p := range v.params {
			if v.h.id == "source-late" || v.h.id == "lever-arm-wrong" || v.h.id == "mounting-wrong" {
				if others.excites(v, j) == "" {
					t.Errorf("no scenario excites the %s", p.name)
				}
			}
		}
	}
}

// What a pipeline without a mistake says is what the comparer expects: no residual is beyond its tolerance.
func TestCorrectPipeline(t *testing.T) {
	others.load()
	for i := range others.cases {
		n := &others.cases[i]
		for j := range n.k.rows {
			r := &n.k.rows[j]
			w := n.k.device.Ideal(r.s)
			want := compareConclude(n, &w, r)
			for q, d := range want {
				if d > r.tol[q]/5+1e-9 {
					t.Errorf("%s at %.2f s: %v differs by %g, tolerance %g", n.name, r.s, q, d, r.tol[q])
				}
			}
		}
	}
}

// compareConclude is how far the pipeline is from the correct conclusion of package compare, by quantity.
func compareConclude(n *named, w *wire.Reading, r *row) (d [compare.NQ]float64) {
	c := compare.NewConsumer(&n.k.device.Scenario().Installation).Conclude(w, r.at)
	k := *n.k
	k.noisy = nil
	k.rawOf = map[float64]raw{}
	o := k.right.run(&context{k: &k, row: r, t: r.s})
	var want out
	if p, ok := c.Position.Value(); ok {
		want.put(compare.Lat, p.Lat)
		want.put(compare.Lon, p.Lon)
		want.put(compare.Height, p.Height)
	}
	for q := range compare.NQ {
		if x, ok := c.Value[q].Value(); ok {
			want.put(q, x)
		}
	}
	z := *r
	z.x = want.v
	for q := range compare.NQ {
		if want.known(q) && o.known(q) {
			d[q] = math.Abs(k.difference(q, &z, &o))
		}
	}
	return d
}
