package diagnose

import (
	"fmt"
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

// factors makes variants of wrong factors.
func factors(slot func(name string) string, rows ...factor) func(*kase) []variant {
	return func(k *kase) (vs []variant) {
		for _, x := range rows {
			_, q := pairOf(x.name)
			if !k.carried[q] {
				continue
			}
			in, out := scaled(x.name, x.by)
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
	{"height-reference-not-converted", "It gives %s.", "Height above the ellipsoid is height above mean sea level plus the undulation, once.",
		func(k *kase) []variant {
			if k.device.Scenario().Geoid.Undulation == 0 {
				return nil
			}
			by := func(n float64) func(p *pipeline) {
				return reads(func(r *raw) {
					if r.known(rAlt, rUnd) {
						r.v[rAlt] += n * r.v[rUnd]
					}
				})
			}
			return []variant{fixed("the height above mean sea level as that above the ellipsoid", "undulation", by(-1)),
				fixed("a height to which the undulation was added once more than once", "undulation", by(1))}
		}},
	{"geoid-separation-reversed", "It applies the undulation with the opposite sign: the height is off by twice the undulation.", "Add the undulation to the height above mean sea level: it is positive where mean sea level is above the ellipsoid.",
		func(k *kase) []variant {
			if k.device.Scenario().Geoid.Undulation == 0 {
				return nil
			}
			return []variant{fixed("", "undulation", reads(func(r *raw) {
				if r.known(rAlt, rUnd) {
					r.v[rAlt] -= 2 * r.v[rUnd]
				}
			}))}
		}},
	{"hemisphere-letter-dropped", "It ignores the letter of the %s.", "Read N, S, E or W and give south and west a minus sign; take the letter from its place in each kind of message.",
		func(*kase) []variant {
			return []variant{
				fixed("longitude, so that west comes out east", "lon sign", reads(func(r *raw) { r.each(math.Abs, rLon) })),
				fixed("latitude, so that south comes out north", "lat sign", reads(func(r *raw) { r.each(math.Abs, rLat) })),
				fixed("latitude and that of the longitude", "lat sign", reads(func(r *raw) { r.each(math.Abs, rLat, rLon) })),
			}
		}},
	{"hemisphere-letter-reversed", "It takes the letter of the %s the wrong way round.", "Give south and west a minus sign, north and east none.",
		func(*kase) []variant {
			minus := func(x float64) float64 { return -x }
			a := fixed("longitude", "lon sign", reads(func(r *raw) { r.each(minus, rLon) }))
			b := fixed("latitude", "lat sign", reads(func(r *raw) { r.each(minus, rLat) }))
			a.extra, b.extra = 1, 1
			return []variant{a, b}
		}},
	{"latitude-and-longitude-exchanged", "It exchanges latitude and longitude.", "Take the latitude first, as NMEA 0183 has it, or as the format in hand has it.",
		one("lat sign", says(func(o *out) {
			if o.known(compare.Lat) && o.known(compare.Lon) {
				o.v[compare.Lat], o.v[compare.Lon] = o.v[compare.Lon], o.v[compare.Lat]
			}
		}))},
	{"minutes-read-as-degree-fraction", "It %s.", "Degrees are what stands before the last two digits left of the point; the rest are minutes, to be divided by 60.",
		func(*kase) (vs []variant) {
			for _, x := range []struct {
				label string
				f     func(d, m float64) float64
				extra float64
			}{
				{"takes the minutes of latitude and longitude for hundredths of a degree (ddmm.mmm / 100)", func(d, m float64) float64 { return d + m/100 }, 0},
				{"takes the minutes of latitude and longitude for seconds (divides by 3600)", func(d, m float64) float64 { return d + m/3600 }, 1},
				{"leaves the minutes of latitude and longitude out", func(d, _ float64) float64 { return d }, 1},
				{"gives latitude and longitude as degrees times 100 plus minutes", func(d, m float64) float64 { return d*100 + m }, 1},
				{"takes the digits after the point of the minutes for seconds", func(d, m float64) float64 {
					w := math.Floor(m)
					return d + w/60 + (m-w)*100/3600
				}, 1},
			} {
				f := minutesOf(x.f)
				v := fixed(x.label, "minutes", reads(func(r *raw) { r.each(f, rLat, rLon) }))
				v.extra = x.extra
				vs = append(vs, v)
				for _, y := range []struct {
					name string
					f    field
				}{{"latitude", rLat}, {"longitude", rLon}} {
					w := fixed(x.label, "minutes", reads(func(r *raw) { r.each(f, y.f) }))
					w.title, w.extra = "In the "+y.name+" alone, it "+x.label+".", x.extra+2
					vs = append(vs, w)
				}
			}
			return vs
		}},
	{"position-in-single-precision", "It holds %s in a 32-bit floating-point number, which is %s.", "Hold positions in 64-bit floating point from the first conversion to the last.", singlePrecision},
	{"decimals-cut", "It cuts %s.", "Keep all decimals of the message, and round instead of cutting where a value is shortened for display.",
		func(k *kase) (vs []variant) {
			for n := range 5 {
				f := minutesOf(func(d, m float64) float64 { return d + cut(m, 1, n)/60 })
				g := minutesOf(func(d, m float64) float64 { s := math.Pow(10, float64(n)); return d + math.Round(m*s)/s/60 })
				h := func(x float64) float64 { return cut(x, deg, n+2) }
				label := fmt.Sprintf("the minutes of latitude and longitude after %d decimals", n)
				v := fixed(label, "lat digits", reads(func(r *raw) { r.each(f, rLat, rLon) }))
				w := fixed(label+", with rounding", "lat digits", reads(func(r *raw) { r.each(g, rLat, rLon) }))
				x := fixed(fmt.Sprintf("latitude and longitude after %d decimals of a degree", n+2), "lat digits said", says(func(o *out) { o.each(h, compare.Lat, compare.Lon) }))
				y := fixed(fmt.Sprintf("latitude and longitude after %d decimals of a degree, with rounding", n+2), "lat digits said",
					says(func(o *out) {
						o.each(func(x float64) float64 { return rounded(x, deg, n+2) }, compare.Lat, compare.Lon)
					}))
				vs = append(vs, v, w, x, y)
			}
			for _, p := range pairsOf {
				if !k.carried[p.q] {
					continue
				}
				unit := deg
				switch p.name {
				case "heave", "speed", "height":
					unit = 1
				}
				for n := range 2 {
					c := func(x float64) float64 { return cut(x, unit, n) }
					r := func(x float64) float64 { return rounded(x, unit, n) }
					vs = append(vs, fixed(fmt.Sprintf("the %s after %d decimals", p.name, n), p.name+" digits", reads(func(r *raw) { r.each(c, p.f) })),
						fixed(fmt.Sprintf("the %s after %d decimals", p.name, n), p.name+" digits said", says(func(o *out) { o.each(c, p.q) })),
						fixed(fmt.Sprintf("the %s after %d decimals, with rounding", p.name, n), p.name+" digits said", says(func(o *out) { o.each(r, p.q) })))
				}
			}
			return vs
		}},
	{"decimal-mark-follows-locale", "It cuts every number at the decimal point: the digits after it are lost.", "Read numbers by a routine that takes a point whatever language the computer is set to.",
		one("digits", reads(func(r *raw) {
			m := minutesOf(func(d, m float64) float64 { return d + cut(m, 1, 0)/60 })
			r.each(m, rLat, rLon)
			a := func(x float64) float64 { return cut(x, deg, 0) }
			r.each(a, rHeading, rPitch, rRoll, rCourse)
			r.each(func(x float64) float64 { return cut(x, 1, 0) }, rAlt, rUnd, rHeave)
			r.each(func(x float64) float64 { return cut(x, deg/60, 0) }, rTurn)
			r.each(func(x float64) float64 { return cut(x, 1852.0/3600, 0) }, rSpeed)
		}))},
	{"negative-binary-read-as-large-positive", "It reads %s as a number without a sign: what is negative comes out a full range too large.", "Read the field as a signed integer (two's complement) of its width.",
		func(k *kase) (vs []variant) {
			for _, p := range pairsOf {
				half := 0.0
				for _, c := range k.cmp.Carriers(p.q, "") {
					half = c.Half(p.q)
				}
				if half <= 0 || p.name == "speed" || p.name == "course" || p.name == "heading" {
					continue
				}
				for _, bits := range []int{8, 16, 32} {
					full := 2 * half * math.Pow(2, float64(bits))
					vs = append(vs, fixed("the "+p.name, p.name, reads(func(r *raw) {
						r.each(func(x float64) float64 {
							if x < -half {
								return x + full
							}
							return x
						}, p.f)
					})))
				}
			}
			return vs
		}},
	{"heading-averaged-through-wrap", "It averages or interpolates headings as plain numbers, so that between 359° and 1° they come out in the south.", "Average and interpolate headings by their sine and cosine, or by the difference wrapped into ±180°.",
		func(k *kase) (vs []variant) {
			for _, n := range []int{2, 3, 4, 5, 8, 10} {
				v := fixed("", "heading said", func(p *pipeline) {
					p.publish = append(p.publish, func(c *context, r *raw, o *out) {
						if !o.known(compare.Heading) {
							return
						}
						step := c.k.epochOf(compare.Heading)
						low, high := o.v[compare.Heading], o.v[compare.Heading]
						sum, m := 0.0, 0
						for i := range n {
							x := c.k.raw(c.t - float64(i)*step)
							if !x.known(rHeading) {
								continue
							}
							h := frame.Wrap2Pi(o.v[compare.Heading] + x.v[rHeading] - r.v[rHeading])
							sum, m, low, high = sum+h, m+1, min(low, h), max(high, h)
						}
						if m > 0 && high-low > math.Pi {
							o.v[compare.Heading] = sum / float64(m)
						}
					})
				})
				v.title = ""
				vs = append(vs, v)
			}
			return vs
		}},
	{"heave-counted-in-height", "It %s.", "Keep heave and height apart: the height of a satellite fix moves with the waves already.",
		func(*kase) (vs []variant) {
			for _, x := range []struct {
				label string
				by    float64
			}{{"adds the heave to the height", 1}, {"takes the heave off the height", -1}} {
				vs = append(vs, fixed(x.label, "height said", says(func(o *out) {
					if o.known(compare.Height) && o.known(compare.Heave) {
						o.v[compare.Height] += x.by * o.v[compare.Heave]
					}
				})))
			}
			return vs
		}},
}

func rounded(x, unit float64, n int) float64 {
	s := math.Pow(10, float64(n)) / unit
	return math.Round(x*s) / s
}

// singlePrecision holds positions in 32 bits, in degrees or in radians.
func singlePrecision(k *kase) []variant {
	single := func(unit float64) func(float64) float64 {
		return func(x float64) float64 { return float64(float32(x/unit)) * unit }
	}
	var vs []variant
	for _, x := range []struct {
		label string
		unit  float64
	}{{"degrees", deg}, {"radians", 1}} {
		f := single(x.unit)
		v := fixed(x.label, "lat digits said", says(func(o *out) { o.each(f, compare.Lat, compare.Lon) }))
		w := fixed(x.label, "lat digits", reads(func(r *raw) { r.each(f, rLat, rLon) }))
		text := "It holds latitude and longitude in " + x.label + " as 32-bit floating-point numbers: the position moves in steps of decimetres."
		v.title, w.title = text, text
		vs = append(vs, v, w)
	}
	f := func(x float64) float64 { return float64(float32(x)) }
	m := minutesOf(func(d, m float64) float64 { y := f(d*100 + m); d = math.Floor(y / 100); return d + (y-100*d)/60 })
	v := fixed("", "lat digits", reads(func(r *raw) { r.each(m, rLat, rLon) }))
	v.title = "It reads the packed degrees and minutes into a 32-bit floating-point number: the position moves in steps of metres."
	return append(vs, v)
}

// blurred tells that rounding on the wire is multiplied as the quantity is.
func (p *pipeline) blurred(q compare.Q, by float64) {
	if by = math.Abs(by); by > 1 {
		p.blur[q] = max(1, p.blur[q]) * by
	}
}
