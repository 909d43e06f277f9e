package diagnose

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"
	"time"

	"swellbench/conformance/compare"
	"swellbench/emulator/line"
	"swellbench/scenarios/frame"
)

// counted is what is counted of all observations, for causes that are not fitted: whole hours and days, damaged
// messages that were believed, angles out of their range, the clock of the host.
type counted struct {
	cmp    *compare.Comparer
	start  float64
	n      int // observations that count
	timed  int
	host   int // of these, stamped by the host's clock
	shifts map[float64]*shifted
	late   int // stamps that are nowhere in the run, and how far off they are, s
	far    [2]float64

	ranges [compare.NQ]int // out of the range of the quantity
	north  wrapCount
	hurt   [compare.NQ]hurtCount
	open   int // stamps that are no epoch and fit nothing
	seen   map[*compare.Kind]*compare.Bits
	loose  map[*compare.Kind]int // observations of a kind whose epoch the stamp does not tell
}

type shifted struct {
	n     int
	stamp time.Time // the first
	truth time.Time
	from  float64 // scenario time of the first and the last
	until float64
}

// wrapCount counts headings that came out more than a right angle off.
type wrapCount struct{ near, nearOff, far, farOff int }

type hurtCount struct{ n, telling, fresh, wrong int }

// names of quantities as a sentence has them
func list(qs []compare.Q) string {
	var names []string
	for _, q := range qs {
		names = append(names, q.String())
	}
	if len(names) > 1 {
		return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
	}
	return strings.Join(names, "")
}

func (c *counted) add(r *compare.Row) {
	if r.Clock != compare.Nowhere && r.T < c.start {
		return
	}
	c.n++
	o := r.Observation
	if r.Timed {
		c.timed++
		if r.Clock == compare.Host {
			c.host++
		}
	}
	if r.Clock == compare.Nowhere {
		off := o.Time.Sub(c.cmp.UTC(0)).Seconds()
		if c.late == 0 {
			c.far = [2]float64{off, off}
		}
		c.late++
		c.far = [2]float64{min(c.far[0], off), max(c.far[1], off)}
		return
	}
	if r.ShiftS != 0 && !r.DateOpen {
		s := c.shifts[r.ShiftS]
		if s == nil && len(c.shifts) < 32 {
			s = &shifted{stamp: o.Time, truth: c.cmp.UTC(r.T), from: r.T}
			c.shifts[r.ShiftS] = s
		}
		if s != nil {
			s.n++
			s.until = r.T
		}
	}
	if r.Stamp == compare.StampOpen {
		c.open++
	}
	for q := range compare.NQ {
		v := &r.Values[q]
		x, _, known := r.Field(q)
		if v.Hurt {
			h := &c.hurt[q]
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
		}
		if known {
			c.outOfRange(q, x)
		}
		if known && q == compare.Heading && v.State == compare.Judged {
			near := math.Abs(frame.WrapPi(v.Expected)) < 15*deg
			off := math.Abs(frame.AngleDiff(x, v.Expected)) > 60*deg
			n := &c.north
			switch {
			case near && off:
				n.near, n.nearOff = n.near+1, n.nearOff+1
			case near:
				n.near++
			case off:
				n.far, n.farOff = n.far+1, n.farOff+1
			default:
				n.far++
			}
		}
	}
	c.cover(r)
}

func (c *counted) outOfRange(q compare.Q, x float64) {
	const slack = 1e-9
	switch q {
	case compare.Heading, compare.Course:
		if x < -slack || x > 2*math.Pi+slack {
			c.ranges[q]++
		}
	case compare.Lon:
		if math.Abs(x) > math.Pi+slack {
			c.ranges[q]++
		}
	}
}

// cover notes which epochs of which messages an observation speaks of.
func (c *counted) cover(r *compare.Row) {
	told := r.StampIsEpoch || r.Timed
	for q := range compare.NQ {
		if _, said, _ := r.Field(q); !said {
			continue
		}
		t := r.T
		if r.Values[q].State == compare.Judged {
			t = r.Values[q].T
		}
		for _, k := range r.Carriers(q) {
			if !told && !k.Timed {
				c.loose[k]++
			}
			e, off := k.Nearest(t)
			if math.Abs(off)*k.Rate > 0.26 || e < 0 || e > 1<<26 {
				continue
			}
			b := c.seen[k]
			if b == nil {
				b = new(compare.Bits)
				c.seen[k] = b
			}
			b.Set(e)
		}
	}
}

func failedAny(failed []string, prefixes ...string) (ids []string) {
	for _, f := range failed {
		for _, p := range prefixes {
			if strings.HasPrefix(f, p) {
				ids = append(ids, f)
				break
			}
		}
	}
	return ids
}

// sureWeight ranks a finding that was counted: as much as so many values at ten standard deviations.
func sureWeight(n int) float64 { return rho(10) * float64(n) }

func (c *counted) findings(sent iter.Seq[line.Sent], failed []string) (out []Finding) {
	out = append(out, c.clock(failed)...)
	out = append(out, c.damage(failed)...)
	out = append(out, c.lost(sent, failed)...)
	if ids := failedAny(failed, "parse.wrap", "parse.values", "offset."); len(ids) > 0 {
		out = append(out, c.angles(failed)...)
	}
	return out
}

