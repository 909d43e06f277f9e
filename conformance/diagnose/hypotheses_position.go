package diagnose

import (
	"fmt"
	"math"

	"swellbench/conformance/compare"
	"swellbench/scenarios/frame"
)

// What programs get wrong of positions and heights, of digits, and of headings near north.
var positionHypotheses = []hypothesis{
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
	{"position-cut-by-column", "It takes the minutes of latitude and longitude from fixed columns, so that they come out %s.", "Find the decimal point: minutes are the two digits left of it and all on its right, however many decimals there are.",
		func(k *kase) (vs []variant) {
			last := 0.0 // digit of the minutes: what rounding to it leaves, grows with them
			for _, c := range k.cmp.Carriers(compare.Lat, "") {
				last = max(last, 2*c.Half(compare.Lat)/deg*60)
			}
			for _, n := range []int{1, 2, 3, -1, -2, -3} {
				label := fmt.Sprintf("%g times too large", math.Pow10(n))
				if n < 0 {
					label = fmt.Sprintf("%g times too small", math.Pow10(-n))
				}
				vs = append(vs, fixed(label, "minutes", reads(func(r *raw) {
					r.each(minutesOf(func(d, m float64) float64 {
						if last > 0 {
							m = math.Round(m/last) * last
						}
						return d + m*math.Pow10(n)/60
					}), rLat, rLon)
				})))
			}
			return vs
		}},
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
