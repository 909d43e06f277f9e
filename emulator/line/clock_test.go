package line

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

var clocks = map[string]Clock{"system": SystemClock(), "timers": Timers{}}

func TestClocksAreNeverEarly(t *testing.T) {
	for name, c := range clocks {
		for _, d := range []time.Duration{-time.Second, 0, 1, 50 * time.Microsecond, time.Millisecond, 7 * time.Millisecond} {
			for range 20 {
				at := c.Now().Add(d)
				if err := c.SleepUntil(t.Context(), at); err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				if early := at.Sub(c.Now()); early > 0 {
					t.Fatalf("%s: %v early", name, early)
				}
			}
		}
	}
}

// The test would last an hour if the end of ctx did not end the wait.
func TestClocksEndWithContext(t *testing.T) {
	cause := errors.New("enough")
	for name, c := range clocks {
		ctx, cancel := context.WithCancelCause(t.Context())
		time.AfterFunc(time.Millisecond, func() { cancel(cause) })
		for range 2 { // the second time it has ended already
			if err := c.SleepUntil(ctx, c.Now().Add(time.Hour)); err != cause {
				t.Errorf("%s: ended with %v, want %v", name, err, cause)
			}
		}
	}
}

func TestSystemClockAllocatesNothing(t *testing.T) {
	if underRace {
		t.Skip("the race detector empties pools at random, so that waits allocate")
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	if SystemClock() == Clock(Timers{}) {
		t.Skip("here the system clock is that of the timers, which makes a timer for each wait")
	}
	c := SystemClock()
	for _, d := range []time.Duration{100 * time.Microsecond, 5 * time.Millisecond} {
		if n := testing.AllocsPerRun(20, func() { _ = c.SleepUntil(ctx, c.Now().Add(d)) }); n > 0 {
			t.Errorf("%g allocations a wait of %v", n, d)
		}
	}
}

// The mean rate over a second is the line's to 0.5 %: 5 ms for the last byte's lateness. A busy host may be later
// than that at any one moment, so the best of five runs counts; a pacing that adds periods up errs in each.
func TestMeanRate(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a second a rate")
	}
	for _, baud := range []int{300, 4800, 31250, 115200, 921600} {
		t.Run(fmt.Sprint(baud), func(t *testing.T) {
			t.Parallel()
			s := Settings{Baud: baud, Queue: 1 << 20}
			size := int(1 / s.ByteTime())
			var in []Message
			for sent := 0; sent < size; sent += 82 {
				in = append(in, msg(0, strings.Repeat("x", min(82, size-sent))))
			}
			var errs []float64
			for range 5 {
				w := &wire{}
				sum, err := Play(t.Context(), nil, s, seq(in, nil), w, Options{Origin: time.Now().Add(10 * time.Millisecond)})
				if err != nil {
					t.Fatal(err)
				}
				got := float64(size) / w.at[size-1].Sub(sum.Origin).Seconds()
				off := got*s.ByteTime() - 1
				if off > 1e-9 {
					t.Fatalf("%.3f bytes/s, faster than the line's %.3f", got, 1/s.ByteTime())
				}
				errs = append(errs, off)
				if math.Abs(off) < 0.005 {
					t.Logf("%.1f bytes/s, off by %.4f %%; hand-over late p50 %v p99 %v max %v", got, 100*off,
						sum.Late.Quantile(0.5), sum.Late.Quantile(0.99), sum.Late.Max())
					return
				}
			}
			t.Errorf("mean rate off by %v in each of five runs, allowed 0.005", errs)
		})
	}
}
