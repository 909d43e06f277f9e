package receiver

import (
	"iter"
	"math"
	"slices"

	"swellbench/scenarios/draws"
)

// Held is how much later than usual the messages of the epoch valid at scenario time t go out, in s; 0 for most.
func (c *Clock) Held(t float64) float64 {
	var most float64
	for i := range c.spec.OutOfOrder {
		h := &c.spec.OutOfOrder[i]
		if t < float64(h.From) || h.Until > 0 && t >= float64(h.Until) || float64(h.By) <= most {
			continue
		}
		if src := draws.At(c.seed, c.parts[i], int(math.Round(t*1e6))); src.Uniform() < h.Share {
			most = float64(h.By)
		}
	}
	return most
}

// An Emission is an epoch on its way out. Both times are scenario time, in s.
type Emission struct {
	Valid float64 // what the messages are about
	Due   float64 // when their first start bit leaves
}

// Emissions puts epochs, which come in order of validity, into the order in which they go out. An epoch goes out when
// its latency has passed, and not before an earlier one, unless that one is held; a held one goes out that much later
// than it would have. Memory is bounded by the epochs that can be held at a time.
func (c *Clock) Emissions(epochs iter.Seq[float64], latency func(t float64) float64) iter.Seq[Emission] {
	return func(yield func(Emission) bool) {
		var held []Emission // by Due
		last := math.Inf(-1)
		for t := range epochs {
			due := max(last, t+latency(t))
			if h := c.Held(t); h > 0 {
				e := Emission{t, due + h}
				i, _ := slices.BinarySearchFunc(held, e, func(a, b Emission) int {
					if a.Due <= b.Due {
						return -1
					}
					return 1
				})
				held = slices.Insert(held, i, e)
				continue
			}
			last = due
			for len(held) > 0 && held[0].Due <= last {
				if !yield(held[0]) {
					return
				}
				held = slices.Delete(held, 0, 1)
			}
			if !yield(Emission{t, last}) {
				return
			}
		}
		for _, e := range held {
			if !yield(e) {
				return
			}
		}
	}
}