// clock names shifts by whole hours and days, and the clock of the host.
func (c *counted) clock(failed []string) (out []Finding) {
	ids := failedAny(failed, "time.")
	if len(ids) == 0 {
		return nil
	}
	if c.host*2 > c.timed && c.host > 0 {
		out = append(out, Finding{ID: "arrival-stamped-as-measured", Title: "It stamps with the computer's clock, instead of the time in the message.",
			Evidence: []string{fmt.Sprintf("%d of %d stamps are those of the computer's clock, while the messages tell another date.", c.host, c.timed)},
			Change:   "Take the time of validity from the message that carries it (ZDA, GGA, RMC), for all values of the same epoch.", Confidence: 0.95, Checks: ids, weight: sureWeight(10 * c.host), ofTime: true})
	}
	shifts := make([]float64, 0, len(c.shifts))
	for s := range c.shifts {
		shifts = append(shifts, s)
	}
	slices.SortFunc(shifts, func(a, b float64) int { return c.shifts[b].n - c.shifts[a].n })
	named := map[string]bool{}
	for _, by := range shifts {
		s := c.shifts[by]
		fs := nameShifts(by, s, c.n, c.cmp.Origin())
		for i := range fs {
			out = append(out, c.shift(fs[i], by, s, ids, named)...)
		}
	}
	return out
}

// shift is a named shift with its evidence, once.
func (c *counted) shift(f Finding, by float64, s *shifted, ids []string, named map[string]bool) []Finding {
	if named[f.ID] {
		return nil
	}
	named[f.ID] = true
	f.Evidence = append(f.Evidence, fmt.Sprintf("%d of %d observations are stamped %s off, from %.1f s to %.1f s of the scenario; the first says %s and is of %s.",
		s.n, c.n, span(by), s.from, s.until, s.stamp.UTC().Format("2006-01-02T15:04:05.000Z"), s.truth.UTC().Format("2006-01-02T15:04:05.000Z")))
	f.Checks, f.Confidence = ids, 0.95
	f.weight, f.ofTime = sureWeight(10*s.n), true
	return []Finding{f}
}

// nameShifts names a shift, or the two that it is the sum of: of the zone and of the date, or of the date twice.
func nameShifts(by float64, s *shifted, n int, host time.Time) []Finding {
	const day, week1024 = 86400.0, 7168 * 86400.0
	rest := math.Mod(by, day)
	if rest > 14*3600 {
		rest -= day
	} else if rest < -12*3600 {
		rest += day
	}
	if rest != 0 && by != rest {
		date, zone := *s, *s
		date.stamp, zone.stamp = s.stamp.Add(-time.Duration(rest)*time.Second), s.stamp.Add(-time.Duration(by-rest)*time.Second)
		return append(nameShifts(by-rest, &date, n, host), nameShift(rest, &zone, n, host))
	}
	f := nameShift(by, s, n, host)
	if f.ID != "start-up-date-believed" {
		return []Finding{f}
	}
	for _, w := range []float64{-week1024, week1024} {
		other := *s
		other.stamp = s.stamp.Add(-time.Duration(w/day) * 24 * time.Hour)
		if g := nameShift(by-w, &other, n, host); by-w != 0 && g.ID != "start-up-date-believed" {
			return []Finding{g, nameShift(w, s, n, host)}
		}
	}
	return []Finding{f}
}

// span is a shift for a person.
func span(s float64) string {
	sign := "+"
	if s < 0 {
		sign, s = "−", -s
	}
	switch {
	case math.Mod(s, 86400) == 0:
		return fmt.Sprintf("%s%.0f d", sign, s/86400)
	case s > 86400:
		return fmt.Sprintf("%s%.0f d %s", sign, math.Floor(s/86400), strings.TrimPrefix(span(math.Mod(s, 86400)), "+"))
	case math.Mod(s, 3600) == 0:
		return fmt.Sprintf("%s%.0f h", sign, s/3600)
	}
	return fmt.Sprintf("%s%.0f h %02.0f min", sign, math.Floor(s/3600), math.Mod(s, 3600)/60)
}

