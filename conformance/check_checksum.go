package conformance

import (
	"fmt"
	"strings"

	"swellbench/conformance/compare"
)

// judgeChecksum looks at the values that only a damaged message could have brought. A correct consumer shows nothing
// there, or goes on from what it had; one that believed the message shows a wrong value, or a right one that it could
// not have known.
func judgeChecksum(e *Evidence) Result {
	t := e.tallied()
	damaged := t.cmp.Book.Damaged()
	if damaged == 0 {
		return skipped("no damaged message reached the line in this case")
	}
	if r, ok := t.nothingObserved(); ok {
		return r
	}
	r := Result{N: damaged}
	shown, telling, off := false, 0, false
	var parts []string
	for q := range compare.NQ {
		h := &t.hurt[q]
		if !carriedByDamaged(t.cmp, q) {
			continue
		}
		shown = shown || t.said[q] > 0
		telling += h.telling
		n, beyond := t.elsewhere(q)
		if beyond*5 > n { // then a wrong value near damage says nothing
			off = off || h.n > 0
			continue
		}
		fresh := 0
		if h.fresh >= min(2, h.telling) && h.fresh*5 >= h.telling {
			fresh = h.fresh
		}
		if h.wrong+fresh <= 3*t.cmp.Book.Fooling { // checksums that fit by chance: nobody could know
			continue
		}
		r.Worst += float64(max(h.wrong, fresh))
		r.Examples = append(r.Examples, h.examples...)
		if h.wrong > 0 {
			parts = append(parts, fmt.Sprintf("%s is wrong %s beside a damaged message", q, times(h.wrong)))
		} else {
			parts = append(parts, fmt.Sprintf("%s is what a damaged message said, %s", q, times(fresh)))
		}
	}
	if len(r.Examples) > maxExamples {
		r.Examples = r.Examples[:maxExamples]
	}
	var near int
	for q := range compare.NQ {
		near += t.hurt[q].n
	}
	switch {
	case len(parts) > 0:
		return failed(r, "%s; of %s with a wrong checksum none may be believed", strings.Join(parts, ", "), plural(damaged, "message"))
	case !shown:
		return skipped("the consumer shows nothing of what the damaged messages carry")
	case off:
		return inconclusive(r, "values are off away from damaged messages as well: whether one was believed cannot be told")
	case near > 0 && telling == 0:
		return inconclusive(r, "the damaged messages say what a consumer could know without them: whether one was believed cannot be told")
	}
	return passed(r, "%s left no trace", plural(damaged, "damaged message"))
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// elsewhere counts the values of a quantity away from damaged messages, and those beyond their tolerance.
func (t *tally) elsewhere(q compare.Q) (n, beyond int) {
	for own := range nOwners {
		n += t.measures[own][q].n
		beyond += t.measures[own][q].beyond
	}
	if q <= compare.Lon {
		n += t.signs[q].bad
		beyond += t.signs[q].bad
	}
	return n, beyond
}

func carriedByDamaged(c *compare.Comparer, q compare.Q) bool {
	for _, k := range c.Book.Kinds {
		if k.Damaged > 0 && k.Carries(q) {
			return true
		}
	}
	return false
}
