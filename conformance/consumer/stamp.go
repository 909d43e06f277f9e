package consumer

import (
	"log/slog"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A stamper finds the UTC instant of each epoch and hands them on in the order in which they came.
//
// The time of day is in the messages. The day comes from a message that carries one (RMC, ZDA); without one in the
// epoch it is the day that puts the epoch nearest to where the last one and the host's elapsed time say it should be,
// so that midnight needs no date and the host's own date is not asked. Epochs that come before the stream has told
// its date wait for it. Only if none has come after [patience] the host's date is used, and of that the day which
// puts the epoch nearest to the host's clock.
//
// An epoch in which no message carries a time (heading, rate of turn, transducers between two fixes) is stamped from
// the host's elapsed time between its first byte and that of a timed epoch: the one, among the last few, that came
// with the least delay. Where bytes come faster than the line could carry them the host's clock says nothing about
// the sensor's time, and such epochs are left out. In a stream that carries no time at all they are stamped with their
// arrival.
type stamper struct {
	line     bool          // the bytes come from a line at its own speed: the host's clock means something
	byteTime time.Duration // of that line
	publish  func(*epoch, time.Time)
	log      *slog.Logger

	anchor    opt.Opt[instant]
	weak      opt.Opt[instant] // from a void message
	recent    []instant        // timed epochs
	queue     []*epoch
	onArrival bool // no message has carried a time: stamp with the arrival
	skipped   int
}

// An instant ties the sensor's time to the host's.
type instant struct {
	utc    time.Time
	at     time.Time
	offset int64
}

const (
	patience   = 10 * time.Second // how long epochs wait for a date or a time
	queueLimit = 1000             // how many of them
)

// push takes the next epoch, which came at host time now or before.
func (s *stamper) push(e *epoch) {
	if f, ok := e.fix.Value(); ok && f == wire.FixNone && e.dated.Has() { // without a fix a date may be a default
		e.weakly, e.dated = e.dated, opt.None[time.Time]()
	}
	if w, ok := e.weakly.Value(); ok {
		s.weak = opt.Of(instant{w, e.first, e.offset})
	}
	if tod, ok := e.time.Value(); ok {
		if d, ok := e.dated.Value(); ok {
			s.tie(e, nearestDay(tod, d))
		} else if a, ok := s.anchor.Value(); ok {
			s.tie(e, nearestDay(tod, s.predict(a, e)))
		}
	}
	s.queue = append(s.queue, e)
	s.release(e.last)
}

// release hands on what can be stamped, in order, and what has waited too long.
func (s *stamper) release(now time.Time) {
	for len(s.queue) > 0 {
		e := s.queue[0]
		if !e.utc.Has() && !s.try(e) {
			if now.Sub(e.first) < patience && len(s.queue) <= queueLimit {
				return
			}
			s.settle(e)
		}
		s.queue = s.queue[1:]
		s.hand(e)
	}
}

// flush hands on all that waits.
func (s *stamper) flush() {
	for _, e := range s.queue {
		if !e.utc.Has() && !s.try(e) {
			s.settle(e)
		}
		s.hand(e)
	}
	s.queue = nil
}

// waiting is when the first of the queue has waited long enough.
func (s *stamper) waiting() (time.Time, bool) {
	if len(s.queue) == 0 || !s.line {
		return time.Time{}, false
	}
	return s.queue[0].first.Add(patience), true
}

func (s *stamper) hand(e *epoch) {
	if utc, ok := e.utc.Value(); ok {
		s.publish(e, utc)
		return
	}
	if s.skipped++; s.skipped == 1 {
		s.log.Warn("left out an epoch without a time: its bytes came faster than the line carries them", "utc", s.anchor.Or(instant{}).utc)
	}
}

// try stamps an epoch from what is known of the sensor's time by now.
func (s *stamper) try(e *epoch) bool {
	a, anchored := s.anchor.Value()
	if tod, timed := e.time.Value(); timed {
		if anchored {
			s.tie(e, nearestDay(tod, s.predict(a, e)))
		}
		return anchored
	}
	switch {
	case s.onArrival && s.line:
		e.utc = opt.Of(e.first.UTC())
	case len(s.recent) == 0:
		return !s.line && anchored // it never will be
	default:
		if utc, ok := s.elapsed(e); ok {
			e.utc = opt.Of(utc)
		}
	}
	return true
}

// settle stamps an epoch that has waited in vain, as well as can be.
func (s *stamper) settle(e *epoch) {
	tod, timed := e.time.Value()
	switch w, weak := s.weak.Value(); {
	case timed && weak:
		s.tie(e, nearestDay(tod, s.predict(w, e)))
	case timed:
		s.log.Warn("the stream carries no date: taking the host's")
		s.tie(e, nearestDay(tod, e.first.UTC()))
	case s.line:
		s.onArrival = true
		e.utc = opt.Of(e.first.UTC())
	}
}

// tie stamps a timed epoch and learns from it.
func (s *stamper) tie(e *epoch, utc time.Time) {
	e.utc = opt.Of(utc)
	f := instant{utc, e.first, e.offset}
	s.anchor, s.onArrival = opt.Of(f), false
	if !s.line {
		return
	}
	if n := len(s.recent); n > 0 && (s.lead(f)-s.lead(s.recent[n-1])).Abs() > time.Second { // a clock was set
		s.recent = s.recent[:0]
	}
	if s.recent = append(s.recent, f); len(s.recent) > 8 {
		s.recent = s.recent[1:]
	}
}

// lead is how far the sensor's time is ahead of the host's.
func (s *stamper) lead(f instant) time.Duration { return f.utc.Sub(f.at) }

// predict is when e would be if both clocks had run on since a.
func (s *stamper) predict(a instant, e *epoch) time.Time {
	if !s.line {
		return a.utc
	}
	return a.utc.Add(e.first.Sub(a.at))
}

// elapsed stamps a timeless epoch from the timed one that came with the least delay.
func (s *stamper) elapsed(e *epoch) (time.Time, bool) {
	best := s.recent[0]
	for _, f := range s.recent[1:] {
		if s.lead(f) > s.lead(best) {
			best = f
		}
	}
	d, bytes := e.first.Sub(best.at), e.offset-best.offset
	if bytes < 0 {
		d, bytes = -d, -bytes
	}
	if d < time.Duration(bytes)*s.byteTime/2 {
		return time.Time{}, false
	}
	return best.utc.Add(e.first.Sub(best.at)), true
}

// nearestDay puts a time of day on the day that brings it nearest to about.
func nearestDay(tod time.Duration, about time.Time) time.Time {
	const day = 24 * time.Hour
	about = about.UTC()
	t := about.Truncate(day).Add(tod)
	switch d := t.Sub(about); {
	case d > day/2:
		return t.Add(-day)
	case d < -day/2:
		return t.Add(day)
	}
	return t
}
