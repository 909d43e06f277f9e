package track

import "math"

// A curve is a smooth way in a plan. It is asked at any t.
type curve interface{ at(t float64) planState }

// A planState is a point of a curve: x east and y north of the anchor in m, with derivatives by time in s, and the
// direction of the bow, clockwise from the plan's y axis, in rad.
type planState struct {
	x, y, vx, vy, ax, ay float64
	h, hRate, hAccel     float64
}

// spot stays at the anchor and turns there.
type spot struct{ heading, rate float64 }

func (s spot) at(t float64) planState { return planState{h: s.heading + s.rate*t, hRate: s.rate} }

// line runs straight from the anchor, at constant speed; the bow points crab to starboard of the course.
type line struct{ course, speed, crab float64 }

func (l line) at(t float64) planState {
	sin, cos := math.Sincos(l.course)
	return planState{
		x: l.speed * t * sin, y: l.speed * t * cos,
		vx: l.speed * sin, vy: l.speed * cos,
		h: l.course + l.crab,
	}
}

// circle runs round the anchor: bearing is the direction from there at t = 0 and grows by rate. side is +π/2 for a
// turn to starboard, where the course is ahead of the bearing, else −π/2.
type circle struct{ radius, bearing, rate, side, crab float64 }

func (c circle) at(t float64) planState {
	b := c.bearing + math.Mod(c.rate*t, 2*math.Pi)
	sin, cos := math.Sincos(b)
	x, y := c.radius*sin, c.radius*cos
	return planState{
		x: x, y: y,
		vx: c.rate * y, vy: -c.rate * x,
		ax: -c.rate * c.rate * x, ay: -c.rate * c.rate * y,
		h: b + c.side + c.crab, hRate: c.rate,
	}
}
