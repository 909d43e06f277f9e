package track

import (
	"math"

	"swellbench/scenarios/geo"
)

// A segment is a part of a path, from a moment on until the next segment begins: a curve in a plan of its own, or a
// straight way where run is there.
type segment struct {
	from  float64 // scenario time, s; the curve is asked at what has passed since then
	plan  plan
	curve curve
	run   *straight // what plan and curve give too, sooner
}

// newSegment makes the part that begins at from, in the plan about anchor.
func newSegment(from float64, anchor geo.Position, c curve) segment {
	s := segment{from: from, plan: planAt(anchor), curve: c}
	if l, ok := c.(line); ok {
		s.run = &straight{line: geo.LineFrom(s.plan.anchor, l.course), speed: l.speed, bow: l.crab}
	}
	return s
}

// state is the motion over the ellipsoid t seconds after the segment began.
func (s *segment) state(t float64) surfaceState {
	if s.run != nil {
		return s.run.state(t)
	}
	c := s.curve.at(t)
	return s.plan.surface(&c)
}

// straight runs along a geodesic at constant speed, the bow so far to starboard of it.
type straight struct {
	line       geo.Line
	speed, bow float64
}

func (r *straight) state(t float64) surfaceState {
	at, azimuth := r.line.Course(r.speed * t)
	sin, cos := math.Sincos(azimuth)
	return surfaceState{
		lat: at.Lat, lon: at.Lon, normal: normalAt(at.Lat),
		vE: r.speed * sin, vN: r.speed * cos,
		heading: azimuth + r.bow,
	}
}

// segments is a path made of many parts, in order of time. The first is asked for what was before it too, the last goes
// on for ever.
type segments struct {
	height float64
	all    []segment
}

// At implements [Path], in a time that grows with the logarithm of the number of segments.
func (p *segments) At(t float64) PathState {
	lo, hi := 0, len(p.all) // all[lo] begins no later than t, or is the first; all[hi] begins later
	for hi-lo > 1 {
		if middle := int(uint(lo+hi) >> 1); p.all[middle].from <= t {
			lo = middle
		} else {
			hi = middle
		}
	}
	s := p.all[lo].state(t - p.all[lo].from)
	return s.atHeight(p.height)
}
