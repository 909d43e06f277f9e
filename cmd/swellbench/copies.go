package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/port"
	"swellbench/scenarios"
)

const maxCopies = 2000

// playCopies plays many devices of one scenario from one thread, each stream on a pseudo-terminal of its own.
func playCopies(cmd *cobra.Command, sc *scenarios.Scenario, copies int, link string, wait bool) (err error) {
	if copies < 1 || copies > maxCopies {
		return fmt.Errorf("--copies is %d, allowed: 1 to %d", copies, maxCopies)
	}
	if link == "" {
		dir, err := port.RuntimeDir()
		if err != nil {
			return environment(err)
		}
		link = filepath.Join(dir, sc.Name)
	}
	ctx, out, note := cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr()
	fmt.Fprintln(note, caution)
	var ports []port.Port
	defer func() {
		for _, p := range ports {
			err = errors.Join(err, p.Close())
		}
	}()
	origin := time.Now().Add(time.Duration(copies)*20*time.Millisecond + time.Second).Truncate(100 * time.Millisecond)
	devices := func() (all []emulator.Played, err error) {
		for k := range copies {
			one := *sc
			one.Seed += uint64(k)
			if one.Start.Now {
				one = *one.WithStart(origin.Round(0))
			}
			d, err := emulator.New(&one)
			if err != nil {
				return nil, err
			}
			for i := range d.Streams() {
				all = append(all, emulator.Played{Device: d, Stream: i})
			}
		}
		return all, nil
	}
	all, err := devices()
	if err != nil {
		return err
	}
	for k := range all {
		p, err := port.OpenPTY(fmt.Sprintf("%s-%d", link, k+1))
		if err != nil {
			return environment(fmt.Errorf("terminal %d of %d: %w", k+1, len(all), err))
		}
		ports = append(ports, p)
		all[k].Port = p
		fmt.Fprintln(out, p.Path())
	}
	fmt.Fprintf(note, "%d devices of %s. How a consumer has set its side makes no difference here, and requests are not answered.\n", copies, sc.Name)
	if wait {
		fmt.Fprintln(note, "Waiting until all ports are open. Ctrl-C ends.")
		for _, p := range ports {
			if p.WaitOpen(ctx) != nil {
				return nil // Ctrl-C
			}
		}
		origin = time.Now().Add(time.Duration(copies)*10*time.Millisecond + 300*time.Millisecond).Truncate(100 * time.Millisecond)
		if sc.Start.Now {
			again, err := devices()
			if err != nil {
				return err
			}
			for k := range all {
				all[k].Device = again[k].Device
			}
		}
	}
	sums, err := emulator.PlayMany(ctx, all, line.PreciseClock(), origin)
	var total line.Summary
	for _, s := range sums {
		total.Messages += s.Messages
		total.Bytes += s.Bytes
		for _, l := range []struct{ to, from *line.Loss }{{&total.NoConsumer, &s.NoConsumer}, {&total.QueueFull, &s.QueueFull}, {&total.Overrun, &s.Overrun}} {
			l.to.Messages += l.from.Messages
		}
		total.Late.Merge(&s.Late)
	}
	reportSum(note, "All", total)
	if errors.Is(err, context.Canceled) {
		err = nil // Ctrl-C
	}
	return environment(err)
}
