package main

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"swellbench/emulator"
	"swellbench/emulator/line"
)

func newRender() *cobra.Command {
	var out, point, start string
	var step time.Duration
	cmd := &cobra.Command{
		Use:   "render [scenario] -o DIR",
		Short: "Write a scenario's stream, sent-log and truth into files, in virtual time",
		Long: `Render plays a scenario in virtual time, as fast as the machine can, and writes into DIR:

  NAME.STREAM.bytes  what comes out of the port, one file a stream
  NAME.sent.jsonl    the sent-log: every message with its time of validity, first and last bit
  NAME.truth.csv     what the vessel really did, at the point of --point

The same scenario and seed give the same bytes on every run. A scenario that starts "now" needs --start for that.`,
		Example: `  swellbench render -o out
  swellbench render quay-pose -o out --point sonar --step 1s
  swellbench render my-scenario.yaml -o out --start 2026-06-01T12:00:00Z`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeScenario,
		RunE: func(cmd *cobra.Command, args []string) error {
			sc, err := openScenario(cmd, args)
			if err != nil {
				return err
			}
			if start != "" {
				t, err := time.Parse(time.RFC3339Nano, start)
				if err != nil {
					return fmt.Errorf("--start is %q, allowed: a UTC instant such as 2026-06-01T12:00:00Z", start)
				}
				sc = sc.WithStart(t.UTC())
			} else if sc.Start.Now {
				sc = sc.WithStart(time.Now().UTC().Truncate(time.Second))
			}
			d, err := emulator.New(sc)
			if err != nil {
				return err
			}
			if point == "" {
				_, point = sc.Installation.ExpectedPoint()
			}
			if err := os.MkdirAll(out, 0o777); err != nil {
				return environment(err)
			}
			names, err := render(d, out, point, step.Seconds())
			if err != nil {
				return err
			}
			for _, n := range names {
				fmt.Fprintln(cmd.OutOrStdout(), n)
			}
			return nil
		},
	}
	cmd.Flags().StringVarP(&out, "output", "o", "", "the folder to write into (made if it is not there)")
	cmd.Flags().StringVar(&point, "point", "", "the point of the truth table (default: the point expected of the consumer)")
	cmd.Flags().DurationVar(&step, "step", 100*time.Millisecond, "the step of the truth table")
	cmd.Flags().StringVar(&start, "start", "", "the UTC instant of scenario time 0, in place of the scenario's")
	_ = cmd.MarkFlagRequired("output")
	return cmd
}

// render writes all files and returns their names.
func render(d *emulator.Device, dir, point string, step float64) (names []string, err error) {
	base := filepath.Join(dir, d.Scenario().Name)
	// create opens one file and hands back how to finish it.
	create := func(suffix string) (*bufio.Writer, func(), error) {
		f, err1 := os.Create(base + suffix)
		if err1 != nil {
			return nil, nil, environment(err1)
		}
		names = append(names, base+suffix)
		w := bufio.NewWriterSize(f, 1<<16)
		return w, func() { err = errors.Join(err, w.Flush(), f.Close()) }, nil
	}
	sentFile, done, err := create(".sent.jsonl")
	if err != nil {
		return names, err
	}
	defer done()
	log := d.NewSentLog(sentFile)
	for i := range d.Streams() {
		w, done, err := create(fmt.Sprintf(".%s.bytes", d.StreamName(i)))
		if err != nil {
			return names, err
		}
		err = emulator.Render(d, i, w, func(s line.Sent) { log.Add(i, s) })
		done()
		if err != nil {
			return names, err
		}
	}
	truth, done2, err := create(".truth.csv")
	if err != nil {
		return names, err
	}
	defer done2()
	return names, errors.Join(log.Flush(), d.WriteTruth(truth, point, step))
}
