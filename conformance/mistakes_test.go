package conformance

import (
	"math"
	"time"

	"swellbench/conformance/observe"
)

// mistakes are one-line defects; check must fail in scenario, by at least five tolerances where it measures. only: no
// other check of those listed in alone may fail with it.
var mistakes = []struct {
	name, scenario, check string
	l                     listener
	also                  string // checks that may fail as well
}{
	{"checksum not looked at, at rest, digits spoilt", "damage-pose", "parse.checksum", listener{noChecksum: true, spoil: true}, "parse.loss time.validity"},
	{"roll sign", "done", "parse.values", listener{tweak: func(r *reading) { scale(*r, "roll", -1) }}, ""},
	{"pitch and roll exchanged", "done", "parse.values", listener{tweak: func(r *reading) {
		p, ok := (*r)["pitch"]
		if ok {
			(*r)["pitch"], (*r)["roll"] = (*r)["roll"], p
		}
	}}, ""},
	{"heave sign", "done", "parse.values", listener{tweak: func(r *reading) { scale(*r, "heave", -1) }}, ""},
	{"knots for m/s", "done", "parse.values", listener{tweak: func(r *reading) { scale(*r, "speed", 3600.0/1852) }}, ""},
	{"rate of turn a minute", "done", "parse.values", listener{tweak: func(r *reading) { scale(*r, "rot", 60) }}, ""},
	{"fix for fix", "done", "parse.values", listener{tweak: func(r *reading) { scale(*r, "fix", 0.5) }}, "outage.fix-state"},
	{"height above the sea", "done", "parse.values", listener{tweak: func(r *reading) { add(*r, "height", -26.85) }}, ""},
	{"mirrored heading", "done", "parse.values", listener{tweak: func(r *reading) {
		if h, ok := (*r)["heading"]; ok {
			(*r)["heading"] = 2*math.Pi - h
		}
	}}, ""},
	{"minutes as decimals", "done", "parse.values", listener{tweak: minutesAsDecimals}, ""},
	{"minutes as decimals, raw", "raw", "parse.values", listener{tweak: minutesAsDecimals}, ""},
	{"single precision", "done", "parse.values", listener{tweak: func(r *reading) {
		for _, k := range []string{"lat", "lon"} {
			if v, ok := (*r)[k]; ok {
				(*r)[k] = float64(float32(v))
			}
		}
	}}, ""},
	{"whole degrees", "done", "parse.values", listener{tweak: func(r *reading) {
		if h, ok := (*r)["heading"]; ok {
			(*r)["heading"] = math.Floor(h*180/math.Pi) * math.Pi / 180
		}
	}}, ""},
	{"south as north", "raw", "parse.hemisphere", listener{tweak: func(r *reading) {
		if v, ok := (*r)["lat"]; ok {
			(*r)["lat"] = math.Abs(v)
		}
	}}, ""},
	{"west as east", "west", "parse.hemisphere", listener{tweak: func(r *reading) {
		if v, ok := (*r)["lon"]; ok {
			(*r)["lon"] = math.Abs(v)
		}
	}}, ""},
	{"west as east, antimeridian", "wrap", "parse.hemisphere", listener{tweak: func(r *reading) {
		if v, ok := (*r)["lon"]; ok {
			(*r)["lon"] = math.Abs(v)
		}
	}}, "offset.lever-arm"},
	{"mounting subtracted", "raw", "offset.mounting", listener{geo: func(f *fix) {
		f.solve()
		f.attitude(func(dh, dp, dr float64, m mat) (h, p, r float64) {
			mh, mp, mr := m.angles()
			return dh - mh, dp - mp, dr - mr
		})
	}}, "offset.baseline"},
	{"mounting the other way", "single", "offset.mounting", listener{geo: func(f *fix) {
		f.solve()
		f.attitude(func(dh, dp, dr float64, m mat) (h, p, r float64) {
			return rot(dh, dp, dr).mulT(mat{{m[0][0], m[1][0], m[2][0]}, {m[0][1], m[1][1], m[2][1]}, {m[0][2], m[1][2], m[2][2]}}).angles()
		})
	}}, ""},
	{"mounting ignored", "raw", "offset.mounting", listener{geo: func(f *fix) {
		f.attitude(func(dh, dp, dr float64, m mat) (h, p, r float64) { return dh, dp, dr })
		h, p, r := f.heading, f.pitch, f.roll
		f.solve()
		f.heading, f.pitch, f.roll = h, p, r
	}}, "offset.baseline"},
	{"lever arm ignored", "raw", "offset.lever-arm", listener{geo: arms(func(f *fix, arm vec) vec { return vec{} })}, ""},
	{"lever arm order", "raw", "offset.lever-arm", listener{geo: arms(func(f *fix, arm vec) vec {
		return rot(f.heading, f.pitch, f.roll).apply(vec{arm[1], arm[0], arm[2]})
	})}, ""},
	{"lever arm not turned", "raw", "offset.lever-arm", listener{geo: arms(func(f *fix, arm vec) vec { return arm })}, ""},
	{"lever arm not tilted", "raw", "offset.lever-arm", listener{geo: arms(func(f *fix, arm vec) vec { return rot(f.heading, 0, 0).apply(arm) })}, ""},
	{"lever arm twice", "entered", "offset.lever-arm", listener{geo: arms(func(f *fix, arm vec) vec {
		return rot(f.heading, f.pitch, f.roll).apply(vec{2 * arm[0], 2 * arm[1], 2 * arm[2]})
	})}, ""},
	{"lever arm backwards", "entered", "offset.lever-arm", listener{geo: arms(func(f *fix, arm vec) vec {
		return rot(f.heading, f.pitch, f.roll).apply(vec{-arm[0], -arm[1], -arm[2]})
	})}, ""},
	{"heave of the sensor", "raw", "offset.heave", listener{geo: func(f *fix) { f.solve(); f.heave = f.at("heave") }}, ""},
	{"heave arm backwards", "entered", "offset.heave", listener{geo: func(f *fix) {
		f.solve()
		_, a := f.arm()
		f.lift(vec{-a[0], -a[1], -a[2]})
	}}, ""},
	{"baseline's azimuth as heading", "raw", "offset.baseline", listener{geo: func(f *fix) { f.solve(); f.heading = f.at("heading") }}, ""},
	{"baseline not tilted", "raw", "offset.baseline", listener{geo: func(f *fix) {
		f.solve()
		b := sub(f.place("antenna-secondary"), f.place("antenna-primary"))
		f.heading = math.Mod(f.at("heading")-math.Atan2(b[0], b[1])+4*math.Pi, 2*math.Pi)
	}}, ""},
	{"stamped on arrival", "raw", "time.validity", listener{stamp: func(_, arrived time.Time) time.Time { return arrived }}, ""},
	{"stamped on arrival, by sentence", "done", "time.validity", listener{perSentence: true, arrival: true, stamp: func(_, arrived time.Time) time.Time { return arrived }}, ""},
	{"stamped on arrival, another date", "midnight", "time.validity", listener{stamp: func(_, arrived time.Time) time.Time { return arrived }}, ""},
	{"leap seconds", "raw", "time.validity", listener{row: func(o *observe.Observation) bool { o.Time = o.Time.Add(18 * time.Second); return true }}, "parse.loss"},
	{"three seconds late", "raw", "time.validity", listener{row: func(o *observe.Observation) bool { o.Time = o.Time.Add(3 * time.Second); return true }}, "parse.loss"},
	{"local time", "raw", "time.validity", listener{row: func(o *observe.Observation) bool {
		o.Time = o.Time.Add(5*time.Hour + 45*time.Minute)
		return true
	}}, ""},
	{"fraction dropped", "raw", "time.validity", listener{row: func(o *observe.Observation) bool { o.Time = o.Time.Truncate(time.Second); return true }}, "parse.loss"},
	{"one epoch late", "raw", "time.validity", listener{row: func(o *observe.Observation) bool { o.Time = o.Time.Add(100 * time.Millisecond); return true }}, "parse.loss"},
	{"date of the last day", "midnight", "time.midnight", listener{row: func(o *observe.Observation) bool {
		if o.Time.Day() == 1 {
			o.Time = o.Time.Add(-24 * time.Hour)
		}
		return true
	}}, ""},
	{"date of the next day", "midnight", "time.midnight", listener{row: func(o *observe.Observation) bool {
		if o.Time.Day() == 31 {
			o.Time = o.Time.Add(24 * time.Hour)
		}
		return true
	}}, ""},
	{"stale for null", "blocked", "parse.null", listener{tweak: stale()}, ""},
	{"zero for null", "blocked", "parse.null", listener{tweak: func(r *reading) {
		for k, v := range *r {
			if math.IsNaN(v) {
				(*r)[k] = 0
			}
		}
	}}, ""},
	{"stale heading for null", "blocked", "parse.null", listener{perSentence: true, arrival: true, tweak: func() func(*reading) {
		s := stale()
		return func(r *reading) {
			if _, ok := (*r)["heading"]; ok {
				s(r)
			}
		}
	}()}, ""},
	{"fix kept", "blocked", "parse.null", listener{row: func(o *observe.Observation) bool {
		if o.Fix.Said() {
			o.Fix = observe.Of(fixOf[4])
		}
		return true
	}}, "parse.values"}, // after the outage the fix is float before it is fixed
	{"checksum not looked at", "damage", "parse.checksum", listener{noChecksum: true}, ""},
	{"checksum not looked at, raw", "damage-raw", "parse.checksum", listener{noChecksum: true}, ""},
	{"checksum not looked at, by sentence", "damage", "parse.checksum", listener{noChecksum: true, perSentence: true, arrival: true}, ""},
	{"every third epoch lost", "raw", "parse.loss", listener{row: everyNth(3, false)}, ""},
	{"one epoch in five", "raw", "parse.loss", listener{row: everyNth(5, true)}, ""},
	{"one epoch lost", "raw", "parse.loss", listener{row: func() func(*observe.Observation) bool {
		n := 0
		return func(*observe.Observation) bool { n++; return n != 40 }
	}()}, ""},
	{"null for a value", "raw", "parse.loss", listener{row: func(o *observe.Observation) bool { o.HeadingRad = observe.Null[float64](); return true }}, ""},
	{"an epoch invented", "raw", "parse.loss", listener{row: func() func(*observe.Observation) bool {
		n := 0
		return func(o *observe.Observation) bool {
			n++
			if n%20 == 0 {
				o.Time = o.Time.Add(47 * time.Millisecond)
				o.LatRad, o.HeightM = observe.Of(-0.3), observe.Of(12.0)
			}
			return true
		}
	}()}, "parse.values offset.lever-arm"},
	{"heading averaged through the wrap", "wrap", "parse.wrap", listener{row: func(o *observe.Observation) bool {
		if h, ok := o.HeadingRad.Value(); ok && (h < 0.02 || h > 2*math.Pi-0.02) {
			o.HeadingRad = observe.Of(math.Pi)
		}
		return true
	}}, "offset.baseline"},
	{"heading below zero", "wrap", "parse.wrap", listener{row: func(o *observe.Observation) bool {
		if h, ok := o.HeadingRad.Value(); ok && h > math.Pi {
			o.HeadingRad = observe.Of(h - 2*math.Pi)
		}
		return true
	}}, ""},
	{"longitude to 360", "wrap", "parse.wrap", listener{row: func(o *observe.Observation) bool {
		if h, ok := o.LonRad.Value(); ok && h < 0 {
			o.LonRad = observe.Of(h + 2*math.Pi)
		}
		return true
	}}, ""},
}

