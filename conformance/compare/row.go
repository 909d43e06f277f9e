package compare

import (
	"math"

	"swellbench/conformance/observe"
	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
)

// A Row is one observation held against what was expected.
type Row struct {
	Observation  *observe.Observation
	Clock        Clock
	ShiftS       float64 // whole quarters of an hour by which the stamp is off
	DateOpen     bool    // no message had told the date yet: a shift by days is no mistake
	StampS       float64 // scenario time of the stamp
	T            float64 // scenario time of validity that timed quantities were held against
	Timed        bool    // says a quantity whose message carries its time
	OnEpoch      bool    // T is an epoch of a message that carries its time
	Stamp        Stamp
	LagS         float64 // of the stamp behind T, where Stamp is StampWrong
	Point        int
	UnknownPoint bool // names a point that the installation does not have
	Values       [NQ]Value
	Fix          FixValue
	Reference    geo.Position // where the vessel reference point truly was at T; not where Clock is Nowhere
	StampIsEpoch bool         // the stamp is an epoch of a message that carries its time; not where Clock is Nowhere
	Void         bool         // the messages hold a position at T that their status calls void

	fields      [NQ]observe.Field[float64] // of the observation
	silent      uint16                     // quantities that messages carry, and of which the device has no value at T
	selection   *selection
	courseParts [NParts]float64
	position    residuals
}

// residuals are those of latitude, longitude and height at one instant, kept because the stamp is found by them.
type residuals struct {
	known bool
	t     float64
	of    [Height + 1]struct {
		d, want float64
		ok      bool
	}
}

// A Stamp says what was found about the stamp of a row.
type Stamp int

// What can be found.
const (
	StampNone      Stamp = iota // no quantity of the row carries a time
	StampRight                  // it is the time of validity in a message
	StampResampled              // it is none, but the values are those of the stamp
	StampOpen                   // it is none, and the values cannot tell
	StampWrong                  // the values are those of another instant
)

// A State says what came of a quantity of a row.
type State int

// The states.
const (
	Absent     State = iota // the consumer says nothing
	Judged                  // Diff and Tolerance hold
	NullRight               // it says null, or nothing, where the device has no value
	NullShown               // it says null where there is a value
	ValueShown              // it shows a value where the device has none
	Mirrored                // a latitude or longitude with the wrong sign
	Unjudged                // it cannot be judged here
)

// A Value is what came of one quantity of a row. SI and rad; residuals of latitude and longitude in m.
type Value struct {
	State     State
	Need      Need
	T         float64 // scenario time it was held against
	Expected  float64 // latitude and longitude in rad
	Observed  float64
	Diff      float64 // observed minus expected
	Tolerance float64
	Parts     *[NParts]float64 // of Tolerance
	WindowS   float64          // length of the window that was searched; 0 if the value fits its stamp
	Gross     bool             // a position further off than any lever arm explains
	SignTells bool             // the expected latitude or longitude is so far from zero that its sign can be told

	// Hurt: the messages that could have brought the value were hurt or lost at this instant. Such a value is not Judged
	// but compared with what a correct consumer may go on from.
	Hurt    bool
	Wrong   bool // it is none that a correct consumer could go on with
	Telling bool // what the hurt message said can be told from what a correct consumer could go on with
	Fresh   bool // it is what the hurt message said, and Telling
}

// Beyond tells whether a judged value is beyond its tolerance.
func (v *Value) Beyond() bool { return v.State == Judged && !(math.Abs(v.Diff) <= v.Tolerance) }

// Ratio is the residual in tolerances.
func (v *Value) Ratio() float64 { return math.Abs(v.Diff) / v.Tolerance }

// A FixValue is what came of the state of the fix.
type FixValue struct {
	State    State
	Expected wire.Fix
	Observed wire.Fix
}

// Row holds an observation against what is expected. The row is valid until the next call.
func (c *Comparer) Row(o *observe.Observation) *Row {
	c.fill(&c.row, o)
	return &c.row
}

