package track

import "math"

// station keeps about the anchor for the duration: it wanders within the radius, slowly and without repeating itself,
// from rest to rest, the bow on its heading.
//
// East and north are each a sum of two sines whose periods, and those of the other, stand in ratios that are not
// rational; an envelope that rises and falls smoothly over ease begins and ends it. Vessels held in place by thrusters
// wander so, by the looks of it; there is no model of one behind it.
type station struct {
	heading, duration, ease float64
	radius, rate            float64 // m, rad/s
}

// parts of the wander: of the radius, of the rate, and phase in rad. East and north together stay within the radius:
// each is at most 1/√2.
var (
	stationEast  = [2][3]float64{{0.43, 1, 0.4}, {0.27, 0.6180339887, 2.1}}
	stationNorth = [2][3]float64{{0.43, 0.8286427, 4.7}, {0.27, 0.5411961, 1.3}}
)

func (s *station) at(t float64) planState {
	e := s.envelope(t)
	x, y := s.wander(&stationEast, t), s.wander(&stationNorth, t)
	return planState{
		x: e[0] * x[0], vx: e[1]*x[0] + e[0]*x[1], ax: e[2]*x[0] + 2*e[1]*x[1] + e[0]*x[2],
		y: e[0] * y[0], vy: e[1]*y[0] + e[0]*y[1], ay: e[2]*y[0] + 2*e[1]*y[1] + e[0]*y[2],
		h: s.heading,
	}
}

// envelope gives value and derivatives.
func (s *station) envelope(t float64) [3]float64 {
	u, sign := t, 1.0
	if left := s.duration - t; left < t {
		u, sign = left, -1
	}
	if u >= s.ease {
		return [3]float64{1, 0, 0}
	}
	if u <= 0 {
		return [3]float64{}
	}
	u /= s.ease
	return [3]float64{
		smooth(u),
		sign * 30 * u * u * (1 - u) * (1 - u) / s.ease,
		60 * u * (1 - u) * (1 - 2*u) / (s.ease * s.ease),
	}
}

// wander gives one coordinate and its derivatives.
func (s *station) wander(parts *[2][3]float64, t float64) (x [3]float64) {
	for _, p := range parts {
		a, w := p[0]*s.radius, p[1]*s.rate
		sin, cos := math.Sincos(w*t + p[2])
		x[0] += a * sin
		x[1] += a * w * cos
		x[2] -= a * w * w * sin
	}
	return x
}
