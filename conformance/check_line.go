package conformance

import (
	"fmt"
	"slices"
	"strings"

	"swellbench/conformance/compare"
)

// epochsToCount is why the epochs of a case cannot be counted; ok is true then.
func (t *tally) epochsToCount() (Result, bool) {
	if r, ok := t.nothingObserved(); ok {
		return r, true
	}
	if !t.coverage.countable() {
		return inconclusive(Result{}, "most stamps are not the time of a message, see time.validity, or the messages tell one time for several instants: what was lost cannot be told"), true
	}
	return Result{}, false
}

// judgeResync counts what is missing right after damage.
func judgeResync(e *Evidence) Result {
	t := e.tallied()
	if len(t.events.damaged) == 0 {
		return skipped("no damaged message reached the line in this case")
	}
	if r, ok := t.epochsToCount(); ok {
		return r
	}
	r := Result{}
	worst, singles, bad := 0, 0, 0
	for _, l := range t.coverage.losses() {
		run, after := 0, false
		step := 1 / t.cmp.Book.Kinds[l.j].Rate
		end := func() {
			if after {
				if worst = max(worst, run); run >= 2 {
					bad += run
				} else if run == 1 {
					singles++
				}
			}
			run, after = 0, false
		}
		t.coverage.due(l.i, l.j, func(_ int, at float64, s sight) {
			r.N++
			if s != lostEpoch {
				end()
				return
			}
			if run++; run == 1 {
				if after = t.events.damagedIn(at-max(2*step, 0.25), at+1e-6); after && len(r.Examples) < maxExamples {
					r.Examples = append(r.Examples, Example{Time: t.cmp.UTC(at), T: at, Quantity: l.quantity.String(), Expected: "an observation of this epoch", Observed: "nothing", Source: l.kind})
				}
			}
		})
		end()
	}
	damage := len(t.events.damaged)
	switch {
	case r.N == 0:
		return skipped("the consumer shows nothing whose message carries its time")
	case bad > 0 || singles >= 2 && singles*2 > damage:
		r.Worst = float64(max(worst, singles))
		return failed(r, "good messages are lost after %s: up to %d epochs in a row", plural(damage, "damaged message"), worst)
	}
	r.Examples = nil
	return passed(r, "after %s the next message counts", plural(damage, "damaged message"))
}

// judgeRecovery counts what is missing once messages come again after a silence, or after bytes that mean nothing.
func judgeRecovery(e *Evidence) Result {
	t := e.tallied()
	if len(t.events.gaps) == 0 {
		return skipped("the line is never without whole messages for %s in this case", durationText(shortestGapS))
	}
	if r, ok := t.epochsToCount(); ok {
		return r
	}
	const from, until = 0.3, 3.0
	r := Result{}
	missing := 0
	for _, l := range t.coverage.losses() {
		t.coverage.due(l.i, l.j, func(_ int, at float64, s sight) {
			if !slices.ContainsFunc(t.events.gaps, func(g gap) bool { return at >= g.after+from && at < g.after+until }) {
				return
			}
			if r.N++; s != shownEpoch {
				if missing++; len(r.Examples) < maxExamples {
					r.Examples = append(r.Examples, Example{Time: t.cmp.UTC(at), T: at, Quantity: l.quantity.String(), Expected: "an observation of this epoch", Observed: "nothing", Source: l.kind})
				}
			}
		})
	}
	switch {
	case r.N == 0:
		return skipped("nothing that the consumer shows was due after the line came back")
	case missing >= 2 && missing*5 > r.N:
		r.Worst = float64(missing)
		return failed(r, "%d of %d epochs are missing within 3 s after messages came again, after %s", missing, r.N, plural(len(t.events.gaps), "gap"))
	}
	r.Examples = nil
	return passed(r, "%s are shown after messages came again", plural(r.N-missing, "epoch"))
}

