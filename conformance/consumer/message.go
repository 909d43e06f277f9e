package consumer

import (
	"math"
	"slices"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A quantity is one thing a message can say. In memory: rad, m, m/s, rad/s; axes and signs of package frame.
type quantity int

const (
	latitude quantity = iota
	longitude
	altitude // above mean sea level
	undulation
	speed
	course
	heading // as on the wire: the vessel's, a device's or a baseline's
	yaw     // the heading of the axes that the device reports
	pitch   // of the same axes
	roll
	heave
	rateOfTurn
	quantities // their number
)

// A value is what was said about a quantity: nothing (the zero value), that it is not known, or a number.
type value struct {
	said, known bool
	x           float64
}

var null = value{said: true}

func number(x float64) value {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return null
	}
	return value{said: true, known: true, x: x}
}

// told is the value of a field that a message has: its number, or null.
func told(o opt.Opt[float64], unit float64) value {
	if x, ok := o.Value(); ok {
		return number(x * unit)
	}
	return null
}

// A message is what one sentence, frame or datagram says, whatever its format, and when its bytes came.
type message struct {
	kind   string // "GGA"
	values [quantities]value
	fix    opt.Opt[wire.Fix]
	time   opt.Opt[time.Duration] // UTC of validity, since midnight; 24 h and more within a leap second
	date   opt.Opt[time.Time]     // midnight of the day that time belongs to
	since  opt.Opt[float64]       // of validity, since the device was switched on, s
	moment opt.Opt[moment]        // what messages of one instant have in common, where the format has that
	void   bool                   // the sender vouches for nothing: what it says of the date may be a default
	rank   int                    // of two messages of one epoch that say the same quantity, the higher one counts

	first, last time.Time // when its first and its last byte came, by the host's clock
	offset      int64     // how many bytes of the stream came before its first
	digest      uint64    // of its bytes, to tell a copy
}

// A moment is the number that one sender gives to all its messages of one instant.
type moment struct{ sender, number uint8 }

// mask has a bit for each quantity the message speaks about.
func (m *message) mask() (bits uint32) {
	for q, v := range m.values {
		if v.said {
			bits |= 1 << q
		}
	}
	return bits
}

// withdraw makes position and velocity null where the message itself says that there is no fix: what stands beside such
// a status is left over, or a default.
func withdraw(m *message) {
	if f, ok := m.fix.Value(); ok && f == wire.FixNone {
		for _, q := range []quantity{latitude, longitude, altitude, speed, course} {
			if m.values[q].said {
				m.values[q] = null
			}
		}
	}
}

// An epoch is what several messages say about one instant.
type epoch struct {
	parts  []part
	values [quantities]value
	ranks  [quantities]int
	fix    opt.Opt[wire.Fix]
	time   opt.Opt[time.Duration]
	dated  opt.Opt[time.Time] // the instant of the message that carried a date
	weakly opt.Opt[time.Time] // the same of a void message
	utc    opt.Opt[time.Time] // the stamp, once it is known

	first, last time.Time
	offset      int64

	fixRank, timeRank int
}

// A part is one message of an epoch, the latest of its key. Parts are in order of arrival.
type part struct {
	key    key
	time   opt.Opt[time.Duration]
	moment opt.Opt[moment]
	digest uint64
}

// A key tells messages of a burst apart: the kind, and what it speaks about (two transducer sentences may carry
// different things).
type key struct {
	kind string
	mask uint32
}

func (m *message) key() key { return key{m.kind, m.mask()} }

// add puts a message into the epoch. Of two that say the same, the one of higher rank counts, else the later.
func (e *epoch) add(m *message) {
	if len(e.parts) == 0 {
		e.first, e.offset = m.first, m.offset
	}
	e.last = m.last
	p := part{m.key(), m.time, m.moment, m.digest}
	e.parts = append(slices.DeleteFunc(e.parts, func(o part) bool { return o.key == p.key }), p)
	for q, v := range m.values {
		if v.said && (!e.values[q].said || m.rank >= e.ranks[q]) {
			e.values[q], e.ranks[q] = v, m.rank
		}
	}
	if m.fix.Has() && (!e.fix.Has() || m.rank >= e.fixRank) {
		e.fix, e.fixRank = m.fix, m.rank
	}
	t, timed := m.time.Value()
	if timed && (!e.time.Has() || m.rank > e.timeRank) {
		e.time, e.timeRank = m.time, m.rank
	}
	if d, ok := m.date.Value(); ok && timed {
		if m.void {
			e.weakly = opt.Of(d.Add(t))
		} else {
			e.dated = opt.Of(d.Add(t))
		}
	}
}

// join puts the parts of a later piece of the same epoch into e.
func (e *epoch) join(later *epoch) {
	e.last = later.last
	e.parts = append(e.parts, later.parts...)
	for q, v := range later.values {
		if v.said && (!e.values[q].said || later.ranks[q] >= e.ranks[q]) {
			e.values[q], e.ranks[q] = v, later.ranks[q]
		}
	}
	if later.fix.Has() && (!e.fix.Has() || later.fixRank >= e.fixRank) {
		e.fix, e.fixRank = later.fix, later.fixRank
	}
	if later.time.Has() && (!e.time.Has() || later.timeRank > e.timeRank) {
		e.time, e.timeRank = later.time, later.timeRank
	}
	if later.dated.Has() {
		e.dated = later.dated
	}
	if later.weakly.Has() {
		e.weakly = later.weakly
	}
}
