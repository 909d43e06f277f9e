package compare

import (
	"math"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/opt"
)

// A Clock says by which clock an observation is stamped.
type Clock int

// The clocks.
const (
	Scenario Clock = iota // the time in the messages, or the host's where that is the same
	Host                  // the host's, while the scenario plays at another date
	Nowhere               // the stamp fits neither
)

// How far outside the run a stamp may lie and still be of the run, s: a consumer may be late, or flush at its end.
const (
	marginBefore = 2.0
	marginAfter  = 10.0
)

// An axis turns instants into scenario time.
type axis struct {
	start    time.Time // UTC of scenario time 0
	origin   time.Time // the host's clock at scenario time 0; zero if unknown
	duration float64   // s

	stretches []stretch // where the messages tell another time than the true one; nil: nowhere
	slack     float64   // half the interval of epochs, s
}

// within tells whether a scenario time is of the run.
func (a *axis) within(t float64) bool { return t >= -marginBefore && t <= a.duration+marginAfter }

// place finds the scenario time of a stamp. timed: the observation has quantities whose message carries a time, so it
// has no reason to go by the host's clock. A stamp outside the run that is off by whole quarters of an hour, as time
// zones are, or by whole days, is taken at its time within the run, and shift says by how much it was off.
func (a *axis) place(stamp, arrival time.Time, timed bool, onEpoch func(float64) bool) (t float64, clock Clock, shift float64) {
	t = stamp.Sub(a.start).Seconds()
	if a.stretches != nil {
		came := math.NaN()
		if !arrival.IsZero() && !a.origin.IsZero() {
			came = arrival.Sub(a.origin).Seconds()
		}
		if x, ok := a.byMessages(t, came); ok {
			return x, Scenario, 0
		}
	}
	if a.within(t) {
		return t, Scenario, 0
	}
	host, byHost := 0.0, false
	if !a.origin.IsZero() {
		host = stamp.Sub(a.origin).Seconds()
		byHost = a.within(host)
	}
	if byHost && !timed {
		return host, Host, 0
	}
	const quarter = 900
	s := quarter * math.Round((t-a.duration/2)/quarter)
	shifted := a.within(t - s)
	switch {
	case shifted && (!byHost || onEpoch(t-s)):
		return t - s, Scenario, s
	case byHost:
		return host, Host, 0
	}
	return t, Nowhere, 0
}

// A moment is what is expected at one instant; it is kept for the rows that follow.
type moment struct {
	t       float64
	used    bool
	reading wire.Reading
	says    uint16 // of the reading: which quantities it has
	points  []expectation
	truth   scenarios.Body
	scale   [NQ]float64 // of [metres]; zero until it is asked for
}

// An expectation is what is expected of one point at one instant.
type expectation struct {
	known, truly bool
	other        bool // yaw is there
	c            Conclusion
	yaw          Conclusion // as c, with the heading of the attitude in place of the heading
	true         Conclusion
}

const moments = 32 // kept; a power of two

// moment returns what is expected at scenario time t. It stays valid for the next few calls.
func (c *Comparer) moment(t float64) *moment {
	if c.times[c.latest] == t && c.cache[c.latest].used {
		return &c.cache[c.latest]
	}
	for i := range c.times {
		if c.times[i] == t && c.cache[i].used {
			c.latest = i
			return &c.cache[i]
		}
	}
	c.latest = c.next & (moments - 1)
	c.next++
	m := &c.cache[c.latest]
	c.times[c.latest] = t
	if m.points == nil {
		m.points = make([]expectation, len(c.consumer.points))
	}
	for i := range m.points {
		m.points[i].known, m.points[i].truly, m.points[i].other = false, false, false
	}
	m.t, m.used, m.truth, m.scale = t, true, scenarios.MotionAt(c.truth, t), [NQ]float64{}
	c.errors.readingOf(&m.truth, &m.reading)
	m.says = says(&m.reading) &^ c.muted[min(max(int(m.reading.Fix), 0), fixStates-1)]
	return m
}

// metres is [metres] at the moment.
func (m *moment) metres(q Q) float64 {
	if m.scale[Lat] == 0 {
		m.scale = metres(&m.reading)
	}
	return m.scale[q]
}

