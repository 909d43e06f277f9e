package compare

import (
	"iter"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
)

// Run is what a comparer needs of one run.
type Run struct {
	Device    Device
	Truth     scenarios.Truth     // of the device
	Start     time.Time           // UTC of scenario time 0
	Origin    time.Time           // the host's clock at scenario time 0; zero if unknown
	HostLateS float64             // the worst lateness of the host, s
	Sent      iter.Seq[line.Sent] // walked once
	Declared  Accuracy            // of the program
}

// A Comparer holds observations against what is expected. It is not for several goroutines.
type Comparer struct {
	Book *Book
	// HostSlackS is what was added to the window of timeless quantities for host and consumer, s.
	HostSlackS float64
	// StampToleranceS is how far a stamp may be off the time of validity in a message, s.
	StampToleranceS float64
	Declared        Accuracy // of the program

	consumer *Consumer
	truth    scenarios.Truth
	errors   *errorModel
	axis     axis
	carried  [NQ]bool
	set      uint16 // of those carried
	fix      bool
	needs    [][NQ]Need // by point
	arms     []float64  // by point: what is left to apply to a position, m
	muted    [fixStates]uint16
	twofold  bool    // the heading is on the wire in two ways, which may differ
	wrong    bool    // the entries are wrong: the truth is accepted beside the conclusion
	step     float64 // interval of the most frequent message that carries its time, s; 0 if none does

	cache     [moments]moment
	times     [moments]float64 // of the cache
	next      int
	latest    int // of the cache, asked for last
	sources   map[string]*selection
	tols      [16]*cachedTolerances
	nextTol   int
	latestTol *cachedTolerances // asked for last
	search    search
	row       Row
	near      []candidate
}

// A search is what is known of those for another instant than the stamp.
type search struct {
	lag    float64 // the last that was found between a stamp and its values, s
	budget int     // how many may still be made
}

// consumerSlackS is the time that a correct consumer may take from the last byte to the reading of its clock, s:
// waking up, and a read that waits for more. Common practice, no source.
const consumerSlackS = 0.05

// searches bounds how often another instant is looked for among all; after that only the last lag found is tried.
const searches = 4000

// New makes a comparer; it walks the sent-log.
func New(run Run) *Comparer {
	in := &run.Device.Scenario().Installation
	c := &Comparer{
		Book: NewBook(run.Device, run.Sent), HostSlackS: consumerSlackS + 3*max(0, run.HostLateS),
		Declared: run.Declared, consumer: NewConsumer(in), truth: run.Truth,
		axis:    axis{start: run.Start, origin: run.Origin, duration: float64(run.Device.Scenario().Duration)},
		sources: map[string]*selection{}, search: search{budget: searches},
	}
	c.carried, c.fix = c.Book.carried()
	for q := range NQ {
		if c.carried[q] {
			c.set |= 1 << q
		}
	}
	for f := range fixStates {
		c.muted[f] = c.Book.muted(wire.Fix(f))
	}
	c.consumer.yawOnly = c.Book.yaws() && !c.Book.headings()
	c.twofold = c.Book.yaws() && c.Book.headings() && !c.consumer.reported.HeadingOfVessel
	c.errors = newErrorModel(c.consumer, run.Device, run.Truth, c.Book, run.Declared)
	for i, l := range c.consumer.points {
		var needs [NQ]Need
		for q := range NQ {
			needs[q] = c.consumer.need(q, i)
		}
		c.needs = append(c.needs, needs)
		c.arms = append(c.arms, r3.Norm(r3.Sub(l, c.consumer.reported.PositionAt)))
	}
	if r := c.Book.fastestTimed(); r > 0 {
		c.step = 1 / r
	}
	c.axis.stretches, c.axis.slack = stretches(run.Device, run.Start, c.Book), c.step/2
	c.StampToleranceS = c.stampTolerance() + run.Declared.TimeS.Or(0)
	c.wrong = c.entriesWrong()
	return c
}

// PointName is the name of a point of a row.
func (c *Comparer) PointName(point int) string {
	if point < 0 || point >= len(c.consumer.names) {
		return "?"
	}
	return c.consumer.names[point]
}

