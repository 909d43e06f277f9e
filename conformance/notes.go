package conformance

import (
	"math"
	"sort"
	"time"

	"swellbench/conformance/compare"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/gnss"
	"swellbench/scenarios/opt"
)

// notes are what the checks of times, outages and the line need to know of the observations beside the residuals.
// They do not grow with the run.
type notes struct {
	truth    scenarios.Truth
	duration float64
	returns  []float64 // when the position comes back or jumps, s, ascending
	blank    bool      // the position is blank at some time
	delay    float64   // the longest time from validity to the last byte, s
	start    time.Time // of the host at scenario time 0; zero if unknown

	arrival     counter // stamps; bad: those of arrival
	whole       counter // stamps; bad: off by whole seconds
	wholeS      float64 // the first of these
	untimely    counter // timed rows of a run with late epochs; bad: stamped wrong
	wrongBefore int     // of these, before the first late epoch
	states      counter // of a fix that is none of GNSS; bad: taken for one
	stale       [compare.NQ]counter
	made        counter // positions in an outage; bad: neither held nor zero, but where the vessel may be
	zero        counter // positions; bad: 0° N 0° E
	void        counter // rows about a position that its status calls void; bad: they show one
	silent      counter // rows; bad: in a silence of the line
	last        [compare.NQ]kept
	lastAt      opt.Opt[place] // the last position shown while there was one
	back        [2]counter     // values of positions away from returns and near them; bad: beyond tolerance
	ages        [3]age         // by thirds of the run
	blocks      counter        // arrivals; bad: together with the one before
	arrived     time.Time
}

// kept is the last value that a consumer showed while there was one.
type kept struct {
	known bool
	x     float64
}

// A place is a position that was shown, and when.
type place struct{ t, lat, lon float64 }

// An age is how old observations were when they came.
type age struct {
	n     int
	least float64 // s
}

const (
	returnS   = 3.0 // how long after a return the position is watched, s
	settledS  = 0.3 // how long a consumer may take to see that it is back, s
	silenceS  = 1.0 // how long a consumer may go on in silence, s
	sameBlock = 2 * time.Millisecond
)

func newNotes(e *Evidence, t *tally) *notes {
	n := &notes{truth: e.Truth, duration: e.durationS(), start: e.Origin}
	for _, k := range t.cmp.Book.Kinds {
		n.delay = max(n.delay, k.DelayS)
	}
	n.findReturns(e, t.cmp)
	return n
}

// findReturns looks for the instants when the position comes back, at up to two thousand instants and then between
// them, and takes those of jumps from the scenario.
func (n *notes) findReturns(e *Evidence, cmp *compare.Comparer) {
	sc := e.Device.Scenario()
	for _, c := range sc.GNSS.Conditions {
		if c.Condition == gnss.PositionJump {
			n.returns = append(n.returns, float64(c.From))
			if c.Until != nil {
				n.returns = append(n.returns, float64(*c.Until))
			}
		}
	}
	silent := func(t float64) bool { return cmp.Silent(compare.Lat, t) }
	const most = 2000
	step := max(0.05, n.duration/most)
	before := cmp.Carried(compare.Lat) && silent(0)
	n.blank = before
	for t := step; t < n.duration && cmp.Carried(compare.Lat); t += step {
		now := silent(t)
		n.blank = n.blank || now
		if before && !now {
			low, high := t-step, t
			for high-low > 1e-4 {
				if m := (low + high) / 2; silent(m) {
					low = m
				} else {
					high = m
				}
			}
			if high > startS {
				n.returns = append(n.returns, high)
			}
		}
		before = now
	}
	sort.Float64s(n.returns)
}

// sinceReturn is how long before t the position last came back or jumped, +Inf if it never did.
func (n *notes) sinceReturn(t float64) float64 {
	i := sort.SearchFloat64s(n.returns, t+1e-6)
	if i == 0 {
		return math.Inf(1)
	}
	return t - n.returns[i-1]
}

