package track

import (
	"math"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// aimTol is how well a turn must aim, rad: a millimetre in a thousand kilometres.
const aimTol = 1e-9

// turnTowards turns, the shorter way, so that the vessel then runs straight for the target, and tells whether it can:
// not where the target lies within the circles that it would turn in.
func (h *helm) turnTowards(target geo.Position, radius float64) (ok bool, err error) {
	distance, azimuth, _ := geo.Inverse(h.at, target)
	bearing := frame.AngleDiff(azimuth, h.course)
	if math.Abs(bearing) <= aimTol/10 || distance == 0 {
		return distance > 0, nil
	}
	turn, ok := h.aim(distance, bearing, radius)
	if !ok {
		return false, nil
	}
	// The flat plan is good to some 1e-9 rad for a turn of a hundred metres. For the last of it, try and correct.
	for range 4 {
		m := h.mark()
		if err := h.turn(h.bend(turn, radius)); err != nil {
			return false, err
		}
		_, azimuth, _ := geo.Inverse(h.at, target)
		miss := frame.AngleDiff(azimuth, h.course)
		if math.Abs(miss) <= aimTol {
			return true, nil
		}
		h.back(m)
		const d = 1e-4
		slope := (h.miss(turn+d, distance, bearing, radius) - h.miss(turn-d, distance, bearing, radius)) / (2 * d)
		turn -= miss / slope
	}
	return false, nil
}

// miss is the bearing of the target from ahead, in the flat plan, after a turn by the angle turn; the target lies at
// the distance and the bearing from ahead before it.
func (h *helm) miss(turn, distance, bearing, radius float64) float64 {
	right, ahead := h.bend(turn, radius).chord()
	sin, cos := math.Sincos(bearing)
	return frame.WrapPi(math.Atan2(distance*sin-right, distance*cos-ahead) - turn)
}

// aim finds the turn after which the target is ahead, to the side where it lies now, in the flat plan.
func (h *helm) aim(distance, bearing, radius float64) (turn float64, ok bool) {
	side := math.Copysign(1, bearing)
	f := func(turn float64) float64 { return side * h.miss(side*turn, distance, bearing, radius) }
	// As the turn grows the target comes round from the side to ahead: the first change of sign that is no leap.
	const steps = 96
	lo, flo := 0.0, math.Abs(bearing)
	for i := 1; i <= steps; i++ {
		hi := 2 * math.Pi * float64(i) / steps
		fhi := f(hi)
		if flo >= 0 && fhi < 0 && flo-fhi < math.Pi {
			return side * root(f, lo, hi, flo, fhi), true
		}
		lo, flo = hi, fhi
	}
	return 0, false
}

// root finds where f changes its sign between lo and hi, where it is flo and fhi: regula falsi that halves the weight
// of an end that stays (the Illinois way), source: Dowell and Jarratt, BIT 11 (1971).
func root(f func(float64) float64, lo, hi, flo, fhi float64) float64 {
	for range 200 {
		x := hi - fhi*(hi-lo)/(fhi-flo)
		if !(x > min(lo, hi) && x < max(lo, hi)) {
			x = (lo + hi) / 2
		}
		fx := f(x)
		if fx == 0 || math.Abs(hi-lo) <= 1e-14*max(1, math.Abs(x)) {
			return x
		}
		if (fx > 0) == (fhi > 0) {
			flo /= 2
		} else {
			lo, flo = hi, fhi
		}
		hi, fhi = x, fx
	}
	return hi
}
