package diagnose

import (
	"math"

	"swellbench/conformance/compare"
	"swellbench/scenarios/frame"
)

const deg = math.Pi / 180

// names of quantities and fields that go together.
var pairsOf = []struct {
	name string
	f    field
	q    compare.Q
}{
	{"heading", rHeading, compare.Heading}, {"pitch", rPitch, compare.Pitch}, {"roll", rRoll, compare.Roll},
	{"heave", rHeave, compare.Heave}, {"rate of turn", rTurn, compare.RateOfTurn}, {"speed", rSpeed, compare.Speed},
	{"course", rCourse, compare.Course}, {"height", rAlt, compare.Height},
}

func pairOf(name string) (field, compare.Q) {
	for _, p := range pairsOf {
		if p.name == name {
			return p.f, p.q
		}
	}
	panic("diagnose: no quantity is called " + name)
}

// scaled multiplies a quantity, as it is read or as it is said.
func scaled(name string, by float64) (asRead, asSaid func(p *pipeline)) {
	f, q := pairOf(name)
	times := func(x float64) float64 { return x * by }
	in, out := reads(func(r *raw) { r.each(times, f) }), says(func(o *out) { o.each(times, q) })
	return func(p *pipeline) { in(p); p.blurred(q, by) }, func(p *pipeline) { out(p); p.blurred(q, by) }
}

// halfOf is half the last digit of a quantity, where one kind of message alone carries it, SI and rad; 0 else.
func (k *kase) halfOf(q compare.Q) float64 {
	ks := k.cmp.Carriers(q, "")
	if len(ks) != 1 {
		return 0
	}
	return ks[0].Half(q)
}

// factors makes variants of wrong factors.
func factors(slot func(name string) string, rows ...factor) func(*kase) []variant {
	return func(k *kase) (vs []variant) {
		for _, x := range rows {
			_, q := pairOf(x.name)
			if !k.carried[q] {
				continue
			}
			in, out := scaled(x.name, x.by)
			if half := k.halfOf(q); half > 0 { // what was rounded on the wire is multiplied
				f, _ := pairOf(x.name)
				in = reads(func(r *raw) { r.each(func(y float64) float64 { return math.Round(y/(2*half)) * 2 * half * x.by }, f) })
			}
			v := fixed(x.label, slot(x.name), in)
			vs = append(vs, v)
			v = fixed(x.label+", in what it publishes only", slot(x.name)+" said", out)
			v.extra = 1
			vs = append(vs, v)
		}
		return vs
	}
}

type factor struct {
	label, name string
	by          float64
}

func slotOf(name string) string { return name }

// cut cuts x toward zero after n decimals of a unit.
func cut(x, unit float64, n int) float64 {
	s := math.Pow(10, float64(n)) / unit
	return math.Copysign(math.Floor(math.Abs(x)*s+1e-7)/s, x)
}

// minutesOf changes the minutes of an angle, in minutes of arc, as they are written.
func minutesOf(f func(degrees, minutes float64) float64) func(float64) float64 {
	return func(x float64) float64 {
		size := math.Abs(x) / deg
		d := math.Floor(size + 1e-11)
		return math.Copysign(f(d, (size-d)*60)*deg, x)
	}
}

