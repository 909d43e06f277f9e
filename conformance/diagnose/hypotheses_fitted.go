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

// What is told by a number and not by a word: continuous parameters alone. A word that explains as much is named
// before them, for it has less freedom.
var fittedHypotheses = []hypothesis{
	{"source-late", "Its %s is of another instant than the stamp.", "Stamp it with the time it is valid at: take off what it took from measurement to arrival; look for filters and for values that are held.",
		func(k *kase) (vs []variant) {
			for s := range nSources {
				if !k.hasSource(s) {
					continue
				}
				v := variant{label: sourceNames[s], slot: "late " + sourceNames[s], extra: 2,
					params: []param{{name: "age of the " + sourceNames[s], unit: "ms", show: 1e3, typical: 0.05, step: 1e-3, starts: []float64{0, 0.04, 0.1, 0.2, 0.4, 0.8, -0.05, -0.1, -0.2}}},
					apply:  func(p *pipeline, x []float64) { p.lag[s] += x[0] }}
				are := "is"
				if s == sVelocity || s == sAttitude {
					are = "are"
				}
				v.say = late(sourceNames[s], are)
				vs = append(vs, v)
			}
			return append(vs, variant{label: "heading, pitch and roll", slot: "late attitude", extra: 2, say: late("heading, pitch and roll", "are"),
				params: []param{{name: "age of heading, pitch and roll", unit: "ms", show: 1e3, typical: 0.05, step: 1e-3, starts: []float64{0, 0.04, 0.1, 0.2, 0.4, 0.8, -0.05, -0.1, -0.2}}},
				apply:  func(p *pipeline, x []float64) { p.lag[sAttitude] += x[0]; p.lag[sHeading] += x[0] }})
		}},
	{"lever-arm-wrong", "Its lever arm is wrong.", "Compare the coordinates it uses, of the point on the wire and of the output point, with the installation.",
		func(*kase) []variant {
			p := func(name string) param { return param{name: name, unit: "m", typical: 0.2, step: 1e-2} }
			return []variant{{slot: "arm error", extra: 2, params: []param{p("error of the lever arm to the right"), p("forward"), p("up")},
				apply: func(p *pipeline, x []float64) {
					armOf(func(_ *geometry, a r3.Vec) r3.Vec { return r3.Add(a, r3.Vec{X: x[0], Y: x[1], Z: x[2]}) })(p)
				}}}
		}},
	{"mounting-wrong", "Its mounting angles are wrong.", "Compare the mounting angles it uses with the installation.",
		func(*kase) []variant {
			p := func(name string) param {
				return param{name: name, unit: "°", show: 1 / deg, typical: 1 * deg, step: 1e-3}
			}
			return []variant{{slot: "mounting error", extra: 2, params: []param{p("error of the mounting angle of heading"), p("of pitch"), p("of roll")},
				apply: func(p *pipeline, x []float64) {
					was, before := p.attitude, p.g
					p.g = func(g *geometry) {
						if before != nil {
							before(g)
						}
						g.mounted = true
					}
					p.attitude = func(g *geometry, d frame.Attitude) frame.Attitude {
						err := frame.Attitude{Heading: x[0], Pitch: x[1], Roll: x[2]}.Rotation()
						return frame.VesselFromDevice(was(g, d).Rotation(), err).Attitude()
					}
				}}}
		}},
	{"constant-offset", "Its %s is off by a constant.", "Look for an offset that is added or left out.",
		func(k *kase) (vs []variant) {
			for _, x := range pairsOf {
				if !k.carried[x.q] {
					continue
				}
				unit, show, typical := x.q.Unit(), 1.0, 0.1
				if x.q.Show(1) != 1 {
					show, typical = 1/deg, deg
				}
				pm := []param{{name: "offset of the " + x.name, unit: unit, show: show, typical: typical, step: typical / 100}}
				add := func(y float64, x []float64) float64 { return y + x[0] }
				v := variant{label: x.name, slot: x.name + " constant", extra: 2, params: pm, say: func(y []float64) string {
					return fmt.Sprintf("Its %s is off by a constant, %+.3g%s.", x.name, y[0]*show, spaced(unit))
				}, apply: func(p *pipeline, y []float64) {
					reads(func(r *raw) { r.each(func(z float64) float64 { return add(z, y) }, x.f) })(p)
				}}
				w := variant{label: x.name, slot: x.name + " constant", extra: 2.5, params: pm, say: func(y []float64) string {
					return fmt.Sprintf("Its %s is published with a constant, %+.3g%s, added to it.", x.name, y[0]*show, spaced(unit))
				}, apply: func(p *pipeline, y []float64) {
					says(func(o *out) { o.each(func(z float64) float64 { return add(z, y) }, x.q) })(p)
				}}
				vs = append(vs, v, w)
			}
			p := func(name string) param { return param{name: name, unit: "m", typical: 0.2, step: 1e-2} }
			return append(vs, variant{label: "position", slot: "position constant", extra: 2, title: "Its position is shifted by a constant to the north and east.",
				change: "Look for another datum, or for an offset that is not turned with the vessel.",
				params: []param{p("shift to the north"), p("to the east")},
				apply: func(p *pipeline, x []float64) {
					says(func(o *out) {
						if o.known(compare.Lat) && o.known(compare.Lon) {
							q := geo.Position{Lat: o.v[compare.Lat], Lon: o.v[compare.Lon], Height: o.v[compare.Height]}
							n, e := metres(q.Lat, 0)
							o.v[compare.Lat] += x[0] / n
							o.v[compare.Lon] += x[1] / e
						}
					})(p)
				}})
		}},
	{"scale-wrong", "Its %s is multiplied by a wrong factor.", "Look for a unit or a scale of the message that is converted wrongly.",
		func(k *kase) (vs []variant) {
			for _, x := range pairsOf {
				if !k.carried[x.q] || x.name == "heading" || x.name == "course" || x.name == "height" {
					continue
				}
				pm := []param{{name: "factor of the " + x.name + ", less 1", typical: 0.05, step: 1e-3, starts: []float64{0, -2, -1.9, 1, 5, 60}}}
				vs = append(vs, variant{label: x.name, slot: x.name + " scale", extra: 3, params: pm, say: factorOf(x.name), apply: func(p *pipeline, y []float64) {
					reads(func(r *raw) { r.each(func(z float64) float64 { return z * (1 + y[0]) }, x.f) })(p)
					p.blurred(x.q, 1+y[0])
				}}, variant{label: x.name, slot: x.name + " scale", extra: 3.5, params: pm, say: factorOf(x.name), apply: func(p *pipeline, y []float64) {
					says(func(o *out) { o.each(func(z float64) float64 { return z * (1 + y[0]) }, x.q) })(p)
					p.blurred(x.q, 1+y[0])
				}})
			}
			return vs
		}},
}

