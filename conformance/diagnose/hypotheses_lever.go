package diagnose

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/conformance/compare"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// armOf replaces the arm.
func armOf(f func(g *geometry, a r3.Vec) r3.Vec) func(p *pipeline) {
	return func(p *pipeline) {
		was := p.arm
		p.arm = func(g *geometry) r3.Vec { return f(g, was(g)) }
	}
}

// turnOf replaces how it is turned.
func turnOf(f func(t *turning) r3.Vec) func(p *pipeline) {
	return func(p *pipeline) { p.turn = f }
}

var axisWords = [3]string{"right", "forward", "up"}

// flip changes the signs of components.
func flip(v r3.Vec, s [3]float64) r3.Vec { return r3.Vec{X: s[0] * v.X, Y: s[1] * v.Y, Z: s[2] * v.Z} }

// signs are all but none, single ones first.
var signs = []struct {
	label string
	s     [3]float64
}{
	{"right component", [3]float64{-1, 1, 1}}, {"forward component", [3]float64{1, -1, 1}}, {"up component", [3]float64{1, 1, -1}},
	{"right and the forward component", [3]float64{-1, -1, 1}}, {"forward and the up component", [3]float64{1, -1, -1}},
	{"right and the up component", [3]float64{-1, 1, -1}},
}

