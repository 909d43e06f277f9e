package conformance

import (
	"fmt"
	"strings"

	"swellbench/conformance/compare"
)

// judgeValidity looks at rows with quantities whose message carries its time. Their stamp has to be that time, or their
// values those of the stamp.
func judgeValidity(e *Evidence) Result {
	t := e.tallied()
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	s := &t.stamps
	r := Result{N: s.n, Tolerance: t.cmp.StampToleranceS, Unit: "s"}
	declared := t.cmp.Declared.TimeS.Or(0)
	r.ToleranceParts = []Part{{Name: "time", Value: t.cmp.StampToleranceS - declared, Unit: "s", Why: "printing to milliseconds, and the digits of the time in the messages"}}
	if declared > 0 {
		r.ToleranceParts = append(r.ToleranceParts, Part{Name: compare.Parts[compare.Declared].Name, Value: declared, Unit: "s", Why: "how far the program's stamps may be off, as its profile declares"})
	}
	var parts []string
	if n := s.by[compare.StampWrong]; n > 0 {
		mean := s.lagSum / float64(n)
		what := fmt.Sprintf("%s to %s later than", durationText(s.lagLow), durationText(s.lagHigh))
		switch {
		case s.lagHigh-s.lagLow < 2e-3 && mean > 0:
			what = durationText(mean) + " later than"
		case s.lagHigh-s.lagLow < 2e-3:
			what = durationText(-mean) + " earlier than"
		case s.lagHigh < 0:
			what = fmt.Sprintf("%s to %s earlier than", durationText(-s.lagHigh), durationText(-s.lagLow))
		}
		whose := ""
		if s.host > 0 {
			whose = ", by the clock of the host, at another date than the messages say"
		}
		parts = append(parts, fmt.Sprintf("%d of %d stamps are %s the time of validity of their values (tolerance %s)%s; first: values of %s stamped %s",
			n, s.n, what, durationText(r.Tolerance), whose, clockText(t.cmp.UTC(s.wrong[0].T)), s.wrong[0].Observed))
		r.Worst = s.lagHigh
		if -s.lagLow > s.lagHigh {
			r.Worst = s.lagLow
		}
		r.Examples = append(r.Examples, s.wrong...)
	}
	if s.nowhere.bad > 0 {
		x := s.nowhere.examples[0]
		parts = append(parts, fmt.Sprintf("%s stamped outside the run; first: %s, expected %s", plural(s.nowhere.bad, "observation"), x.Observed, x.Expected))
		r.Examples = append(r.Examples, x)
		r.N += s.nowhere.bad
	}
	shifted := s.shifted
	shift := s.shift
	if s.days.bad > 0 && s.days.bad == s.n { // some only: see time.midnight
		shifted, shift = s.days, s.dayShift
	}
	if shifted.bad > 0 {
		parts = append(parts, fmt.Sprintf("%d of %d stamps are off by %s; first: expected %s, observed %s", shifted.bad, s.n, durationText(shift),
			shifted.examples[0].Expected, shifted.examples[0].Observed))
		r.Worst = shift
		r.Examples = append(r.Examples, shifted.examples[0])
	}
	if len(r.Examples) > maxExamples {
		r.Examples = r.Examples[:maxExamples]
	}
	open := s.by[compare.StampOpen]
	switch {
	case len(parts) > 0:
		return failed(r, "%s", strings.Join(parts, "; "))
	case s.n == 0:
		return skipped("the consumer shows nothing whose message carries its time")
	case s.by[compare.StampRight]+s.by[compare.StampResampled] == 0 || open*5 > s.n:
		r.Examples = []Example{s.firstOpen}
		return inconclusive(r, "%d of %d stamps are not the time of a message, first %s, and the values cannot tell which time they are of: the vessel moves too little here, or they are wrong for another reason",
			open, s.n, s.firstOpen.Observed)
	case s.by[compare.StampResampled] > 0:
		return passed(r, "%s: the values are those of their stamps", plural(s.n, "observation"))
	}
	return passed(r, "%s stamped with the time of validity", plural(s.n, "observation"))
}

// judgeMidnight looks for stamps that are off by whole days.
func judgeMidnight(e *Evidence) Result {
	t := e.tallied()
	if !t.afterMidnight(e.durationS()) || t.stamps.n > 0 && t.stamps.afterDay == 0 && t.stamps.days.bad == 0 {
		if !t.afterMidnight(e.durationS()) {
			return skipped("the case does not run through midnight UTC")
		}
		return skipped("nothing whose message carries its time was observed after midnight")
	}
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	s := &t.stamps
	r := Result{N: s.n}
	switch {
	case s.days.bad > 0:
		x := s.days.examples[0]
		r.Worst, r.Examples = float64(s.days.bad), s.days.examples
		return failed(r, "%d of %d stamps are on the wrong day, by %s; first: expected %s, observed %s", s.days.bad, s.n, durationText(s.dayShift), x.Expected, x.Observed)
	case s.n == 0 && s.nowhere.bad > 0:
		return inconclusive(r, "the stamps are outside the run, see time.validity")
	case s.n == 0:
		return skipped("the consumer shows nothing whose message carries its time")
	case s.host > 0:
		return inconclusive(r, "the stamps are those of the host's clock, see time.validity")
	}
	return passed(r, "the date is right in %s before and %s after midnight", plural(s.beforeDay, "observation"), plural(s.afterDay, "observation"))
}

// durationS is how long the case was played, s.
func (e *Evidence) durationS() float64 { return float64(e.Device.Scenario().Duration) }