func (k *kase) hasSource(s source) bool {
	for _, x := range wireOf {
		if sourceOf[x.f] == s && k.carried[x.q] {
			return true
		}
	}
	return false
}

// intervalOf is the interval of the most frequent message of a source, s.
func (k *kase) intervalOf(s source) float64 {
	least := math.Inf(1)
	for _, x := range wireOf {
		if sourceOf[x.f] == s && k.carried[x.q] {
			least = math.Min(least, k.epochOf(x.q))
		}
	}
	if math.IsInf(least, 1) {
		return k.step
	}
	return least
}

// late says by how much a source is late or early.
func late(name, are string) func(x []float64) string {
	return func(x []float64) string {
		if x[0] < 0 {
			return fmt.Sprintf("Its %s %s %.0f ms newer than the stamp says.", name, are, -x[0]*1e3)
		}
		return fmt.Sprintf("Its %s %s %.0f ms late: older than the stamp says.", name, are, x[0]*1e3)
	}
}

func factorOf(name string) func(x []float64) string {
	return func(x []float64) string {
		return fmt.Sprintf("Its %s is %.4g times as large as it should be.", name, 1+x[0])
	}
}

// spaced is a unit after a number.
func spaced(unit string) string {
	if strings.HasPrefix(unit, "°") {
		return unit
	}
	return " " + unit
}
