package gnss

import (
	"math"
	"slices"
)

// A rung of the ladder that a fix climbs and steps down.
type rung int

const (
	noFix rung = iota
	entered
	autonomous
	precise
	differential
	float
	fixed
	rungs
)

// carrierSatellites is how many satellites integers and float solutions need (one more than a code fix: common
// practice, no source).
const carrierSatellites = 5

// An interval is a stretch of the run in which the receiver's state does not change.
type interval struct {
	from  float64
	state state
}

type state struct {
	rung        rung
	heading     bool    // from the baseline, valid
	down        bool    // no answer at all
	corrections float64 // those that came before are forgotten
}

// A timer tells since when a condition has held, and when it has held long enough.
type timer struct {
	on  bool
	due float64
}

// hold says whether the condition holds at t; it is met after a while.
func (m *timer) hold(on bool, t, after float64) {
	switch {
	case on && !m.on:
		m.due = t + after
	case !on:
		m.due = math.Inf(1)
	}
	m.on = on
}

func (m *timer) met(t float64) bool { return m.on && t >= m.due }

// A machine goes through the run once and notes when the state changes.
type machine struct {
	r        *Receiver
	signals  timer   // enough satellites: then a code fix
	lostAt   float64 // when the last fix was lost
	pending  StartUp // how the receiver started, until its first fix; "" after
	ever     bool    // there has been a fix
	float    timer
	fixed    timer
	precise  timer
	heading  timer
	forgot   float64 // corrections before are forgotten
	restarts []restart
}

// run goes through the whole run: from one sample of the sky to the next, and from edge to edge of the conditions.
func (r *Receiver) run() {
	m := machine{r: r, forgot: math.Inf(-1), restarts: r.restarts}
	if s := r.spec.StartUp; s != "" && s != Running {
		m.pending, m.forgot = s, 0
	}
	for t := 0.0; t < r.duration; {
		k := math.Floor(t / r.step)
		i := r.spanAt(t)
		end := min((k+1)*r.step, r.duration)
		if i+1 < len(r.spans) {
			end = min(end, r.spans[i+1].from)
		}
		sp := &r.spans[i]
		v := r.look(k*r.step, sp, nil)
		r.seen.above, r.seen.clear = max(r.seen.above, v.above), max(r.seen.clear, v.clear)
		m.segment(t, end, sp, v)
		t = end
	}
}

// segment lets the machine run from a to b, between which the sky is taken to stand still.
func (m *machine) segment(a, b float64, sp *span, v view) {
	r := m.r
	for len(m.restarts) > 0 && m.restarts[0].from <= a {
		m.pending, m.forgot = m.restarts[0].start, m.restarts[0].up
		m.signals = timer{}
		m.restarts = m.restarts[1:]
	}
	was := m.signals.met(a)
	usable := v.ok && !sp.deaf() && r.spec.Fix != None
	if was && !usable {
		m.lostAt = a
	}
	if usable && !m.signals.on {
		m.signals = timer{on: true, due: a + m.acquisition(a)}
		if m.settled(a) {
			m.signals.due = math.Inf(-1)
		}
	}
	if !usable {
		m.signals = timer{}
	}
	for t := a; t < b; {
		fix := m.signals.met(t)
		if fix {
			m.pending, m.ever = "", true
		}
		epoch := r.lastCorrection(t, m.forgot)
		fresh := func(age float64) bool { return t < epoch+age }
		after := func(s float64) float64 {
			if m.settled(t) {
				return math.Inf(-1)
			}
			return s
		}
		carrier := fix && v.used >= carrierSatellites
		m.float.hold(carrier && fresh(r.ages.float), t, after(r.times.float))
		m.fixed.hold(carrier && fresh(r.ages.fixed), t, after(r.times.fixed))
		m.precise.hold(fix && fresh(r.ages.differential), t, after(r.times.precise))
		m.heading.hold(fix && !sp.noSecondary && r.baselineFits(v), t, after(r.times.heading))

		s := state{down: sp.down, corrections: m.forgot, heading: m.heading.met(t)}
		switch {
		case fix:
			s.rung = m.rung(t, fresh(r.ages.differential))
		case !m.ever && r.spec.Entered != nil && !sp.down:
			s.rung = entered
		}
		m.note(t, s)

		// the next instant at which anything can change
		next := b
		sooner := func(x float64) {
			if x > t && x < next {
				next = x
			}
		}
		for _, due := range []float64{m.signals.due, m.float.due, m.fixed.due, m.precise.due, m.heading.due} {
			sooner(due)
		}
		stale := false
		for _, age := range []float64{r.ages.fixed, r.ages.float, r.ages.differential} {
			sooner(epoch + age)
			stale = stale || !fresh(age)
		}
		if stale {
			sooner(r.nextCorrection(t, m.forgot))
		}
		t = next
	}
}