// nameShift names a shift of whole quarters of an hour.
func nameShift(by float64, s *shifted, n int, host time.Time) Finding {
	days := by / 86400
	a, b := s.stamp.UTC(), s.truth.UTC()
	sameClock := math.Mod(by, 86400) == 0
	exchanged := sameClock && a.Year() == b.Year() && int(a.Month()) == b.Day() && a.Day() == int(b.Month()) && a.Day() != int(a.Month())
	ofHost := sameClock && !host.IsZero() && math.Abs(a.Sub(host).Hours()) < 24 && a.YearDay() == host.UTC().YearDay() && math.Abs(days) > 1
	sameDay := a.Month() == b.Month() && a.Day() == b.Day()
	switch {
	case ofHost:
		return Finding{ID: "host-date-on-time-only-fix", Title: "It joins the time of day with the date of its computer.", Change: "Take the date from the message that carries it (RMC, ZDA), not from the computer's clock."}
	case exchanged:
		return Finding{ID: "day-and-month-exchanged", Title: "It takes the day for the month and the month for the day.", Change: "Read the date in the order of the message: ddmmyy in RMC, day, month, year in ZDA."}
	case sameClock && math.Mod(days, 7168) == 0:
		return Finding{ID: "week-counter-wrapped", Title: "Its dates are a whole number of 1024 weeks off: the week counter has wrapped.", Change: "Resolve the week by a date that is known to be near, such as that of the build, not by a fixed base."}
	case sameClock && sameDay && a.Year() != b.Year():
		return Finding{ID: "two-digit-year", Title: fmt.Sprintf("It takes the two digits of the year for %d.", a.Year()), Change: "Take two digits of a year for 2000 to 2099, or read the four of ZDA."}
	case sameClock && math.Abs(days) == 1 && s.n < n*9/10:
		return Finding{ID: "host-date-on-time-only-fix", Title: "Near midnight it joins the time of day with the wrong day.", Change: "A time of day steps back at midnight: the next day begins there, by the messages and not by the computer's clock."}
	case sameClock && math.Abs(days) == 1:
		return Finding{ID: "host-date-on-time-only-fix", Title: "It joins the time of day with the wrong day.", Change: "Take the date from the message that carries it (RMC, ZDA), not from the computer's clock or zone."}
	case !sameClock && math.Abs(by) <= 14*3600:
		return Finding{ID: "local-zone-applied", Title: "It takes UTC for local time, or turns it into local time: its stamps are off by " + span(by) + ".", Change: "Keep times in UTC throughout; use the conversions that take UTC, not those that take local time."}
	case sameClock:
		return Finding{ID: "start-up-date-believed", Title: "It joins the time of day with another date: that of a start-up, of a file, or a default.", Change: "Take no date from a message whose status is void; take it anew from the first valid one."}
	}
	return Finding{ID: "local-zone-applied", Title: "Its stamps are off by " + span(by) + ": another day and another zone.", Change: "Keep dates and times in UTC throughout."}
}

// damage names that damaged messages are believed.
func (c *counted) damage(failed []string) []Finding {
	ids := failedAny(failed, "parse.checksum")
	if len(ids) == 0 {
		return nil
	}
	n, fresh, wrong := 0, 0, 0
	var qs []compare.Q
	for q := range compare.NQ {
		h := &c.hurt[q]
		n, fresh, wrong = n+h.n, fresh+h.fresh, wrong+h.wrong
		if h.fresh+h.wrong > 0 {
			qs = append(qs, q)
		}
	}
	ids = append(ids, failedAny(failed, "parse.loss", "time.validity")...)
	f := Finding{ID: "damaged-sentence-accepted", Title: "It believes messages whose checksum is wrong.", Change: "Work out the checksum of each message and compare it before anything of it is used; pass over those that do not fit.",
		Confidence: 0.9, Checks: ids, weight: sureWeight(5 * (1 + fresh + wrong))}
	if len(qs) > 0 {
		f.Evidence = []string{fmt.Sprintf("Where only damaged messages could have brought a value (%d values), it shows what the damaged message says in %d and another wrong value in %d; %s.", n, fresh, wrong, list(qs))}
	} else {
		f.Evidence = []string{fmt.Sprintf("%d damaged messages were sent, and observations follow them.", c.cmp.Book.Damaged())}
		f.Confidence = 0.7
	}
	return []Finding{f}
}

// angles names angles out of their range, and headings that swing through the south when they pass north.
func (c *counted) angles(failed []string) (out []Finding) {
	for _, q := range []compare.Q{compare.Heading, compare.Course, compare.Lon} {
		if c.ranges[q] == 0 {
			continue
		}
		text := "from 0 to 360°"
		if q == compare.Lon {
			text = "from −180 to 180°"
		}
		out = append(out, Finding{ID: "angle-not-reduced", Title: fmt.Sprintf("It publishes the %s outside its range.", q), Change: "Bring it into its range, " + text + ", before it is published.",
			Evidence: []string{fmt.Sprintf("%d values are outside %s.", c.ranges[q], strings.TrimPrefix(text, "from "))}, Confidence: 0.95, Checks: failedAny(failed, "parse.wrap"), weight: sureWeight(c.ranges[q])})
	}
	if n := c.north; n.nearOff > 0 && n.nearOff < n.near && n.farOff*20 < n.far+1 && n.farOff*5 < n.nearOff+1 {
		out = append(out, Finding{ID: "heading-averaged-through-wrap", Title: "It averages, interpolates or subtracts headings as plain numbers, so that about north they come out elsewhere.",
			Evidence: []string{fmt.Sprintf("Within 15° of north %d of %d headings are off by more than 60°, elsewhere %d of %d.", n.nearOff, n.near, n.farOff, n.far)},
			Change:   "Average and interpolate headings by their sine and cosine, or by the difference wrapped into ±180°.", Confidence: 0.9, Checks: failedAny(failed, "parse.wrap", "offset.baseline", "parse.values"), weight: sureWeight(100 * n.nearOff)})
	}
	return out
}