// at is what is expected of a point.
func (c *Comparer) at(m *moment, point int) *expectation {
	e := &m.points[point]
	if !e.known {
		e.known = true
		e.c = c.consumer.Conclude(&m.reading, c.consumer.points[point])
	}
	return e
}

// yawAt is what is expected of a point by who takes the heading of the attitude.
func (c *Comparer) yawAt(m *moment, point int) *Conclusion {
	e := &m.points[point]
	if !e.other {
		e.other = true
		r := m.reading
		r.Heading = opt.None[float64]()
		e.yaw = c.consumer.Conclude(&r, c.consumer.points[point])
	}
	return &e.yaw
}

// yawed tells whether the heading is known from the attitude alone.
func (m *moment) yawed() bool { return !m.reading.Heading.Has() && m.reading.Yaw.Has() }

// trueAt is what is true of a point.
func (c *Comparer) trueAt(m *moment, point int) *Conclusion {
	e := &m.points[point]
	if !e.truly {
		e.truly = true
		e.true = trueConclusion(&m.truth, c.consumer.points[point])
	}
	return &e.true
}

// own tells whether the device itself says a quantity; what no message carries it does not.
func (m *moment) own(q Q) bool { return m.says&(1<<q) != 0 }

// says is the set of quantities that a reading has.
func says(r *wire.Reading) (set uint16) {
	if r.Position.Has() {
		set = 1<<Lat | 1<<Lon | 1<<Height
	}
	for _, x := range [...]struct {
		q   Q
		has bool
	}{{Speed, r.SpeedMS.Has()}, {Course, r.CourseRad.Has()}, {Heading, r.Heading.Has() || r.Yaw.Has()}, {Pitch, r.Pitch.Has()},
		{Roll, r.Roll.Has()}, {Heave, r.HeaveM.Has()}, {RateOfTurn, r.RateOfTurn.Has()}} {
		if x.has {
			set |= 1 << x.q
		}
	}
	return set
}

// expected is the value expected of a quantity, SI and rad.
func (e *Conclusion) expected(q Q) opt.Opt[float64] {
	switch q {
	case Lat, Lon, Height:
		p, ok := e.Position.Value()
		switch {
		case !ok:
			return opt.None[float64]()
		case q == Lat:
			return opt.Of(p.Lat)
		case q == Lon:
			return opt.Of(p.Lon)
		}
		return opt.Of(p.Height)
	}
	return e.Value[q]
}

// diff is the residual of a quantity at a moment; ok is false where nothing is expected or observed. Where more than
// one answer is right, it is that of the nearest.
func (c *Comparer) diff(q Q, r *Row, m *moment) (d, expected float64, ok bool) {
	v, said := r.fields[q].Value()
	e := c.at(m, r.Point)
	want, known := e.c.expected(q).Value()
	if !said || !known {
		return 0, 0, false
	}
	d = c.distance(q, v, want, &e.c)
	if c.twofold && d != 0 && m.reading.Heading.Has() && m.reading.Yaw.Has() {
		t := c.yawAt(m, r.Point)
		if w, ok := t.expected(q).Value(); ok {
			if x := c.distance(q, v, w, t); math.Abs(x) < math.Abs(d) {
				d, want = x, w
			}
		}
	}
	if !c.wrong && q != Speed && q != Course && q != RateOfTurn || d == 0 {
		return d, want, true
	}
	t := c.trueAt(m, r.Point)
	if w, ok := t.expected(q).Value(); ok {
		if x := c.distance(q, v, w, t); math.Abs(x) < math.Abs(d) {
			return x, w, true
		}
	}
	return d, want, true
}

// word is the residual against what follows from the reading alone, where diff would accept another answer too.
func (c *Comparer) word(q Q, r *Row, m *moment) (d float64, ok bool) {
	v, said := r.fields[q].Value()
	e := c.at(m, r.Point)
	want, known := e.c.expected(q).Value()
	if !said || !known {
		return 0, false
	}
	return c.distance(q, v, want, &e.c), true
}

// distance is observed minus expected: m north, east, up for a position, else the difference.
func (c *Comparer) distance(q Q, v, want float64, e *Conclusion) float64 {
	if q != Lat && q != Lon {
		return q.diff(v, want)
	}
	// One at a time: a longitude that is far off says nothing about the latitude.
	if q == Lat {
		p, _ := e.Position.Value()
		return e.level.North(v, p.Height)
	}
	return e.level.East(v - want)
}
