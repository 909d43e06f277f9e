package conformance

import (
	"math"
	"strings"
	"time"

	"swellbench/conformance/compare"
	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
	"swellbench/emulator/wire"
)

// A tally is what the checks need to know of all observations of a case, gathered in one pass. It does not grow with
// their number, but for the epochs seen (two bits each).
type tally struct {
	cmp       *compare.Comparer
	hostLateS float64
	refused   int64
	stats     *observe.Stats

	observations int
	counted      int                          // after the start
	measures     [nOwners][compare.NQ]measure // what each check owns
	fix          counter                      // states of the fix that are wrong
	withheld     counter                      // those that say none of a position that no satellite has measured
	nulls        [compare.NQ + 1]nulls        // by quantity; the last is the fix
	signs        [2]counter                   // latitude, longitude with the wrong sign
	wraps        [compare.NQ]wrap
	ranges       counter // headings, courses, longitudes outside their range
	stamps       stamps
	hurt         [compare.NQ]hurt
	said         [compare.NQ]int // values shown
	unknown      counter         // names of points the installation does not have
	coverage     *coverage
	events       *events
	notes        *notes
	series       *series
	diagnoser    *diagnose.Diagnoser
}

// An owner is the check that a quantity belongs to.
type owner int

const (
	ownValues owner = iota
	ownMounting
	ownBaseline
	ownLeverArm
	ownHeave
	nOwners
)

// ownerOf is who owns a value: what takes a mounting, a baseline or a lever arm belongs to the check of that, but for
// positions further off than any lever arm explains.
func ownerOf(v *compare.Value) owner {
	switch v.Need {
	case compare.Mounting:
		return ownMounting
	case compare.Baseline:
		return ownBaseline
	case compare.LeverArm:
		if !v.Gross {
			return ownLeverArm
		}
	case compare.HeaveArm:
		return ownHeave
	}
	return ownValues
}

const maxExamples = 5

// A counter counts what was looked at and what of it was wrong.
type counter struct {
	n, bad   int
	examples []Example
}

func (c *counter) add(bad bool, example func() Example) {
	c.n++
	if bad {
		c.bad++
		if len(c.examples) < maxExamples {
			c.examples = append(c.examples, example())
		}
	}
}

// A measure is the statistics of the residuals of one quantity. SI and rad.
type measure struct {
	n, beyond        int
	sum, squares     float64
	worst, tolerance float64 // of the value worst by its tolerance
	most             float64 // the largest deviation, whatever its tolerance
	spread           quantiles
	parts            [compare.NParts]float64
	at               Example // of the same
	first            []Example
	windowS          float64 // the longest window that a value needed
	windowed         int     // values that needed one
	other            int     // values that could not be judged
}

func (m *measure) add(q compare.Q, v *compare.Value, r *compare.Row) {
	m.n++
	m.sum += v.Diff
	m.squares += v.Diff * v.Diff
	m.spread.add(v.Diff)
	m.most = max(m.most, math.Abs(v.Diff))
	if v.WindowS > 0 {
		m.windowed++
		m.windowS = max(m.windowS, v.WindowS)
	}
	if ratio := v.Ratio(); m.n == 1 || ratio > math.Abs(m.worst)/m.tolerance {
		m.worst, m.tolerance = v.Diff, v.Tolerance
		if v.Parts != nil {
			m.parts = *v.Parts
		}
		if v.Beyond() {
			m.at = example(q, v, r)
		}
	}
	if v.Beyond() {
		m.beyond++
		if len(m.first) < maxExamples {
			m.first = append(m.first, example(q, v, r))
		}
	}
}

// nulls counts what was shown of a quantity while the device had none, and the reverse.
type nulls struct {
	right    int // said null, or nothing
	shown    counter
	nullSaid int // said null where there is a value
	first    Example
}

// A wrap counts one cyclic quantity near its wrap and away from it.
type wrap struct {
	below, above int // judged on either side, near
	near, far    counter
	stray        int     // near, and observed far away from the wrap
	astray       int     // far, and off by as much
	worst        float64 // near, SI
	tolerance    float64
}

// stamps counts what was found about stamps.
type stamps struct {
	n         int // rows with quantities whose message carries a time
	by        [compare.StampWrong + 1]int
	lagLow    float64
	lagHigh   float64
	lagSum    float64
	host      int // by the host's clock
	nowhere   counter
	shifted   counter // off by whole quarters of an hour
	days      counter // off by whole days
	shift     float64 // the first shift, s
	dayShift  float64
	wrong     []Example
	afterDay  int // after midnight
	beforeDay int
	firstOpen Example
}