// judgeSilence looks for observations of a time when nothing came.
func judgeSilence(e *Evidence) Result {
	t := e.tallied()
	if !slices.ContainsFunc(t.events.gaps, func(g gap) bool { return g.after-g.before > silenceS+0.5 }) {
		return skipped("the line is never silent for more than %s in this case", durationText(silenceS+0.5))
	}
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	c := &t.notes.silent
	r := Result{N: c.n, Worst: float64(c.bad), Examples: c.examples}
	switch {
	case c.bad >= 3:
		return failed(r, "%s show values of a time when nothing came, first stamped %s", plural(c.bad, "observation"), c.examples[0].Observed)
	case c.n > 0:
		return passed(r, "nothing is shown of the time when nothing came")
	}
	return skipped("the consumer shows no values")
}

// judgeKeepingUp looks at how old observations are when they come, early and late in the run.
func judgeKeepingUp(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	a := &t.notes.ages
	if a[0].n < 3 || a[1].n < 3 || a[2].n < 3 {
		return skipped("when observations came is not known, or there are too few")
	}
	r := Result{N: a[0].n + a[1].n + a[2].n, Tolerance: 0.3 + 3*t.hostLateS, Unit: "s"}
	r.Worst = a[2].least - a[0].least
	r.ToleranceParts = []Part{{Name: "slack", Value: 0.3, Unit: "s", Why: "what a consumer may be slower at one time than at another"},
		{Name: "host", Value: 3 * t.hostLateS, Unit: "s", Why: "three times the worst lateness of the host"}}
	if b := &t.notes.blocks; b.bad*2 > b.n {
		return inconclusive(r, "the consumer writes in blocks: how old its observations are cannot be told")
	}
	if r.Worst > r.Tolerance && a[1].least > a[0].least+r.Tolerance/4 && a[2].least > a[1].least {
		r.Examples = []Example{{T: t.notes.duration, Quantity: "age", Expected: durationText(a[0].least), Observed: durationText(a[2].least)}}
		return failed(r, "observations come later and later: %s after the instant they speak of in the first third of the run, %s in the second, %s in the last",
			durationText(a[0].least), durationText(a[1].least), durationText(a[2].least))
	}
	return passed(r, "observations come %s after the instant they speak of, at the end as at the beginning", durationText(a[2].least))
}

// judgeDialect counts epochs whose messages are spelled in an unusual way.
func judgeDialect(e *Evidence) Result {
	t := e.tallied()
	if !slices.ContainsFunc(t.cmp.Book.Kinds, func(k *compare.Kind) bool { return len(k.Spelled()) > 0 }) {
		return skipped("all messages of this case are spelled as usual")
	}
	if r, ok := t.epochsToCount(); ok {
		return r
	}
	r := Result{}
	var parts []string
	for i, q := range coverQuantities {
		if !t.coverage.shown[i] || !t.cmp.Timed(q) {
			continue
		}
		for j, k := range t.cmp.Book.Kinds {
			if !k.Carries(q) || !k.Timed {
				continue
			}
			due, shown := 0, 0
			t.coverage.due(i, j, func(_ int, _ float64, s sight) {
				if due++; s == shownEpoch {
					shown++
				}
			})
			for what, epochs := range k.Spelled() {
				n, seen, first := 0, 0, -1
				for e := range k.Epochs() {
					if !epochs.Has(e) || k.At(e) < startS || k.At(e) > k.LastS-max(0.3, 1.5/k.Rate) || t.carriedElsewhere(q, j, k.At(e)) ||
						slices.ContainsFunc(t.coverage.points, func(p int) bool { return !t.cmp.DueFrom(q, k.At(e), p) }) {
						continue
					}
					if n++; t.coverage.seen[i][j].Has(e) || t.coverage.null[i][j].Has(e) {
						seen++
					} else if first < 0 {
						first = e
					}
				}
				if r.N += n; n < 3 || seen*10 > n*3 || shown*10 < due*7 || due == 0 {
					continue
				}
				r.Worst += float64(n - seen)
				if len(r.Examples) < maxExamples {
					r.Examples = append(r.Examples, Example{Time: t.cmp.UTC(k.At(first)), T: k.At(first), Quantity: q.String(), Expected: "an observation of this epoch", Observed: "nothing", Source: k.Name})
				}
				parts = append(parts, fmt.Sprintf("%s: %d of %d %s with %s are passed over", q, n-seen, n, k.Name, what))
			}
		}
	}
	slices.Sort(parts)
	switch {
	case len(parts) > 0:
		return failed(r, "%s", strings.Join(parts, "; "))
	case r.N > 0:
		return passed(r, "%s that are spelled in an unusual way count like the others", plural(r.N, "message"))
	}
	return skipped("the consumer shows nothing of what is spelled in an unusual way")
}

