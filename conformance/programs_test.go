package conformance

import (
	"math"
	"strings"
	"time"

	"swellbench/conformance/observe"
	"swellbench/emulator/line"
	"swellbench/emulator/wire"
)

// A program is a consumer whose stages can be spoilt one by one, for the tests of the diagnosis. It shares nothing with
// the pipelines of package diagnose: plain matrices, and values as read from the sentences.
type program struct {
	tweak    []func(*reading)
	mount    func(dh, dp, dr float64, m mat) (h, p, r float64)
	baseline func(azimuth, pitch, roll float64, b vec) float64
	shown    bool // mount and baseline are spoilt in what is published only
	arm      []func(vec) vec
	turn     func(h, p, r float64, arm vec) vec
	turnBy   func(f *fix) (h, p, r float64)
	carry    func(f *fix, enu vec)
	lift     func(f *fix, arm vec)
	publish  []func(*fix, *observe.Observation)
	row      []func(*observe.Observation) bool
	stamp    func(valid, arrived time.Time) time.Time
	deaf     func(line.Sent) bool
	gullible bool // believes every checksum
}

func rightHeading(azimuth, pitch, roll float64, b vec) float64 {
	v := rot(0, pitch, roll).apply(b)
	return math.Mod(azimuth-math.Atan2(v[0], v[1])+4*math.Pi, 2*math.Pi)
}

func rightTurn(h, p, r float64, arm vec) vec { return rot(h, p, r).apply(arm) }

// listener makes the listener of the program.
func (pr *program) listener(b *bench) listener {
	l := listener{b: b, stamp: pr.stamp, deaf: pr.deaf, noChecksum: pr.gullible}
	l.tweak = func(r *reading) {
		for _, f := range pr.tweak {
			f(r)
		}
	}
	l.geo = func(f *fix) {
		mount, base, turn := pr.mount, pr.baseline, pr.turn
		if mount == nil {
			mount = compose
		}
		if base == nil {
			base = rightHeading
		}
		if turn == nil {
			turn = rightTurn
		}
		orient := func(mount func(dh, dp, dr float64, m mat) (h, p, r float64), base func(a, p, r float64, b vec) float64) {
			f.two(mount, base)
		}
		orient(mount, base)
		sh, sp, sr := f.heading, f.pitch, f.roll
		if pr.shown {
			orient(compose, rightHeading)
		}
		arm, lift := f.arm()
		for _, g := range pr.arm {
			arm = g(arm)
		}
		h, p, r := f.heading, f.pitch, f.roll
		if pr.turnBy != nil {
			h, p, r = pr.turnBy(f)
		}
		enu := vec{}
		if arm != enu {
			enu = turn(h, p, r, arm)
		}
		if pr.carry != nil {
			pr.carry(f, enu)
		} else {
			f.carry(enu)
		}
		if pr.lift != nil {
			pr.lift(f, lift)
		} else if lift == (vec{}) {
			f.heave = f.at("heave")
		} else {
			f.lift(lift)
		}
		f.heading, f.pitch, f.roll = sh, sp, sr
	}
	l.after = func(f *fix, o *observe.Observation) {
		for _, g := range pr.publish {
			g(f, o)
		}
	}
	if len(pr.row) > 0 {
		l.row = func(o *observe.Observation) bool {
			for _, g := range pr.row {
				if !g(o) {
					return false
				}
			}
			return true
		}
	}
	return l
}

// two brings device angles to the vessel, and the baseline's azimuth to its heading.
func (f *fix) two(mount func(dh, dp, dr float64, m mat) (h, p, r float64), base func(a, p, r float64, b vec) float64) {
	in := &f.l.b.dev.Scenario().Installation
	f.heading, f.pitch, f.roll = f.at("heading"), f.at("pitch"), f.at("roll")
	_, two := in.Points["antenna-secondary"]
	if in.Entered.Mounting == nil {
		m := rot(float64(in.Mounting.Heading), float64(in.Mounting.Pitch), float64(in.Mounting.Roll))
		h := f.heading
		if two {
			h = 0
		}
		var vh float64
		vh, f.pitch, f.roll = mount(h, f.pitch, f.roll, m)
		if !two {
			f.heading = vh
		}
	}
	if two && in.Entered.Antennas == nil && in.Entered.Baseline == nil {
		f.heading = base(f.heading, f.pitch, f.roll, sub(f.place("antenna-secondary"), f.place("antenna-primary")))
	}
}