// hurt counts values that only hurt messages could have brought.
type hurt struct {
	n, wrong, telling, fresh int
	examples                 []Example
}

// add takes one row.
func (t *tally) add(r *compare.Row) {
	t.observations++
	for q := range compare.NQ {
		if _, ok := q.Raw(r.Observation).Value(); ok {
			t.said[q]++
		}
	}
	if r.Clock != compare.Nowhere && r.T < startS {
		return
	}
	t.counted++
	t.stamp(r)
	if r.Clock == compare.Nowhere {
		return
	}
	t.unknown.add(r.UnknownPoint, func() Example {
		return Example{Time: r.Observation.Time, T: r.T, Quantity: "point", Expected: t.cmp.PointName(r.Point), Observed: printable(r.Observation.Point), Line: r.Observation.Line}
	})
	t.coverage.add(r)
	for q := range compare.NQ {
		t.value(q, r)
	}
	t.series.position(r)
	t.fixState(r)
	t.notes.add(t, r)
}

func (t *tally) value(q compare.Q, r *compare.Row) {
	v := &r.Values[q]
	n := &t.nulls[q]
	switch v.State {
	case compare.Absent:
		if !v.Hurt && r.Silent(q) {
			n.right++
		}
		return
	case compare.NullRight:
		n.right++
		return
	case compare.NullShown:
		if n.nullSaid++; n.nullSaid == 1 {
			n.first = Example{Time: r.Observation.Time, T: r.T, Quantity: q.String(), Expected: "a value", Observed: "null", Source: printable(r.Observation.Source), Line: r.Observation.Line}
		}
		return
	case compare.ValueShown:
		n.shown.add(true, func() Example {
			return Example{Time: r.Observation.Time, T: r.T, Quantity: q.String(), Expected: "null or nothing", Observed: minus(q.Format(v.Observed, 0)), Source: printable(r.Observation.Source), Line: r.Observation.Line}
		})
		return
	case compare.Mirrored:
		t.signs[q].add(true, func() Example { return example(q, v, r) })
		return
	}
	t.outOfRange(q, v, r)
	if v.Hurt {
		h := &t.hurt[q]
		h.n++
		if v.Telling {
			h.telling++
		}
		if v.Fresh {
			h.fresh++
		}
		if v.Wrong {
			h.wrong++
		}
		if (v.Wrong || v.Fresh) && len(h.examples) < maxExamples {
			x := example(q, v, r)
			if v.Fresh && !v.Wrong {
				x.Expected = "nothing new: only a damaged message carried it"
			}
			h.examples = append(h.examples, x)
		}
		return
	}
	m := &t.measures[ownerOf(v)][q]
	if v.State != compare.Judged {
		m.other++
		return
	}
	if v.SignTells {
		t.signs[q].n++
	}
	m.add(q, v, r)
	t.series.add(q, v)
	t.wrap(q, v, r)
}

// outOfRange counts angles outside the range that design §4 gives them. 360 itself is let pass, as rounding gives it.
func (t *tally) outOfRange(q compare.Q, v *compare.Value, r *compare.Row) {
	const rounding = 1e-9
	low, high := 0.0, 2*math.Pi
	switch q {
	case compare.Heading, compare.Course:
	case compare.Lon:
		low, high = -math.Pi, math.Pi
	default:
		return
	}
	t.ranges.add(v.Observed < low-rounding || v.Observed > high+rounding, func() Example {
		x := example(q, v, r)
		x.Expected = "0 to 360°"
		if q == compare.Lon {
			x.Expected = "−180 to 180°"
		}
		return x
	})
}

// wrap counts values near the wrap of their quantity.
func (t *tally) wrap(q compare.Q, v *compare.Value, r *compare.Row) {
	near, at := 10*math.Pi/180, 0.0
	switch q {
	case compare.Heading, compare.Course:
	case compare.Lon:
		near, at = 0.05*math.Pi/180, math.Pi
	default:
		return
	}
	w := &t.wraps[q]
	d := math.Remainder(v.Expected-at, 2*math.Pi)
	stray := math.Abs(q.Angle(v.Observed-v.Expected)) > near
	if math.Abs(d) > near {
		w.far.add(v.Beyond(), func() Example { return Example{} })
		if stray {
			w.astray++
		}
		return
	}
	if stray {
		w.stray++
	}
	if d < 0 {
		w.below++
	} else {
		w.above++
	}
	w.near.add(v.Beyond(), func() Example { return example(q, v, r) })
	if w.near.n == 1 || v.Ratio() > math.Abs(w.worst)/w.tolerance {
		w.worst, w.tolerance = v.Diff, v.Tolerance
	}
}

