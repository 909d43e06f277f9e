package compare

import (
	"math"
	"time"
)

// A stretch is a part of the run in which the time in the messages runs as it should, but is off by a constant: by a fault of the
// receiver's clock, by a leap second, or because the receiver repeats itself.
type stretch struct {
	from, until float64 // scenario time of its first and last epoch, s
	by          float64 // what the messages tell less what is true, s
}

// mostStretches bounds what is kept of a clock that drifts.
const mostStretches = 20_000

// stretches are those of a run in which the time in the messages is not always the true one; nil where it is.
func stretches(d Device, start time.Time, book *Book) (all []stretch) {
	var k *Kind
	for _, x := range book.Kinds {
		if x.Timed && (k == nil || x.Rate > k.Rate) {
			k = x
		}
	}
	if k == nil {
		return nil
	}
	told := func(e int) (by float64, ok bool) {
		t := k.At(e)
		r := d.Ideal(t)
		u, ok := r.UTC.Value()
		return u.Sub(start).Seconds() - t, ok
	}
	const looks, equal = 1500, 1e-6
	n := max(1, k.epochs)
	off := false
	for e := 0; e < n && !off; e += max(1, n/looks) {
		by, ok := told(e)
		off = ok && math.Abs(by) > equal
	}
	if !off {
		return nil
	}
	for e := range n {
		by, ok := told(e)
		if !ok {
			continue
		}
		t := k.At(e)
		if last := len(all) - 1; last >= 0 && math.Abs(all[last].by-by) < equal {
			all[last].until = t
		} else if len(all) < mostStretches {
			all = append(all, stretch{t, t, by})
		}
	}
	return all
}

// twice tells whether the messages tell the time of a stamp for more than one instant, so that it cannot be said which the
// observation is of.
func (a *axis) twice(stamp float64) bool {
	n := 0
	for i := range a.stretches {
		s := &a.stretches[i]
		if x := stamp - s.by; x >= s.from-a.slack && x <= s.until+a.slack {
			n++
		}
	}
	return n > 1
}

// TellsTwice tells whether the messages tell the same time for several instants anywhere in the run.
func (c *Comparer) TellsTwice() bool {
	for i := range c.axis.stretches {
		if s := &c.axis.stretches[i]; c.axis.twice(s.from+s.by) || c.axis.twice(s.until+s.by) {
			return true
		}
	}
	return false
}

// byMessages is the scenario time of a stamp by what the messages tell, where they tell another time than the true one. Where they tell
// one time twice, it is that nearest to when the observation came, or the first.
func (a *axis) byMessages(stamp, came float64) (t float64, ok bool) {
	best := math.Inf(1)
	for i := range a.stretches {
		s := &a.stretches[i]
		x := stamp - s.by
		if x < s.from-a.slack || x > s.until+a.slack {
			continue
		}
		if far := math.Abs(came - x); !ok || far < best && !math.IsNaN(far) {
			t, ok, best = x, true, far
		}
	}
	return t, ok
}
