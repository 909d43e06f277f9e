package diagnose

import (
	"swellbench/conformance/compare"
	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
)

// groups of fields that come and go together.
var fieldGroups = []struct {
	name string
	fs   []field
}{
	{"all values", []field{rLat, rLon, rAlt, rUnd, rSpeed, rCourse, rHeading, rPitch, rRoll, rHeave, rTurn}},
	{"position", []field{rLat, rLon, rAlt, rUnd}},
	{"position, speed and course", []field{rLat, rLon, rAlt, rUnd, rSpeed, rCourse}},
	{"speed and course", []field{rSpeed, rCourse}},
	{"heading", []field{rHeading}},
	{"pitch, roll and heave", []field{rPitch, rRoll, rHeave}},
	{"rate of turn", []field{rTurn}},
}

// when tells whether anything of these fields is missing at one of the rows, so that there is anything to find.
func (k *kase) gaps(fs []field) bool {
	for i := range k.rows {
		r := k.raw(k.at(k.rows[i].s))
		for _, f := range fs {
			if k.brings(f) && !r.known(f) {
				return true
			}
		}
	}
	return false
}

// voids tells whether a position is called void at one of the rows.
func (k *kase) voids() bool {
	for i := range k.rows {
		r := k.raw(k.at(k.rows[i].s))
		if r.voided {
			return true
		}
	}
	return false
}

func (k *kase) brings(f field) bool {
	if f == rUnd {
		return k.carried[compare.Height]
	}
	for _, x := range wireOf {
		if x.f == f {
			return k.carried[x.q]
		}
	}
	return false
}

// missing fills fields in that have no value.
func missing(id, slot string, f func(c *context, r *raw, x field)) func(*kase) []variant {
	return func(k *kase) (vs []variant) {
		for i, g := range fieldGroups {
			if !k.gaps(g.fs) {
				continue
			}
			v := fixed(g.name, slot+" "+g.name, func(p *pipeline) {
				p.gather = append(p.gather, func(c *context, r *raw) {
					var was = *r
					for _, x := range g.fs {
						if c.k.brings(x) && !was.known(x) {
							f(c, r, x)
						}
					}
				})
			})
			v.slot = slot
			if i > 0 {
				v.extra = 0.5
			}
			vs = append(vs, v)
		}
		return vs
	}
}

// shown does the same to what is published.
func shown(f func(c *context, o *out, q compare.Q)) func(k *kase) []variant {
	return func(k *kase) []variant {
		any := false
		for _, g := range fieldGroups {
			any = any || k.gaps(g.fs)
		}
		if !any {
			return nil
		}
		v := fixed("all values", "gap", func(p *pipeline) {
			p.publish = append(p.publish, func(c *context, _ *raw, o *out) {
				for q := range compare.NQ {
					if c.k.carried[q] && !o.known(q) {
						f(c, o, q)
					}
				}
			})
		})
		v.extra = 0.5
		return []variant{v}
	}
}

