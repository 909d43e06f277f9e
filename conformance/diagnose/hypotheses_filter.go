package diagnose

import (
	"fmt"
	"math"

	"swellbench/conformance/compare"
	"swellbench/scenarios/frame"
)

// filtered are programs that put a first-order low-pass on what they read: y += a·(x − y) at each epoch, a = 1 − exp(−Δt/τ).
func filtered(k *kase) (vs []variant) {
	for _, g := range []struct {
		name string
		q    compare.Q
		fs   []field
	}{
		{"the heading", compare.Heading, []field{rHeading}},
		{"pitch and roll", compare.Pitch, []field{rPitch, rRoll}},
		{"heave", compare.Heave, []field{rHeave}},
		{"the position", compare.Lat, []field{rLat, rLon, rAlt}},
		{"speed", compare.Speed, []field{rSpeed}},
		{"the rate of turn", compare.RateOfTurn, []field{rTurn}},
	} {
		if !k.carried[g.q] {
			continue
		}
		step := k.epochOf(g.q)
		v := variant{label: g.name, slot: "smooth " + g.name, extra: 1,
			change: "Publish what was measured at the stamp, or move the stamp back by what the filter delays: about its time constant.",
			params: []param{{name: "time constant of the filter", unit: "s", typical: 0.2, step: 5e-3, starts: []float64{0.15, 0.4, 1, 2.5}}}}
		v.say = func(x []float64) string {
			return fmt.Sprintf("It smooths %s by a filter with a time constant of about %.2g s, so that what it gives lags behind.", g.name, math.Abs(x[0]))
		}
		v.apply = func(p *pipeline, x []float64) {
			stay := math.Exp(-step / math.Max(math.Abs(x[0]), step/20)) // of what it had, from one epoch to the next
			p.gather = append(p.gather, func(c *context, r *raw) { lowPass(c, r, g.fs, step, stay) })
		}
		vs = append(vs, v)
	}
	return vs
}

// lowPass replaces values by the filter's. It looks back until what is older counts less than a thousandth.
func lowPass(c *context, r *raw, fs []field, step, stay float64) {
	const least, most = 1e-3, 60
	var sum [nFields]float64
	left := 1.0 // weight of what is older
	for i := 1; i <= most && left > least; i++ {
		t := c.k.tidy(c.t - float64(i)*step)
		if t < -1e-9 {
			break // the filter began with the first value
		}
		x := c.k.raw(t)
		if !x.known(fs...) {
			break // and anew after a gap
		}
		left *= stay
		y := c.k.raw(c.k.tidy(c.t - float64(i-1)*step))
		for _, f := range fs { // y(t) = x(t) − Σ stay^i·(x(t−(i−1)Δt) − x(t−iΔt)): differences, so that angles may wrap
			d := y.v[f] - x.v[f]
			switch f {
			case rHeading, rLon, rRoll, rCourse:
				d = frame.WrapPi(d)
			}
			sum[f] += left * d
		}
	}
	for _, f := range fs {
		if r.known(f) {
			r.v[f] -= sum[f]
		}
	}
}