func (c *Comparer) fill(r *Row, o *observe.Observation) {
	*r = Row{Observation: o}
	for q := range NQ {
		r.fields[q] = q.of(o)
	}
	s := c.selection(o.Source)
	r.selection = s
	point, ok := c.consumer.point(o.Point)
	if !ok {
		r.UnknownPoint = true
		point = max(c.consumer.expected, 0)
	}
	r.Point = point
	r.Timed = c.isTimed(r, s)
	r.StampS, r.Clock, r.ShiftS = c.axis.place(o.Time, o.Arrival, r.Timed, func(t float64) bool { _, ok := c.epoch(t); return ok })
	r.T = r.StampS
	if r.Clock == Nowhere && !(r.Timed && c.rescue(r, s)) {
		return
	}
	const day = 86400
	r.DateOpen = r.ShiftS != 0 && math.Mod(r.ShiftS, day) == 0 && (!c.Book.dated() || r.StampS <= c.Book.DateFromS)
	if r.Stamp == StampWrong {
		// found already
	} else if r.Timed {
		c.stamp(r, s)
	} else if t, ok := c.epoch(r.StampS); ok {
		r.T, r.StampIsEpoch = t, true
	}
	c.judge(r, s)
	if c.axis.stretches != nil && c.axis.twice(o.Time.Sub(c.axis.start).Seconds()) {
		r.leaveOpen()
	}
}

// leaveOpen judges nothing of a row of which it cannot be told which instant it is of.
func (r *Row) leaveOpen() {
	for q := range r.Values {
		if v := &r.Values[q]; v.State != Absent {
			v.State, v.Hurt = Unjudged, false
		}
	}
	if r.Fix.State != Absent {
		r.Fix.State = Unjudged
	}
	if r.Timed {
		r.Stamp, r.LagS = StampRight, 0
	}
}

// isTimed tells whether an observation has to go by the time in the messages: it has a value whose message carries
// one, or says nothing else but that such a value is null, or what the fix is. (The state of the fix, and nulls, may
// stand beside a heading that is stamped on arrival.)
func (c *Comparer) isTimed(r *Row, s *selection) bool {
	said, timeless := r.Observation.Fix.Said() && s.fixTimed, false
	for q := range NQ {
		f := r.fields[q]
		_, value := f.Value()
		switch {
		case s.timed[q] && value:
			return true
		case value && len(s.carriers[q]) > 0:
			timeless = true
		}
		said = said || f.Said() && s.timed[q]
	}
	return said && !timeless
}

// epoch finds the epoch, of a message that carries its time, that a stamp says.
func (c *Comparer) epoch(t float64) (float64, bool) {
	best, found := math.Inf(1), 0.0
	for _, k := range c.Book.Kinds {
		if !k.Timed {
			continue
		}
		e, off := k.Nearest(t)
		if e >= 0 && e < max(k.epochs, 1) && math.Abs(off) < best {
			best, found = math.Abs(off), k.At(e)
		}
	}
	return found, best <= c.StampToleranceS
}

// judge fills in the values.
func (c *Comparer) judge(r *Row, s *selection) {
	m := c.moment(r.T)
	r.Reference, r.Void, r.silent = m.truth.Position, c.void(m), c.set&^m.says
	for q := range NQ {
		v := &r.Values[q]
		v.Need = c.needs[r.Point][q]
		v.T = r.T
		if x, ok := r.fields[q].Value(); ok {
			v.Observed = x
		}
		switch {
		case !r.fields[q].Said():
			v.State = Absent
		case r.UnknownPoint && (q <= Height || q == Heave), len(s.carriers[q]) == 0:
			v.State = Unjudged
		case s.timed[q]:
			c.timed(r, q, c.moment(r.T), s)
		}
	}
	c.timeless(r, s)
	c.judgeFix(r, c.moment(r.T), s)
}
