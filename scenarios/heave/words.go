package heave

import (
	"fmt"
	"math"
	"strconv"

	"swellbench/scenarios/frame"
)

// Describe says for a person what real-time heave is worth in waves met with the period, in s.
func (f Filter) Describe(periodS float64) string {
	if f.order == 0 {
		return "no heave filter: heave comes out as it is"
	}
	if !(periodS > 0) {
		return fmt.Sprintf("no wave period: nothing can be said of the heave filter of order %d with a cut-off of %s", f.order, seconds(f.periodS))
	}
	e := f.At(periodS)
	s := fmt.Sprintf("in waves of %s the heave filter of order %d with a cut-off of %s puts out %s of the true height, but leads it by %.3g° (%.2g s), so real-time heave is wrong by %s of the amplitude",
		seconds(periodS), f.order, seconds(f.periodS), percent(e.Gain), frame.Deg(e.Lead), e.LeadS, percent(e.Error))
	if gain := math.Abs(1 - e.Gain); gain < e.Error/2 {
		s += fmt.Sprintf("; phase counts more than gain, which alone would cost %s", percent(gain))
	}
	if e.Error > worthAWord {
		s += fmt.Sprintf("; delayed heave would be wrong by %s", percent(e.DelayedError))
		if c := f.CutOffFor(periodS, 0.1); c <= MaxCutOffS && e.Error > 0.1 {
			s += fmt.Sprintf(", and 10 %% in real time takes a cut-off of %s, which settles %s after a change", seconds(c), seconds(Filter{f.order, c}.SettleS(0.05)))
		}
	}
	return s
}

// DescribeDelayed says for a person what delayed heave is worth in waves met with the period, in s.
func (f Filter) DescribeDelayed(periodS float64) string {
	if f.order == 0 || !(periodS > 0) {
		return f.Describe(periodS)
	}
	e := f.At(periodS)
	return fmt.Sprintf("in waves of %s the heave filter of order %d with a cut-off of %s, run forward and backward, puts out %s of the true height without any lead, so delayed heave is wrong by %s of the amplitude; real-time heave would be wrong by %s",
		seconds(periodS), f.order, seconds(f.periodS), percent(e.DelayedGain), percent(e.DelayedError), percent(e.Error))
}

func seconds(s float64) string { return number(s) + " s" }

// percent writes a part so that neither 99.98 nor 0.02 is rounded away.
func percent(part float64) string {
	p := 100 * part
	if p > 90 && p < 100 {
		return strconv.FormatFloat(100-round(100-p, 2), 'g', 8, 64) + " %"
	}
	return number(p) + " %"
}

func number(x float64) string {
	digits := 2
	if math.Abs(x) >= 10 {
		digits = 3
	}
	return strconv.FormatFloat(round(x, digits), 'f', -1, 64)
}

// round keeps so many significant digits.
func round(x float64, digits int) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	if err != nil {
		return x
	}
	return y
}
