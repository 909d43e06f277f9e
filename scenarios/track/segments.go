package track

// A segment is a part of a path: a curve in a plan of its own, from a moment on until the next segment begins.
type segment struct {
	from  float64 // scenario time, s; the curve is asked at what has passed since then
	plan  plan
	curve curve
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

// state is the motion over the ellipsoid t seconds after the segment began.
func (s *segment) state(t float64) surfaceState {
	c := s.curve.at(t)
	return s.plan.surface(&c)
}
