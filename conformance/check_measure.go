package conformance

import (
	"fmt"
	"math"
	"strings"

	"swellbench/conformance/compare"
)

// hostBearS is how late the host may have been, s, before a verdict that needed the window of timeless quantities says
// more about the host than about the consumer.
const hostBearS = 0.1

// nothingObserved is the skip of every check but parse.loss where a consumer said nothing.
func (t *tally) nothingObserved() (Result, bool) {
	switch {
	case t.observations == 0:
		return skipped("nothing was observed"), true
	case t.counted == 0:
		return skipped("nothing was observed after the first %s", durationText(startS)), true
	}
	return Result{}, false
}

// measured is the result of a check that owns residuals. none says why there may be none of them.
func (t *tally) measured(own owner, none func() string) Result {
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	r := Result{}
	worst, n, beyond, windowed := compare.Q(-1), 0, 0, 0
	var wrong []compare.Q
	ratio := func(m *measure) float64 { return math.Abs(m.worst) / m.tolerance }
	for q := range compare.NQ {
		m := &t.measures[own][q]
		if m.n == 0 {
			continue
		}
		n += m.n
		windowed += m.windowed
		r.Quantities = append(r.Quantities, quantityOf(q, m))
		if worst < 0 || ratio(m) > ratio(&t.measures[own][worst]) {
			worst = q
		}
		if m.beyond > 0 {
			wrong = append(wrong, q)
			beyond += m.beyond
		}
	}
	if own == ownValues && worst < 0 && t.fix.n > 0 {
		return t.fixOnly()
	}
	if worst < 0 {
		return skipped("%s", none())
	}
	m := &t.measures[own][worst]
	r.N, r.Worst, r.Tolerance, r.Unit = n, worst.Show(m.worst), worst.Show(m.tolerance), worst.Unit()
	r.ToleranceParts = partsOf(worst, m)
	if len(wrong) == 0 && (own != ownValues || t.fix.bad == 0) {
		if windowed > 0 && t.hostLateS > hostBearS {
			return inconclusive(r, "the host was up to %s late, and %s fit only some other time than their stamp: run again on a quieter machine",
				durationText(t.hostLateS), plural(windowed, "value"))
		}
		return passed(r, "%s of %s within tolerance; the worst, %s, is off by %s of %s", plural(n, "value"), list(names(r.Quantities)), worst,
			measureText(math.Abs(r.Worst), r.Unit), measureText(r.Tolerance, r.Unit))
	}
	if len(wrong) == 0 {
		fix := t.fixOnly()
		fix.N, fix.Quantities = fix.N+n, r.Quantities
		return fix
	}
	first := m.first[0]
	s := fmt.Sprintf("%s is off by up to %s (tolerance %s): %d of %d values; first at %s: expected %s, observed %s", worst,
		measureText(math.Abs(r.Worst), r.Unit), measureText(r.Tolerance, r.Unit), m.beyond, m.n, clockText(first.Time), first.Expected, first.Observed)
	for _, q := range wrong {
		x := &t.measures[own][q]
		r.Examples = append(r.Examples, x.first[:min(len(x.first), max(1, maxExamples/len(wrong)))]...)
		if q != worst {
			s += fmt.Sprintf("; %s by up to %s (%d of %d)", q, measureText(math.Abs(q.Show(x.worst)), q.Unit()), x.beyond, x.n)
		}
	}
	r.Examples = append([]Example{m.at}, r.Examples...)
	if len(r.Examples) > maxExamples {
		r.Examples = r.Examples[:maxExamples]
	}
	if own == ownValues && t.fix.bad > 0 {
		s += fmt.Sprintf("; the state of the fix is wrong in %d of %d", t.fix.bad, t.fix.n)
	}
	return failed(r, "%s", s)
}

// fixOnly judges the states of the fix.
func (t *tally) fixOnly() Result {
	r := Result{N: t.fix.n, Worst: float64(t.fix.bad), Examples: t.fix.examples}
	if t.fix.bad == 0 {
		return passed(r, "the state of the fix is right in %s", plural(t.fix.n, "observation"))
	}
	x := t.fix.examples[0]
	return failed(r, "the state of the fix is wrong in %d of %d observations; first at %s: expected %s, observed %s",
		t.fix.bad, t.fix.n, clockText(x.Time), x.Expected, x.Observed)
}

func names(qs []Quantity) []string {
	var out []string
	for _, q := range qs {
		out = append(out, q.Name)
	}
	return out
}

func quantityOf(q compare.Q, m *measure) Quantity {
	n := float64(m.n)
	return Quantity{Name: q.String(), Unit: q.Unit(), N: m.n, Beyond: m.beyond, Mean: q.Show(m.sum / n), RMS: q.Show(math.Sqrt(m.squares / n)),
		P95: q.Show(min(m.spread.at(0.95), m.most)), Max: q.Show(m.most),
		Worst: q.Show(m.worst), Tolerance: q.Show(m.tolerance)}
}

// partsOf says what the tolerance of the worst value is made of; the window comes last and is no part of the sum.
func partsOf(q compare.Q, m *measure) []Part {
	var out []Part
	for p, x := range m.parts {
		if x > 0 {
			out = append(out, Part{Name: compare.Parts[p].Name, Value: q.Show(x), Unit: q.Unit(), Why: compare.Parts[p].Why})
		}
	}
	if m.windowS > 0 {
		out = append(out, Part{Name: "time window", Value: m.windowS, Unit: "s",
			Why: "the message carries no time: the value may be that of any of its epochs within this span, by what the line and the device needed"})
	}
	return out
}

// absent says why a check found nothing to judge of the quantities given.
func (t *tally) absent(own owner, qs ...compare.Q) string {
	var carried, shown []string
	other := 0
	for _, q := range qs {
		if !t.cmp.Carried(q) {
			continue
		}
		carried = append(carried, q.String())
		if t.said[q] > 0 {
			shown = append(shown, q.String())
		}
		other += t.measures[own][q].other + t.hurt[q].n
	}
	switch {
	case len(carried) == 0:
		return "no message of this case carries what is needed"
	case len(shown) == 0:
		return fmt.Sprintf("the consumer never shows %s", or(carried))
	case t.unknown.bad > 0:
		x := t.unknown.examples[0]
		return fmt.Sprintf("the consumer speaks of the point %q, which the installation does not have", x.Observed)
	}
	for _, q := range qs {
		if q <= compare.Lon && t.signs[q].bad > 0 {
			return fmt.Sprintf("every %s has the wrong sign, see parse.hemisphere", q)
		}
		if q <= compare.Lon && own != ownValues && t.measures[ownValues][q].beyond > 0 {
			return fmt.Sprintf("every %s is further off than any lever arm explains, see parse.values", q)
		}
	}
	if t.stamps.nowhere.bad > 0 {
		return "the stamps are outside the run, see time.validity"
	}
	if other > 0 {
		return fmt.Sprintf("no value of %s could be judged: nothing is expected where the consumer shows one", or(shown))
	}
	return fmt.Sprintf("%s took no offset at the points the consumer speaks of, or was null throughout", or(shown))
}

func or(words []string) string {
	if len(words) < 2 {
		return list(words)
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}
