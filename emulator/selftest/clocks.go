package selftest

import (
	"context"
	"slices"
	"time"

	"swellbench/emulator/line"
)

// Rounds is how often each way is measured; what is told is the median.
const Rounds = 5

// A Way is one way to wait for the instants of a schedule.
type Way struct {
	Name, What string
	// run calls emit at each of n instants, a period apart from start on.
	run func(ctx context.Context, start time.Time, period time.Duration, n int, emit func(k int))
}

// The ways. The first is the one whose ratio is told: what a careful program does without this package.
var Ways = []Way{
	{"sleep", "time.Sleep to absolute instants", func(_ context.Context, start time.Time, period time.Duration, n int, emit func(int)) {
		for k := range n {
			time.Sleep(time.Until(start.Add(time.Duration(k) * period)))
			emit(k)
		}
	}},
	{"thread", "a bare loop of clock_nanosleep on a locked thread", bareLoop},
	{"plain", "the clock that checks are played by", clockLoop(line.SystemClock)},
	{"precise", "the clock of play: it spins the last microseconds", clockLoop(line.PreciseClock)},
}

func clockLoop(clock func() line.Clock) func(context.Context, time.Time, time.Duration, int, func(int)) {
	return func(ctx context.Context, start time.Time, period time.Duration, n int, emit func(int)) {
		line.OnThread(func() {
			c := clock()
			for k := range n {
				if c.SleepUntil(ctx, start.Add(time.Duration(k)*period)) != nil {
					return
				}
				emit(k)
			}
		})
	}
}

// A Punctuality is how late a way was, medians of [Rounds].
type Punctuality struct {
	Name        string  `json:"name"`
	What        string  `json:"what"`
	P50         float64 `json:"p50_s"`
	P99         float64 `json:"p99_s"`
	Max         float64 `json:"max_s"`
	P50OfSleep  float64 `json:"p50_of_sleep"`  // as a ratio to that of the first way
	P99OfThread float64 `json:"p99_of_thread"` // as a ratio to that of the bare loop
}

// Clocks measures all ways in turn, [Rounds] times, at the rate in Hz, each round so long. out is called at each instant
// and stands for the emission; nil is nothing.
func Clocks(ctx context.Context, rate float64, round time.Duration, out func()) ([]Punctuality, error) {
	period := time.Duration(float64(time.Second) / rate)
	n := max(int(round/period), 10)
	p50, p99, most := make([][]float64, len(Ways)), make([][]float64, len(Ways)), make([][]float64, len(Ways))
	late := make([]time.Duration, n)
	for range Rounds {
		for i, w := range Ways {
			if ctx.Err() != nil {
				return nil, context.Cause(ctx)
			}
			start := time.Now().Add(2 * period)
			w.run(ctx, start, period, n, func(k int) {
				late[k] = time.Since(start.Add(time.Duration(k) * period))
				if out != nil {
					out()
				}
			})
			sorted := slices.Sorted(slices.Values(late[n/10:])) // a tenth to settle
			at := func(q float64) float64 { return sorted[int(q*float64(len(sorted)-1))].Seconds() }
			p50[i], p99[i], most[i] = append(p50[i], at(0.5)), append(p99[i], at(0.99)), append(most[i], at(1))
		}
	}
	all := make([]Punctuality, len(Ways))
	for i, w := range Ways {
		all[i] = Punctuality{Name: w.Name, What: w.What, P50: median(p50[i]), P99: median(p99[i]), Max: median(most[i])}
	}
	for i := range all {
		all[i].P50OfSleep, all[i].P99OfThread = all[i].P50/all[0].P50, all[i].P99/all[1].P99
	}
	return all, nil
}

func median(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	return s[len(s)/2]
}
