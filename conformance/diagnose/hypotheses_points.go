package diagnose

import (
	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// points replaces the coordinates of all points, as a program does that reads the installation by another convention: those
// that it takes the baseline from among them, or not.
func points(baseline bool, f func(r3.Vec) r3.Vec) func(p *pipeline) {
	return func(p *pipeline) {
		before := p.g
		p.g = func(g *geometry) {
			if before != nil {
				before(g)
			}
			for _, v := range []*r3.Vec{&g.antenna, &g.sensor, &g.positionAt, &g.heaveAt, &g.out} {
				*v = f(*v)
			}
			if baseline {
				g.baseline = f(g.baseline)
			}
		}
	}
}

// allPoints are the two variants of a convention.
func (k *kase) allPoints(label string, extra float64, f func(r3.Vec) r3.Vec) []variant {
	v := fixed(label, "points", points(true, f))
	v.extra = extra
	if !k.geo.two || k.geo.headingDone {
		return []variant{v}
	}
	w := fixed(label, "points", points(false, f))
	w.extra = extra
	w.note = " (for position and heave; the antenna baseline is right)"
	return []variant{v, w}
}

// target moves the output point.
func target(f func(g *geometry, out r3.Vec) r3.Vec) func(p *pipeline) {
	return func(p *pipeline) {
		before := p.g
		p.g = func(g *geometry) {
			if before != nil {
				before(g)
			}
			g.out = f(g, g.out)
		}
	}
}

// What programs get wrong of coordinates: position, heave and the baseline all go by them.
var pointHypotheses = []hypothesis{
	{"arm-axis-sign-reversed", "It takes the %s of all points with the opposite sign.", "The installation gives metres right, forward, up from the vessel reference point; change signs where the program counts another way.",
		func(k *kase) (vs []variant) {
			for _, x := range signs {
				vs = append(vs, k.allPoints(x.label, 0, func(v r3.Vec) r3.Vec { return flip(v, x.s) })...)
			}
			return append(vs, k.allPoints("three components", 0, func(v r3.Vec) r3.Vec { return r3.Scale(-1, v) })...)
		}},
	{"arm-axes-exchanged", "It takes the coordinates of all points as %s.", "The installation gives right, forward, up, in this order; exchange them where the program counts another way.",
		func(k *kase) (vs []variant) {
			for _, x := range []struct {
				label string
				f     func(a r3.Vec) r3.Vec
			}{
				{"forward, right, up: right and forward are exchanged", func(a r3.Vec) r3.Vec { return r3.Vec{X: a.Y, Y: a.X, Z: a.Z} }},
				{"forward, right, down: right and forward are exchanged, and up counts downwards", frame.SwapDown},
				{"forward, left, up", func(a r3.Vec) r3.Vec { return r3.Vec{X: -a.Y, Y: a.X, Z: a.Z} }},
				{"aft, right, up", func(a r3.Vec) r3.Vec { return r3.Vec{X: a.Y, Y: -a.X, Z: a.Z} }},
			} {
				vs = append(vs, k.allPoints(x.label, 0, x.f)...)
			}
			return vs
		}},
	{"arm-unit-confused", "It takes the coordinates of all points %s.", "The installation is in metres.",
		func(k *kase) (vs []variant) {
			for _, x := range []struct {
				label string
				by    float64
			}{{"in metres for feet", 0.3048}, {"in feet for metres", 1 / 0.3048}, {"in centimetres for metres, or with a hundredth of their size", 0.01}} {
				vs = append(vs, k.allPoints(x.label, 1, func(v r3.Vec) r3.Vec { return r3.Scale(x.by, v) })...)
			}
			return vs
		}},
	{"reference-point-confused", "It counts the coordinates of the output point from %s.", "Coordinates are counted from the vessel reference point: bring all of them to one point before they are subtracted.",
		func(k *kase) (vs []variant) {
			in := &k.device.Scenario().Installation
			move := func(label string, by r3.Vec, extra float64) {
				v := fixed(label, "points", target(func(_ *geometry, out r3.Vec) r3.Vec { return r3.Add(out, by) }))
				v.extra = extra
				vs = append(vs, v)
			}
			for _, name := range in.Names() {
				at, _ := in.Point(name)
				if name == in.Expected.OutputPoint || r3.Norm(at) < 1e-6 {
					continue
				}
				move("the point "+name, at, 0.5)
				move("the point "+name+", and the wrong way round", r3.Scale(-1, at), 1)
			}
			if l := float64(in.Vessel.Length); l > 0 {
				move("the bow, where midships is meant", r3.Vec{Y: l / 2}, 1)
				move("midships, where the bow is meant", r3.Vec{Y: -l / 2}, 1)
			}
			return vs
		}},
	{"output-point-wrong", "The coordinates that it uses of the output point are wrong, for position and heave alike.", "Compare the coordinates of the output point with the installation, and from which point and along which axes they are counted.",
		func(*kase) []variant {
			p := func(name string) param { return param{name: name, unit: "m", typical: 0.2, step: 1e-2} }
			return []variant{{slot: "points", extra: 2, params: []param{p("error of the output point to the right"), p("forward"), p("up")},
				apply: func(p *pipeline, x []float64) {
					target(func(_ *geometry, out r3.Vec) r3.Vec { return r3.Add(out, r3.Vec{X: x[0], Y: x[1], Z: x[2]}) })(p)
				}}}
		}},
	{"arm-tilt-sign-reversed", "Where it carries the position it takes %s, which it publishes rightly.", "Use one attitude for all: the vessel's, worked out once from what the device reports and its mounting.",
		func(k *kase) (vs []variant) {
			if !k.geo.mounted {
				return nil // the same as a turn by another attitude
			}
			add := func(label string, f func(r *raw)) {
				vs = append(vs, fixed(label, "arm attitude", func(p *pipeline) { p.armAt = func(_ *context, r *raw) { f(r) } }))
			}
			minus := func(x float64) float64 { return -x }
			add("the roll of the device with the opposite sign", func(r *raw) { r.each(minus, rRoll) })
			add("the pitch of the device with the opposite sign", func(r *raw) { r.each(minus, rPitch) })
			add("roll and pitch of the device with the opposite signs", func(r *raw) { r.each(minus, rRoll, rPitch) })
			add("the roll of the device for its pitch and its pitch for its roll", func(r *raw) { r.v[rPitch], r.v[rRoll] = r.v[rRoll], r.v[rPitch] })
			return vs
		}},
}
