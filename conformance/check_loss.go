package conformance

import (
	"fmt"
	"strings"

	"swellbench/conformance/compare"
)

// judgeLoss counts epochs by the times of validity that the consumer's rows show, for each quantity whose messages all
// carry their time. A quantity that two kinds of message carry need be shown at the epochs of one of them. A consumer
// that thins a stream out loses epochs, and is told so.
func judgeLoss(e *Evidence) Result {
	t := e.tallied()
	if t.observations == 0 {
		due := 0
		for _, l := range t.coverage.losses() {
			due += l.due
		}
		if due == 0 && t.refused == 0 && t.cmp.Book.Whole() == 0 {
			return skipped("no message reached the line whole, and nothing was observed")
		}
		s := "nothing was observed"
		if t.refused > 0 {
			s += fmt.Sprintf(": the consumer wrote %s, none of them an observation (%s)", plural(int(t.refused), "line"), reasons(e))
		}
		return failed(Result{}, "%s", s)
	}
	c := t.coverage
	r := Result{}
	if c.rows > 0 && (c.resample+c.astray)*5 > c.rows {
		if c.resample >= c.astray {
			return inconclusive(r, "the consumer computes values for instants of its own: what it lost cannot be told")
		}
		return inconclusive(r, "most stamps are not the time of a message, see time.validity: what was lost cannot be told")
	}
	if t.cmp.TellsTwice() {
		return inconclusive(r, "the messages tell one time for several instants: which of them are shown cannot be told")
	}
	var parts []string
	worst := 0.0
	for _, l := range c.losses() {
		r.N += l.due
		null := l.null
		if null < 3 || null*10 <= l.due { // a consumer may find some epochs incomplete, on a busy host
			null = 0
		}
		if l.lost+null == 0 {
			continue
		}
		if share := float64(l.lost+null) / float64(l.due); share > worst {
			worst = share
		}
		var s string
		switch {
		case l.lost > 0 && l.every > 1 && l.lost*10 >= l.due*4:
			s = fmt.Sprintf("%s: one epoch in %d of %s is shown, the others are left out", l.quantity, l.every, l.kind)
		case l.lost > 0:
			s = fmt.Sprintf("%s: %d of %d epochs of %s are missing, the first of %s", l.quantity, l.lost, l.due, l.kind, clockText(t.cmp.UTC(l.firstS)))
		default:
			s = fmt.Sprintf("%s: %d of %d epochs of %s are shown as null though there is a value, the first of %s", l.quantity, null, l.due, l.kind, clockText(t.cmp.UTC(l.nullS)))
		}
		parts = append(parts, s)
		at := l.firstS
		if l.lost == 0 {
			at = l.nullS
		}
		if len(r.Examples) < maxExamples {
			r.Examples = append(r.Examples, Example{Time: t.cmp.UTC(at), T: at, Quantity: l.quantity.String(), Expected: "an observation of this epoch", Observed: "nothing", Source: l.kind})
		}
		r.Worst += float64(l.lost + null)
	}
	parts = append(parts, t.nullsShown(&r)...)
	if c.invented.bad > 3*t.cmp.Book.Fooling {
		x := c.invented.examples[0]
		parts = append(parts, fmt.Sprintf("%s at times that no message carried, the first stamped %s", plural(c.invented.bad, "observation"), stampText(x.Time)))
		r.Examples = append(r.Examples, c.invented.examples[:min(len(c.invented.examples), maxExamples-min(maxExamples, len(r.Examples)))]...)
		r.Worst += float64(c.invented.bad)
	}
	switch {
	case len(parts) > 0:
		s := strings.Join(parts, "; ")
		if t.refused > 0 {
			s += fmt.Sprintf(" (and %s of output were no observations: %s)", plural(int(t.refused), "line"), reasons(e))
		}
		return failed(r, "%s", s)
	case r.N > 0:
		return passed(r, "all %s shown, none invented", plural(r.N, "epoch"))
	case c.rows == 0:
		return skipped("the consumer shows nothing whose message carries its time")
	}
	return skipped("no epoch could be counted: the case is too short, or its messages were null or hurt")
}

// nullsShown is about quantities whose messages carry no time: null, most of the time, though there is a value.
func (t *tally) nullsShown(r *Result) []string {
	var parts []string
	for q := range compare.NQ {
		n := &t.nulls[q]
		if t.cmp.Timed(q) || n.nullSaid < 3 || t.said[q] > n.nullSaid/9 {
			continue
		}
		parts = append(parts, fmt.Sprintf("%s: null in %s though there is a value", q, plural(n.nullSaid, "observation")))
		if len(r.Examples) < maxExamples {
			r.Examples = append(r.Examples, n.first)
		}
		r.N += n.nullSaid
		r.Worst += float64(n.nullSaid)
	}
	return parts
}

// reasons lists why lines were no observations.
func reasons(e *Evidence) string {
	var parts []string
	for _, x := range e.ObserveStats.Refused {
		s := fmt.Sprintf("%s %d", x.Reason, x.N)
		if x.Detail != "" {
			s += fmt.Sprintf(", first in line %d, %s", x.Line, x.Detail)
		}
		parts = append(parts, s)
	}
	return strings.Join(parts, "; ")
}
