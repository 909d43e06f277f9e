package consumer

import (
	"math"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// outageDefects are those of the state of the fix, and of what is shown while there is nothing to show.
var outageDefects = []Defect{
	{"stale-for-null", "keeps the last value where a field is null", Gather, "outage.stale", "lost-fix-keeps-last-position", staleForNull},
	{"heading-kept", "keeps the last heading when the second antenna is lost", Gather, "outage.stale", "lost-fix-keeps-last-position", headingKept},
	{"void-believed", "believes a position beside a status that calls it void", Read, "outage.void", "void-status-believed", voidBelieved},
	{"zero-position", "takes a position that is not there for 0° N 0° E", Read, "outage.zero", "blank-read-as-zero", zeroPosition},
	{"fix-any-is-fixed", "takes every state but no fix for RTK fixed", Publish, "outage.fix-state", "fix-ignored", fixes(func(f wire.Fix) wire.Fix { return wire.FixRTKFixed })},
	{"float-for-fixed", "takes RTK float for RTK fixed", Publish, "outage.fix-state", "fix-ignored", fixes(floatForFixed)},
	{"fix-never-changes", "stays with the first state of the fix that it has heard", Publish, "outage.fix-state", "fix-ignored", fixNeverChanges},
	{"estimated-for-fix", "takes dead reckoning for a fix", Publish, "outage.estimated", "fix-ignored", fixes(estimatedForFix)},
	{"outage-bridged", "joins the last position before an outage to the first after it by a straight line", Publish, "outage.reacquire", "reacquisition-bridged", outageBridged},
	{"jump-smeared", "slides over a jump of the position instead of showing it", Publish, "outage.reacquire", "reacquisition-bridged", jumpSmeared},
	{"slow-return", "shows no position for 2 s after an outage", Publish, "outage.reacquire", "return-held-back", slowReturn},
	{"no-return", "shows no position any more after an outage", Publish, "outage.reacquire", "return-held-back", noReturn},
	{"silent-link-still-live", "shows the last values again and again while nothing comes", Publish, "line.silence", "silent-link-still-live", silentLinkStillLive},
}

// held makes a defect that goes on with the last value where one of the quantities is null.
func held(qs ...quantity) func(*stages) {
	return func(s *stages) {
		gather := s.gather
		var last [quantities]value
		s.gather = func(e *epoch) {
			gather(e)
			for _, q := range qs {
				switch v := &e.values[q]; {
				case v.known:
					last[q] = *v
				case v.said && last[q].known:
					*v = last[q]
				}
			}
		}
	}
}

func staleForNull(s *stages) {
	var all []quantity
	for q := range quantities {
		all = append(all, q)
	}
	held(all...)(s)
}

func headingKept(s *stages) { held(heading)(s) }

func voidBelieved(s *stages) {
	read := s.read
	s.read = func(m *message) {
		if m.values[latitude].known && m.fix.Or(wire.FixNone) == wire.FixNone {
			m.fix = opt.Of(wire.FixAutonomous)
		}
		read(m)
	}
}

func zeroPosition(s *stages) {
	reading(s, func(m *message) {
		if lat, lon := &m.values[latitude], &m.values[longitude]; lat.said && !lat.known {
			*lat, *lon = number(0), number(0)
		}
	})
}

// fixes makes a defect that changes the state of the fix, where there is one.
func fixes(f func(wire.Fix) wire.Fix) func(*stages) {
	return func(s *stages) {
		publishing(s, func(o *observation) {
			if fix, ok := o.fix.Value(); ok && fix != wire.FixNone {
				o.fix = opt.Of(f(fix))
			}
		})
	}
}

func floatForFixed(f wire.Fix) wire.Fix {
	if f == wire.FixRTKFloat {
		return wire.FixRTKFixed
	}
	return f
}

func estimatedForFix(f wire.Fix) wire.Fix {
	if f == wire.FixEstimated {
		return wire.FixDifferential
	}
	return f
}

func fixNeverChanges(s *stages) {
	var first opt.Opt[wire.Fix]
	publishing(s, func(o *observation) {
		if !first.Has() {
			first = o.fix
		}
		if o.fix.Has() {
			o.fix = first
		}
	})
}

func outageBridged(s *stages) {
	publish := s.publish
	var last observation
	var gap []observation
	s.publish = func(o *observation, emit func(*observation)) {
		switch {
		case o.lat.said && !o.lat.known && last.lat.known:
			gap = append(gap, *o)
			return
		case o.lat.known:
			whole := o.time.Sub(last.time).Seconds()
			for i := range gap {
				g := &gap[i]
				f := g.time.Sub(last.time).Seconds() / whole
				g.lat = number(last.lat.x + f*(o.lat.x-last.lat.x))
				g.lon = number(last.lon.x + f*frame.WrapPi(o.lon.x-last.lon.x))
				if o.height.known && last.height.known {
					g.height = number(last.height.x + f*(o.height.x-last.height.x))
				}
				publish(g, emit)
			}
			last, gap = *o, nil
		}
		publish(o, emit)
	}
}

// jumpSmeared goes on from where it was going, and lets what it is off shrink by an eighth an epoch.
func jumpSmeared(s *stages) {
	const jump, perRad = 2.0, 6.371e6 // m
	var last, step, off [2]float64
	var at time.Time
	var n int
	publishing(s, func(o *observation) {
		if !o.lat.known || !o.lon.known {
			return
		}
		now := [2]float64{o.lat.x, o.lon.x}
		if o.time.Sub(at) > time.Second {
			n = 0
		}
		if n > 1 {
			north := (last[0] + step[0] - now[0]) * perRad
			east := frame.WrapPi(last[1]+step[1]-now[1]) * perRad * math.Cos(now[0])
			if math.Hypot(north, east) > jump {
				off = [2]float64{off[0] + last[0] + step[0] - now[0], off[1] + frame.WrapPi(last[1]+step[1]-now[1])}
				n = 0
			}
		}
		if n > 0 {
			step = [2]float64{now[0] - last[0], frame.WrapPi(now[1] - last[1])}
		}
		n++
		last, at = now, o.time
		o.lat.x, o.lon.x = now[0]+off[0], frame.WrapPi(now[1]+off[1])
		off[0], off[1] = off[0]*7/8, off[1]*7/8
	})
}

// after makes a defect that shows no position for a while once one was missing.
func after(hold time.Duration) func(*stages) {
	return func(s *stages) {
		var back time.Time
		shown, out := false, false
		publishing(s, func(o *observation) {
			if !o.lat.said {
				return
			}
			switch {
			case !o.lat.known:
				out = shown
			case out:
				out, back = false, o.time
			}
			shown = shown || o.lat.known
			if o.lat.known && !back.IsZero() && o.time.Sub(back) < hold {
				o.lat, o.lon, o.height = null, null, null
			}
		})
	}
}

func slowReturn(s *stages) { after(2 * time.Second)(s) }

func noReturn(s *stages) { after(24 * time.Hour)(s) }

func silentLinkStillLive(s *stages) {
	const again = 100 * time.Millisecond
	publish := s.publish
	var last observation
	s.publish = func(o *observation, emit func(*observation)) {
		if !last.time.IsZero() && o.time.Sub(last.time) < time.Minute {
			for t := last.time.Add(3 * again); t.Before(o.time.Add(-again / 2)); t = t.Add(again) {
				x := last
				x.time = t
				publish(&x, emit)
			}
		}
		last = *o
		publish(o, emit)
	}
}