// Carried tells whether any message of the run carries q.
func (c *Comparer) Carried(q Q) bool { return c.carried[q] }

// CarriedFix tells whether any message of the run carries the state of the fix.
func (c *Comparer) CarriedFix() bool { return c.fix }

// Need is what a consumer has to apply to get q at the point it is to deliver.
func (c *Comparer) Need(q Q) Need {
	if c.consumer.expected < 0 {
		return Nothing
	}
	return c.needs[c.consumer.expected][q]
}

// UTC is the instant of scenario time t by the messages.
func (c *Comparer) UTC(t float64) time.Time {
	return c.axis.start.Add(time.Duration(math.Round(t * 1e9)))
}

// Due tells whether at t good messages brought q and all that a correct consumer needs to deliver it at a point.
func (c *Comparer) Due(q Q, t float64, point int) bool {
	m := c.moment(t)
	return m.own(q) && c.at(m, point).c.expected(q).Has() && c.delivered(q, point, m, c.selection(""))
}

// DueFrom is Due where it is looked at apart what became of the message that brings q.
func (c *Comparer) DueFrom(q Q, t float64, point int) bool {
	m := c.moment(t)
	return m.own(q) && c.inputs(q, point, m, c.selection(""))
}

// Timed tells whether all messages that carry q carry its time.
func (c *Comparer) Timed(q Q) bool { return c.selection("").timed[q] }

// Silent tells whether the device has no value for q, which a message of the run carries, at t.
func (c *Comparer) Silent(q Q, t float64) bool { return c.carried[q] && !c.moment(t).own(q) }

// Unmeasured tells whether the device says at t that its position was estimated, typed in or simulated.
func (c *Comparer) Unmeasured(t float64) bool {
	if !c.fix {
		return false
	}
	f := c.moment(t).reading.Fix
	return !Measured(wordFor(c.selection("").fix, f, f))
}

// Measured tells whether a position with this state was measured with satellites; that there is none needs no measuring.
func Measured(f wire.Fix) bool {
	return f != wire.FixEstimated && f != wire.FixManual && f != wire.FixSimulated
}

// Void tells whether at t the messages hold a position that their status calls void.
func (c *Comparer) Void(t float64) bool { return c.void(c.moment(t)) }

func (c *Comparer) void(m *moment) bool { return c.carried[Lat] && m.reading.Void.Has() }

// NoFix tells whether the device says at t that it has no fix.
func (c *Comparer) NoFix(t float64) bool { return c.fix && c.moment(t).reading.Fix == wire.FixNone }

// entriesWrong tells whether taking the entries at their word leads away from the truth.
func (c *Comparer) entriesWrong() bool {
	const instants = 25
	for i := range instants {
		m := c.moment(c.axis.duration * float64(i) / instants)
		for p := range c.consumer.points {
			for q, d := range deltas(&c.at(m, p).c, c.trueAt(m, p)) {
				switch Q(q) {
				case Speed, Course, RateOfTurn:
					continue
				}
				if math.Abs(d) > quantities[q].floor/2 {
					return true
				}
			}
		}
	}
	return false
}

// stampTolerance is a millisecond for a consumer that prints or cuts to milliseconds, and what the digits of the time
// in the messages lose of the epochs of this run.
func (c *Comparer) stampTolerance() float64 {
	const printed, arithmetic = 1e-3, 1e-6
	lost := 0.0
	base := float64(c.axis.start.Nanosecond()) * 1e-9
	for _, k := range c.Book.Kinds {
		if !k.Timed || k.time == 0 {
			continue
		}
		for e := range min(1000, max(1, k.epochs)) {
			t := base + k.At(e)
			lost = max(lost, math.Abs(t-2*k.time*math.Round(t/(2*k.time))))
		}
	}
	if lost < arithmetic {
		lost = 0
	}
	return printed + arithmetic + lost
}

