package conformance

import (
	"strings"

	"swellbench/conformance/compare"
	"swellbench/scenarios"
)

// judgeFixState is about the word for the state of the fix.
func judgeFixState(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	kept := &t.nulls[compare.NQ].shown
	switch {
	case t.fix.bad > 0 || kept.bad == 0 && t.fix.n > 0:
		return t.fixOnly()
	case kept.bad > 0:
		r := Result{N: t.fix.n + kept.n, Worst: float64(kept.bad), Examples: kept.examples}
		return failed(r, "a fix is shown %s while there is none; first at %s: %s", times(kept.bad), clockText(kept.examples[0].Time), kept.examples[0].Observed)
	case !t.cmp.CarriedFix():
		return skipped("no message of this case carries the state of the fix")
	}
	return skipped("the consumer never shows the state of the fix")
}

// judgeEstimated is about positions that no satellite has measured.
func judgeEstimated(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	c := &t.notes.states
	r := Result{N: c.n, Worst: float64(c.bad), Examples: c.examples}
	switch {
	case c.bad > 0:
		x := c.examples[0]
		return failed(r, "%d of %d positions that were not measured are shown as a fix; first at %s: expected %s, observed %s", c.bad, c.n, clockText(x.Time), x.Expected, x.Observed)
	case c.n > 0:
		return passed(r, "%s of a position that was not measured: none is shown as a fix", plural(c.n, "observation"))
	}
	return skipped("no estimated, manual or simulated position was shown with its state")
}

// judgeStale is about values that are held while their field is blank.
func judgeStale(e *Evidence) Result {
	t := e.tallied()
	silent := t.silences()
	if len(silent) == 0 || len(silent) == 1 && silent[0] == compare.NQ {
		return skipped("no field is null in this case")
	}
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	r := Result{}
	var parts []string
	some := false
	for _, q := range silent {
		if q == compare.NQ {
			continue
		}
		c := &t.notes.stale[q]
		r.N += t.nulls[q].right + t.nulls[q].shown.n
		some = some || t.said[q] > 0
		if c.bad >= 2 {
			parts = append(parts, q.String()+" "+times(c.bad))
			r.Worst += float64(c.bad)
			r.Examples = append(r.Examples, c.examples[:min(2, len(c.examples))]...)
		}
	}
	if len(r.Examples) > maxExamples {
		r.Examples = r.Examples[:maxExamples]
	}
	switch {
	case len(parts) > 0:
		return failed(r, "the last value is held while the field is blank: %s", strings.Join(parts, ", "))
	case !some:
		return skipped("the consumer never shows what is null in this case")
	}
	return passed(r, "no value is held while its field is blank")
}

// judgeZero is about the position that blank or cleared fields make.
func judgeZero(e *Evidence) Result {
	t := e.tallied()
	if !t.notes.blank {
		return skipped("the position is never blank in this case")
	}
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	c := &t.notes.zero
	r := Result{N: c.n, Worst: float64(c.bad), Examples: c.examples}
	switch {
	case c.bad > 0:
		return failed(r, "0° N 0° E is shown %s; first at %s", times(c.bad), clockText(c.examples[0].Time))
	case c.n > 0:
		return passed(r, "none of %s is 0° N 0° E", plural(c.n, "position"))
	}
	return skipped("the consumer never shows a position, or the vessel is there")
}

// judgeVoid is about positions that stand in a message whose status calls them void.
func judgeVoid(e *Evidence) Result {
	t := e.tallied()
	n := 0
	if w := e.Device.Scenario().Device.NoFix; w != "" && w != scenarios.Blank {
		n = t.voidEpochs()
	}
	if n == 0 {
		return skipped("no message of this case holds a position that its status calls void")
	}
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	c := &t.notes.void
	r := Result{N: max(n, c.n), Worst: float64(c.bad), Examples: c.examples}
	switch {
	case t.said[compare.Lat] == 0:
		return skipped("the consumer never shows a position")
	case c.bad > 0:
		x := c.examples[0]
		return failed(r, "a position that its message calls void is shown %s; first at %s: %s", times(c.bad), clockText(x.Time), x.Observed)
	}
	return passed(r, "none of %s with a void position is shown with one", plural(n, "epoch"))
}

// voidEpochs counts epochs whose message reached the line whole and holds a position that its status calls void, among up
// to a thousand.
func (t *tally) voidEpochs() int {
	const looks = 1000
	most := 0
	for _, k := range t.cmp.Book.Kinds {
		if !k.Carries(compare.Lat) || !k.Timed {
			continue
		}
		n := 0
		for e := 0; e < k.Epochs(); e += max(1, k.Epochs()/looks) {
			if at := k.At(e); at >= startS && k.Good(e) && t.cmp.Void(at) {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// judgeReacquire is about how positions come back after an outage, and how they jump: at once, as they are.
func judgeReacquire(e *Evidence) Result {
	t := e.tallied()
	n := t.notes
	if len(n.returns) == 0 {
		return skipped("the position neither comes back nor jumps in this case")
	}
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	if t.said[compare.Lat] == 0 {
		return skipped("the consumer never shows a position")
	}
	r := Result{N: n.back[1].n}
	var parts []string
	if n.made.bad >= 2 {
		x := n.made.examples[0]
		parts = append(parts, "positions are made up "+times(n.made.bad)+" for the time of the outage, first at "+clockText(x.Time)+": "+x.Observed)
		r.Worst += float64(n.made.bad)
		r.Examples = append(r.Examples, n.made.examples[:min(2, len(n.made.examples))]...)
	}
	if away, near := &n.back[0], &n.back[1]; near.bad >= 2 && near.bad*max(away.n, 1) > 2*away.bad*near.n {
		x := near.examples[0]
		parts = append(parts, plural(near.bad, "value")+" of the position after it came back or jumped are off; first at "+clockText(x.Time)+": "+x.Quantity+", expected "+x.Expected+", observed "+x.Observed)
		r.Worst += float64(near.bad)
		r.Examples = append(r.Examples, near.examples[:min(2, len(near.examples))]...)
	}
	due, missing := 0, 0
	if t.coverage.countable() {
		for _, l := range t.coverage.losses() {
			if l.quantity != compare.Lat {
				continue
			}
			t.coverage.due(l.i, l.j, func(_ int, at float64, s sight) {
				if since := n.sinceReturn(at); since > settledS && since < returnS {
					if due++; s != shownEpoch {
						if missing++; missing == 1 {
							r.Examples = append(r.Examples, Example{Time: t.cmp.UTC(at), T: at, Quantity: "position", Expected: "a position: it was back", Observed: "none", Source: l.kind})
						}
					}
				}
			})
		}
	}
	if missing >= 2 && missing*5 > due {
		parts = append(parts, plural(missing, "epoch")+" are not shown with a position though it was back, of "+plural(due, "epoch")+" within 3 s")
		r.Worst += float64(missing)
	}
	if r.N += due; len(parts) > 0 {
		if len(r.Examples) > maxExamples {
			r.Examples = r.Examples[:maxExamples]
		}
		return failed(r, "%s", strings.Join(parts, "; "))
	}
	if r.N == 0 {
		return inconclusive(r, "nothing could be judged in the 3 s after the position came back or jumped")
	}
	return passed(r, "after the position came back or jumped, %s are right and none is missing", plural(r.N, "value"))
}