// carriedElsewhere tells whether another kind carries q at the same time.
func (t *tally) carriedElsewhere(q compare.Q, j int, at float64) bool {
	for i, k := range t.cmp.Book.Kinds {
		if e, off := k.Nearest(at); i != j && k.Carries(q) && off < 1e-6 && off > -1e-6 && k.Good(e) {
			return true
		}
	}
	return false
}

// judgeTalker counts epochs that came from one talker only, where several send the same type.
func judgeTalker(e *Evidence) Result {
	t := e.tallied()
	several := false
	for j, k := range t.cmp.Book.Kinds {
		for _, o := range t.cmp.Book.Kinds[:j] {
			several = several || sameType(k.Name, o.Name)
		}
	}
	if !several {
		return skipped("no type of message comes from several talkers in this case")
	}
	if r, ok := t.epochsToCount(); ok {
		return r
	}
	r := Result{}
	var parts []string
	for i, q := range coverQuantities {
		if !t.coverage.shown[i] || !t.cmp.Timed(q) {
			continue
		}
		type count struct{ due, shown, first int }
		counts := make([]count, len(t.cmp.Book.Kinds))
		best := 0.0
		for j, k := range t.cmp.Book.Kinds {
			if !k.Carries(q) || !slices.ContainsFunc(t.cmp.Book.Kinds, func(o *compare.Kind) bool { return sameType(k.Name, o.Name) }) {
				continue
			}
			c := count{first: -1}
			t.coverage.due(i, j, func(e int, at float64, s sight) {
				if t.carriedElsewhere(q, j, at) {
					return
				}
				if c.due++; s == shownEpoch {
					c.shown++
				} else if c.first < 0 {
					c.first = e
				}
			})
			counts[j] = c
			r.N += c.due
			best = max(best, float64(c.shown)/float64(max(c.due, 1)))
		}
		for j, c := range counts {
			if k := t.cmp.Book.Kinds[j]; c.due >= 3 && best > 0.7 && float64(c.shown) < 0.3*float64(c.due) {
				r.Worst += float64(c.due - c.shown)
				parts = append(parts, fmt.Sprintf("%s: %d of %d epochs of %s are passed over", q, c.due-c.shown, c.due, k.Name))
				if len(r.Examples) < maxExamples {
					r.Examples = append(r.Examples, Example{Time: t.cmp.UTC(k.At(c.first)), T: k.At(c.first), Quantity: q.String(), Expected: "an observation of this epoch", Observed: "nothing", Source: k.Name})
				}
			}
		}
	}
	switch {
	case len(parts) > 0:
		return failed(r, "%s, while the same from another talker is shown", strings.Join(parts, "; "))
	case r.N > 0:
		return passed(r, "%s that one talker alone brought are shown", plural(r.N, "epoch"))
	}
	return skipped("the consumer shows nothing that one talker alone brought")
}

// sameType tells whether two kinds are one type of sentence from two talkers.
func sameType(a, b string) bool {
	return a != b && len(a) == 5 && len(b) == 5 && a[2:] == b[2:]
}
