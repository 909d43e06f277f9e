package conformance

import "swellbench/conformance/compare"

// judgeValues is about every quantity that a consumer has only to read: those that take a mounting, a baseline or a
// lever arm in this case belong to the check of that.
func judgeValues(e *Evidence) Result {
	t := e.tallied()
	return t.measured(ownValues, func() string {
		var plain []compare.Q
		for q := range compare.NQ {
			if t.cmp.Need(q) == compare.Nothing {
				plain = append(plain, q)
			}
		}
		if t.stamps.nowhere.bad == t.counted {
			return "the stamps are outside the run, see time.validity"
		}
		return t.absent(ownValues, plain...)
	})
}
