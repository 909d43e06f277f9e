package line

import (
	"context"
	"testing"
	"testing/synctest"
	"time"
)

func TestFaster(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := Faster(Timers{}, 8)
		start := time.Now()
		for _, d := range []time.Duration{time.Second, 3*time.Second + 1, 10 * time.Second} {
			until := start.Add(d)
			if err := c.SleepUntil(t.Context(), until); err != nil {
				t.Fatal(err)
			}
			if c.Now().Before(until) {
				t.Errorf("woke %v early", until.Sub(c.Now()))
			}
			if got, want := time.Since(start), d/8; got < want || got > want+10*time.Nanosecond {
				t.Errorf("%v took %v, want %v", d, got, want)
			}
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if err := c.SleepUntil(ctx, start.Add(time.Hour)); err != context.DeadlineExceeded {
			t.Error(err)
		}
	})
}