// What programs get wrong of states: what is not known, and what the fix is.
var stateHypotheses = []hypothesis{
	{"lost-fix-keeps-last-position", "Where the device has no value it goes on showing the last one (%s).", "Take an empty field for: not known. Clear the value, or show it as old, from the first message that has none.",
		func(k *kase) []variant {
			vs := missing("stale", "gap", func(c *context, r *raw, x field) {
				if t, ok := c.k.lastKnown(x, c.t); ok {
					o := c.k.raw(t)
					r.put(x, o.v[x])
				}
			})(k)
			// and what it had published, whatever came in since
			y := shown(func(c *context, o *out, q compare.Q) {
				f := rLat
				for _, w := range wireOf {
					if w.q == q {
						f = w.f
					}
				}
				if t, ok := c.k.lastKnown(f, c.t); ok {
					at := context{k: c.k, row: c.row, t: t}
					p := correct()
					x := p.run(&at)
					if x.known(q) {
						o.put(q, x.v[q])
					}
				}
			})(k)
			return append(vs, y...)
		}},
	{"void-status-believed", "It takes a position for good that its message calls void%s.", "Look at the status of each message first: quality 0 in GGA, V in RMC and GLL mean that whatever stands in the position fields is no position.",
		func(k *kase) (vs []variant) {
			if !k.voids() {
				return nil
			}
			for _, fix := range []struct {
				label string
				f     func(wire.Fix) wire.Fix
			}{
				{"", func(wire.Fix) wire.Fix { return wire.FixAutonomous }},
				{", and passes the status on all the same", func(f wire.Fix) wire.Fix { return f }},
			} {
				vs = append(vs, fixed(fix.label, "gap position", func(p *pipeline) {
					p.gather = append(p.gather, func(c *context, r *raw) {
						if !r.voided || r.known(rLat) {
							return
						}
						for i, f := range []field{rLat, rLon, rAlt, rUnd} {
							if f < rAlt || c.k.carried[compare.Height] {
								r.put(f, r.void[i])
							}
						}
						r.fix = fix.f(r.fix)
					})
				}))
			}
			return vs
		}},
	{"blank-read-as-zero", "It takes an empty field for zero (%s).", "Tell an empty field from the digit 0: where nothing stands, nothing is known.",
		func(k *kase) []variant {
			vs := missing("zero", "gap", func(_ *context, r *raw, x field) { r.put(x, 0) })(k)
			ys := shown(func(_ *context, o *out, q compare.Q) { o.put(q, 0) })(k)
			return append(vs, ys...)
		}},
	{"reacquisition-bridged", "It invents positions where there is no fix: %s.", "Do not join what lies on both sides of an outage; show that nothing is known in between.",
		func(k *kase) []variant {
			if !k.gaps([]field{rLat}) {
				return nil
			}
			bridge := fixed("a straight line from the last one to the next", "gap", func(p *pipeline) {
				p.gather = append(p.gather, func(c *context, r *raw) {
					if r.known(rLat) {
						return
					}
					a, ok1 := c.k.lastKnown(rLat, c.t)
					b, ok2 := c.k.nextKnown(rLat, c.t)
					if !ok1 || !ok2 || b <= a {
						return
					}
					x, y, f := c.k.raw(a), c.k.raw(b), (c.t-a)/(b-a)
					for _, i := range []field{rLat, rAlt, rUnd} {
						r.put(i, x.v[i]+f*(y.v[i]-x.v[i]))
					}
					r.put(rLon, frame.WrapPi(x.v[rLon]+f*frame.WrapPi(y.v[rLon]-x.v[rLon])))
				})
			})
			dead := fixed("it goes on from the last one with the last speed and course", "gap", func(p *pipeline) {
				p.gather = append(p.gather, func(c *context, r *raw) {
					if r.known(rLat) {
						return
					}
					a, ok := c.k.lastKnown(rLat, c.t)
					if !ok {
						return
					}
					step := c.k.epochOf(compare.Lat)
					x, y := c.k.raw(a), c.k.raw(c.k.tidy(a-step))
					if !y.known(rLat) {
						return
					}
					f := (c.t - a) / step
					for _, i := range []field{rLat, rAlt} {
						r.put(i, x.v[i]+f*(x.v[i]-y.v[i]))
					}
					r.put(rUnd, x.v[rUnd])
					r.put(rLon, frame.WrapPi(x.v[rLon]+f*frame.WrapPi(x.v[rLon]-y.v[rLon])))
				})
			})
			return []variant{bridge, dead}
		}},
	{"course-shown-for-lost-heading", "Without a heading it shows the course over ground as one.", "A heading that is lost is not known: the course is another angle.",
		func(k *kase) []variant {
			if !k.gaps([]field{rHeading}) || !k.carried[compare.Course] {
				return nil
			}
			return []variant{fixed("", "gap heading", func(p *pipeline) {
				p.publish = append(p.publish, func(_ *context, r *raw, o *out) {
					if !r.known(rHeading) && r.known(rCourse) {
						o.put(compare.Heading, r.v[rCourse])
					}
				})
			})}
		}},
	{"value-not-passed-on", "It gives no %s though the messages bring it.", "Look for why the value is dropped: a field read as empty, a flag taken the wrong way round, an installation that it could not apply.",
		func(k *kase) (vs []variant) {
			for _, p := range pairsOf {
				if !k.carried[p.q] {
					continue
				}
				vs = append(vs, fixed(p.name, p.name+" said", says(func(o *out) { o.has &^= 1 << p.q })))
			}
			return append(vs, fixed("position", "position said", says(func(o *out) { o.has &^= 1<<compare.Lat | 1<<compare.Lon | 1<<compare.Height })))
		}},
	{"fix-ignored", "%s", "Take the state of the fix from every message: 0 none, 1 autonomous, 2 differential, 4 RTK fixed, 5 RTK float, 6 estimated, 7 manual, 8 simulated.", fixStates},
}

