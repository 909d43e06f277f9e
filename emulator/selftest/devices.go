package selftest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/port"
	"swellbench/scenarios"
)

// A Load is many devices on a pseudo-terminal each, all of the same three messages.
type Load struct {
	Devices int
	Rate    float64 // of each of the three messages, Hz
	For     time.Duration
}

// A LoadWay is one way to play many devices.
type LoadWay struct {
	Name, What string
	run        func(ctx context.Context, l *load, origin time.Time) (late line.Histogram, err error)
}

// LoadWays are the ways. The first is ours.
var LoadWays = []LoadWay{
	{"one-thread", "all devices from one thread, the next messages made when the due ones are out", oneThread},
	{"each-alone", "each device played by itself, a goroutine and a thread a device, byte for byte as a line would", eachAlone},
	{"sleepers", "a goroutine a device, which sleeps until each message is due and writes it", sleepers},
	{"bare", "one thread that writes, as the first does, bytes made beforehand", bareWrites},
}

// A LoadResult is what a way came to, medians of the rounds.
type LoadResult struct {
	Name     string  `json:"name"`
	What     string  `json:"what"`
	Messages int64   `json:"messages"`   // of the last round
	LostB    int64   `json:"lost_bytes"` // of all rounds
	CPU      float64 `json:"cpu"`        // of one core, 1 is all of it
	P50      float64 `json:"p50_s"`
	P99      float64 `json:"p99_s"`
	Max      float64 `json:"max_s"`
}

// load is the devices with their ports.
type load struct {
	devices []*emulator.Device
	ports   []port.Port
	lost    int64
}

const loadScenario = `
start: 2026-06-01T12:00:00Z
duration: %g s
seed: %d
track: {position: {latitude: 54.2 deg, longitude: -3.7 deg, height: 45 m}, heading: 77.3 deg, speed: 4 m/s}
motion:
  roll: [{amplitude: 8 deg, period: 7 s}]
  pitch: [{amplitude: 4 deg, period: 9 s}]
installation: {points: {sensor: [0.4 m, -1.8 m, 0.6 m], antenna-primary: [-0.9 m, -3.1 m, 6.2 m], antenna-secondary: [1.1 m, -2.6 m, 6.5 m]}}
streams:
  - format: nmea0183
    line: {baud: 115200}
    messages: [{type: GGA, rate: %g Hz}, {type: HDT, rate: %g Hz}, {type: XDR, rate: %g Hz}]
`

// Devices plays a load in each way, in turns, [Rounds] times. read is given the paths of the ports and reads them, in
// another process so that its work is not counted; it returns how to end it, and how many bytes it got.
func Devices(ctx context.Context, l Load, rounds int, read func(paths []string) (end func() (int64, error), err error)) ([]LoadResult, error) {
	x := &load{}
	defer func() {
		for _, p := range x.ports {
			p.Close()
		}
	}()
	for i := range l.Devices {
		sc, err := scenarios.Parse("load.yaml", fmt.Appendf(nil, loadScenario, l.For.Seconds(), i+1, l.Rate, l.Rate, l.Rate))
		if err != nil {
			return nil, err
		}
		d, err := emulator.New(sc)
		if err != nil {
			return nil, err
		}
		p, err := port.OpenPTY("")
		if err != nil {
			return nil, fmt.Errorf("port %d of %d: %w", i+1, l.Devices, err)
		}
		x.devices, x.ports = append(x.devices, d), append(x.ports, p)
	}
	paths := make([]string, len(x.ports))
	for i, p := range x.ports {
		paths[i] = p.Path()
	}
	end, err := read(paths)
	if err != nil {
		return nil, err
	}
	for _, p := range x.ports {
		if err := p.WaitOpen(ctx); err != nil {
			return nil, err
		}
	}
	results := make([]LoadResult, len(LoadWays))
	cpu, p50, p99, most := make([][]float64, len(LoadWays)), make([][]float64, len(LoadWays)), make([][]float64, len(LoadWays)), make([][]float64, len(LoadWays))
	var sent int64
	for range rounds {
		for i, w := range LoadWays {
			x.lost = 0
			before, begun := cpuTime(), time.Now()
			late, err := w.run(ctx, x, time.Now().Add(100*time.Millisecond))
			if err != nil {
				return nil, fmt.Errorf("%s: %w", w.Name, err)
			}
			results[i].Name, results[i].What, results[i].Messages = w.Name, w.What, int64(late.N())
			results[i].LostB += x.lost
			cpu[i] = append(cpu[i], (cpuTime()-before).Seconds()/time.Since(begun).Seconds())
			p50[i], p99[i], most[i] = append(p50[i], late.Quantile(0.5).Seconds()), append(p99[i], late.Quantile(0.99).Seconds()), append(most[i], late.Max().Seconds())
			sent += int64(late.N())
		}
	}
	for i := range results {
		results[i].CPU, results[i].P50, results[i].P99, results[i].Max = median(cpu[i]), median(p50[i]), median(p99[i]), median(most[i])
	}
	got, err := end()
	if err == nil && got == 0 && sent > 0 {
		err = fmt.Errorf("the reader got nothing of %d messages", sent)
	}
	return results, err
}