func each(names string, f func(float64) float64) func(*reading) {
	return func(r *reading) {
		for _, n := range splitWords(names) {
			if v, ok := (*r)[n]; ok && !math.IsNaN(v) {
				(*r)[n] = f(v)
			}
		}
	}
}

func splitWords(s string) (out []string) {
	for len(s) > 0 {
		i := 0
		for i < len(s) && s[i] != ' ' {
			i++
		}
		out = append(out, s[:i])
		s = s[min(len(s), i+1):]
	}
	return out
}

func timesOf(k float64) func(float64) float64 { return func(x float64) float64 { return k * x } }
func plus(k float64) func(float64) float64    { return func(x float64) float64 { return x + k } }

func put(q wire.Quantity, f func(float64) float64) func(*fix, *observe.Observation) {
	return func(_ *fix, o *observe.Observation) {
		set := func(x *observe.Field[float64]) {
			if v, ok := x.Value(); ok {
				*x = observe.Of(f(v))
			}
		}
		switch q {
		case wire.Latitude:
			set(&o.LatRad)
		case wire.Longitude:
			set(&o.LonRad)
		case wire.Height:
			set(&o.HeightM)
		case wire.Heading:
			set(&o.HeadingRad)
		case wire.Pitch:
			set(&o.PitchRad)
		case wire.Roll:
			set(&o.RollRad)
		case wire.Heave:
			set(&o.HeaveM)
		case wire.Speed:
			set(&o.SpeedMS)
		case wire.Course:
			set(&o.CourseRad)
		}
	}
}

// lateBy replaces values by those of an earlier time, as a filter or a wrong stamp would.
func lateBy(b **bench, names string, late float64) func(*reading) {
	return func(r *reading) {
		t := (*r)["_t"] - late
		w := (*b).dev.Ideal(t)
		if e := math.Round(t*20) / 20; math.Abs(e-t) < 1e-9 { // an epoch: with the noise that was sent
			w = (*b).dev.Reading(e)
		}
		for _, n := range splitWords(names) {
			if _, ok := (*r)[n]; !ok {
				continue
			}
			switch n {
			case "heading":
				(*r)[n] = w.Heading.Or(math.NaN())
			case "pitch":
				(*r)[n] = w.Pitch.Or(math.NaN())
			case "roll":
				(*r)[n] = w.Roll.Or(math.NaN())
			case "heave":
				(*r)[n] = w.HeaveM.Or(math.NaN())
			case "speed":
				(*r)[n] = w.SpeedMS.Or(math.NaN())
			case "course":
				(*r)[n] = w.CourseRad.Or(math.NaN())
			case "lat":
				if p, ok := w.Position.Value(); ok {
					(*r)[n] = p.Lat
				}
			case "lon":
				if p, ok := w.Position.Value(); ok {
					(*r)[n] = p.Lon
				}
			case "height":
				if p, ok := w.Position.Value(); ok {
					(*r)[n] = p.Height
				}
			}
		}
	}
}

func shiftStamps(d time.Duration) func(*observe.Observation) bool {
	return func(o *observe.Observation) bool { o.Time = o.Time.Add(d); return true }
}

const degree = math.Pi / 180

// A seededMistake is one mistake, where it shows, and what it is to be called: one of the ids.
type seededMistake struct {
	name   string
	group  string // two of one group are not combined
	on     string // scenarios where it shows, of raw, single, entered, blocked, wrap
	want   string
	spoil  func(p *program, b **bench)
	single bool // not for pairs
}

func arms3(f func(a vec) vec) func(*program, **bench) {
	return func(p *program, _ **bench) { p.arm = append(p.arm, f) }
}

func turns(f func(h, p, r float64, a vec) vec) func(*program, **bench) {
	return func(p *program, _ **bench) { p.turn = f }
}

func mounts(f func(dh, dp, dr float64, m mat) (h, p, r float64), shown bool) func(*program, **bench) {
	return func(p *program, _ **bench) { p.mount = f; p.shown = p.shown || shown }
}

func bases(f func(a, p, r float64, b vec) float64, shown bool) func(*program, **bench) {
	return func(p *program, _ **bench) { p.baseline = f; p.shown = p.shown || shown }
}

