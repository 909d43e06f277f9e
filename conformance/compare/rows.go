package compare

import (
	"iter"

	"swellbench/conformance/observe"
	"swellbench/scenarios/ahead"
)

// perBatch is how many observations go to a core at a time: so many that handing them over costs nothing, so few that
// all that is under way fits a processor's cache.
const perBatch = 256

// A batch is some observations in a row, and the rows that they become.
type batch struct {
	observations []observe.Observation
	rows         []Row
	from, to     search // what was known before the first, and is after the last
}

// Rows holds observations against what is expected, in their order, on all cores. A row is valid until the next.
//
// The rows are the same whatever the number of cores: all that one observation tells about the next is where a lag was
// found, and a batch knows that of the observations up to a fixed number of batches before it.
func (c *Comparer) Rows(observed iter.Seq[observe.Observation]) iter.Seq[*Row] {
	fill := func(next func() *batch) {
		b := empty(next)
		for o := range observed {
			if b == nil {
				return
			}
			if b.observations = append(b.observations, o); len(b.observations) == perBatch {
				b = empty(next)
			}
		}
	}
	first := c.twin() // c itself is the caller's
	work := func() func(*batch) {
		c := first.twin()
		return func(b *batch) {
			if b.rows == nil {
				b.rows, b.from = make([]Row, perBatch), first.search
			}
			c.search = b.from
			for i := range b.observations {
				c.fill(&b.rows[i], &b.observations[i])
			}
			b.to = c.search
		}
	}
	return func(yield func(*Row) bool) {
		for b := range ahead.Batches(fill, work) {
			for i := range b.observations {
				if !yield(&b.rows[i]) {
					return
				}
			}
			c.search.budget -= b.from.budget - b.to.budget
			if b.to.lag != b.from.lag {
				c.search.lag = b.to.lag
			}
			b.from = c.search
		}
	}
}

func empty(next func() *batch) *batch {
	b := next()
	if b != nil {
		b.observations = b.observations[:0]
	}
	return b
}

// twin is a comparer of the same run, for another goroutine.
func (c *Comparer) twin() *Comparer {
	t := *c
	t.cache, t.tols, t.latestTol, t.sources, t.near = [moments]moment{}, [len(c.tols)]*cachedTolerances{}, nil, map[string]*selection{}, nil
	return &t
}
