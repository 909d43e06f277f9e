package diagnose

import (
	"fmt"
	"math"

	"swellbench/conformance/compare"
	"swellbench/scenarios/frame"
)

// later stamps every observation so much too late, s.
func later(by float64) func(p *pipeline) {
	return func(p *pipeline) {
		p.stamp = append(p.stamp, func(_ *context, s float64) float64 { return s - by })
	}
}

// What programs get wrong of time. Whole hours and days are counted, not fitted: see counted.go.
var timeHypotheses = []hypothesis{
	{"arrival-stamped-as-measured", "It stamps with the computer's clock when the message has arrived, instead of the time in the message.", "Take the time of validity from the message that carries it (ZDA, GGA, RMC), for all values of the same epoch.",
		func(k *kase) []variant {
			if len(k.bursts) == 0 {
				return nil
			}
			return []variant{fixed("", "stamp", func(p *pipeline) { p.arrived = true })}
		}},
	{"fraction-of-second-dropped", "It %s: several epochs share one stamp.", "Read the time with all its decimals, and keep them to the end.",
		func(k *kase) (vs []variant) {
			if k.step <= 0 || k.step >= 0.99 || !k.shared() {
				return nil
			}
			vs = append(vs, fixed("drops the fraction of the second", "stamp", func(p *pipeline) { p.stamp = append(p.stamp, k.byOrder(0)) }))
			v := fixed("rounds stamps to whole seconds", "stamp", func(p *pipeline) { p.stamp = append(p.stamp, k.byOrder(-0.5)) })
			v.extra = 1
			return append(vs, v)
		}},
	{"leap-seconds-missing-or-stale", "Its stamps are %s.", "UTC is GPS time less the leap seconds of the day: 18 s since 2017; take them from the receiver or from a table that is kept up.",
		func(*kase) (vs []variant) {
			for _, x := range []struct {
				by    float64
				label string
			}{{18, "18 s late: they are GPS time, from which the leap seconds were not taken off"}, {-18, "18 s early: leap seconds were taken off a time that is UTC already"},
				{1, "1 s late: an old number of leap seconds"}, {2, "2 s late: an old number of leap seconds"}, {3, "3 s late: an old number of leap seconds"}, {-1, "1 s early"}, {-2, "2 s early"}, {-3, "3 s early"},
				{36, "36 s late: leap seconds were added twice"}, {-36, "36 s early: leap seconds were taken off twice"}, {37, "37 s late: they are atomic time (TAI)"}, {19, "19 s late"}, {-19, "19 s early"}, {5, "5 s late: an old number of leap seconds (13)"}, {4, "4 s late: an old number of leap seconds (14)"}} {
				v := fixed(x.label, "stamp", later(x.by))
				if math.Abs(x.by) != 18 {
					v.extra = 1
				}
				vs = append(vs, v)
			}
			return vs
		}},
	{"epochs-mixed", "It %s.", "Publish when the epoch is complete, and only values of that epoch: a new time begins a new one.",
		func(k *kase) (vs []variant) {
			if k.step <= 0 {
				return nil
			}
			vs = append(vs, fixed("stamps the values of one epoch with the time of the one before", "stamp", later(-k.step)),
				fixed("stamps the values of one epoch with the time of the next", "stamp", later(k.step)))
			old := func(label string, n float64, ss ...source) {
				v := fixed(label, "lag", func(p *pipeline) {
					for _, s := range ss {
						p.lag[s] += n * k.intervalOf(s)
					}
				})
				v.slot = fmt.Sprintf("lag %v", ss)
				vs = append(vs, v)
			}
			for n := 1.0; n <= 2; n++ {
				of := "of the epoch before"
				if n == 2 {
					of = "of two epochs before"
				}
				old("joins the position with the heading "+of, n, sHeading)
				old("joins the position with the pitch and roll "+of, n, sAttitude)
				old("joins the position with the heading, pitch and roll "+of, n, sHeading, sAttitude)
				old("joins the position with heading, pitch, roll and heave "+of, n, sHeading, sAttitude, sHeave)
				old("gives the position "+of, n, sPosition)
				old("gives position, speed and course "+of, n, sPosition, sVelocity)
				old("gives speed and course "+of, n, sVelocity)
				old("gives the heave "+of, n, sHeave)
				old("gives the rate of turn "+of, n, sTurn)
			}
			return vs
		}},
	{"latency-correction-reversed", "It %s.", "The time in the message is that of validity: nothing is to be taken off or added. A correction for latency belongs to messages without a time, is taken off their arrival, and once.",
		func(k *kase) (vs []variant) {
			l := float64(k.device.Scenario().Device.Latency.Constant)
			if l <= 0 {
				return nil
			}
			ms := fmt.Sprintf("%.0f ms", l*1e3)
			return []variant{fixed("adds the device's latency of "+ms+" to its stamps", "stamp", later(l)),
				fixed("takes the device's latency of "+ms+" off a time that is that of validity already", "stamp", later(-l)),
				fixed("adds twice the device's latency of "+ms+" to its stamps", "stamp", later(2*l))}
		}},
	{"stamp-shifted", "Its stamps are %s by a constant.", "Look for a delay that is added to or taken off the time of validity, or for a clock that is read at another moment.",
		func(k *kase) []variant {
			var starts []float64
			for x := -1.5; x <= 2.5; x += 0.05 {
				starts = append(starts, x)
			}
			return []variant{{label: "late (or early)", slot: "stamp", extra: 2,
				params: []param{{name: "lateness of the stamps", unit: "ms", show: 1e3, typical: 0.1, step: 1e-3, starts: starts}},
				say: func(x []float64) string {
					if x[0] < 0 {
						return fmt.Sprintf("Its stamps are %.0f ms early, all alike.", -x[0]*1e3)
					}
					return fmt.Sprintf("Its stamps are %.0f ms late, all alike.", x[0]*1e3)
				},
				apply: func(p *pipeline, x []float64) { later(x[0])(p) }}}
		}},
	{"reader-falls-behind", "Its stamps fall behind more and more.", "Read as fast as bytes come, and stamp by the time in the message.",
		func(k *kase) []variant {
			return []variant{{slot: "stamp", extra: 6,
				params: []param{{name: "lateness at the start", unit: "ms", show: 1e3, typical: 0.1, step: 1e-3, starts: []float64{0, 0.1, 0.3}},
					{name: "growth of the lateness", unit: "ms/s", show: 1e3, typical: 0.01, step: 1e-4, starts: []float64{0.02, 0.1, 0.3}}},
				apply: func(p *pipeline, x []float64) {
					p.stamp = append(p.stamp, func(_ *context, s float64) float64 { return (s - x[0]) / math.Max(0.1, 1+x[1]) })
				}}}
		}},
	{"values-smoothed", "It averages %s over %s.", "Publish what was measured at the stamp; a filter delays by half its length.",
		func(k *kase) []variant { return append(smoothing(k), filtered(k)...) }},
}

