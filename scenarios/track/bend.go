package track

import "math"

// smooth rises from 0 to 1 over 0 ≤ u ≤ 1 with no slope and no bend at either end: the smallest polynomial of that
// kind, 6u⁵ − 15u⁴ + 10u³. Speeds, rates of turn and turns on the spot all go by it. Its slope is steepest in the
// middle, smoothSlope.
func smooth(u float64) float64 { return u * u * u * (10 + u*(-15+6*u)) }

// smoothSlope is the steepest slope of smooth.
const smoothSlope = 1.875

// smoothIntegral is the integral of smooth from 0 to u; from 0 to 1 it is 1/2.
func smoothIntegral(u float64) float64 { return u * u * u * u * (2.5 + u*(-3+u)) }

// A bend is a turn in the plan, to starboard where curvature is positive: the curvature grows smoothly from 0 over
// the length ramp, stays for the length arc, and falls back to 0 over the length ramp. Like the clothoids of roads and
// railways, but with no corners in the curvature either, so that the acceleration of the turn is continuous.
type bend struct {
	curvature float64 // 1/m
	ramp, arc float64 // m
}

// newBend makes a turn by the angle turn, in rad, with a radius no less than radius and ramps of the length ramp, in m.
// A turn too short for the full curvature does with less of it.
func newBend(turn, radius, ramp float64) bend {
	k := 1 / radius
	if full := k * ramp; math.Abs(turn) < full {
		return bend{curvature: turn / ramp, ramp: ramp}
	}
	return bend{curvature: math.Copysign(k, turn), ramp: ramp, arc: math.Abs(turn)*radius - ramp}
}

// length is that of the whole bend, m.
func (b bend) length() float64 { return 2*b.ramp + b.arc }

// phases are the parts of a bend within which its curvature is one polynomial.
func (b bend) phases() [3]phase {
	k := b.curvature
	return [3]phase{
		{curvature: k, slope: 0, ease: 1, length: b.ramp},
		{curvature: k, slope: 1, ease: 0, length: b.arc},
		{curvature: k, slope: 1, ease: -1, length: b.ramp},
	}
}

// A phase is a part of a bend: s metres after its start it has turned by curvature·(slope·s + ease·∫smooth).
type phase struct{ curvature, slope, ease, length float64 }

func (p phase) turned(s float64) float64 {
	turned := p.slope * s
	if p.ease != 0 {
		turned += p.ease * p.length * smoothIntegral(s/p.length)
	}
	return p.curvature * turned
}

// gauss are the nodes and weights of ten points for an integral over −1 to 1. Source: Abramowitz and Stegun, Handbook
// of Mathematical Functions, 1964, table 25.4.
var gauss = [...][2]float64{
	{0.148874338981631, 0.295524224714753}, {0.433395394129247, 0.269266719309996}, {0.679409568299024, 0.219086362515982},
	{0.865063366688985, 0.149451349150581}, {0.973906528517172, 0.066671344308688},
}

// chord is where a bend ends in a flat plan, in m to the right and ahead of its start. The heading is 0 at the start.
func (b bend) chord() (right, ahead float64) {
	turned := 0.0
	for _, p := range b.phases() {
		if p.ease == 0 { // a circle
			if p.length > 0 {
				sin0, cos0 := math.Sincos(turned)
				turned += p.turned(p.length)
				sin1, cos1 := math.Sincos(turned)
				right += (cos0 - cos1) / p.curvature
				ahead += (sin1 - sin0) / p.curvature
			}
			continue
		}
		pieces := 1 + int(math.Abs(p.turned(p.length))/0.5)
		half := p.length / float64(2*pieces)
		for i := range pieces {
			middle := half * float64(2*i+1)
			for _, g := range gauss {
				for _, u := range [2]float64{-g[0], g[0]} {
					sin, cos := math.Sincos(turned + p.turned(middle+half*u))
					right += half * g[1] * sin
					ahead += half * g[1] * cos
				}
			}
		}
		turned += p.turned(p.length)
	}
	return right, ahead
}

// tangent is the distance from the start of a bend by turn to the corner that it rounds, and from there to its end,
// in m. Beyond half a turn it is negative: the corner lies behind. At half a turn there is none.
func (b bend) tangent(turn float64) float64 {
	right, ahead := b.chord()
	return math.Hypot(right, ahead) / (2 * math.Cos(turn/2))
}
