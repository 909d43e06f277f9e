package conformance

import (
	"fmt"
	"strings"

	"swellbench/conformance/compare"
)

// judgeHemisphere looks at signs alone: a position that is off and whose mirror image is not. Such values are left out
// of the other checks.
func judgeHemisphere(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	r := Result{}
	var parts []string
	for q := range compare.Lon + 1 {
		c := &t.signs[q]
		r.N += c.n
		if c.bad == 0 {
			continue
		}
		x := c.examples[0]
		parts = append(parts, fmt.Sprintf("%s has the wrong sign in %d of %d observations; first at %s: expected %s, observed %s",
			q, c.bad, c.n, clockText(x.Time), x.Expected, x.Observed))
		r.Examples = append(r.Examples, c.examples[:min(3, len(c.examples))]...)
		r.Worst += float64(c.bad)
	}
	switch {
	case len(parts) > 0:
		return failed(r, "%s", strings.Join(parts, "; "))
	case r.N > 0:
		return passed(r, "the signs of %d latitudes and longitudes are right", r.N)
	case t.said[compare.Lat]+t.said[compare.Lon] == 0:
		return skipped("the consumer never shows a latitude or longitude")
	}
	return skipped("no latitude or longitude is so far from zero that its sign could be told from a lever arm")
}

// judgeWrap looks at angles on both sides of their wrap.
func judgeWrap(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	r := Result{}
	var parts, crossed, shown []string
	everywhere := ""
	for _, q := range [...]compare.Q{compare.Heading, compare.Course, compare.Lon} {
		w := &t.wraps[q]
		if t.said[q] > 0 {
			shown = append(shown, q.String())
		}
		if w.below == 0 || w.above == 0 {
			continue
		}
		crossed = append(crossed, q.String())
		r.N += w.near.n
		if w.near.bad == 0 {
			if r.Unit == "" {
				r.Worst, r.Tolerance, r.Unit = q.Show(w.worst), q.Show(w.tolerance), q.Unit()
			}
			continue
		}
		if !t.wrapTells(q) {
			everywhere = q.String()
			continue
		}
		x := w.near.examples[0]
		parts = append(parts, fmt.Sprintf("%s is off by up to %s (tolerance %s) in %d of %d values near its wrap; first at %s: expected %s, observed %s", q,
			measureText(abs(q.Show(w.worst)), q.Unit()), measureText(q.Show(w.tolerance), q.Unit()), w.near.bad, w.near.n, clockText(x.Time), x.Expected, x.Observed))
		r.Worst, r.Tolerance, r.Unit = q.Show(w.worst), q.Show(w.tolerance), q.Unit()
		r.Examples = append(r.Examples, w.near.examples[:min(3, len(w.near.examples))]...)
	}
	if t.ranges.bad > 0 {
		x := t.ranges.examples[0]
		parts = append(parts, fmt.Sprintf("%s outside its range in %s; first at %s: %s, allowed %s", x.Quantity, plural(t.ranges.bad, "observation"), clockText(x.Time), x.Observed, x.Expected))
		r.Examples = append(r.Examples, t.ranges.examples[:min(2, len(t.ranges.examples))]...)
		if len(parts) == 1 {
			r.Worst, r.Tolerance, r.Unit = float64(t.ranges.bad), 0, ""
			r.N += t.ranges.n
		}
	}
	switch {
	case len(parts) > 0:
		return failed(r, "%s", strings.Join(parts, "; "))
	case everywhere != "":
		return inconclusive(r, "%s is off, and not at its wrap alone as far as this case shows: whether it is the wrap cannot be told, see the other checks", everywhere)
	case len(shown) == 0:
		return skipped("the consumer never shows heading, course or longitude")
	case len(crossed) == 0:
		return skipped("%s never passes its wrap in this case", or(shown))
	}
	return passed(r, "%s passes its wrap: %s near it are right", list(crossed), plural(r.N, "value"))
}

// wrapTells tells whether what is off of a quantity near its wrap has to do with the wrap: it goes astray there and not
// elsewhere, or is off there and less often elsewhere. A longitude that is off with its latitude is off for another
// reason.
func (t *tally) wrapTells(q compare.Q) bool {
	w := &t.wraps[q]
	share := func(part, of int) float64 { return float64(part) / float64(max(of, 1)) }
	if q == compare.Lon {
		if n, beyond := t.elsewhere(compare.Lat); share(beyond, n) > 0.5*share(w.near.bad, w.near.n) {
			return false
		}
	}
	if w.stray > 0 && share(w.astray, w.far.n) <= 0.5*share(w.stray, w.near.n) {
		return true
	}
	return w.far.n > 0 && share(w.far.bad, w.far.n) <= 0.5*share(w.near.bad, w.near.n)
}

func abs(x float64) float64 { return max(x, -x) }