// add takes one row.
func (n *notes) add(t *tally, r *compare.Row) {
	if r.Timed {
		n.stamp(t, r)
	}
	n.aged(t, r)
	n.fix(r)
	n.position(r)
	n.voided(r)
	for q := range compare.NQ {
		n.value(q, r)
	}
	n.inSilence(t, r)
}

func (n *notes) line(r *compare.Row, quantity, expected, observed string) Example {
	o := r.Observation
	return Example{Time: o.Time, T: r.T, Quantity: quantity, Expected: expected, Observed: observed, Source: printable(o.Source), Line: o.Line}
}

// stamp sorts wrong stamps by what they look like.
func (n *notes) stamp(t *tally, r *compare.Row) {
	wrong := r.Stamp == compare.StampWrong
	x := func() Example {
		return n.line(r, "time", stampText(t.cmp.UTC(r.T)), stampText(r.Observation.Time))
	}
	n.arrival.add(wrong && !r.StampIsEpoch && r.LagS > 2*t.cmp.StampToleranceS && r.LagS <= n.delay+t.cmp.HostSlackS, x)

	s := math.Round(r.LagS)
	whole := wrong && math.Abs(s) >= 1 && math.Abs(s) < 100 && math.Abs(r.LagS-s) <= t.cmp.StampToleranceS && !(math.Abs(s) == 1 && t.cmp.StepS() >= 0.999)
	if whole && n.whole.bad == 0 {
		n.wholeS = s
	}
	n.whole.add(whole && s == n.wholeS, x)
	if len(t.events.late) > 0 {
		bad := wrong || r.Stamp == compare.StampOpen || r.ShiftS != 0 && !r.DateOpen
		n.untimely.add(bad, x)
		if (wrong || r.ShiftS != 0 && !r.DateOpen) && r.T < t.events.late[0]-1e-6 {
			n.wrongBefore++
		}
	}
}

// aged notes how old an observation was when it came.
func (n *notes) aged(t *tally, r *compare.Row) {
	o := r.Observation
	if o.Arrival.IsZero() || n.start.IsZero() || !r.Timed || r.T < 0 || r.T >= n.duration {
		return
	}
	if !n.arrived.IsZero() {
		n.blocks.add(o.Arrival.Sub(n.arrived).Abs() < sameBlock, func() Example { return Example{} })
	}
	n.arrived = o.Arrival
	a := &n.ages[int(3*r.T/n.duration)]
	if old := o.Arrival.Sub(n.start).Seconds() - r.T; a.n == 0 || old < a.least {
		a.least = old
	}
	a.n++
}

func (n *notes) fix(r *compare.Row) {
	f := &r.Fix
	if f.State != compare.Judged {
		return
	}
	if !compare.Measured(f.Expected) {
		measured := f.Observed != wire.FixNone && compare.Measured(f.Observed)
		n.states.add(measured, func() Example { return n.line(r, "fix", f.Expected.String(), f.Observed.String()) })
	}
}

// position looks at where a row says the vessel is.
func (n *notes) position(r *compare.Row) {
	lat, _, ok1 := r.Field(compare.Lat)
	lon, _, ok2 := r.Field(compare.Lon)
	if !ok1 || !ok2 {
		return
	}
	const tiny, far = 1e-6, 0.002 // rad: some 6 m, some 12 km
	at := &r.Reference
	if math.Hypot(at.Lat, at.Lon) < far {
		return
	}
	zero := math.Abs(lat) < tiny && math.Abs(lon) < tiny
	if !r.Void { // else it may have come with the message
		n.follow(r, place{r.T, lat, lon}, zero)
	}
	n.zero.add(zero, func() Example {
		return n.line(r, "position", "null or nothing", "0° N 0° E")
	})
}

// voided looks at what is said of the position while its status calls it void.
func (n *notes) voided(r *compare.Row) {
	v := &r.Values[compare.Lat]
	if v.State != compare.NullRight && v.State != compare.ValueShown || !r.Void {
		return
	}
	n.void.add(v.State == compare.ValueShown, func() Example {
		lat, _, _ := r.Field(compare.Lat)
		lon, _, _ := r.Field(compare.Lon)
		return n.line(r, "position", "null or nothing: its status was void", minus(compare.Lat.Format(lat, 0)+" "+compare.Lon.Format(lon, 0)))
	})
}

