package receiver

import (
	"errors"
	"math"
	"time"

	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

// A Clock is the clock of one receiver through one run. Methods may be called from several goroutines and allocate
// nothing, but for [Clock.Emissions].
type Clock struct {
	spec  Spec
	line  utc.Timeline
	seed  uint64
	parts []string // of the draws, one an entry of OutOfOrder
}

// A Stamp is what the clock shows at an epoch.
type Stamp struct {
	Label utc.Label
	// Ahead tells that by this clock the day of the label ends with 23:59:60, so that a time which is rounded to 24 h is
	// the beginning of that second.
	Ahead bool
}

// New makes the clock of a run that starts at an instant in UTC. Its error joins all that is wrong with the
// specification.
func New(spec Spec, start time.Time, seed uint64) (*Clock, error) {
	var errs []error
	for _, p := range spec.Validate(0) {
		errs = append(errs, errors.New("clock."+p.Path+": "+p.Text))
	}
	if errs != nil {
		return nil, errors.Join(errs...)
	}
	table, err := spec.Table()
	if err != nil {
		return nil, err
	}
	c := &Clock{spec: spec, line: utc.NewTimeline(table, start), seed: seed}
	for i := range spec.OutOfOrder {
		c.parts = append(c.parts, "clock order "+string(rune('a'+i)))
	}
	return c, nil
}

// Timeline is true time: what a receiver shows that knows all and errs in nothing is its label.
func (c *Clock) Timeline() utc.Timeline { return c.line }

// At is the stamp of the epoch valid at scenario time t, in s. It is absent while the receiver has no time.
//
// The receiver counts GPS time, with its error, and takes the offset off that it has. Source: IS-GPS-200: the week in
// ten bits, 20.3.3.3.1.1; GPS − UTC and the leap second to come in page 18 of subframe 4, 20.3.3.5.2.4, which is sent
// once in the 25 frames of 30 s that are the navigation message, 20.3.2.
func (c *Clock) At(t float64) opt.Opt[Stamp] {
	learned := math.Inf(-1) // scenario time when the offset was last taken in
	assumed, unknown := time.Duration(0), false
	if s := c.started(t); s != nil {
		if t < float64(s.At)+float64(s.TimeAfter) {
			return opt.None[Stamp]()
		}
		if learned = float64(s.At) + float64(s.OffsetAfter); t < learned {
			assumed, unknown = time.Duration(math.Round(float64(s.AssumedOffset)))*time.Second, true
		}
	}
	g := c.line.GPS(t).Add(time.Duration(math.Round(c.errorS(t) * 1e9)))
	var s Stamp
	switch {
	case unknown:
		s.Label = g.Civil(assumed)
	case c.spec.LeapSecond.Shown == Missed:
		s.Label = g.Civil(c.keptOffset(g, learned))
	default:
		s = c.showLeap(c.line.Table().Label(g))
	}
	if base := c.spec.WeekBase; base != nil {
		week, _ := g.Week()
		s.Label.Day += 7 * (utc.WeekFrom(utc.Ten(week), *base) - week)
	}
	return opt.Of(s)
}

// started is the last start-up by scenario time t, or nil.
func (c *Clock) started(t float64) *StartUp {
	for i := len(c.spec.Starts) - 1; i >= 0; i-- {
		if s := &c.spec.Starts[i]; t >= float64(s.At) {
			return s
		}
	}
	return nil
}

// errorS is by how much the clock is ahead of true time, in s.
func (c *Clock) errorS(t float64) float64 {
	var e float64
	for i := range c.spec.Steps {
		s := &c.spec.Steps[i]
		if t >= float64(s.At) && (s.Until == 0 || t < float64(s.Until)) {
			e += float64(s.By)
		}
	}
	for i := range c.spec.Drift {
		d := &c.spec.Drift[i]
		over := d.Until > 0 && t >= float64(d.Until)
		switch {
		case t < float64(d.From), over && !d.Keep:
		case over:
			e += float64(d.Rate) * float64(d.Until-d.From)
		default:
			e += float64(d.Rate) * (t - float64(d.From))
		}
	}
	return e
}

// keptOffset is the offset of a receiver that misses leap seconds: the one it learned, or with a delay the one that was.
func (c *Clock) keptOffset(g utc.GPS, learned float64) time.Duration {
	then := c.line.GPS(max(learned, 0))
	if n := c.spec.LeapSecond.NoticedAfter; n > 0 {
		then = max(then, g.Add(-time.Duration(math.Round(float64(n)*1e9))))
	}
	return c.line.Table().GPSMinusUTC(then)
}

// showLeap shows a label of UTC as the receiver does.
func (c *Clock) showLeap(l utc.Label) Stamp {
	way := c.spec.LeapSecond.Shown
	if way == "" || way == Second60 {
		return Stamp{l, c.line.Table().Lengthened(l.Day)}
	}
	if l.Leap() {
		if way == Second59Twice {
			l.OfDay -= time.Second
		} else {
			l = utc.Label{Day: l.Day + 1, OfDay: l.OfDay - 24*time.Hour}
		}
	}
	return Stamp{Label: l}
}

// ErrorS is by how much the stamp at scenario time t is ahead of UTC, in s, absent without a stamp. Both are counted as
// clocks show them, 23:59:60 like the first second of the next day: a receiver that shows 23:59:59 twice is a second
// behind during the second time.
func (c *Clock) ErrorS(t float64) opt.Opt[float64] {
	s, ok := c.At(t).Value()
	if !ok {
		return opt.None[float64]()
	}
	l := c.line.Label(t)
	return opt.Of(float64(s.Label.Day-l.Day)*86400 + (s.Label.OfDay - l.OfDay).Seconds())
}