func scale(r reading, key string, k float64) {
	if v, ok := r[key]; ok {
		r[key] = v * k
	}
}

func add(r reading, key string, d float64) {
	if v, ok := r[key]; ok {
		r[key] = v + d
	}
}

func minutesAsDecimals(r *reading) {
	for _, k := range []string{"lat", "lon"} {
		if v, ok := (*r)[k]; ok && !math.IsNaN(v) {
			d := math.Abs(v) * 180 / math.Pi
			w := math.Floor(d)
			(*r)[k] = math.Copysign(w+(d-w)*0.6, v) * math.Pi / 180
		}
	}
}

func arms(enu func(f *fix, arm vec) vec) func(*fix) {
	return func(f *fix) {
		f.solve()
		a, _ := f.arm()
		f.carry(enu(f, a))
	}
}

func stale() func(*reading) {
	last := reading{}
	return func(r *reading) {
		for k, v := range *r {
			if old, ok := last[k]; ok && math.IsNaN(v) {
				(*r)[k] = old
			} else if !math.IsNaN(v) {
				last[k] = v
			}
		}
	}
}

// everyNth drops each n-th row, or keeps only those.
func everyNth(n int, only bool) func(*observe.Observation) bool {
	i := 0
	return func(*observe.Observation) bool { i++; return (i%n == 0) == only }
}
