package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"swellbench/emulator/selftest"
)

func newSelftest() *cobra.Command {
	var asJSON, quick bool
	var devices int
	var rate float64
	cmd := &cobra.Command{
		Use:   "selftest",
		Short: "Measure what this machine can keep: punctuality, terminals, many devices",
		Long: `Selftest measures how punctual this machine wakes a thread, how fast a pseudo-terminal takes bytes, and what many
devices at a time cost, each beside a plain reference in the same run and in turns with it, as the median of five.
It takes about a minute; close what else is at work, or measure with it to see what that does.`,
		Example: `  swellbench selftest
  swellbench selftest --quick --devices 50 --rate 100`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			self, err := os.Executable()
			if err != nil {
				return environment(err)
			}
			drain := selftest.Drainer(cmd.Context(), self, "drain")
			round, load, rounds := 2*time.Second, 2*time.Second, selftest.Rounds
			if quick {
				round, load, rounds = 400*time.Millisecond, 500*time.Millisecond, 1
			}
			var r selftestReport
			r.Machine = fmt.Sprintf("%s/%s, %d processors", runtime.GOOS, runtime.GOARCH, runtime.NumCPU())
			note := func(s string) { fmt.Fprintln(cmd.ErrOrStderr(), s) }
			note("clocks, at 100 Hz ...")
			if r.Clocks, err = selftest.Clocks(cmd.Context(), 100, round, nil); err != nil {
				return environment(err)
			}
			note("one terminal ...")
			if r.Throughput, err = selftest.Throughput(cmd.Context(), round, drain); err != nil {
				return environment(err)
			}
			note(fmt.Sprintf("%d devices at %g Hz ...", devices, rate))
			r.Devices, r.Rate = devices, rate
			if r.Loads, err = selftest.Devices(cmd.Context(), selftest.Load{Devices: devices, Rate: rate, For: load}, rounds, drain); err != nil {
				return environment(err)
			}
			if asJSON {
				enc := json.NewEncoder(cmd.OutOrStdout())
				enc.SetIndent("", "  ")
				return enc.Encode(r)
			}
			r.text(cmd.OutOrStdout())
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "for programs")
	cmd.Flags().BoolVar(&quick, "quick", false, "shorter, and less sure")
	cmd.Flags().IntVar(&devices, "devices", 200, "how many devices to play at a time")
	cmd.Flags().Float64Var(&rate, "rate", 50, "of each of the three messages of a device, Hz")
	return cmd
}

// newDrain is the other end of a selftest.
func newDrain() *cobra.Command {
	return &cobra.Command{Use: "drain", Hidden: true, Args: cobra.NoArgs, RunE: func(cmd *cobra.Command, _ []string) error {
		return selftest.Drain(cmd.InOrStdin(), cmd.OutOrStdout())
	}}
}

type selftestReport struct {
	Machine    string                 `json:"machine"`
	Clocks     []selftest.Punctuality `json:"clocks"`
	Throughput float64                `json:"terminal_bytes_per_s"`
	Devices    int                    `json:"devices"`
	Rate       float64                `json:"rate_hz"`
	Loads      []selftest.LoadResult  `json:"loads"`
}

func (r selftestReport) text(w io.Writer) {
	us := func(s float64) string { return fmt.Sprintf("%.0f µs", 1e6*s) }
	fmt.Fprintf(w, "%s\n\nHow late a thread is woken, at 100 Hz\n", r.Machine)
	fmt.Fprintf(w, "  %-8s %10s %10s %10s  %14s %14s\n", "way", "p50", "p99", "max", "p50 of sleep", "p99 of thread")
	for _, c := range r.Clocks {
		fmt.Fprintf(w, "  %-8s %10s %10s %10s  %14.4f %14.2f  %s\n", c.Name, us(c.P50), us(c.P99), us(c.Max), c.P50OfSleep, c.P99OfThread, c.What)
	}
	fmt.Fprintf(w, "\nOne pseudo-terminal takes %.1f MB a second: %.0f times 921600 baud.\n", r.Throughput/1e6, r.Throughput/92160)
	fmt.Fprintf(w, "\n%d devices on a terminal each, three messages at %g Hz each\n", r.Devices, r.Rate)
	fmt.Fprintf(w, "  %-10s %8s %10s %10s %10s %10s\n", "way", "of a core", "p50", "p99", "max", "lost")
	for _, l := range r.Loads {
		fmt.Fprintf(w, "  %-10s %8.2f %10s %10s %10s %8d B  %s\n", l.Name, l.CPU, us(l.P50), us(l.P99), us(l.Max), l.LostB, l.What)
	}
	precise, ours := r.Clocks[len(r.Clocks)-1], r.Loads[0]
	fmt.Fprintln(w)
	switch {
	case precise.P99 > 0.005:
		fmt.Fprintf(w, "This machine is late by %s in one wait of a hundred: checks of time come out inconclusive. Close what else is at work.\n", us(precise.P99))
	case precise.P99 > 0.001:
		fmt.Fprintf(w, "Stamps and latencies can be trusted to a few ms here; the worst wait was %s late.\n", us(precise.Max))
	default:
		fmt.Fprintf(w, "Stamps and latencies can be trusted to a millisecond here; the worst wait was %s late.\n", us(precise.Max))
	}
	if ours.LostB > 0 {
		fmt.Fprintf(w, "So many devices are too many: %d bytes were lost.\n", ours.LostB)
	} else {
		fmt.Fprintf(w, "So many devices are no problem: nothing was lost, one message of a hundred was more than %s late.\n", us(ours.P99))
	}
}
