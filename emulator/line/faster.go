package line

import (
	"context"
	"time"
)

// Faster is a clock that runs n times as fast as c, and agreed with it when it was made: a line paced by it sends n times
// the bytes a second, and all else keeps its proportions. n is positive.
func Faster(c Clock, n float64) Clock { return &faster{c: c, n: n, start: c.Now()} }

// Rate is how many seconds of a clock pass in a second: that of [Faster], 1 of any other.
func Rate(c Clock) float64 {
	if f, ok := c.(*faster); ok {
		return f.n
	}
	return 1
}

type faster struct {
	c     Clock
	n     float64
	start time.Time
}

// Now returns the time on the faster clock.
func (f *faster) Now() time.Time {
	return f.start.Add(time.Duration(float64(f.c.Now().Sub(f.start)) * f.n))
}

// SleepUntil waits for t on the faster clock, and never returns before it.
func (f *faster) SleepUntil(ctx context.Context, t time.Time) error {
	for {
		at := f.start.Add(time.Duration(float64(t.Sub(f.start))/f.n) + 1)
		if err := f.c.SleepUntil(ctx, at); err != nil {
			return err
		}
		if !f.Now().Before(t) {
			return nil
		}
	}
}

// Real is how long d of this clock takes.
func (f *faster) Real(d time.Duration) time.Duration { return time.Duration(float64(d) / f.n) }

// realTime is how long d of a clock takes; a clock that is not as fast as the real one says so by a method Real.
func realTime(c Clock, d time.Duration) time.Duration {
	if f, ok := c.(interface {
		Real(d time.Duration) time.Duration
	}); ok {
		return f.Real(d)
	}
	return d
}
