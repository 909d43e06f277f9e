package waves

import (
	"math"

	"swellbench/scenarios/frame"
)

// Side is the side from which waves come.
type Side int

// The sides.
const (
	NoSide Side = iota // from ahead or astern
	FromStarboard
	FromPort
)

func (s Side) String() string { return [...]string{"none", "starboard", "port"}[s] }

// Meeting returns β, the angle between the vessel's heading and the direction that the waves travel to, 0 (following
// sea) to π (head sea), and the side from which they come. All in rad, heading and from true.
func Meeting(heading, from float64) (beta float64, side Side) {
	to := frame.AngleDiff(from+math.Pi, heading)
	beta = math.Abs(to)
	switch s := math.Sin(from - heading); {
	case math.Abs(s) < 1e-12:
	case s > 0:
		side = FromStarboard
	default:
		side = FromPort
	}
	return beta, side
}

// EncounterOmega is the frequency at which a vessel at speedMS meets waves of frequency omega and wave number k:
// ωe = ω − k·U·cos β, rad/s. Below 0 the vessel overtakes the waves. In deep water k = ω²/g. Source: Faltinsen, Sea Loads
// on Ships and Offshore Structures, 1990; DNV-RP-C205.
func EncounterOmega(omega, k, speedMS, beta float64) float64 {
	return omega - k*speedMS*math.Cos(beta)
}

// WaveOmegas are the frequencies of the deep-water waves that a vessel meets at the signed frequency omegaE, in rising
// order: the positive roots of ω − ω²·U·cos β/g = ωe. There are none, one, or two (in a following sea below g/4U).
func WaveOmegas(omegaE, speedMS, beta, g float64) []float64 {
	c := speedMS * math.Cos(beta) / g
	if math.Abs(c) < 1e-15 {
		if omegaE > 0 {
			return []float64{omegaE}
		}
		return nil
	}
	disc := 1 - 4*c*omegaE
	if disc < 0 {
		return nil
	}
	// q = (1+√disc)/2 never cancels; the roots are ωe/q and q/c.
	q := (1 + math.Sqrt(disc)) / 2
	var roots []float64
	for _, r := range []float64{omegaE / q, q / c} {
		if r > 0 {
			roots = append(roots, r)
		}
	}
	if len(roots) == 2 {
		if roots[0] == roots[1] {
			return roots[:1]
		}
		roots[0], roots[1] = min(roots[0], roots[1]), max(roots[0], roots[1])
	}
	return roots
}