func tweaks(f func(*reading)) func(*program, **bench) {
	return func(p *program, _ **bench) { p.tweak = append(p.tweak, f) }
}

func pubs(f func(*fix, *observe.Observation)) func(*program, **bench) {
	return func(p *program, _ **bench) { p.publish = append(p.publish, f) }
}

func rows(f func(*observe.Observation) bool) func(*program, **bench) {
	return func(p *program, _ **bench) { p.row = append(p.row, f) }
}

func transpose(m mat) mat {
	return mat{{m[0][0], m[1][0], m[2][0]}, {m[0][1], m[1][1], m[2][1]}, {m[0][2], m[1][2], m[2][2]}}
}

const everyScenario = "raw single entered"

// seededMistakes are what the diagnosis has to name first.
var seededMistakes = []seededMistake{
	{"roll sign", "tilt", everyScenario, "attitude-sign-reversed", tweaks(each("roll", timesOf(-1))), false},
	{"pitch sign", "tilt", everyScenario, "attitude-sign-reversed", tweaks(each("pitch", timesOf(-1))), false},
	{"roll sign published", "tilt", everyScenario, "attitude-sign-reversed", pubs(put(wire.Roll, timesOf(-1))), false},
	{"pitch sign published", "tilt", everyScenario, "attitude-sign-reversed", pubs(put(wire.Pitch, timesOf(-1))), false},
	{"roll and pitch exchanged", "tilt", everyScenario, "roll-and-pitch-exchanged", tweaks(func(r *reading) {
		if p, ok := (*r)["pitch"]; ok {
			(*r)["pitch"], (*r)["roll"] = (*r)["roll"], p
		}
	}), false},
	{"heave sign", "heave", everyScenario, "heave-sign-reversed", tweaks(each("heave", timesOf(-1))), false},
	{"heave sign published", "heave", everyScenario, "heave-sign-reversed", pubs(put(wire.Heave, timesOf(-1))), false},
	{"heave feet", "heave", everyScenario, "length-unit-confused", tweaks(each("heave", timesOf(1/0.3048))), false},
	{"heave not carried", "heave", everyScenario, "heave-taken-at-the-wrong-point", func(p *program, _ **bench) {
		p.lift = func(f *fix, _ vec) { f.heave = f.at("heave") }
	}, false},
	{"heave carried backwards", "heave", everyScenario, "heave-taken-at-the-wrong-point", func(p *program, _ **bench) {
		p.lift = func(f *fix, a vec) { f.lift(vec{-a[0], -a[1], -a[2]}) }
	}, false},
	{"heading as math angle", "heading", everyScenario, "compass-angle-versus-math-angle", tweaks(each("heading", func(h float64) float64 { return math.Mod(2.5*math.Pi-h, 2*math.Pi) })), false},
	{"heading mirrored published", "heading", everyScenario, "compass-angle-versus-math-angle", pubs(put(wire.Heading, func(h float64) float64 { return 2*math.Pi - h })), false},
	{"magnetic for true", "heading", everyScenario, "magnetic-used-as-true", tweaks(each("heading", plus(22.6*degree))), false},
	{"variation twice", "heading", everyScenario, "variation-sign-reversed", tweaks(each("heading", plus(-45.2*degree))), false},
	{"heading turned round", "heading", everyScenario, "heading-turned-round antenna-pair-offset-wrong", tweaks(each("heading", plus(math.Pi))), false},
	{"course for heading", "heading", everyScenario, "course-shown-as-heading", func(p *program, _ **bench) {
		p.publish = append(p.publish, func(f *fix, o *observe.Observation) {
			if v := f.at("course"); !math.IsNaN(v) {
				o.HeadingRad = observe.Of(v)
			}
		})
	}, false},
	{"radians published", "tilt", everyScenario, "angle-unit-confused", pubs(func(f *fix, o *observe.Observation) {
		put(wire.Roll, timesOf(degree))(f, o)
		put(wire.Pitch, timesOf(degree))(f, o)
	}), false},
	{"heading in radians", "heading", everyScenario, "angle-unit-confused", pubs(put(wire.Heading, timesOf(degree))), false},
	{"knots", "speed", everyScenario, "speed-unit-confused", tweaks(each("speed", timesOf(3600.0/1852))), false},
	{"km/h", "speed", everyScenario, "speed-unit-confused", tweaks(each("speed", timesOf(3.6))), false},
	{"rate of turn a minute", "turn rate", everyScenario, "rate-of-turn-unit-confused", tweaks(each("rot", timesOf(60))), false},
	{"rate of turn sign", "turn rate", everyScenario, "rate-of-turn-sign-reversed", tweaks(each("rot", timesOf(-1))), false},
	{"height above the sea", "height", everyScenario, "height-reference-not-converted", tweaks(each("height", plus(-26.85))), false},
	{"undulation reversed", "height", everyScenario, "geoid-separation-reversed", tweaks(each("height", plus(-53.7))), false},
	{"height in feet", "height", everyScenario, "length-unit-confused", pubs(put(wire.Height, timesOf(1/0.3048))), false},
	{"south as north", "position", everyScenario, "hemisphere-letter-dropped", tweaks(each("lat", math.Abs)), false},
	{"minutes as hundredths", "position", everyScenario, "minutes-read-as-degree-fraction", tweaks(minutesAsDecimals), false},
	{"single precision", "position", everyScenario, "position-in-single-precision", pubs(func(f *fix, o *observe.Observation) {
		single := func(x float64) float64 { return float64(float32(x*180/math.Pi)) * degree }
		put(wire.Latitude, single)(f, o)
		put(wire.Longitude, single)(f, o)
	}), false},
	{"three decimals of minutes", "position", everyScenario, "decimals-cut", tweaks(each("lat lon", func(x float64) float64 {
		return math.Copysign(math.Floor(math.Abs(x)/degree*60000)/60000*degree, x)
	})), false},
	{"whole degrees of heading", "heading", everyScenario, "decimals-cut", pubs(put(wire.Heading, func(h float64) float64 { return math.Floor(h/degree) * degree })), false},
	{"mounting subtracted", "mount", "raw single", "mount-angles-subtracted", mounts(func(dh, dp, dr float64, m mat) (h, p, r float64) {
		mh, mp, mr := m.angles()
		return dh - mh, dp - mp, dr - mr
	}, false), false},
	{"mounting subtracted, published", "mount", "raw single", "mount-angles-subtracted", mounts(func(dh, dp, dr float64, m mat) (h, p, r float64) {
		mh, mp, mr := m.angles()
		return dh - mh, dp - mp, dr - mr
	}, true), true},
	{"mounting ignored", "mount", "raw single", "mounting-ignored", mounts(func(dh, dp, dr float64, m mat) (h, p, r float64) { return dh, dp, dr }, false), false},
	{"mounting the other way", "mount", "raw single", "mounting-reversed", mounts(func(dh, dp, dr float64, m mat) (h, p, r float64) {
		return rot(dh, dp, dr).mulT(transpose(m)).angles()
	}, false), false},
	{"mounting roll sign", "mount", "raw single", "mounting-reversed", mounts(func(dh, dp, dr float64, m mat) (h, p, r float64) {
		a, b, c := m.angles()
		return rot(dh, dp, dr).mulT(rot(a, b, -c)).angles()
	}, false), false},
	{"azimuth as heading", "baseline", "raw", "antenna-pair-offset-wrong", bases(func(a, p, r float64, b vec) float64 { return a }, false), false},
	{"azimuth added", "baseline", "raw", "antenna-pair-offset-wrong", bases(func(a, p, r float64, b vec) float64 {
		return math.Mod(a+math.Atan2(b[0], b[1])+4*math.Pi, 2*math.Pi)
	}, false), false},
	{"antennas exchanged", "baseline", "raw", "antenna-pair-offset-wrong", bases(func(a, p, r float64, b vec) float64 { return rightHeading(a, p, r, vec{-b[0], -b[1], -b[2]}) }, false), false},
	{"baseline not tilted", "baseline", "raw", "baseline-tilt-ignored", bases(func(a, p, r float64, b vec) float64 { return rightHeading(a, 0, 0, b) }, false), false},
	{"arm ignored", "arm", everyScenario, "arm-ignored", arms3(func(vec) vec { return vec{} }), false},
	{"arm not turned", "arm", everyScenario, "arm-not-turned-with-heading", turns(func(h, p, r float64, a vec) vec { return a }), false},
	{"arm turned wrong way", "arm", everyScenario, "arm-not-turned-with-heading", turns(func(h, p, r float64, a vec) vec { return rot(-h, p, r).apply(a) }), false},
	{"arm not tilted", "arm", everyScenario, "arm-not-tilted", turns(func(h, p, r float64, a vec) vec { return rot(h, 0, 0).apply(a) }), false},
	{"arm not rolled", "arm", everyScenario, "arm-not-tilted", turns(func(h, p, r float64, a vec) vec { return rot(h, p, 0).apply(a) }), false},
	{"arm roll sign", "arm", everyScenario, "arm-tilt-sign-reversed", turns(func(h, p, r float64, a vec) vec { return rot(h, p, -r).apply(a) }), false},
	{"arm transposed", "arm", everyScenario, "rotation-order-wrong", turns(func(h, p, r float64, a vec) vec { return transpose(rot(h, p, r)).apply(a) }), false},
	{"arm order of rotation", "arm", everyScenario, "rotation-order-wrong", turns(func(h, p, r float64, a vec) vec {
		sp, cp := math.Sincos(p)
		sr, cr := math.Sincos(r)
		// Rz(−h)·Ry(r)·Rx(p)
		v := vec{a[0], cp*a[1] - sp*a[2], sp*a[1] + cp*a[2]}
		v = vec{cr*v[0] + sr*v[2], v[1], -sr*v[0] + cr*v[2]}
		return rot(h, 0, 0).apply(v)
	}), false},
	{"arm right sign", "arm", everyScenario, "arm-axis-sign-reversed", arms3(func(a vec) vec { return vec{-a[0], a[1], a[2]} }), false},
	{"arm forward sign", "arm", everyScenario, "arm-axis-sign-reversed", arms3(func(a vec) vec { return vec{a[0], -a[1], a[2]} }), false},
	{"arm up sign", "arm", everyScenario, "arm-axis-sign-reversed", arms3(func(a vec) vec { return vec{a[0], a[1], -a[2]} }), false},
	{"arm backwards", "arm", everyScenario, "arm-axis-sign-reversed", arms3(func(a vec) vec { return vec{-a[0], -a[1], -a[2]} }), false},
	{"arm order", "arm", everyScenario, "arm-axes-exchanged", arms3(func(a vec) vec { return vec{a[1], a[0], a[2]} }), false},
	{"arm forward right down", "arm", everyScenario, "arm-axes-exchanged", arms3(func(a vec) vec { return vec{a[1], a[0], -a[2]} }), false},
	{"arm added as north east down", "arm", everyScenario, "arm-axes-exchanged", turns(func(h, p, r float64, a vec) vec {
		v := rot(h, p, r).apply(a)
		return vec{v[1], v[0], -v[2]}
	}), false},
	{"arm twice", "arm", everyScenario, "offset-applied-twice", arms3(func(a vec) vec { return vec{2 * a[0], 2 * a[1], 2 * a[2]} }), false},
	{"arm horizontal only", "arm", everyScenario, "arm-partly-applied", turns(func(h, p, r float64, a vec) vec {
		v := rot(h, p, r).apply(a)
		return vec{v[0], v[1], 0}
	}), false},
	{"sensor for sonar", "arm", "raw single", "reference-point-confused", func(p *program, b **bench) {
		p.arm = append(p.arm, func(a vec) vec {
			in := (*b).dev.Scenario().Installation
			s, q := in.Points["sensor"], in.Points["antenna-primary"]
			return vec{float64(s[0] - q[0]), float64(s[1] - q[1]), float64(s[2] - q[2])}
		})
	}, false},
	{"arm 0.3 m off", "arm", everyScenario, "lever-arm-wrong", arms3(func(a vec) vec { return vec{a[0] + 0.31, a[1] - 0.22, a[2] + 0.17} }), false},
	{"points forward sign", "arm", everyScenario, "arm-axis-sign-reversed", coordinates(func(a vec) vec { return vec{a[0], -a[1], a[2]} }), true},
	{"points forward right up", "arm", everyScenario, "arm-axes-exchanged", coordinates(func(a vec) vec { return vec{a[1], a[0], a[2]} }), true},
	{"points in feet", "arm", everyScenario, "arm-unit-confused", coordinates(func(a vec) vec { return vec{0.3048 * a[0], 0.3048 * a[1], 0.3048 * a[2]} }), true},
	{"sonar counted from the sensor", "arm", everyScenario, "reference-point-confused", func(p *program, b **bench) {
		on := func(a vec) vec {
			s := (*b).dev.Scenario().Installation.Points["sensor"]
			return vec{a[0] + float64(s[0]), a[1] + float64(s[1]), a[2] + float64(s[2])}
		}
		coordinates(on)(p, b)
	}, true},
	{"arm by the device's roll the other way", "arm", "raw single", "arm-tilt-sign-reversed", func(p *program, _ **bench) {
		p.turnBy = func(f *fix) (h, q, r float64) {
			in := &f.l.b.dev.Scenario().Installation
			m := rot(float64(in.Mounting.Heading), float64(in.Mounting.Pitch), float64(in.Mounting.Roll))
			_, q, r = compose(0, f.at("pitch"), -f.at("roll"), m)
			if _, two := in.Points["antenna-secondary"]; two {
				return rightHeading(f.at("heading"), q, r, sub(f.place("antenna-secondary"), f.place("antenna-primary"))), q, r
			}
			h, q, r = compose(f.at("heading"), f.at("pitch"), -f.at("roll"), m)
			return h, q, r
		}
	}, true},
	{"heading through a filter", "late", everyScenario, "values-smoothed", lowPass("heading", 0.27), true},
	{"pitch and roll through a filter", "late", everyScenario, "values-smoothed", lowPass("pitch roll", 0.4), true},
	{"longitude not scaled", "arm", "raw entered", "longitude-not-scaled-by-latitude", func(p *program, _ **bench) {
		p.carry = func(f *fix, enu vec) {
			f.carry(vec{enu[0] * math.Cos(f.at("lat")), enu[1], enu[2]})
		}
	}, false},
	{"attitude 42 ms late", "late", everyScenario, "source-late", func(p *program, b **bench) {
		p.tweak = append([]func(*reading){lateBy(b, "pitch roll", 0.042)}, p.tweak...) // before what others make of the values
	}, false},
	{"heading 130 ms late", "late", everyScenario, "source-late", func(p *program, b **bench) {
		p.tweak = append([]func(*reading){lateBy(b, "heading", 0.13)}, p.tweak...) // before what others make of the values
	}, false},
	{"attitude of the epoch before", "late", everyScenario, "epochs-mixed", func(p *program, b **bench) {
		p.tweak = append([]func(*reading){lateBy(b, "pitch roll heading", 0.1)}, p.tweak...) // before what others make of the values
	}, false},
	{"pitch 0.8° off", "tilt", everyScenario, "constant-offset mounting-wrong", pubs(put(wire.Pitch, plus(0.8*degree))), false},
	{"heading 1.7° off", "heading", everyScenario, "constant-offset", tweaks(each("heading", plus(1.7*degree))), false},
	{"heave 0.9 times", "heave", everyScenario, "scale-wrong", tweaks(each("heave", timesOf(0.9))), false},
	{"speed 1.15 times", "speed", everyScenario, "scale-wrong", tweaks(each("speed", timesOf(1.15))), false},
	{"GPS time", "time", everyScenario, "leap-seconds-missing-or-stale", rows(shiftStamps(18 * time.Second)), false},
	{"old leap seconds", "time", everyScenario, "leap-seconds-missing-or-stale", rows(shiftStamps(2 * time.Second)), false},
	{"stamps 73 ms late", "time", everyScenario, "stamp-shifted", rows(shiftStamps(73 * time.Millisecond)), false},
	{"latency added", "time", everyScenario, "latency-correction-reversed stamp-shifted", rows(shiftStamps(40 * time.Millisecond)), false},
	{"one epoch late", "time", everyScenario, "epochs-mixed", rows(shiftStamps(100 * time.Millisecond)), false},
	{"arrival", "time", everyScenario, "arrival-stamped-as-measured", func(p *program, _ **bench) {
		p.stamp = func(_, arrived time.Time) time.Time { return arrived }
	}, false},
	{"fraction dropped", "time", everyScenario, "fraction-of-second-dropped", rows(func(o *observe.Observation) bool { o.Time = o.Time.Truncate(time.Second); return true }), false},
	{"local zone", "time", everyScenario, "local-zone-applied", rows(shiftStamps(5*time.Hour + 45*time.Minute)), false},
	{"a day late", "time", everyScenario, "host-date-on-time-only-fix", rows(shiftStamps(24 * time.Hour)), false},
	{"1024 weeks", "time", everyScenario, "week-counter-wrapped", rows(shiftStamps(-7168 * 24 * time.Hour)), false},
	{"stale for null", "null", "blocked blocked-raw", "lost-fix-keeps-last-position", func(p *program, _ **bench) { p.tweak = append(p.tweak, stale()) }, false},
	{"zero for null", "null", "blocked", "blank-read-as-zero", tweaks(func(r *reading) {
		for k, v := range *r {
			if math.IsNaN(v) {
				(*r)[k] = 0
			}
		}
	}), false},
	{"no heading", "heading", everyScenario, "value-not-passed-on", rows(func(o *observe.Observation) bool { o.HeadingRad = observe.Null[float64](); return true }), false},
	{"heading averaged", "heading", "wrap", "heading-averaged-through-wrap", func(p *program, _ **bench) {
		var last []float64
		p.publish = append(p.publish, func(_ *fix, o *observe.Observation) {
			h, ok := o.HeadingRad.Value()
			if !ok {
				return
			}
			if last = append(last, h); len(last) > 4 {
				last = last[1:]
			}
			sum, low, high := 0.0, h, h
			for _, x := range last {
				sum, low, high = sum+x, min(low, x), max(high, x)
			}
			if high-low > math.Pi {
				o.HeadingRad = observe.Of(sum / float64(len(last)))
			}
		})
	}, true},
	{"heading south near north", "heading", "wrap", "heading-averaged-through-wrap", rows(func(o *observe.Observation) bool {
		if h, ok := o.HeadingRad.Value(); ok && (h < 0.02 || h > 2*math.Pi-0.02) {
			o.HeadingRad = observe.Of(math.Pi)
		}
		return true
	}), true},
	{"checksum not looked at", "lost", "damage damage-raw", "damaged-sentence-accepted", func(p *program, _ **bench) { p.gullible = true }, true},
	{"letters in the checksum", "lost", everyScenario, "checksum-letter-case", deafTo(func(s line.Sent) bool {
		return strings.ContainsAny(string(s.Bytes[strings.IndexByte(string(s.Bytes), '*'):]), "ABCDEF")
	}), true},
	{"no heading sentence", "lost", "single", "sentence-type-not-read", deafTo(func(s line.Sent) bool { return strings.HasSuffix(s.Kind, "HDT") }), true},
	{"deaf after 4 s", "lost", everyScenario, "foreign-byte-ends-reader", deafTo(func(s line.Sent) bool { return s.Valid > 4 }), true},
	{"one in seven", "lost", everyScenario, "messages-lost", func(p *program, _ **bench) {
		n := 0
		p.deaf = func(line.Sent) bool { n++; return n%7 == 0 }
	}, true},
	{"two after a damaged one", "lost", "damage", "no-resync-after-damage", func(p *program, _ **bench) {
		since := 9
		p.deaf = func(s line.Sent) bool {
			since++
			if s.Hurt != "" {
				since = 0
			}
			return since == 1 || since == 2
		}
	}, true},
}

// coordinates spoils the arms of position and heave alike.
func coordinates(f func(vec) vec) func(*program, **bench) {
	return func(p *program, _ **bench) {
		p.arm = append(p.arm, f)
		p.lift = func(q *fix, a vec) { q.lift(f(a)) }
	}
}

// lowPass takes a share of each new value.
func lowPass(names string, share float64) func(*program, **bench) {
	return func(p *program, _ **bench) {
		had := map[string]float64{}
		p.tweak = append(p.tweak, func(r *reading) {
			for _, n := range splitWords(names) {
				x, ok := (*r)[n]
				if !ok || math.IsNaN(x) {
					continue
				}
				if y, ok := had[n]; ok {
					x = y + share*math.Remainder(x-y, 2*math.Pi)
				}
				had[n] = x
				if n == "heading" {
					x = math.Mod(x+4*math.Pi, 2*math.Pi)
				}
				(*r)[n] = x
			}
		})
	}
}

func deafTo(f func(line.Sent) bool) func(*program, **bench) {
	return func(p *program, _ **bench) { p.deaf = f }
}
