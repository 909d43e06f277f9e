package track

import (
	"errors"
	"math"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// Limits of what a helm does.
const (
	maxSegments = 100000 // parts of a path; some 30 MB
	maxTurnRad  = 1.0    // rad, in one segment
	maxCurvedM  = 250.0  // m, in one segment that is not straight
	tolM        = 2e-11  // m; what a polynomial may leave out of a position, and for each metre of its length:
	tolPerM     = 2e-13
	tolRad      = 1e-13 // rad; what it may leave out of a heading
	maxHalvings = 12
)

// errTooLong says that a path has more parts than there may be.
var errTooLong = errors.New("the track has too many turns; allowed: what makes at most 100000 parts, of which a turn takes three or more")

// A helm steers: each of its methods adds a part to a path where the last one ended. What moves is the surface point
// below the vessel reference point; speeds over the ground are along the ellipsoid.
//
// A straight part is a geodesic from its anchor, however long. A curved one is laid in the plan about its own start
// and kept so short, maxCurvedM, that the plan is flat for it: where the next begins, the speed is off by 3e-10 of
// itself and the acceleration by 1e-10 m/s² at 10 m/s (K·s²/6 and K·s·v²·2/3 with K = 1/R², package plan). Position,
// course and heading meet to the rounding of the geodesic, 1e-9 m.
type helm struct {
	segments []segment
	now      float64      // scenario time at which the next part begins, s
	at       geo.Position // where, at height 0
	course   float64      // over ground, true there, rad; of no meaning at rest
	heading  float64      // true there, rad
	own      float64      // the vessel's own speed, m/s; 0 at rest
	drift    drift        // in the plan about at
	handling handling
}

// handling is how the vessel speeds up and turns.
type handling struct {
	acceleration float64 // m/s², the greatest while the speed changes
	turnIn       float64 // s, in which a rate of turn builds up; no change of speed takes less
	radius       float64 // m, of a turn that does not say its own
	spotRate     float64 // rad/s, the greatest while it turns without way
}

// over gives the speed over ground at the own speed and the present course, and the crab.
func (h *helm) over(own float64) (speed, crab float64) {
	if own == 0 {
		return 0, 0
	}
	return h.drift.triangle(own, h.course)
}

// add appends a curve in the plan about the present place, and goes to where it is after the duration. course is what
// it makes good then, in that plan.
func (h *helm) add(c curve, course, duration float64) error {
	if len(h.segments) >= maxSegments {
		return errTooLong
	}
	h.segments = append(h.segments, newSegment(h.now, h.at, c))
	s := h.segments[len(h.segments)-1].state(duration)
	turned := s.heading - c.at(duration).h // of north, from one plan to the next
	h.now += duration
	h.at = geo.Position{Lat: s.lat, Lon: s.lon}
	h.course = frame.Wrap2Pi(course + turned)
	h.heading = frame.Wrap2Pi(s.heading)
	h.drift.set += turned
	return nil
}

// steady adds what goes on as it is now: it stands still, or runs straight. It lasts for ever unless more is added.
func (h *helm) steady(duration float64) error {
	if h.own == 0 {
		return h.add(spot{heading: h.heading}, h.heading, duration)
	}
	speed, crab := h.over(h.own)
	return h.add(line{course: h.course, speed: speed, crab: crab}, h.course, duration)
}

// straight adds a straight way of that length, in m, at the present speed; nothing where it is shorter than what
// rounding may leave.
func (h *helm) straight(length float64) error {
	if !(length > 1e-9) {
		return nil
	}
	speed, _ := h.over(h.own)
	return h.steady(length / speed)
}

// rampTime is how long it takes to change the speed over ground, s, and rampLength the way meanwhile, m.
func (h *helm) rampTime(from, to float64) float64 {
	if from == to {
		return 0
	}
	return max(smoothSlope*math.Abs(to-from)/h.handling.acceleration, h.handling.turnIn)
}

func (h *helm) rampLength(from, to float64) float64 { return h.rampTime(from, to) * (from + to) / 2 }

// ramp changes the own speed on a straight way; to rest where it is 0.
//
// From rest and to rest the drift takes hold with the way, so that the crab angle is that of the full speed throughout:
// the triangle of velocities has no solution for a vessel that is slower than its drift.
func (h *helm) ramp(own float64) error {
	from, fromCrab := h.over(h.own)
	to, toCrab := h.over(own)
	duration := h.rampTime(from, to)
	if own == h.own {
		return nil
	}
	crab := func(v float64) float64 { return h.drift.crabAt(v, h.course) }
	switch {
	case h.own == 0:
		crab = func(float64) float64 { return toCrab }
	case own == 0:
		crab = func(float64) float64 { return fromCrab }
	}
	h.own = own
	if duration == 0 { // two own speeds that make the same over the ground do not exist within maxDriftRatio
		return nil
	}
	return h.rampPart(from, to, duration, 0, duration, crab, 0)
}

// rampPart adds the part of a ramp from start to end, s after it began.
func (h *helm) rampPart(from, to, duration, start, end float64, crab func(v float64) float64, halvings int) error {
	length := func(t float64) float64 { return from*t + (to-from)*duration*smoothIntegral(t/duration) }
	sin, cos := math.Sincos(h.course)
	var x, y, bow samples
	for j, u := range nodes {
		t := start + (end-start)*(1+u)/2
		s := length(t) - length(start)
		x[j], y[j] = s*sin, s*cos
		bow[j] = crab(from + (to-from)*smooth(t/duration)) // from the course, lest a large number hide small changes
	}
	sx, sy, sb := x.series(), y.series(), bow.series()
	if sb.tail() > tolRad && halvings < maxHalvings {
		middle := (start + end) / 2
		if err := h.rampPart(from, to, duration, start, middle, crab, halvings+1); err != nil {
			return err
		}
		return h.rampPart(from, to, duration, middle, end, crab, halvings+1)
	}
	sb[0] += h.course
	return h.add(newPolynomial(end-start, &sx, &sy, &sb), h.course, end-start)
}

// swing turns the bow by the angle turn, in rad, without way, at no more than the rate given.
func (h *helm) swing(turn, rate float64) error {
	if math.Abs(turn) < 1e-12 { // rounding
		return nil
	}
	duration := max(smoothSlope*math.Abs(turn)/rate, 2*h.handling.turnIn)
	var none, bow samples
	for j, u := range nodes {
		bow[j] = turn * smooth((1+u)/2)
	}
	sb := bow.series()
	sb[0] += h.heading
	return h.add(newPolynomial(duration, &none, &none, &sb), h.heading, duration)
}

// keep stays about the present place for the duration, within the radius.
func (h *helm) keep(duration, radius, period float64) error {
	if radius == 0 {
		return h.steady(duration)
	}
	return h.add(&station{heading: h.heading, duration: duration, ease: min(period, duration/2), radius: radius, rate: 2 * math.Pi / period},
		h.heading, duration)
}

// bend is the turn by the angle turn, in rad, with no less than the radius, at the own speed.
func (h *helm) bend(turn, radius float64) bend {
	return newBend(turn, radius, h.own*h.handling.turnIn)
}

// turn adds a bend.
func (h *helm) turn(b bend) error {
	for _, p := range b.phases() {
		if p.length <= 0 {
			continue
		}
		turned := math.Abs(p.turned(p.length))
		n := math.Ceil(max(1, turned/maxTurnRad, p.length/maxCurvedM))
		if n > maxSegments {
			return errTooLong
		}
		for i := range int(n) {
			if err := h.bendPart(p, p.length*float64(i)/n, p.length*float64(i+1)/n, 0); err != nil {
				return err
			}
		}
	}
	return nil
}

// bendPart adds the part of a phase from start to end, in m after it began.
//
// With a drift the speed over ground depends on the course, so first it solves ds/dt = v(χ(s)) at the nodes by
// successive approximation (Picard), integrating the polynomials exactly; then x and y are integrals in time.
func (h *helm) bendPart(p phase, start, end float64, halvings int) error {
	length, turnedBefore := end-start, p.turned(start)
	course := func(s float64) float64 { return h.course + p.turned(start+s) - turnedBefore }
	var s, v, slowness, crab samples
	for j, u := range nodes {
		s[j] = length * (1 + u) / 2
		v[j], crab[j] = h.drift.triangle(h.own, course(s[j]))
		slowness[j] = 1 / v[j]
	}
	ss := slowness.series()
	rest := ss.tail()
	ss = ss.integral()
	times := ss.values()
	duration := times[degree] * length / 2
	good := rest*h.own <= tolPerM

	if h.drift.ms != 0 {
		for range 60 {
			sv := v.series()
			sv.scale(duration / 2)
			sv = sv.integral()
			next := sv.values()
			change := 0.0
			for j := range s {
				change = max(change, math.Abs(next[j]-s[j]))
				s[j] = next[j]
				v[j], crab[j] = h.drift.triangle(h.own, course(s[j]))
			}
			if change <= 1e-15*length {
				break
			}
		}
	}
	var x, y, bow samples
	for j := range s {
		c := course(s[j])
		sin, cos := math.Sincos(c)
		x[j], y[j] = v[j]*sin*duration/2, v[j]*cos*duration/2
		bow[j] = c - h.course + crab[j]
	}
	sx, sy, sb := x.series(), y.series(), bow.series()
	tol := tolM + tolPerM*length
	good = good && sx.tail() <= tol && sy.tail() <= tol && sb.tail() <= tolRad
	if !good && halvings < maxHalvings {
		middle := (start + end) / 2
		if err := h.bendPart(p, start, middle, halvings+1); err != nil {
			return err
		}
		return h.bendPart(p, middle, end, halvings+1)
	}
	sx, sy = sx.integral(), sy.integral()
	sb[0] += h.course
	return h.add(newPolynomial(duration, &sx, &sy, &sb), course(length), duration)
}

// mark is a place in the work of a helm to return to.
type mark struct {
	helm
	n int
}

func (h *helm) mark() mark { return mark{*h, len(h.segments)} }

func (h *helm) back(m mark) {
	all := h.segments[:m.n]
	*h = m.helm
	h.segments = all
}