// follow tells positions that are made up in an outage, and follow the vessel, from held ones.
func (n *notes) follow(r *compare.Row, p place, zero bool) {
	switch r.Values[compare.Lat].State {
	case compare.Judged:
		n.lastAt = opt.Of(p)
	case compare.ValueShown:
		l, ok := n.lastAt.Value()
		if !ok || zero {
			return
		}
		from, to := n.truth.At(l.t).Position, n.truth.At(p.t).Position
		const radius = 6.4e6 // m, roughly
		scale := math.Cos(to.Lat)
		away := func(lat, lon float64) float64 {
			return radius * math.Hypot(p.lat-lat, scale*frame.WrapPi(p.lon-lon))
		}
		held, gone := away(l.lat, l.lon), away(l.lat+to.Lat-from.Lat, l.lon+frame.WrapPi(to.Lon-from.Lon))
		n.made.add(held > 0.5 && gone < held/2, func() Example {
			return n.line(r, "position", "null or nothing: there was no fix", minus(compare.Lat.Format(p.lat, 0)+" "+compare.Lon.Format(p.lon, 0)))
		})
	}
}

// value looks at one quantity: what is shown while there is nothing, and how positions come back.
func (n *notes) value(q compare.Q, r *compare.Row) {
	v := &r.Values[q]
	near := n.sinceReturn(r.T)
	switch {
	case v.State == compare.ValueShown:
		l := &n.last[q]
		held := l.known && math.Abs(q.Angle(v.Observed-l.x)) <= heldWithin(q)
		n.stale[q].add(held, func() Example {
			return n.line(r, q.String(), "null or nothing: it was blank", minus(q.Format(v.Observed, 0)))
		})
	case v.State == compare.Judged:
		n.last[q] = kept{true, v.Observed}
		if q <= compare.Height && !v.Hurt && len(n.returns) > 0 {
			i := 0
			if near <= returnS {
				i = 1
			}
			n.back[i].add(v.Beyond(), func() Example { return example(q, v, r) })
		}
	}
}

// heldWithin is how far a held value may be from the last one: what else enters it may go on changing. SI and rad.
func heldWithin(q compare.Q) float64 {
	switch q {
	case compare.Lat, compare.Lon:
		return 20.0 / 6.4e6
	case compare.Height, compare.Heave:
		return 5
	case compare.Speed:
		return 0.05
	case compare.RateOfTurn:
		return frame.Rad(0.05)
	case compare.Course:
		return frame.Rad(0.5)
	}
	return frame.Rad(10)
}

// inSilence looks for rows that are stamped in a silence of the line, and show something.
func (n *notes) inSilence(t *tally, r *compare.Row) {
	if len(t.events.gaps) == 0 {
		return
	}
	if f, ok := r.Observation.Fix.Value(); ok && (f == wire.FixEstimated || f == wire.FixNone) {
		return
	}
	some := false
	for q := range compare.NQ {
		_, ok := q.Raw(r.Observation).Value()
		some = some || ok
	}
	if !some {
		return
	}
	gaps := t.events.gaps
	i := sort.Search(len(gaps), func(i int) bool { return gaps[i].after > r.StampS })
	bad := i < len(gaps) && r.StampS > gaps[i].before+silenceS+n.delay+t.cmp.HostSlackS && r.StampS < gaps[i].after-max(t.cmp.StepS(), 0.05)
	if r.Stamp == compare.StampWrong && bad && math.Abs(r.T-gaps[i].before) > 1.5*t.cmp.StepS() { // not held, but stamped wrong
		bad = false
	}
	n.silent.add(bad, func() Example {
		return n.line(r, "time", "nothing: the line was silent", stampText(r.Observation.Time))
	})
}