// fixStates are the wrong ways of reading the state of the fix.
func fixStates(k *kase) []variant {
	if !k.fix {
		return nil
	}
	var vs []variant
	add := func(id, label string, f func(c *context, x wire.Fix) wire.Fix) {
		vs = append(vs, fixed(label, "fix", func(p *pipeline) {
			p.publish = append(p.publish, func(c *context, _ *raw, o *out) { o.fix = f(c, o.fix) })
		}))
	}
	shownFor := map[wire.Fix]wire.Fix{} // what is shown for a state that is another
	for i := range k.rows {
		if r := &k.rows[i]; r.fixBad {
			if was := k.raw(k.at(r.s)).fix; shownFor[was] == wire.FixNone {
				shownFor[was] = r.fix
			}
		}
	}
	measured := func(from wire.Fix) wire.Fix {
		if to := shownFor[from]; compare.Measured(to) && to != wire.FixNone {
			return to
		}
		return wire.FixAutonomous
	}
	for _, x := range []struct {
		from, to wire.Fix
		label    string
	}{
		{wire.FixRTKFloat, wire.FixRTKFixed, "It takes an RTK float solution for a fixed one."},
		{wire.FixRTKFixed, wire.FixRTKFloat, "It takes an RTK fixed solution for a float one."},
		{wire.FixEstimated, measured(wire.FixEstimated), "It takes an estimated (dead-reckoned) position for a measured one."},
		{wire.FixSimulated, measured(wire.FixSimulated), "It takes a simulated position for a measured one."},
		{wire.FixManual, measured(wire.FixManual), "It takes a position entered by hand for a measured one."},
		{wire.FixNone, measured(wire.FixNone), "It takes a position without a fix for a measured one: the status is ignored."},
		{wire.FixPrecise, wire.FixAutonomous, "It takes a precise position for an autonomous one."},
		{wire.FixDifferential, wire.FixAutonomous, "It takes a differential position for an autonomous one."},
	} {
		add("", x.label, func(_ *context, f wire.Fix) wire.Fix {
			if f == x.from {
				return x.to
			}
			return f
		})
	}
	add("", "It exchanges RTK fixed and RTK float.", func(_ *context, f wire.Fix) wire.Fix {
		switch f {
		case wire.FixRTKFixed:
			return wire.FixRTKFloat
		case wire.FixRTKFloat:
			return wire.FixRTKFixed
		}
		return f
	})
	add("", "It keeps the state of the fix that it had first.", func(c *context, _ wire.Fix) wire.Fix { return c.k.raw(0).fix })
	add("", "It keeps the last state of the fix when the fix is lost.", func(c *context, f wire.Fix) wire.Fix {
		if f != wire.FixNone {
			return f
		}
		if t, ok := c.k.lastKnown(rLat, c.t); ok {
			return c.k.raw(t).fix
		}
		return f
	})
	seen := map[wire.Fix]bool{}
	for i := range k.rows {
		r := &k.rows[i]
		if r.fixBad && !seen[r.fix] {
			seen[r.fix] = true
			add("", "It says the fix is "+r.fix.String()+" whatever it is.", func(*context, wire.Fix) wire.Fix { return r.fix })
			vs[len(vs)-1].extra = 1
		}
	}
	return vs
}
