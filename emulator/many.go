package emulator

import (
	"context"
	"time"

	"swellbench/emulator/line"
)

// A Played is one stream of a device on its port.
type Played struct {
	Device *Device
	Stream int
	Port   line.Sink
	Sent   func(line.Sent) // as in [PlayOptions]
}

// PlayMany plays many streams, of one device or of many, from one thread: see [line.PlayMany] for how that differs from
// [Play]. Requests of consumers are not answered. A nil clock is [line.SystemClock]; the zero origin is the moment it
// begins.
func PlayMany(ctx context.Context, all []Played, clock line.Clock, origin time.Time) ([]line.Summary, error) {
	jobs := make([]line.Job, len(all))
	for i, p := range all {
		jobs[i] = line.Job{Settings: p.Device.Line(p.Stream), Messages: p.Device.Messages(p.Stream), Port: p.Port,
			Options: line.Options{Origin: origin, Sent: p.Sent}}
	}
	var sums []line.Summary
	var err error
	line.OnThread(func() { sums, err = line.PlayMany(ctx, clock, jobs) })
	return sums, err
}
