package conformance

import (
	"fmt"
	"math"

	"swellbench/conformance/compare"
)

// stampsToJudge is why the stamps of a case say nothing to a check; ok is true then.
func (t *tally) stampsToJudge() (Result, bool) {
	if r, ok := t.nothingObserved(); ok {
		return r, true
	}
	if t.stamps.n == 0 {
		if t.stamps.nowhere.bad > 0 {
			return inconclusive(Result{}, "the stamps are outside the run, see time.validity"), true
		}
		return skipped("the consumer shows nothing whose message carries its time"), true
	}
	return Result{}, false
}

// few is how many stamps of one kind may be by chance.
func few(n int) int { return max(2, n/20) }

// judgeArrival looks at stamps that lie behind the time of validity by as much as messages take to arrive.
func judgeArrival(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.stampsToJudge(); ok {
		return r
	}
	c := &t.notes.arrival
	r := Result{N: c.n, Tolerance: t.cmp.StampToleranceS, Unit: "s"}
	if c.bad > few(c.n) {
		r.Worst, r.Examples = t.stamps.lagHigh, c.examples
		x := c.examples[0]
		return failed(r, "%d of %d stamps are those of arrival: they lie %s to %s behind the time in the message, as the messages take; first: expected %s, observed %s",
			c.bad, c.n, durationText(t.stamps.lagLow), durationText(t.stamps.lagHigh), x.Expected, x.Observed)
	}
	return t.stampsRight(r, "no stamp is that of arrival")
}

// stampsRight is the result where no mistake of one kind was found: passed if enough stamps are right.
func (t *tally) stampsRight(r Result, text string) Result {
	s := &t.stamps
	if (s.by[compare.StampRight]+s.by[compare.StampResampled])*2 < s.n {
		return inconclusive(r, "most stamps are not the time of a message, or not of their values: see time.validity")
	}
	return passed(r, "%s, of %d", text, s.n)
}

// judgeLeap looks at stamps that are off by the same number of whole seconds.
func judgeLeap(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.stampsToJudge(); ok {
		return r
	}
	c := &t.notes.whole
	r := Result{N: c.n, Tolerance: t.cmp.StampToleranceS, Unit: "s"}
	if c.bad > few(c.n) && c.bad*2 > c.n {
		r.Worst, r.Examples = t.notes.wholeS, c.examples
		why := "an old number of leap seconds does that"
		if math.Abs(t.notes.wholeS) >= 10 {
			why = "GPS time taken for UTC, or the other way, does that"
		}
		return failed(r, "%d of %d stamps are off by %+g s; %s; first: expected %s, observed %s", c.bad, c.n, t.notes.wholeS, why, c.examples[0].Expected, c.examples[0].Observed)
	}
	return t.stampsRight(r, "no stamp is off by whole seconds")
}

// judgeZone looks at stamps that are off by quarters of an hour, as time zones are.
func judgeZone(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.stampsToJudge(); ok {
		return r
	}
	c := &t.stamps.shifted
	r := Result{N: t.stamps.n, Tolerance: t.cmp.StampToleranceS, Unit: "s"}
	if c.bad*2 > t.stamps.n {
		r.Worst, r.Examples = t.stamps.shift, c.examples
		return failed(r, "%d of %d stamps are off by %s: local time for UTC; first: expected %s, observed %s", c.bad, t.stamps.n, durationText(t.stamps.shift), c.examples[0].Expected, c.examples[0].Observed)
	}
	return t.stampsRight(r, "no stamp is off by a time zone")
}

// judgeDate looks at stamps that are off by whole days, in runs without midnight or on both of its sides.
func judgeDate(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.stampsToJudge(); ok {
		return r
	}
	if math.IsInf(t.cmp.Book.DateFromS, 1) {
		return skipped("no message of this case carries the date")
	}
	s := &t.stamps
	r := Result{N: s.n, Tolerance: t.cmp.StampToleranceS, Unit: "s"}
	switch {
	case s.days.bad*2 <= s.n && !t.afterMidnight(e.durationS()):
		return t.stampsRight(r, "no stamp is on another day than the messages say")
	case s.days.bad == 0:
		return t.stampsRight(r, "no stamp is on another day than the messages say")
	case t.afterMidnight(e.durationS()) && s.days.bad*4 < s.n*3:
		return inconclusive(r, "some stamps are on the wrong day, in a run through midnight: see time.midnight")
	}
	r.Worst, r.Examples = s.dayShift, s.days.examples
	what := fmt.Sprintf("by %s", durationText(s.dayShift))
	if weeks := math.Abs(s.dayShift) / 86400 / 7168; weeks == math.Round(weeks) {
		what += fmt.Sprintf(", which is %g times 1024 weeks", weeks)
	}
	return failed(r, "%d of %d stamps are on another day than the messages say, %s; first: expected %s, observed %s", s.days.bad, s.n, what, s.days.examples[0].Expected, s.days.examples[0].Observed)
}

// judgeOrder looks at stamps where epochs go out late.
func judgeOrder(e *Evidence) Result {
	t := e.tallied()
	if len(t.events.late) == 0 {
		return skipped("no epoch goes out after a later one in this case")
	}
	if r, ok := t.stampsToJudge(); ok {
		return r
	}
	c := &t.notes.untimely
	r := Result{N: c.n}
	if c.bad > 0 {
		r.Worst, r.Examples = float64(c.bad), c.examples
		return failed(r, "%d of %d stamps are not the time of validity where %s came after later ones; first: expected %s, observed %s",
			c.bad, c.n, plural(len(t.events.late), "epoch"), c.examples[0].Expected, c.examples[0].Observed)
	}
	return passed(r, "%s keep the time in their messages though %s came after later ones", plural(c.n, "observation"), plural(len(t.events.late), "epoch"))
}
