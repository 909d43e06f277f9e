package conformance

import (
	"math"
	"slices"

	"swellbench/conformance/compare"
)

// coverage is which epochs of timed messages a consumer shows.
type coverage struct {
	cmp      *compare.Comparer
	shown    [len(coverQuantities)]bool
	offers   [len(coverQuantities)]bool           // shown where the device has not measured the position
	seen     [len(coverQuantities)][]compare.Bits // by quantity and kind: epochs with a value
	null     [len(coverQuantities)][]compare.Bits // epochs with null
	points   []int                                // spoken of, by their number in the comparer
	invented counter
	rows     int // timed rows
	astray   int // of these, neither at an epoch nor computed for an instant of the consumer's own
	resample int // of these, computed for an instant of the consumer's own
}

// coverQuantities are the quantities by which epochs are counted, where all messages that carry them carry their time.
var coverQuantities = [...]compare.Q{compare.Lat, compare.Height, compare.Speed, compare.Course}

func newCoverage(cmp *compare.Comparer) *coverage {
	c := &coverage{cmp: cmp}
	for i := range coverQuantities {
		c.seen[i] = make([]compare.Bits, len(cmp.Book.Kinds))
		c.null[i] = make([]compare.Bits, len(cmp.Book.Kinds))
	}
	return c
}

func (c *coverage) add(r *compare.Row) {
	if !r.Timed {
		return
	}
	c.rows++
	switch {
	case r.Stamp == compare.StampResampled:
		c.resample++
	case r.Stamp == compare.StampOpen:
		c.astray++
		c.invented.add(true, func() Example {
			return Example{Time: r.Observation.Time, T: r.T, Quantity: "time", Expected: "the time in a message", Observed: stampText(r.Observation.Time),
				Source: printable(r.Observation.Source), Line: r.Observation.Line}
		})
	}
	if !r.OnEpoch {
		return
	}
	if !slices.Contains(c.points, r.Point) {
		c.points = append(c.points, r.Point)
	}
	for i, q := range coverQuantities {
		f := q.Raw(r.Observation)
		if !f.Said() {
			continue
		}
		_, value := f.Value()
		c.shown[i] = c.shown[i] || value
		c.offers[i] = c.offers[i] || value && !compare.Measured(r.Fix.Expected)
		for j, k := range c.cmp.Book.Kinds {
			if !k.Carries(q) {
				continue
			}
			if e, off := k.Nearest(r.T); math.Abs(off) < 1e-6 && e >= 0 && e < k.Epochs() {
				if value {
					c.seen[i][j].Set(e)
				} else {
					c.null[i][j].Set(e)
				}
			}
		}
	}
}

// A loss is how much of one kind of message a consumer shows of one quantity.
type loss struct {
	kind     string
	quantity compare.Q
	due      int // epochs it should show
	lost     int // of these, shown neither with a value nor as null
	null     int // of these, shown as null only
	firstS   float64
	nullS    float64
	every    int // one epoch in so many is shown, evenly; 0 if there is no such rule
	i, j     int // quantity and kind
}

// losses gives, for each quantity shown, the kind of message whose epochs are shown best.
func (c *coverage) losses() []loss {
	var out []loss
	for i, q := range coverQuantities {
		if !c.shown[i] || !c.cmp.Timed(q) {
			continue
		}
		best, found := loss{}, false
		for j, k := range c.cmp.Book.Kinds {
			if !k.Carries(q) || !k.Timed {
				continue
			}
			l := c.loss(i, j, k)
			if l.due == 0 {
				continue
			}
			share := func(l loss) float64 { return float64(l.lost+l.null) / float64(l.due) }
			if !found || share(l) < share(best) || share(l) == share(best) && l.due > best.due {
				best, found = l, true
			}
		}
		if found {
			out = append(out, best)
		}
	}
	return out
}

// A sight is what a consumer made of one epoch that it should show.
type sight int

const (
	shownEpoch sight = iota
	lostEpoch
	nullEpoch
)

// due walks the epochs of kind j that a consumer should show of quantity i, in order. Not among them: those of the start
// and the last ones (a consumer may wait for the next epoch before it speaks of one), those whose message was hurt or
// lost or had no value, those for which what it takes to bring the value to the output point was missing, and those of
// positions that no satellite has measured, if the consumer shows none of them: a program may take such for no position.
func (c *coverage) due(i, j int, each func(e int, t float64, s sight)) {
	k := c.cmp.Book.Kinds[j]
	end := k.LastS - max(0.3, 1.5/k.Rate)
	for e := range k.Epochs() {
		t := k.At(e)
		switch {
		case t < startS || t > end || !k.Good(e):
		case c.seen[i][j].Has(e):
			each(e, t, shownEpoch)
		case !c.offers[i] && c.cmp.Unmeasured(t):
		case slices.ContainsFunc(c.points, func(p int) bool { return !c.cmp.Due(coverQuantities[i], t, p) }):
		case c.null[i][j].Has(e):
			each(e, t, nullEpoch)
		default:
			each(e, t, lostEpoch)
		}
	}
}

// loss counts the epochs of one kind.
func (c *coverage) loss(i, j int, k *compare.Kind) loss {
	l := loss{kind: k.Name, quantity: coverQuantities[i], i: i, j: j}
	before, gaps, even := -1, 0, 0
	c.due(i, j, func(e int, t float64, s sight) {
		l.due++
		switch s {
		case nullEpoch:
			if l.null++; l.null == 1 {
				l.nullS = t
			}
		case lostEpoch:
			if l.lost++; l.lost == 1 {
				l.firstS = t
			}
		default:
			if before >= 0 {
				gaps++
				switch gap := e - before; {
				case l.every == 0:
					l.every, even = gap, 1
				case gap == l.every:
					even++
				}
			}
			before = e
		}
	})
	if gaps < 2 || l.every < 2 || even*10 < gaps*9 {
		l.every = 0
	}
	return l
}

// countable tells whether epochs can be counted: most stamps are times of messages.
func (c *coverage) countable() bool {
	return (c.resample+c.astray)*5 <= c.rows && !c.cmp.TellsTwice()
}
