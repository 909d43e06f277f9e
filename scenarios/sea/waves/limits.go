package waves

import (
	"fmt"
	"math"

	"swellbench/scenarios/strictyaml"
)

// SteepnessLimit is the highest steepness 2π·Hs/(g·Tp²) that seas have been measured with: 1/15 for peak periods to
// 8 s, 1/25 from 15 s, and on the straight line between. Source: DNV-RP-C205 section 3.5.4, from memory.
func SteepnessLimit(tpS float64) float64 {
	return straight(tpS, 8, 1.0/15, 15, 1.0/25)
}

// MeanSteepnessLimit is the same of 2π·Hs/(g·Tz²), with the zero-crossing period: 1/10 to 6 s, 1/20 from 12 s.
func MeanSteepnessLimit(tzS float64) float64 {
	return straight(tzS, 6, 1.0/10, 12, 1.0/20)
}

func straight(x, x0, y0, x1, y1 float64) float64 {
	f := min(max((x-x0)/(x1-x0), 0), 1)
	return y0 + f*(y1-y0)
}

// BreakingHeight is the greatest height in m of a single wave of wave number k, in rad/m: 0.142·λ·tanh(kd). Source:
// Miche, Mouvements ondulatoires de la mer en profondeur constante ou décroissante, 1944.
func BreakingHeight(k, depthM float64) float64 {
	return 0.142 * 2 * math.Pi / k * math.Tanh(k*depthM)
}

// shallowHeight is the part of the depth that a significant height hardly exceeds: common practice, no source.
const shallowHeight = 0.6

// Warnings returns what is possible but unlikely, or impossible in nature though it can be computed, with paths
// relative to the section. The Spec is valid.
func (s Spec) Warnings() []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(i int, key, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: fmt.Sprintf("systems[%d].%s", i, key), Text: fmt.Sprintf(format, args...)})
	}
	depth, total := s.depthM(), 0.0
	for i, w := range s.Systems {
		if len(w.validate()) > 0 || !w.heightKnown() {
			continue
		}
		sp := w.spectrum()
		hs, tp, tz := sp.HsM(), sp.TpS(), sp.TzS()
		total += hs * hs
		key := "height"
		switch {
		case w.State != nil:
			key = "state"
		case w.Wind != 0:
			key = "wind"
		}
		steep, mean := steepness(hs, tp), steepness(hs, tz)
		limit, meanLimit := SteepnessLimit(tp), MeanSteepnessLimit(tz)
		k := Wavenumber(sp.PeakOmega(), depth, GravityMS2)
		switch {
		case hs > BreakingHeight(k, depth):
			add(i, key, "a significant height of %.3g m at a peak period of %.3g s cannot be: waves of that length break at %.3g m (Miche 1944); lower the height or lengthen the period",
				hs, tp, BreakingHeight(k, depth))
		case w.Spectrum == PiersonMoskowitz:
			// Whatever the wind it has the steepness of the seas it was measured from, 1/39 by the peak and 1/19.7 by zero
			// crossings, a trifle above the limit for long ones.
		case steep > limit*(1+1e-9):
			add(i, key, "a significant height of %.3g m at a peak period of %.3g s has a steepness of 1/%.3g; seas are measured up to 1/%.3g (DNV-RP-C205 section 3.5.4), which is %.3g m at this period",
				hs, tp, 1/steep, 1/limit, hs*limit/steep)
		case mean > meanLimit*(1+1e-9):
			add(i, key, "a significant height of %.3g m at a zero-crossing period of %.3g s has a steepness of 1/%.3g; seas are measured up to 1/%.3g (DNV-RP-C205 section 3.5.4), which is %.3g m at this period",
				hs, tz, 1/mean, 1/meanLimit, hs*meanLimit/mean)
		}
		if w.Spectrum == Jonswap && w.Gamma > 10 {
			add(i, "gamma", "gamma is %g; wind seas are measured with 1 to 7, swell up to about 10", w.Gamma)
		}
	}
	if hs := math.Sqrt(total); hs > shallowHeight*depth {
		ps = append(ps, strictyaml.Problem{Path: "depth", Text: fmt.Sprintf(
			"a significant height of %.3g m in %.3g m of water: waves break there above about %.3g m, %g of the depth; deepen the water or lower the sea", hs, depth, shallowHeight*depth, shallowHeight)})
	}
	return ps
}

// steepness is the height over the deep-water length of waves of that period.
func steepness(hs, period float64) float64 { return 2 * math.Pi * hs / (GravityMS2 * period * period) }