func (t *tally) fixState(r *compare.Row) {
	f := &r.Fix
	n := &t.nulls[compare.NQ]
	x := func() Example {
		return Example{Time: r.Observation.Time, T: r.T, Quantity: "fix", Expected: f.Expected.String(), Observed: f.Observed.String(), Source: printable(r.Observation.Source), Line: r.Observation.Line}
	}
	switch f.State {
	case compare.NullRight:
		n.right++
	case compare.ValueShown:
		n.shown.add(true, x)
	case compare.Judged:
		if f.Observed == wire.FixNone && !compare.Measured(f.Expected) {
			t.withheld.add(true, x)
			return
		}
		t.fix.add(f.Observed != f.Expected, x)
	}
}

// settle is called after the last row: who says that there is no fix of a position that was not measured is right if he
// does not show it either.
func (t *tally) settle() {
	t.fix.n += t.withheld.n
	if t.coverage.offers[0] {
		t.fix.bad += t.withheld.bad
		t.fix.examples = append(t.fix.examples, t.withheld.examples...)
		t.fix.examples = t.fix.examples[:min(len(t.fix.examples), maxExamples)]
	}
}

func (t *tally) stamp(r *compare.Row) {
	s := &t.stamps
	o := r.Observation
	x := func(expected string) Example {
		return Example{Time: o.Time, T: r.T, Quantity: "time", Expected: expected, Observed: stampText(o.Time), Source: printable(o.Source), Line: o.Line}
	}
	if r.Clock == compare.Nowhere {
		s.nowhere.add(true, func() Example { return x("a time within the run, from " + stampText(t.cmp.UTC(0))) })
		return
	}
	if !r.Timed {
		return
	}
	s.n++
	s.by[r.Stamp]++
	if t.afterMidnight(r.T) {
		s.afterDay++
	} else {
		s.beforeDay++
	}
	if r.Clock == compare.Host {
		s.host++
	}
	if r.ShiftS != 0 && !r.DateOpen {
		c, first := &s.shifted, &s.shift
		if math.Mod(r.ShiftS, 86400) == 0 {
			c, first = &s.days, &s.dayShift
		}
		if c.n == 0 {
			*first = r.ShiftS
		}
		c.add(true, func() Example { return x(stampText(t.cmp.UTC(r.T))) })
	}
	switch r.Stamp {
	case compare.StampWrong:
		if s.by[compare.StampWrong] == 1 {
			s.lagLow, s.lagHigh = r.LagS, r.LagS
		}
		s.lagLow, s.lagHigh, s.lagSum = min(s.lagLow, r.LagS), max(s.lagHigh, r.LagS), s.lagSum+r.LagS
		if len(s.wrong) < maxExamples {
			s.wrong = append(s.wrong, x(stampText(t.cmp.UTC(r.T))))
		}
	case compare.StampOpen:
		if s.by[compare.StampOpen] == 1 {
			s.firstOpen = x("the time in a message")
		}
	}
}

// afterMidnight tells whether scenario time t is on another day than scenario time 0.
func (t *tally) afterMidnight(s float64) bool { return dayOf(t.cmp.UTC(s)) != dayOf(t.cmp.UTC(0)) }

// dayOf numbers the days, UTC.
func dayOf(t time.Time) int64 { return int64(math.Floor(float64(t.Unix()) / 86400)) }

// example shows one value.
func example(q compare.Q, v *compare.Value, r *compare.Row) Example {
	o := r.Observation
	return Example{Time: o.Time, T: v.T, Quantity: q.String(), Expected: minus(q.Format(v.Expected, v.Tolerance)),
		Observed: minus(q.Format(v.Observed, v.Tolerance)), Source: printable(o.Source), Line: o.Line}
}

// printable makes a word of the consumer fit to be shown.
func printable(s string) string {
	const most = 40
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\ufffd' {
			return '·'
		}
		return r
	}, strings.ToValidUTF8(s, "·"))
	if len([]rune(s)) > most {
		s = string([]rune(s)[:most]) + "…"
	}
	return s
}
