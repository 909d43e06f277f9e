package conformance

import (
	"cmp"
	"slices"

	"swellbench/conformance/diagnose"
)

// A Cause is a finding of one or more cases of a run.
type Cause struct {
	Best   *diagnose.Finding // as it shows best
	Cases  []string          // that show it
	weight float64
}

// Causes are the findings of all cases, the same cause of several cases once, the surest and largest first.
func (v *Verdict) Causes() []*Cause {
	var all []*Cause
	for i := range v.Cases {
		c := &v.Cases[i]
		for j := range c.Diagnosis.Findings {
			f := &c.Diagnosis.Findings[j]
			k := slices.IndexFunc(all, func(g *Cause) bool { return g.Best.ID == f.ID && g.Best.Cause == f.Cause })
			if k < 0 {
				k = len(all)
				all = append(all, &Cause{Best: f})
			}
			g := all[k]
			g.Cases = append(g.Cases, c.Name)
			g.weight += f.Weight() * f.Confidence
			if f.Confidence > g.Best.Confidence {
				g.Best = f
			}
		}
	}
	slices.SortStableFunc(all, func(a, b *Cause) int { return cmp.Compare(b.weight, a.weight) })
	return all
}