// What programs get wrong of the way from one point to another.
var armHypotheses = []hypothesis{
	{"arm-ignored", "It does not apply the lever arm: %s.", "Carry the position from the point on the wire to the output point, by the vector between them turned by heading, pitch and roll.",
		func(k *kase) []variant {
			label := "what it gives is the position of the antenna"
			if k.geo.entered {
				label = "what it gives is the position of the device's output point"
			}
			return []variant{fixed(label, "arm", armOf(func(*geometry, r3.Vec) r3.Vec { return r3.Vec{} }))}
		}},
	{"arm-not-turned-with-heading", "It adds the lever arm %s.", "Turn the arm by the full attitude of the vessel, C = Rz(−heading)·Rx(pitch)·Ry(roll), before it is added to east, north and up.",
		func(*kase) []variant {
			return []variant{
				fixed("as if right were east and forward north: it is not turned with the heading, nor tilted", "turn", turnOf(func(t *turning) r3.Vec { return t.arm })),
				fixed("tilted by roll and pitch but not turned with the heading", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Pitch: t.vessel.Pitch, Roll: t.vessel.Roll}.Rotation().Apply(t.arm)
				})),
				fixed("turned the wrong way round: by minus the heading", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Heading: -t.vessel.Heading, Pitch: t.vessel.Pitch, Roll: t.vessel.Roll}.Rotation().Apply(t.arm)
				})),
				fixed("turned the wrong way round, by minus the heading, and not tilted", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Heading: -t.vessel.Heading}.Rotation().Apply(t.arm)
				})),
				fixed("turned by an angle counted from east, as in mathematics", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Heading: math.Pi/2 - t.vessel.Heading, Pitch: t.vessel.Pitch, Roll: t.vessel.Roll}.Rotation().Apply(t.arm)
				})),
				fixed("turned by the heading as a number of degrees in a function that takes radians", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Heading: t.vessel.Heading / deg, Pitch: t.vessel.Pitch, Roll: t.vessel.Roll}.Rotation().Apply(t.arm)
				})),
			}
		}},
	{"arm-not-tilted", "It turns the lever arm %s.", "Turn the arm by heading, pitch and roll: a high antenna swings with every roll.",
		func(*kase) []variant {
			return []variant{
				fixed("by the heading alone: roll and pitch do not tilt it", "turn", turnOf(func(t *turning) r3.Vec { return frame.Attitude{Heading: t.vessel.Heading}.Rotation().Apply(t.arm) })),
				fixed("without rolling it", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Heading: t.vessel.Heading, Pitch: t.vessel.Pitch}.Rotation().Apply(t.arm)
				})),
				fixed("without pitching it", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Heading: t.vessel.Heading, Roll: t.vessel.Roll}.Rotation().Apply(t.arm)
				})),
				fixed("by the heading alone for the horizontal part, and leaves the vertical part out", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Heading: t.vessel.Heading}.Rotation().Apply(r3.Vec{X: t.arm.X, Y: t.arm.Y})
				})),
			}
		}},
	{"arm-tilt-sign-reversed", "It turns the lever arm with the opposite sign of %s.", "Bow up is positive pitch, starboard side down positive roll: C = Rz(−heading)·Rx(pitch)·Ry(roll).",
		func(*kase) (vs []variant) {
			for _, x := range []struct {
				label string
				p, r  float64
			}{{"roll", 1, -1}, {"pitch", -1, 1}, {"roll and of pitch", -1, -1}} {
				vs = append(vs, fixed(x.label, "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Heading: t.vessel.Heading, Pitch: x.p * t.vessel.Pitch, Roll: x.r * t.vessel.Roll}.Rotation().Apply(t.arm)
				})))
			}
			v := fixed("", "turn", turnOf(func(t *turning) r3.Vec {
				return frame.Attitude{Heading: t.vessel.Heading, Pitch: t.vessel.Roll, Roll: t.vessel.Pitch}.Rotation().Apply(t.arm)
			}))
			v.title = "It tilts the lever arm by roll where pitch belongs and by pitch where roll belongs."
			return append(vs, v)
		}},
	{"rotation-order-wrong", "It builds the rotation of the lever arm %s.", "C = Rz(−heading)·Rx(pitch)·Ry(roll), and it takes vessel axes into east, north, up; its transpose goes the other way.",
		func(*kase) []variant {
			return []variant{
				fixed("in another order: pitch is applied before roll", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.RollFirst{Heading: t.vessel.Heading, Roll: t.vessel.Roll, Pitch: t.vessel.Pitch}.Rotation().Apply(t.arm)
				})),
				fixed("the other way round: it is transposed", "turn", turnOf(func(t *turning) r3.Vec { return t.vessel.Rotation().Inverse().Apply(t.arm) })),
				fixed("with the heading first and the tilt about east and north afterwards", "turn", turnOf(func(t *turning) r3.Vec {
					return frame.Attitude{Pitch: t.vessel.Pitch, Roll: t.vessel.Roll}.Rotation().Apply(frame.Attitude{Heading: t.vessel.Heading}.Rotation().Apply(t.arm))
				})),
			}
		}},
	{"arm-axis-sign-reversed", "It takes the %s with the opposite sign.", "Right, forward and up are positive: check the signs of the coordinates as they are entered, starboard against port, forward against aft, up against down.",
		func(k *kase) (vs []variant) {
			for _, x := range signs {
				vs = append(vs, fixed(x.label+" of the lever arm", "arm sign", armOf(func(_ *geometry, a r3.Vec) r3.Vec { return flip(a, x.s) })))
			}
			all := fixed("whole lever arm", "arm sign", armOf(func(_ *geometry, a r3.Vec) r3.Vec { return r3.Scale(-1, a) }))
			vs = append(vs, all)
			for i, x := range signs[:3] {
				if math.Abs(component(k.geo.positionAt, i)) > 1e-3 {
					v := fixed(axisWords[i]+" coordinate of the "+k.where()+" (where the position on the wire is)", "arm sign", armOf(func(g *geometry, _ r3.Vec) r3.Vec { return r3.Sub(g.out, flip(g.positionAt, x.s)) }))
					w := fixed(axisWords[i]+" coordinate of the output point", "arm sign", armOf(func(g *geometry, _ r3.Vec) r3.Vec { return r3.Sub(flip(g.out, x.s), g.positionAt) }))
					v.extra, w.extra = 1, 1
					vs = append(vs, v, w)
				}
			}
			return vs
		}},
	{"arm-axes-exchanged", "It takes the lever arm as %s.", "The installation gives right, forward, up, in this order; exchange them where the program counts another way.",
		func(*kase) (vs []variant) {
			for _, x := range []struct {
				label string
				f     func(a r3.Vec) r3.Vec
			}{
				{"forward, right, up: the components right and forward are exchanged", func(a r3.Vec) r3.Vec { return r3.Vec{X: a.Y, Y: a.X, Z: a.Z} }},
				{"forward, right, down: right and forward are exchanged, and up counts downwards", frame.SwapDown},
				{"forward, left, up", func(a r3.Vec) r3.Vec { return r3.Vec{X: -a.Y, Y: a.X, Z: a.Z} }},
				{"aft, right, up", func(a r3.Vec) r3.Vec { return r3.Vec{X: a.Y, Y: -a.X, Z: a.Z} }},
				{"right, up, forward", func(a r3.Vec) r3.Vec { return r3.Vec{X: a.X, Y: a.Z, Z: a.Y} }},
				{"up, forward, right", func(a r3.Vec) r3.Vec { return r3.Vec{X: a.Z, Y: a.Y, Z: a.X} }},
				{"one place on (up, right, forward)", func(a r3.Vec) r3.Vec { return r3.Vec{X: a.Y, Y: a.Z, Z: a.X} }},
				{"one place back (forward, up, right)", func(a r3.Vec) r3.Vec { return r3.Vec{X: a.Z, Y: a.X, Z: a.Y} }},
			} {
				vs = append(vs, fixed(x.label, "arm axes", armOf(func(_ *geometry, a r3.Vec) r3.Vec { return x.f(a) })))
			}
			ned := fixed("", "turn", turnOf(func(t *turning) r3.Vec {
				v := t.vessel.Rotation().Apply(t.arm)
				return r3.Vec{X: v.Y, Y: v.X, Z: -v.Z}
			}))
			ned.title = "It adds the turned lever arm as north, east, down where east, north, up belong."
			en := fixed("", "turn", turnOf(func(t *turning) r3.Vec {
				v := t.vessel.Rotation().Apply(t.arm)
				return r3.Vec{X: v.Y, Y: v.X, Z: v.Z}
			}))
			en.title = "It adds the turned lever arm with east and north exchanged."
			down := fixed("", "turn", turnOf(func(t *turning) r3.Vec {
				v := t.vessel.Rotation().Apply(t.arm)
				v.Z = -v.Z
				return v
			}))
			down.title = "It adds the vertical part of the turned lever arm downwards."
			return append(vs, ned, en, down)
		}},
	{"arm-partly-applied", "It applies %s.", "Carry all three components to the output point.",
		func(*kase) []variant {
			drop := func(label string, s [3]float64) variant {
				return fixed(label, "arm", armOf(func(_ *geometry, a r3.Vec) r3.Vec { return flip(a, s) }))
			}
			level := fixed("the horizontal part of the turned lever arm alone: the height is that of the antenna", "carry", func(p *pipeline) {
				was := p.carry
				p.carry = func(at geo.Position, enu r3.Vec) geo.Position { enu.Z = 0; return was(at, enu) }
			})
			return []variant{level, drop("the lever arm without its vertical component", [3]float64{1, 1, 0}), drop("the vertical component of the lever arm alone", [3]float64{0, 0, 1}),
				drop("the lever arm without its component to the right", [3]float64{0, 1, 1}), drop("the lever arm without its forward component", [3]float64{1, 0, 1}),
				drop("the forward component of the lever arm alone", [3]float64{0, 1, 0})}
		}},
	{"offset-applied-twice", "It applies %s.", "Apply it in one place: when the position is read or when it is published, and not where the device has done so.",
		func(k *kase) []variant {
			vs := []variant{fixed("the lever arm twice", "arm", armOf(func(_ *geometry, a r3.Vec) r3.Vec { return r3.Scale(2, a) }))}
			if k.geo.entered {
				vs = append(vs, fixed("the whole way from the antenna, though the device has carried the position to its output point", "arm", armOf(func(g *geometry, _ r3.Vec) r3.Vec { return r3.Sub(g.out, g.antenna) })))
			}
			return vs
		}},
	{"arm-unit-confused", "It takes the lever arm %s.", "The installation is in metres.",
		func(*kase) (vs []variant) {
			for _, x := range []struct {
				label string
				by    float64
			}{{"in metres for feet", 0.3048}, {"in feet for metres", 1 / 0.3048}, {"in centimetres for metres, or with a hundredth of its size", 0.01}, {"at half its length", 0.5}} {
				v := fixed(x.label, "arm", armOf(func(_ *geometry, a r3.Vec) r3.Vec { return r3.Scale(x.by, a) }))
				v.extra = 1
				vs = append(vs, v)
			}
			return vs
		}},
	{"reference-point-confused", "What it gives as position of the output point is that of %s.", "See from which point to which the arm runs: from the point whose position is on the wire to the output point.",
		func(k *kase) (vs []variant) {
			in := &k.device.Scenario().Installation
			for _, name := range in.Names() {
				p, _ := in.Point(name)
				if r3.Norm(r3.Sub(p, k.geo.positionAt)) < 1e-6 {
					continue
				}
				vs = append(vs, fixed("the point "+name, "arm", armOf(func(*geometry, r3.Vec) r3.Vec { return r3.Sub(p, k.geo.positionAt) })))
				v := fixed("", "arm", armOf(func(g *geometry, _ r3.Vec) r3.Vec { return r3.Sub(g.out, p) }))
				v.title = "It takes the position on the wire for that of the point " + name + ", and carries it on from there."
				vs = append(vs, v)
			}
			if v := k.geo.positionAt; v != (r3.Vec{}) { // from the reference point
				w := fixed("", "arm", armOf(func(g *geometry, _ r3.Vec) r3.Vec { return g.out }))
				w.title = "It takes the position on the wire for that of the vessel reference point, and carries it on from there."
				vs = append(vs, w)
			}
			return vs
		}},
	{"arm-turned-in-device-axes", "It turns the lever arm by the attitude of the device instead of the vessel's.", "The arm is along vessel axes: take the mounting off the attitude before the arm is turned.",
		func(k *kase) []variant {
			if !k.geo.mounted {
				return nil
			}
			a := fixed("", "turn", turnOf(func(t *turning) r3.Vec { return t.device.Rotation().Apply(t.arm) }))
			b := fixed("", "turn", turnOf(func(t *turning) r3.Vec {
				return frame.Attitude{Heading: t.vessel.Heading, Pitch: t.device.Pitch, Roll: t.device.Roll}.Rotation().Apply(t.arm)
			}))
			b.title = "It turns the lever arm by the heading of the vessel, but by pitch and roll of the device."
			return []variant{a, b}
		}},
	{"arm-turned-by-raw-heading", "It turns the lever arm by the heading on the wire, which is that of the antenna baseline.", "Turn the arm by the heading of the vessel: the baseline's azimuth comes off first.",
		func(k *kase) []variant {
			if !k.geo.two || k.geo.headingDone {
				return nil
			}
			return []variant{fixed("", "turn heading", func(p *pipeline) {
				var azimuth float64
				p.armAt = func(_ *context, r *raw) { azimuth = r.v[rHeading] }
				turn := p.turn
				p.turn = func(t *turning) r3.Vec { u := *t; u.vessel.Heading = azimuth; return turn(&u) }
			})}
		}},
	{"arm-turned-by-old-heading", "It turns the lever arm by %s.", "Take heading, pitch and roll of the same instant as the position.",
		func(k *kase) (vs []variant) {
			old := func(label string, n float64, fs ...field) {
				vs = append(vs, fixed(label, "arm time", func(p *pipeline) {
					p.armAt = func(c *context, r *raw) {
						step := c.k.epochOf(compare.Heading)
						o := c.k.raw(c.k.snap(c.t - n*step))
						for _, f := range fs {
							if o.known(f) {
								r.put(f, o.v[f])
							}
						}
					}
				}))
			}
			old("the heading of the epoch before", 1, rHeading)
			old("heading, pitch and roll of the epoch before", 1, rHeading, rPitch, rRoll)
			aged := variant{label: "an old heading", slot: "arm time", extra: 1,
				params: []param{{name: "age of the heading by which the arm is turned", unit: "ms", show: 1e3, typical: 0.1, step: 2e-3, starts: []float64{0.15, 0.3, 0.5, 0.8, 1, 1.5, 2, 3}}},
				apply: func(p *pipeline, x []float64) {
					p.armAt = func(c *context, r *raw) {
						if o := c.k.raw(max(0, c.t-x[0])); o.known(rHeading) { // or the oldest there is
							r.put(rHeading, o.v[rHeading])
						}
					}
				}}
			aged.say = func(x []float64) string {
				return fmt.Sprintf("It turns the lever arm by the heading of %.0f ms ago.", x[0]*1e3)
			}
			vs = append(vs, aged)
			old("pitch and roll of the epoch before", 1, rPitch, rRoll)
			old("the heading of two epochs before", 2, rHeading)
			old("heading, pitch and roll of two epochs before", 2, rHeading, rPitch, rRoll)
			return vs
		}},
	{"arm-turned-by-course", "It turns the lever arm by the course over ground.", "Turn the arm by the heading: course and heading differ by leeway.",
		func(k *kase) []variant {
			if !k.carried[compare.Course] {
				return nil
			}
			return []variant{fixed("", "turn heading", func(p *pipeline) {
				var course float64
				var has bool
				p.armAt = func(_ *context, r *raw) { course, has = r.v[rCourse], r.known(rCourse) }
				turn := p.turn
				p.turn = func(t *turning) r3.Vec {
					u := *t
					if has {
						u.vessel.Heading = course
					}
					return turn(&u)
				}
			})}
		}},
	{"longitude-not-scaled-by-latitude", "It turns metres east into longitude as if at the equator: the cosine of the latitude is missing.", "Divide metres east by the radius of the parallel, N·cos(latitude).",
		one("carry", func(p *pipeline) {
			p.carry = func(at geo.Position, enu r3.Vec) geo.Position {
				n, e := metres(at.Lat, at.Height)
				return geo.Position{Lat: at.Lat + enu.Y/n, Lon: at.Lon + enu.X/e*math.Cos(at.Lat), Height: at.Height + enu.Z}
			}
		})},
}

func component(v r3.Vec, i int) float64 { return [3]float64{v.X, v.Y, v.Z}[i] }

// where names the point whose position is on the wire.
func (k *kase) where() string {
	if name := k.device.Scenario().Installation.Reported().PositionName; name != "" {
		return "point " + strings.TrimSpace(name)
	}
	return "point entered as output point"
}
