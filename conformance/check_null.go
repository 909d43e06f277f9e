package conformance

import (
	"fmt"
	"strings"

	"swellbench/conformance/compare"
)

// judgeNull looks at observations of the times when the device says null. A consumer may say null there, leave the
// field out, or say nothing at all.
func judgeNull(e *Evidence) Result {
	t := e.tallied()
	silent := t.silences()
	if len(silent) == 0 {
		return skipped("no field is null in this case")
	}
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	r := Result{}
	var parts, seen []string
	for _, q := range silent {
		n := &t.nulls[q]
		name := "fix"
		shown := t.fix.n > 0 || n.shown.n > 0
		if q < compare.NQ {
			name, shown = q.String(), t.said[q] > 0
		}
		r.N += n.right + n.shown.n
		if !shown {
			continue
		}
		seen = append(seen, name)
		if n.shown.bad > 0 {
			x := n.shown.examples[0]
			parts = append(parts, fmt.Sprintf("%s is shown %s while it is null, first at %s: %s", name, times(n.shown.bad), clockText(x.Time), x.Observed))
			r.Worst += float64(n.shown.bad)
			if len(r.Examples) < maxExamples {
				r.Examples = append(r.Examples, n.shown.examples[:min(2, len(n.shown.examples))]...)
			}
		}
	}
	switch {
	case len(parts) > 0:
		return failed(r, "%s", strings.Join(parts, "; "))
	case len(seen) == 0:
		return skipped("the consumer never shows what is null in this case")
	}
	return passed(r, "%s: no value shown while it is null", list(seen))
}

// silences lists the quantities, and the fix as the last, that messages carry and that are null at some time of the
// run: found at up to a thousand epochs.
func (t *tally) silences() []compare.Q {
	var out []compare.Q
	for q := range compare.NQ + 1 {
		if t.silentSometime(q) {
			out = append(out, q)
		}
	}
	return out
}

func (t *tally) silentSometime(q compare.Q) bool {
	const most = 1000
	for _, k := range t.cmp.Book.Kinds {
		if q < compare.NQ && !k.Carries(q) || q == compare.NQ && !k.CarriesFix() {
			continue
		}
		step := max(1, k.Epochs()/most)
		for e := 0; e < k.Epochs(); e += step {
			if k.At(e) < startS || !k.Good(e) {
				continue
			}
			if q < compare.NQ && t.cmp.Silent(q, k.At(e)) || q == compare.NQ && t.cmp.NoFix(k.At(e)) {
				return true
			}
		}
	}
	return false
}