// settled tells whether the receiver has long been in the state of the very beginning.
func (m *machine) settled(t float64) bool { return t == 0 && m.pending == "" }

// acquisition is how long the code fix takes that begins at t.
func (m *machine) acquisition(t float64) float64 {
	times := &m.r.times
	switch loss := t - m.lostAt; {
	case m.pending != "":
		return times.start(m.pending)
	case loss <= times.short:
		return times.hot
	case loss <= times.longer:
		return times.warm
	}
	return times.cold
}

// rung is how far up the ladder a code fix gets.
func (m *machine) rung(t float64, fresh bool) rung {
	best := m.r.best
	switch {
	case best == fixed && m.fixed.met(t):
		return fixed
	case best >= float && m.float.met(t):
		return float
	case best >= differential && fresh:
		return differential
	case best == precise && m.precise.met(t):
		return precise
	}
	return autonomous
}

// note appends what holds from t on, if it is something new.
func (m *machine) note(t float64, s state) {
	all := m.r.intervals
	if n := len(all); n > 0 && all[n-1].state == s {
		return
	}
	m.r.intervals = append(all, interval{t, s})
}

// baselineFits tells whether geometry and baseline are enough for a heading.
func (r *Receiver) baselineFits(v view) bool {
	h := &r.headings
	return v.ok && v.baseline >= minBaselineM && v.used >= h.satellites && v.geometry.DOP.Position <= h.pdop
}

// newest is the number of the newest correction that would be in at t: correction n is of the epoch n·interval, and in
// after the latency.
func (a *correctionSettings) newest(t float64) float64 {
	n := math.Floor((t - a.latency) / a.interval)
	switch { // so that it agrees to the last bit with in
	case a.in(n+1) <= t:
		return n + 1
	case a.in(n) > t:
		return n - 1
	}
	return n
}

// in is when correction n is in.
func (a *correctionSettings) in(n float64) float64 { return n*a.interval + a.latency }

// from is the first correction that is in at t or later.
func (a *correctionSettings) from(t float64) float64 {
	n := a.newest(t)
	if a.in(n) < t {
		n++
	}
	return n
}

// lastCorrection is the epoch of the newest correction that is in at t, −Inf where there is none. Those that were in
// before forgot do not count.
func (r *Receiver) lastCorrection(t, forgot float64) float64 {
	n := r.ages.newest(t)
	for _, l := range slices.Backward(r.lost) {
		if in := r.ages.in(n); in >= l[0] && in < l[1] {
			n = r.ages.from(l[0]) - 1
		}
	}
	if r.ages.in(n) < forgot {
		return math.Inf(-1)
	}
	return n * r.ages.interval
}

// nextCorrection is when the first correction after t comes in that counts, +Inf where none does.
func (r *Receiver) nextCorrection(t, forgot float64) float64 {
	n := r.ages.newest(t) + 1
	if forgot > t {
		n = max(n, r.ages.from(forgot))
	}
	for _, l := range r.lost {
		if in := r.ages.in(n); in >= l[0] && in < l[1] {
			if math.IsInf(l[1], 1) {
				return l[1]
			}
			n = r.ages.from(l[1])
		}
	}
	return r.ages.in(n)
}