// shared tells whether several observations have one stamp, or all stamps are whole seconds.
func (k *kase) shared() bool {
	whole, n := 0, 0
	for i := range k.rows {
		if r := &k.rows[i]; r.timed {
			n++
			if math.Abs(r.s+k.fraction()-math.Round(r.s+k.fraction())) < 1e-6 {
				whole++
			}
		}
	}
	return n > 10 && whole > n*9/10
}

// fraction is the part of a second at which the scenario starts.
func (k *kase) fraction() float64 { return float64(k.cmp.UTC(0).Nanosecond()) * 1e-9 }

// byOrder gives times to observations with the same stamp by their order: of those that say the same, the j-th is j
// intervals after the first. from is where the first stands to the stamp, s.
func (k *kase) byOrder(from float64) func(c *context, s float64) float64 {
	type group struct {
		s    float64
		said uint16
	}
	place := map[int64]int{}
	count := map[group]int{}
	first := map[uint16]float64{} // the stamp that came first: its second need not be whole
	for i := range k.rows {
		r := &k.rows[i]
		g := group{r.s, r.said}
		place[r.line] = count[g]
		count[g]++
		if _, ok := first[r.said]; !ok {
			first[r.said] = r.s
		}
	}
	return func(c *context, s float64) float64 {
		r := c.row
		j, ok := place[r.line]
		step := c.k.step
		for q := range compare.NQ {
			if r.said&(1<<q) != 0 {
				step = c.k.epochOf(q)
				break
			}
		}
		if !ok || step > 1 {
			return s
		}
		if first[r.said] == r.s { // its end is there
			j += int(math.Round(1/step)) - count[group{r.s, r.said}]
		}
		return s + from + float64(max(0, j))*step
	}
}

func smoothing(k *kase) (vs []variant) {
	groups := []struct {
		name string
		qs   []compare.Q
	}{
		{"the position", []compare.Q{compare.Lat, compare.Lon, compare.Height}},
		{"the heading", []compare.Q{compare.Heading}},
		{"pitch and roll", []compare.Q{compare.Pitch, compare.Roll}},
		{"heave", []compare.Q{compare.Heave}},
		{"speed", []compare.Q{compare.Speed}},
	}
	for _, g := range groups {
		if !k.carried[g.qs[0]] {
			continue
		}
		for _, n := range []int{2, 3, 4, 5, 8, 10} {
			v := variant{label: g.name, slot: "smooth " + g.name, extra: 1, title: fmt.Sprintf("It averages %s over %d epochs: what it gives is old by %d of their intervals.", g.name, n, (n-1)/2)}
			if n%2 == 0 {
				v.title = fmt.Sprintf("It averages %s over %d epochs: what it gives is old by %.1f of their intervals.", g.name, n, float64(n-1)/2)
			}
			v.change = "Publish what was measured at the stamp; a filter delays by half its length."
			v.apply = func(p *pipeline, _ []float64) {
				plain := *p // as it is so far
				plain.publish = append([]func(*context, *raw, *out){}, p.publish...)
				p.publish = append(p.publish, func(c *context, _ *raw, o *out) {
					step := c.k.epochOf(g.qs[0])
					var sum [compare.NQ]float64
					m := 0.0
					for i := range n {
						at := context{k: c.k, row: c.row, t: c.k.tidy(c.t - float64(i)*step)}
						if at.t < -1e-9 {
							break
						}
						c.k.looks++
						x := plain.run(&at)
						ok := true
						for _, q := range g.qs {
							ok = ok && (x.known(q) || !o.known(q))
						}
						if !ok {
							break
						}
						m++
						for _, q := range g.qs {
							d := x.v[q] - o.v[q]
							switch q {
							case compare.Heading, compare.Lon, compare.Roll:
								d = frame.WrapPi(d)
							}
							sum[q] += d
						}
					}
					for _, q := range g.qs {
						if o.known(q) && m > 0 {
							o.v[q] += sum[q] / m
						}
					}
				})
			}
			vs = append(vs, v)
		}
	}
	return vs
}

// tidy is the epoch of any message at t, where there is one within a microsecond, so that readings are found again.
func (k *kase) tidy(t float64) float64 {
	for _, b := range k.cmp.Book.Kinds {
		if e := math.Round(t*b.Rate) / b.Rate; math.Abs(e-t) < 1e-6 {
			return e
		}
	}
	return t
}
