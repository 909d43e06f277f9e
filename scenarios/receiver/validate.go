package receiver

import (
	"fmt"
	"math"
	"time"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
	"swellbench/scenarios/utc"
)

// Limits of what a file may ask for, and what is worth a word.
const (
	maxOffset  = units.Duration(60)          // s; GPS − UTC has grown by 18 s in 46 years
	maxStep    = units.Duration(366 * 86400) // s
	maxRate    = 0.01                        // 36 s an hour
	maxHold    = units.Duration(60)          // s, as the latency of the device
	maxWeek    = 8191                        // what 13 bits hold: the year 2137
	maxEntries = 26                          // of each list

	// The navigation message: 25 frames of 1500 bits at 50 bit/s. IS-GPS-200, 20.3.2.
	navMessage = units.Duration(25 * 1500 / 50)
	// A crystal without temperature control keeps within it. Common practice, no source.
	crystal = Rate(100e-6)
)

type problems []strictyaml.Problem

func (ps *problems) add(path, format string, args ...any) {
	*ps = append(*ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
}

// Validate returns all that is wrong, with paths relative to the section. The run lasts that long; 0 leaves unsaid how
// long.
func (s Spec) Validate(duration units.Duration) []strictyaml.Problem {
	var ps problems
	for _, l := range []struct {
		name string
		n    int
	}{{"starts", len(s.Starts)}, {"steps", len(s.Steps)}, {"drift", len(s.Drift)}, {"out-of-order", len(s.OutOfOrder)}} {
		if l.n > maxEntries {
			ps.add(l.name, "there are %d %s; allowed: at most %d", l.n, l.name, maxEntries)
		}
	}
	for i, u := range s.Starts {
		u.validate(&ps, fmt.Sprintf("starts[%d]", i), duration)
		if i > 0 && !(u.At > s.Starts[i-1].At) {
			ps.add(fmt.Sprintf("starts[%d].at", i), "start at %v is not after the one before it, at %v; put them in order of time", u.At, s.Starts[i-1].At)
		}
	}
	s.LeapSecond.validate(&ps)
	if w := s.WeekBase; w != nil && (*w < 0 || *w > maxWeek) {
		ps.add("week-base", "week base is %d; allowed: 0 to %d, such as 2048 for a receiver built after April 2019", *w, maxWeek)
	}
	for i, x := range s.Steps {
		at := fmt.Sprintf("steps[%d]", i)
		span(&ps, at, "at", "the step", x.At, x.Until, duration)
		if by := math.Abs(float64(x.By)); !(by > 0 && by <= float64(maxStep)) {
			ps.add(at+".by", "step is %v; allowed: other than 0 s, and at most %v either way", x.By, maxStep.In("h"))
		}
	}
	for i, d := range s.Drift {
		at := fmt.Sprintf("drift[%d]", i)
		span(&ps, at, "from", "the drift", d.From, d.Until, duration)
		if r := math.Abs(float64(d.Rate)); !(r > 0 && r <= maxRate) {
			ps.add(at+".rate", "rate is %v; allowed: other than 0 ppm, and at most %v either way", d.Rate, Rate(maxRate))
		}
		if d.Keep && d.Until == 0 {
			ps.add(at+".keep", "the drift has no end, after which its error could be kept; give it an until, or remove keep")
		}
	}
	for i, h := range s.OutOfOrder {
		at := fmt.Sprintf("out-of-order[%d]", i)
		span(&ps, at, "from", "it", h.From, h.Until, duration)
		if !(h.Share > 0 && h.Share <= 1) {
			ps.add(at+".share", "share is %g; allowed: more than 0, at most 1, and 0.1 holds one epoch in ten", h.Share)
		}
		if !(h.By > 0 && h.By <= maxHold) {
			ps.add(at+".by", "epochs are held by %v; allowed: more than 0 s, at most %v", h.By, maxHold.In("s"))
		}
	}
	return ps
}

func (u StartUp) validate(ps *problems, at string, duration units.Duration) {
	switch {
	case !(u.At >= 0):
		ps.add(at+".at", "start is at %v, before the run; allowed: 0 s or later", u.At)
	case duration > 0 && u.At >= duration:
		ps.add(at+".at", "start is at %v, after the run, which lasts %v", u.At, duration)
	}
	const most = units.Duration(86400)
	if !(u.TimeAfter >= 0 && u.TimeAfter <= most) {
		ps.add(at+".time-after", "the time is known after %v; allowed: 0 s to %v", u.TimeAfter, most.In("h"))
	}
	if !(u.OffsetAfter >= 0 && u.OffsetAfter <= most) {
		ps.add(at+".offset-after", "the offset is known after %v; allowed: 0 s to 12.5 min, and to %v if the message is missed", u.OffsetAfter, most.In("h"))
	} else if u.OffsetAfter > 0 && u.OffsetAfter < u.TimeAfter {
		ps.add(at+".offset-after", "the offset is known after %v, before the time itself, after %v; swap the two", u.OffsetAfter, u.TimeAfter)
	}
	if o := float64(u.AssumedOffset); !(math.Abs(o) <= float64(maxOffset)) || math.Abs(o-math.Round(o)) > 1e-9 {
		ps.add(at+".assumed-offset", "assumed offset is %v; allowed: whole seconds from %v to %v, such as 18 s", u.AssumedOffset, -maxOffset, maxOffset.In("s"))
	}
	if u.AssumedOffset != 0 && u.OffsetAfter == 0 {
		ps.add(at+".assumed-offset", "the offset is known at once, so that none is assumed; give it an offset-after, or remove this")
	}
}

func (l LeapSecond) validate(ps *problems) {
	switch l.Shown {
	case "", Second60, Second59Twice, Second00Twice, Missed:
	default:
		ps.add("leap-second.shown", "shown is %s; %s", strictyaml.Quote(string(l.Shown)), strictyaml.Allowed(string(l.Shown), l.Shown.SchemaEnum()))
	}
	const most = units.Duration(366 * 86400)
	if !(l.NoticedAfter >= 0 && l.NoticedAfter <= most) {
		ps.add("leap-second.noticed-after", "the leap second is noticed after %v; allowed: 0 s to %v", l.NoticedAfter, most.In("h"))
	}
	if l.NoticedAfter != 0 && l.Shown != Missed {
		ps.add("leap-second.noticed-after", "the leap second is not missed; make shown: missed, or remove this")
	}
	if l.Insert.Set && l.LeaveOut.Set {
		ps.add("leap-second.leave-out", "a second is inserted and another left out; keep one of the two")
		return
	}
	for _, c := range []struct {
		name string
		day  Day
		sign int
	}{{"insert", l.Insert, 1}, {"leave-out", l.LeaveOut, -1}} {
		if c.day.Set {
			if _, err := utc.Leaps.With(c.day.Year, time.Month(c.day.Month), c.day.Day, c.sign); err != nil {
				ps.add("leap-second."+c.name, "%v", err)
			}
		}
	}
}

// span adds what is wrong with something that begins and ends during the run; an end of 0 is none.
func span(ps *problems, at, key, what string, from, until, duration units.Duration) {
	switch {
	case !(from >= 0):
		ps.add(at+"."+key, "%s begins at %v, before the run; allowed: 0 s or later", what, from)
	case duration > 0 && from >= duration:
		ps.add(at+"."+key, "%s begins at %v, after the run, which lasts %v", what, from, duration)
	case until != 0 && !(until > from):
		ps.add(at+".until", "%s ends at %v and begins at %v; give it an end after its beginning", what, until, from)
	case duration > 0 && until > duration:
		ps.add(at+".until", "%s ends at %v, after the run, which lasts %v", what, until, duration)
	case math.IsInf(float64(until), 0):
		ps.add(at+".until", "%s ends at %v; leave until out for no end", what, until)
	}
}

// Warnings returns what may be, but probably was not meant. The run starts at an instant in UTC, if that is known, and
// lasts that long. [Spec.Validate] comes first.
func (s Spec) Warnings(start time.Time, duration units.Duration) []strictyaml.Problem {
	var ps problems
	for i, u := range s.Starts {
		if u.OffsetAfter-u.TimeAfter > navMessage {
			ps.add(fmt.Sprintf("starts[%d].offset-after", i), "the offset is known after %v; the navigation message, which carries it, takes 12.5 min to come once", u.OffsetAfter)
		}
	}
	for i, d := range s.Drift {
		if math.Abs(float64(d.Rate)) > float64(crystal) {
			ps.add(fmt.Sprintf("drift[%d].rate", i), "rate is %v; a crystal keeps within %v", d.Rate, crystal)
		}
	}
	table, err := s.Table()
	if err != nil || start.IsZero() {
		return ps
	}
	line := utc.NewTimeline(table, start)
	s.warnLeap(&ps, line, duration)
	for i, u := range s.Starts {
		if u.OffsetAfter > 0 && line.Table().GPSMinusUTC(line.GPS(float64(u.At))).Seconds() == float64(u.AssumedOffset) {
			ps.add(fmt.Sprintf("starts[%d].assumed-offset", i), "assumed offset is %v, which is the right one: nothing will be seen of it", u.AssumedOffset)
		}
	}
	if w := s.WeekBase; w != nil {
		first, _ := line.GPS(0).Week()
		last, _ := line.GPS(float64(duration)).Week()
		if first >= *w && last < *w+utc.Rollover {
			ps.add("week-base", "week base is %d, and the run is in week %d: the date will be right; a base of %d or less shows it 1024 weeks early", *w, last, last-utc.Rollover)
		}
	}
	return ps
}

// warnLeap tells of leap seconds that the run does not come to.
func (s Spec) warnLeap(ps *problems, line utc.Timeline, duration units.Duration) {
	l := s.LeapSecond
	from, until := line.Label(0), line.Label(float64(duration))
	var within bool
	for _, in := range line.Table().Insertions() {
		within = within || in.Day >= from.Day && in.Day < until.Day
	}
	switch {
	case within:
	case l.Insert.Set:
		ps.add("leap-second.insert", "the run, %v to %v, does not go through the end of %v", from, until, l.Insert)
	case l.LeaveOut.Set:
		ps.add("leap-second.leave-out", "the run, %v to %v, does not go through the end of %v", from, until, l.LeaveOut)
	case l.Shown != "" && l.Shown != Second60:
		ps.add("leap-second.shown", "there is no leap second in the run, %v to %v; insert one, or start at 2016-12-31T23:59:50Z", from, until)
	}
}
