package line

import (
	"context"
	"time"
)

// A Clock tells the time and waits for an instant. It may be shared between goroutines.
type Clock interface {
	Now() time.Time
	// SleepUntil returns at t, never before it, or as soon as ctx ends, with its cause.
	SleepUntil(ctx context.Context, t time.Time) error
}

// SystemClock returns the most punctual clock of this platform that costs little: on Linux a thread waiting in
// clock_nanosleep, elsewhere [Timers]. It is no clock for a testing/synctest bubble.
func SystemClock() Clock { return systemClock }

// Timers is the clock made of the timers of package time. It works everywhere, and inside a testing/synctest bubble.
type Timers struct{}

// Now returns the time.
func (Timers) Now() time.Time { return time.Now() }

// SleepUntil waits on a timer.
func (Timers) SleepUntil(ctx context.Context, t time.Time) error {
	for {
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		d := time.Until(t)
		if d <= 0 {
			return nil
		}
		// A timer of its own: one from outside may not be used inside a bubble.
		if err := wait(ctx, time.NewTimer(d)); err != nil {
			return err
		}
	}
}

// wait waits for a timer that runs, and stops it.
func wait(ctx context.Context, t *time.Timer) error {
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return context.Cause(ctx)
	}
}