func oneThread(ctx context.Context, x *load, origin time.Time) (line.Histogram, error) {
	all := make([]emulator.Played, len(x.devices))
	for i, d := range x.devices {
		all[i] = emulator.Played{Device: d, Port: x.ports[i]}
	}
	sums, err := emulator.PlayMany(ctx, all, line.PreciseClock(), origin)
	var late line.Histogram
	for _, s := range sums {
		late.Merge(&s.Late)
		x.lost += s.Overrun.Bytes + s.NoConsumer.Bytes + s.QueueFull.Bytes + s.Stopped.Bytes
	}
	return late, err
}

// leaving is when each message of a device has left, by the same timetable as ours.
func leaving(d *emulator.Device, each func(line.Sent) bool) {
	going := true
	_ = emulator.Render(d, 0, discard{}, func(s line.Sent) { going = going && each(s) })
}

type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

// eachAlone plays each device as play does.
func eachAlone(ctx context.Context, x *load, origin time.Time) (line.Histogram, error) {
	sums, errs := make([]line.Summary, len(x.devices)), make([]error, len(x.devices))
	var wg sync.WaitGroup
	for i, d := range x.devices {
		wg.Go(func() {
			sums[i], errs[i] = emulator.Play(ctx, d, 0, x.ports[i], emulator.PlayOptions{Origin: origin})
		})
	}
	wg.Wait()
	var late line.Histogram
	for _, s := range sums {
		late.Merge(&s.Late)
		x.lost += s.Overrun.Bytes + s.NoConsumer.Bytes + s.QueueFull.Bytes + s.Stopped.Bytes
	}
	return late, errors.Join(errs...)
}

// sleepers is the alternative written by hand: the least that a program does that gives each device a goroutine.
func sleepers(_ context.Context, x *load, origin time.Time) (line.Histogram, error) {
	lates := make([]line.Histogram, len(x.devices))
	lost := make([]int64, len(x.devices))
	var wg sync.WaitGroup
	for i, d := range x.devices {
		wg.Go(func() {
			leaving(d, func(s line.Sent) bool {
				due := origin.Add(time.Duration(s.Last * 1e9))
				time.Sleep(time.Until(due))
				n, _ := x.ports[i].Write(s.Bytes)
				lost[i] += int64(len(s.Bytes) - n)
				lates[i].Add(time.Since(due))
				return true
			})
		})
	}
	wg.Wait()
	var late line.Histogram
	for i := range lates {
		late.Merge(&lates[i])
		x.lost += lost[i]
	}
	return late, nil
}

// bareWrites is the least that can be done: bytes made beforehand, sorted by their instants, a sleeping thread, writes.
func bareWrites(ctx context.Context, x *load, _ time.Time) (line.Histogram, error) {
	type piece struct {
		at       float64
		port     int
		messages int
		bytes    []byte
	}
	var all []piece
	for i, d := range x.devices {
		due := -1.0
		leaving(d, func(s line.Sent) bool {
			if s.Due == due { // the rest of a burst
				last := &all[len(all)-1]
				last.at, last.bytes, last.messages = s.Last, append(last.bytes, s.Bytes...), last.messages+1
				return true
			}
			due = s.Due
			all = append(all, piece{s.Last, i, 1, slices.Clone(s.Bytes)})
			return true
		})
	}
	slices.SortStableFunc(all, func(a, b piece) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return a.port - b.port
	})
	// Making them took its time: the run begins anew.
	origin := time.Now().Add(100 * time.Millisecond)
	var late line.Histogram
	waitBare(origin, len(all), func(k int) float64 { return all[k].at }, func(k int) {
		n, _ := x.ports[all[k].port].Write(all[k].bytes)
		x.lost += int64(len(all[k].bytes) - n)
		took := time.Since(origin.Add(time.Duration(all[k].at * 1e9)))
		for range all[k].messages {
			late.Add(took)
		}
	})
	return late, ctx.Err()
}
