package diagnose

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/conformance/compare"
	"swellbench/scenarios/frame"
)

// What programs get wrong of mounting angles and baseline.
var mountingHypotheses = []hypothesis{
	{"mount-angles-subtracted", "It %s the mounting angles instead of composing the rotations.", "Compose the rotations: C(vessel) = C(device) · C(mounting) transposed, and take the angles from the product.",
		func(k *kase) (vs []variant) {
			if !k.geo.mounted {
				return nil
			}
			for _, x := range []struct {
				label string
				by    float64
			}{{"subtracts", 1}, {"adds", -1}} {
				vs = append(vs, fixed(x.label, "mounting", func(p *pipeline) {
					p.attitude = func(g *geometry, d frame.Attitude) frame.Attitude {
						m := g.mounting.Attitude()
						return frame.Attitude{Heading: frame.Wrap2Pi(d.Heading - x.by*m.Heading), Pitch: frame.WrapPi(d.Pitch - x.by*m.Pitch), Roll: frame.WrapPi(d.Roll - x.by*m.Roll)}
					}
				}))
			}
			return vs
		}},
	{"mounting-ignored", "It %s.", "Apply the mounting angles to what the device reports: nothing was entered into it, so it reports its own axes.",
		func(k *kase) []variant {
			if !k.geo.mounted {
				return nil
			}
			part := func(f func(m frame.Attitude) frame.Attitude) func(p *pipeline) {
				return func(p *pipeline) {
					p.attitude = func(g *geometry, d frame.Attitude) frame.Attitude {
						return frame.VesselFromDevice(d.Rotation(), f(g.mounting.Attitude()).Rotation()).Attitude()
					}
				}
			}
			all := fixed("does not apply the mounting angles at all", "mounting", func(p *pipeline) {
				p.attitude = func(_ *geometry, d frame.Attitude) frame.Attitude { return d }
			})
			heading := fixed("applies the mounting angle of heading alone", "mounting", part(func(m frame.Attitude) frame.Attitude { return frame.Attitude{Heading: m.Heading} }))
			tilt := fixed("leaves the mounting angle of heading out", "mounting", part(func(m frame.Attitude) frame.Attitude { return frame.Attitude{Pitch: m.Pitch, Roll: m.Roll} }))
			noPitch := fixed("leaves the mounting angle of pitch out", "mounting", part(func(m frame.Attitude) frame.Attitude { return frame.Attitude{Heading: m.Heading, Roll: m.Roll} }))
			noRoll := fixed("leaves the mounting angle of roll out", "mounting", part(func(m frame.Attitude) frame.Attitude { return frame.Attitude{Heading: m.Heading, Pitch: m.Pitch} }))
			subtracted := fixed("leaves the mounting angle of heading out, and subtracts those of pitch and roll", "mounting", func(p *pipeline) {
				p.attitude = func(g *geometry, d frame.Attitude) frame.Attitude {
					m := g.mounting.Attitude()
					return frame.Attitude{Heading: d.Heading, Pitch: frame.WrapPi(d.Pitch - m.Pitch), Roll: frame.WrapPi(d.Roll - m.Roll)}
				}
			})
			only := fixed("applies the mounting to the heading alone, and passes pitch and roll on as they are", "mounting", func(p *pipeline) {
				p.attitude = func(g *geometry, d frame.Attitude) frame.Attitude {
					v := frame.VesselFromDevice(d.Rotation(), g.mounting).Attitude()
					return frame.Attitude{Heading: v.Heading, Pitch: d.Pitch, Roll: d.Roll}
				}
			})
			tilts := fixed("applies the mounting to pitch and roll, and passes the heading on as it is", "mounting", func(p *pipeline) {
				p.attitude = func(g *geometry, d frame.Attitude) frame.Attitude {
					v := frame.VesselFromDevice(d.Rotation(), g.mounting).Attitude()
					return frame.Attitude{Heading: d.Heading, Pitch: v.Pitch, Roll: v.Roll}
				}
			})
			return []variant{all, heading, tilt, noPitch, noRoll, subtracted, only, tilts}
		}},
	{"mounting-reversed", "It %s.", "Take the mounting off: C(vessel) = C(device) · C(mounting) transposed, with angles of the device relative to the vessel.",
		func(k *kase) (vs []variant) {
			if !k.geo.mounted {
				return nil
			}
			with := func(label string, f func(d, m frame.Rotation) frame.Rotation) {
				vs = append(vs, fixed(label, "mounting", func(p *pipeline) {
					p.attitude = func(g *geometry, d frame.Attitude) frame.Attitude { return f(d.Rotation(), g.mounting).Attitude() }
				}))
			}
			with("applies the mounting rotation the other way round (adds it where it has to come off)", func(d, m frame.Rotation) frame.Rotation { return d.Mul(m) })
			with("multiplies the mounting rotation from the wrong side", func(d, m frame.Rotation) frame.Rotation { return m.Inverse().Mul(d) })
			with("multiplies the mounting rotation from the wrong side and the other way round", func(d, m frame.Rotation) frame.Rotation { return m.Mul(d) })
			with("applies the mounting rotation twice", func(d, m frame.Rotation) frame.Rotation { return d.Mul(m.Inverse()).Mul(m.Inverse()) })
			for _, x := range []struct {
				label   string
				h, p, r float64
			}{{"heading", -1, 1, 1}, {"pitch", 1, -1, 1}, {"roll", 1, 1, -1}, {"pitch and that of roll", 1, -1, -1},
				{"heading and that of pitch", -1, -1, 1}, {"heading and that of roll", -1, 1, -1}, {"all three: heading, pitch and roll", -1, -1, -1}} {
				with("takes the mounting angle of "+x.label+" with the opposite sign", func(d, m frame.Rotation) frame.Rotation {
					a := m.Attitude()
					return frame.VesselFromDevice(d, frame.Attitude{Heading: x.h * a.Heading, Pitch: x.p * a.Pitch, Roll: x.r * a.Roll}.Rotation())
				})
			}
			with("exchanges the mounting angles of pitch and roll", func(d, m frame.Rotation) frame.Rotation {
				a := m.Attitude()
				return frame.VesselFromDevice(d, frame.Attitude{Heading: a.Heading, Pitch: a.Roll, Roll: a.Pitch}.Rotation())
			})
			with("composes the mounting angles in another order (roll before pitch)", func(d, m frame.Rotation) frame.Rotation {
				a := m.Attitude()
				return frame.VesselFromDevice(d, frame.RollFirst{Heading: a.Heading, Roll: a.Roll, Pitch: a.Pitch}.Rotation())
			})
			with("takes the mounting angles in radians for degrees", func(d, m frame.Rotation) frame.Rotation {
				a := m.Attitude()
				return frame.VesselFromDevice(d, frame.Attitude{Heading: a.Heading * deg, Pitch: a.Pitch * deg, Roll: a.Roll * deg}.Rotation())
			})
			with("takes the mounting angles in degrees for radians", func(d, m frame.Rotation) frame.Rotation {
				a := m.Attitude()
				return frame.VesselFromDevice(d, frame.Attitude{Heading: a.Heading / deg, Pitch: a.Pitch / deg, Roll: a.Roll / deg}.Rotation())
			})
			return vs
		}},
	{"mounting-applied-again", "It applies the mounting angles once more, though the device has done so.", "The mounting was entered into the device: take its attitude as it comes.",
		func(k *kase) []variant {
			if !k.geo.mountEntered {
				return nil
			}
			m := k.device.Scenario().Installation.MountingRotation()
			if m.AngleTo(frame.Rotation{}) < 1e-9 {
				return nil
			}
			direct := k.geo.two || k.geo.headingDone
			turned := func(h, p, r float64) frame.Attitude {
				return frame.VesselFromDevice(frame.Attitude{Heading: h, Pitch: p, Roll: r}.Rotation(), m).Attitude()
			}
			a := fixed("", "mounting", reads(func(r *raw) {
				if !r.known(rPitch, rRoll) {
					return
				}
				h := r.v[rHeading]
				if direct {
					h = 0
				}
				v := turned(h, r.v[rPitch], r.v[rRoll])
				r.v[rPitch], r.v[rRoll] = v.Pitch, v.Roll
				if !direct && r.known(rHeading) {
					r.v[rHeading] = v.Heading
				}
			}))
			b := fixed("", "mounting", reads(func(r *raw) {
				if r.known(rPitch, rRoll, rHeading) {
					v := turned(r.v[rHeading], r.v[rPitch], r.v[rRoll])
					r.v[rPitch], r.v[rRoll], r.v[rHeading] = v.Pitch, v.Roll, v.Heading
				}
			}))
			b.title = "It applies the mounting angles once more, to the heading too, though the device has done so."
			return []variant{a, b}
		}},
	{"antenna-pair-offset-wrong", "It %s.", "Heading = azimuth of the baseline on the wire, less the azimuth of the baseline tilted as the vessel is; the baseline runs from the primary to the secondary antenna.",
		func(k *kase) (vs []variant) {
			if !k.geo.two {
				return nil
			}
			b := frame.BaselineOf(k.geo.baseline)
			add := func(label string, f func(g *geometry, az float64, tilt frame.Attitude) float64) {
				if !k.geo.headingDone {
					vs = append(vs, fixed(label, "baseline", func(p *pipeline) {
						p.heading = func(g *geometry, az float64, tilt frame.Attitude) float64 { return frame.Wrap2Pi(f(g, az, tilt)) }
					}))
				}
			}
			add("takes the azimuth of the antenna baseline for the heading: the baseline's own azimuth is not taken off", func(_ *geometry, az float64, _ frame.Attitude) float64 { return az })
			add("adds the azimuth of the antenna baseline where it has to be taken off", func(g *geometry, az float64, _ frame.Attitude) float64 { return az + b.Azimuth })
			add("adds the tilted azimuth of the antenna baseline where it has to be taken off", func(g *geometry, az float64, t frame.Attitude) float64 {
				return az + frame.WrapPi(az-frame.HeadingFromBaseline(az, t.Pitch, t.Roll, g.baseline))
			})
			add("takes the antenna baseline from the secondary to the primary antenna: the heading is turned round", func(g *geometry, az float64, t frame.Attitude) float64 {
				return frame.HeadingFromBaseline(az, t.Pitch, t.Roll, r3.Scale(-1, g.baseline))
			})
			add("takes off the azimuth of the antenna baseline twice", func(g *geometry, az float64, t frame.Attitude) float64 {
				h := frame.HeadingFromBaseline(az, t.Pitch, t.Roll, g.baseline)
				return h - b.Azimuth
			})
			add("counts the azimuth of the antenna baseline from starboard instead of forward", func(g *geometry, az float64, t frame.Attitude) float64 {
				return frame.HeadingFromBaseline(az, t.Pitch, t.Roll, r3.Vec{X: -g.baseline.Y, Y: g.baseline.X, Z: g.baseline.Z})
			})
			add("exchanges the components forward and to starboard of the antenna baseline", func(g *geometry, az float64, t frame.Attitude) float64 {
				return frame.HeadingFromBaseline(az, t.Pitch, t.Roll, r3.Vec{X: g.baseline.Y, Y: g.baseline.X, Z: g.baseline.Z})
			})
			add("takes the component of the antenna baseline to starboard with the opposite sign", func(g *geometry, az float64, t frame.Attitude) float64 {
				return frame.HeadingFromBaseline(az, t.Pitch, t.Roll, r3.Vec{X: -g.baseline.X, Y: g.baseline.Y, Z: g.baseline.Z})
			})
			if k.geo.headingDone {
				vs = append(vs, fixed("takes the azimuth of the antenna baseline off the heading once more, though the device has done so", "baseline",
					reads(func(r *raw) {
						if r.known(rHeading, rPitch, rRoll) {
							r.v[rHeading] = frame.HeadingFromBaseline(r.v[rHeading], r.v[rPitch], r.v[rRoll], k.geo.baseline)
						}
					})),
					fixed("takes the azimuth of the antenna baseline, without tilt, off the heading once more, though the device has done so", "baseline",
						reads(func(r *raw) { r.each(func(h float64) float64 { return frame.Wrap2Pi(h - b.Azimuth) }, rHeading) })))
			}
			return vs
		}},
	{"baseline-tilt-ignored", "It %s.", "Tilt the baseline by the pitch and roll of the vessel before its azimuth is taken off: with an inclined or athwart baseline the azimuth moves with the tilt.",
		func(k *kase) (vs []variant) {
			if !k.geo.two || k.geo.headingDone {
				return nil
			}
			for _, x := range []struct {
				label string
				p, r  float64
			}{{"takes the azimuth of the antenna baseline off without tilting the baseline", 0, 0}, {"tilts the antenna baseline by roll alone", 0, 1}, {"tilts the antenna baseline by pitch alone", 1, 0},
				{"tilts the antenna baseline with the opposite sign of roll", 1, -1}, {"tilts the antenna baseline with the opposite sign of pitch", -1, 1}, {"tilts the antenna baseline the other way round", -1, -1}} {
				vs = append(vs, fixed(x.label, "baseline", func(p *pipeline) {
					p.heading = func(g *geometry, az float64, t frame.Attitude) float64 {
						return frame.HeadingFromBaseline(az, x.p*t.Pitch, x.r*t.Roll, g.baseline)
					}
				}))
			}
			flat := fixed("leaves out that one antenna is higher than the other", "baseline", func(p *pipeline) {
				p.heading = func(g *geometry, az float64, t frame.Attitude) float64 {
					return frame.HeadingFromBaseline(az, t.Pitch, t.Roll, r3.Vec{X: g.baseline.X, Y: g.baseline.Y})
				}
			})
			return append(vs, flat)
		}},
	{"heading-turned-round", "The heading is turned by %s throughout.", "Look for an angle that is added to the heading, such as that of an antenna baseline.",
		func(k *kase) (vs []variant) {
			for _, x := range []struct {
				label string
				by    float64
			}{{"180°", math.Pi}} {
				f := func(h float64) float64 { return frame.Wrap2Pi(h + x.by) }
				v := fixed(x.label, "heading", reads(func(r *raw) { r.each(f, rHeading) }))
				w := fixed(x.label, "heading said", says(func(o *out) { o.each(f, compare.Heading) }))
				w.extra = 0.5
				vs = append(vs, v, w)
			}
			return vs
		}},
}