var valueHypotheses = []hypothesis{
	{"attitude-sign-reversed", "It takes %s with the opposite sign.", "Check which way is positive in the message: pitch bow up, roll starboard side down; negate %s once less.",
		func(k *kase) (vs []variant) {
			for _, x := range []struct{ label, name string }{{"roll", "roll"}, {"pitch", "pitch"}} {
				in, out := scaled(x.name, -1)
				vs = append(vs, fixed(x.label, x.name, in))
				v := fixed(x.label, x.name+" said", out)
				v.title = "It publishes " + x.label + " with the opposite sign, though it calculates with the right one."
				v.extra = 0.5
				vs = append(vs, v)
			}
			return vs
		}},
	{"rate-of-turn-sign-reversed", "It takes the rate of turn with the opposite sign.", "Take the rate of turn positive to starboard.",
		func(k *kase) []variant {
			in, _ := scaled("rate of turn", -1)
			return []variant{fixed("", "rate of turn", in)}
		}},
	{"heave-sign-reversed", "It takes heave with the opposite sign.", "Take heave positive upwards: see which way the message counts, and negate it once less.",
		func(k *kase) []variant {
			in, out := scaled("heave", -1)
			v := fixed("", "heave said", out)
			v.title, v.extra = "It publishes heave with the opposite sign, after it was carried to the output point.", 0.5
			return []variant{fixed("", "heave", in), v}
		}},
	{"roll-and-pitch-exchanged", "It takes the pitch for the roll and the roll for the pitch%s.", "Exchange the two fields: pitch is about the axis to starboard, roll about the axis forward.",
		func(k *kase) (vs []variant) {
			for _, x := range []struct {
				label      string
				pitch, rol float64
			}{{"", 1, 1}, {", pitch with the opposite sign", -1, 1}, {", roll with the opposite sign", 1, -1}} {
				v := fixed(x.label, "roll pitch", reads(func(r *raw) {
					p, q := r.known(rPitch), r.known(rRoll)
					r.v[rPitch], r.v[rRoll] = r.v[rRoll]*x.pitch, r.v[rPitch]*x.rol
					r.drop(rPitch, rRoll)
					if p {
						r.has |= 1 << rRoll
					}
					if q {
						r.has |= 1 << rPitch
					}
				}))
				if x.label != "" {
					v.extra = 3
				}
				vs = append(vs, v)
			}
			v := fixed("", "roll pitch said", says(func(o *out) {
				if o.known(compare.Pitch) && o.known(compare.Roll) {
					o.v[compare.Pitch], o.v[compare.Roll] = o.v[compare.Roll], o.v[compare.Pitch]
				}
			}))
			v.title, v.extra = "It publishes the pitch as roll and the roll as pitch, though it calculates with the right ones.", 0.5
			return append(vs, v)
		}},
	{"compass-angle-versus-math-angle", "It takes the heading for an angle of another kind: %s.", "Take the heading clockwise from true north, from 0 to 360 degrees.",
		func(k *kase) (vs []variant) {
			for _, x := range []struct {
				label string
				f     func(h float64) float64
			}{
				{"counted from east, anticlockwise (90° − h)", func(h float64) float64 { return math.Pi/2 - h }},
				{"counted anticlockwise (−h)", func(h float64) float64 { return -h }},
				{"counted from east (h − 90°)", func(h float64) float64 { return h - math.Pi/2 }},
				{"counted from west (h + 90°)", func(h float64) float64 { return h + math.Pi/2 }},
			} {
				f := func(h float64) float64 { return frame.Wrap2Pi(x.f(h)) }
				vs = append(vs, fixed(x.label, "heading", reads(func(r *raw) { r.each(f, rHeading) })))
				v := fixed(x.label, "heading said", says(func(o *out) { o.each(f, compare.Heading) }))
				v.title, v.extra = "It publishes the heading as an angle of another kind, "+x.label+", though it calculates with the right one.", 0.5
				vs = append(vs, v)
				if k.carried[compare.Course] {
					v = fixed(x.label, "course", reads(func(r *raw) { r.each(f, rCourse) }))
					v.title = "It takes the course for an angle of another kind: " + x.label + "."
					vs = append(vs, v)
				}
			}
			return vs
		}},
	{"water-speed-shown", "It shows the speed through the water for that over ground.", "Take the speed over ground from the messages of the GNSS receiver; what a log measures differs by the current.",
		func(k *kase) []variant {
			if !k.carried[compare.Speed] {
				return nil
			}
			own := fixed("", "speed", reads(func(r *raw) {
				if r.known(rWater) {
					r.put(rSpeed, r.v[rWater])
				}
			}))
			heard := fixed("", "speed", func(p *pipeline) { // of other equipment on the line
				p.read = append(p.read, func(c *context, r *raw) {
					if v, ok := c.k.water[int64(math.Round(c.t*1e3))]; ok && r.known(rSpeed) {
						r.put(rSpeed, v)
					}
				})
			})
			return []variant{own, heard}
		}},
	{"magnetic-used-as-true", "It %s.", "Take true heading from the message that carries it; apply the variation to magnetic headings only, east positive.",
		func(k *kase) (vs []variant) {
			v := float64(k.device.Scenario().Variation)
			if v == 0 {
				return nil
			}
			for _, x := range []struct {
				label string
				by    float64
			}{{"gives the magnetic heading, or a true one with the variation taken off once more, as the true one", -1},
				{"adds the magnetic variation to a heading that is true already", 1}} {
				turn := func(h float64) float64 { return frame.Wrap2Pi(h + x.by*v) }
				vs = append(vs, fixed(x.label, "heading", reads(func(r *raw) { r.each(turn, rHeading) })))
				y := fixed(x.label+", in what it publishes only", "heading said", says(func(o *out) { o.each(turn, compare.Heading) }))
				y.extra = 0.5
				vs = append(vs, y)
				z := fixed("takes the magnetic course for the true one, or corrects a true course by the variation", "course", reads(func(r *raw) { r.each(turn, rCourse) }))
				vs = append(vs, z)
			}
			return vs
		}},
	{"variation-sign-reversed", "It applies the magnetic variation with the opposite sign: the heading is off by twice the variation.", "East variation is positive: true = magnetic + variation. Read the letter.",
		func(k *kase) (vs []variant) {
			v := float64(k.device.Scenario().Variation)
			if v == 0 {
				return nil
			}
			for _, by := range []float64{-2, 2} {
				turn := func(h float64) float64 { return frame.Wrap2Pi(h + by*v) }
				vs = append(vs, fixed("", "heading", reads(func(r *raw) { r.each(turn, rHeading) })))
				y := fixed("", "heading said", says(func(o *out) { o.each(turn, compare.Heading) }))
				y.extra = 0.5
				vs = append(vs, y)
				z := fixed("", "course", reads(func(r *raw) { r.each(turn, rCourse) }))
				z.title = "It applies the magnetic variation to the course with the opposite sign."
				vs = append(vs, z)
			}
			return vs
		}},
	{"course-shown-as-heading", "It takes the course over ground for the heading.", "Take the heading from the heading message; course and heading differ by leeway, and mean nothing of each other at rest.",
		func(k *kase) []variant {
			if !k.carried[compare.Course] {
				return nil
			}
			v := fixed("", "heading said", func(p *pipeline) {
				p.publish = append(p.publish, func(_ *context, r *raw, o *out) {
					if r.known(rCourse) && o.known(compare.Heading) {
						o.v[compare.Heading] = r.v[rCourse]
					}
				})
			})
			w := fixed("", "heading", reads(func(r *raw) {
				if r.known(rCourse) && r.known(rHeading) {
					r.v[rHeading] = r.v[rCourse]
				}
			}))
			x := fixed("", "heading", func(p *pipeline) {
				reads(func(r *raw) {
					if r.known(rCourse) && r.known(rHeading) {
						r.v[rHeading] = r.v[rCourse]
					}
				})(p)
				p.heading = func(_ *geometry, h float64, _ frame.Attitude) float64 { return h }
			})
			return []variant{v, w, x}
		}},
	{"heading-shown-as-course", "It gives the heading as course over ground.", "Take the course from the message that carries it.",
		one("course", reads(func(r *raw) {
			if r.known(rCourse) && r.known(rHeading) {
				r.v[rCourse] = r.v[rHeading]
			}
		}))},
	{"angle-unit-confused", "It takes %s.", "Convert the unit of the message once: degrees in NMEA 0183, radians in most other formats and in every trigonometric function.",
		func(k *kase) (vs []variant) {
			const d = 180 / math.Pi
			var rows []factor
			for _, n := range []string{"roll", "pitch", "heading", "course", "rate of turn"} {
				rows = append(rows, factor{"the " + n + " in degrees for radians, or converts it once too often (57.3 times too large)", n, d},
					factor{"the " + n + " in radians for degrees, or converts it once too often (57.3 times too small)", n, 1 / d},
					factor{"the " + n + " in hundredths of a degree for degrees (100 times too large)", n, 100},
					factor{"the " + n + " with a hundredth of its size", n, 0.01})
			}
			vs = factors(slotOf, rows...)(k)
			for _, x := range []struct {
				label string
				by    float64
			}{{"pitch and roll in degrees for radians, or converts them once too often (57.3 times too large)", d},
				{"pitch and roll in radians for degrees, or converts them once too often (57.3 times too small)", 1 / d},
				{"pitch and roll in hundredths of a degree for degrees (100 times too large)", 100}, {"pitch and roll with a hundredth of their size", 0.01}} {
				times := func(y float64) float64 { return y * x.by }
				blurred := func(p *pipeline) { p.blurred(compare.Pitch, x.by); p.blurred(compare.Roll, x.by) }
				vs = append(vs, fixed(x.label, "roll pitch", func(p *pipeline) { reads(func(r *raw) { r.each(times, rPitch, rRoll) })(p); blurred(p) }))
				v := fixed(x.label+", in what it publishes only", "roll pitch said", func(p *pipeline) { says(func(o *out) { o.each(times, compare.Pitch, compare.Roll) })(p); blurred(p) })
				v.extra = 1
				vs = append(vs, v)
			}
			return vs
		}},
	{"speed-unit-confused", "It takes the speed %s.", "Convert the unit of the message once: 1 knot is 1852/3600 m/s.",
		factors(slotOf, factor{"in knots for one in metres a second (1.944 times too large)", "speed", 3600.0 / 1852},
			factor{"in metres a second for one in knots, or converts it twice (0.514 times)", "speed", 1852.0 / 3600},
			factor{"in kilometres an hour for one in metres a second (3.6 times too large)", "speed", 3.6},
			factor{"in metres a second for one in kilometres an hour (3.6 times too small)", "speed", 1 / 3.6},
			factor{"in kilometres an hour for one in knots (1.852 times too large)", "speed", 1.852},
			factor{"in knots for one in kilometres an hour (1.852 times too small)", "speed", 1 / 1.852},
			factor{"in feet a second for one in metres a second", "speed", 1 / 0.3048},
			factor{"in statute miles an hour for one in metres a second", "speed", 3600 / 1609.344})},
	{"rate-of-turn-unit-confused", "It takes the rate of turn %s.", "The rate of turn of NMEA 0183 is in degrees a minute; convert it once.",
		factors(slotOf, factor{"in degrees a minute for degrees a second (60 times too large)", "rate of turn", 60},
			factor{"in degrees a second for degrees a minute, or converts it twice (60 times too small)", "rate of turn", 1.0 / 60})},
	{"length-unit-confused", "It takes %s.", "Convert the unit of the message once: 1 foot is 0.3048 m.",
		func(k *kase) []variant {
			var rows []factor
			for _, n := range []string{"height", "heave"} {
				rows = append(rows, factor{"the " + n + " in feet for metres", n, 1 / 0.3048}, factor{"the " + n + " in metres for feet", n, 0.3048},
					factor{"the " + n + " in centimetres for metres", n, 100}, factor{"the " + n + " with a hundredth of its size", n, 0.01},
					factor{"the " + n + " with a tenth of its size", n, 0.1}, factor{"the " + n + " with ten times its size", n, 10})
			}
			return factors(slotOf, rows...)(k)
		}},
}

// blurred tells that rounding on the wire is multiplied as the quantity is.
func (p *pipeline) blurred(q compare.Q, by float64) {
	if by = math.Abs(by); by > 1 {
		p.blur[q] = max(1, p.blur[q]) * by
	}
}