// A selection is the messages that a source names, as far as they carry each quantity; where it names none, all that do.
type selection struct {
	id       int
	carriers [NQ][]*Kind
	timed    [NQ]bool  // all carriers carry their time
	leader   [NQ]*Kind // the fastest carrier; nil where there is none, or all carry their time
	leaders  []*Kind   // all of them, each once, in the order of the book
	half     [NQ]float64
	vector   float64 // the coarsest velocity in components, m/s
	fix      []*Kind
	fixTimed bool
}

// selection finds the messages that a consumer's word for its source names: "GGA", "GNGGA", "ZDA+GGA+HDT".
func (c *Comparer) selection(source string) *selection {
	if s := c.sources[source]; s != nil {
		return s
	}
	const most = 256
	if len(c.sources) >= most {
		source = "" // a consumer that makes up sources
		if s := c.sources[source]; s != nil {
			return s
		}
	}
	words := strings.FieldsFunc(strings.ToUpper(source), func(r rune) bool {
		return (r < 'A' || r > 'Z') && (r < '0' || r > '9') && r != '_'
	})
	named := func(k *Kind) bool {
		for _, w := range words {
			if len(w) >= 3 && strings.HasSuffix(strings.ToUpper(k.Name), w) {
				return true
			}
		}
		return false
	}
	s := &selection{id: len(c.sources)}
	pick := func(carries func(*Kind) bool) (ks []*Kind) {
		for _, only := range []bool{true, false} {
			for _, k := range c.Book.Kinds {
				if carries(k) && (!only || named(k)) {
					ks = append(ks, k)
				}
			}
			if ks != nil {
				break
			}
		}
		return ks
	}
	for q := range NQ {
		s.carriers[q] = pick(func(k *Kind) bool { return k.carries[q] })
		s.timed[q] = len(s.carriers[q]) > 0
		for _, k := range s.carriers[q] {
			s.timed[q] = s.timed[q] && k.Timed
			s.half[q] = max(s.half[q], k.half[q])
			if q == Course {
				s.vector = max(s.vector, k.vector)
			}
		}
		if len(s.carriers[q]) > 0 && !s.timed[q] {
			s.leader[q] = fastest(s.carriers[q])
		}
	}
	for _, k := range c.Book.Kinds {
		if slices.Contains(s.leader[:], k) {
			s.leaders = append(s.leaders, k)
		}
	}
	s.fix = pick(func(k *Kind) bool { return k.fix })
	s.fixTimed = len(s.fix) > 0
	for _, k := range s.fix {
		s.fixTimed = s.fixTimed && k.Timed
	}
	c.sources[source] = s
	return s
}

type cachedTolerances struct {
	used          bool
	bucket        int64
	point, source int
	says          uint16 // what the device says at the reading they were worked out for
	tol           Tolerances
}

// tolerances is what quantities may be off by about the moment m. They change slowly, so that those of the middle of a
// quarter of a second serve for all of it, as long as the device says there what it says at m.
func (c *Comparer) tolerances(m *moment, point int, s *selection) *Tolerances {
	const width = 0.25
	b := int64(math.Floor(m.t / width))
	serves := func(t *cachedTolerances) bool {
		return t != nil && t.used && t.bucket == b && t.point == point && t.source == s.id && m.says&^t.says == 0
	}
	if t := c.latestTol; serves(t) {
		return &t.tol
	}
	for _, t := range c.tols {
		if serves(t) {
			c.latestTol = t
			return &t.tol
		}
	}
	middle := moment{t: (float64(b) + 0.5) * width}
	c.errors.reading(middle.t, &middle.reading)
	middle.says = says(&middle.reading)
	r := &middle
	if m.says&^r.says != 0 { // something is lost in between
		r = m
	}
	// Not in the place of another: rows go on showing the parts of their tolerances.
	t := &cachedTolerances{used: r == &middle, bucket: b, point: point, source: s.id, says: r.says,
		tol: c.errors.at(&r.reading, c.consumer.points[point], &s.half, s.vector)}
	c.tols[c.nextTol%len(c.tols)] = t
	c.nextTol++
	c.latestTol = t
	return &t.tol
}
