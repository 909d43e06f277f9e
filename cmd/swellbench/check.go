package main

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"swellbench/conformance"
	"swellbench/conformance/observe"
	"swellbench/conformance/report"
	"swellbench/conformance/suites"
	"swellbench/emulator"
)

func newCheck() *cobra.Command {
	var junit, jsonFile, htmlFile string
	var list bool
	var shard, known, profile, seed, mapFile string
	var o conformance.Options
	cmd := &cobra.Command{
		Use:   "check [suite] [-- program args...]",
		Short: "Play a suite to a program and judge what it understood",
		Long: `Check plays each case of a suite over a pseudo-terminal of its own to a program, reads what the program says it
understood, and judges it. Without a suite it takes the default one, without a program the bundled reference
consumer, as a separate process.

In the program's arguments these are filled in:
  {port}          the path of the serial port to open
  {baud}          its baud rate
  {format}        the format of the stream, such as nmea0183; of a mixed one all of them, as nmea0183+mavlink
  {layout}        the path of the layout file of a stream whose messages are described in one, else nothing
  {installation}  the path of the installation file: points, mounting, what was entered, what is expected
  {observations}  the path of a file for the observations, for a program that cannot print them; with --observations pty,
                  tcp or udp the path of a port, or an address 127.0.0.1:N, to which it sends NMEA 0183 on
The program prints one JSON object a line, see the README. Write {{ and }} for braces of your own.

Exit status: 0 all well, 1 checks failed, 2 usage or a bad file, 3 the environment failed.`,
		Example: `  swellbench check
  swellbench check -- ./my-program --port {port} --baud {baud} --offsets {installation}
  swellbench check default --case 'mount*' --junit results.xml --json results.json -- ./my-program {port}
  swellbench check default --seed random -- ./my-program {port}   # other vessels, places and motions each time
  swellbench check --list`,
		Args: func(cmd *cobra.Command, args []string) error {
			before := cmd.ArgsLenAtDash()
			if before < 0 {
				before = len(args)
			}
			if before > 1 {
				return fmt.Errorf("one suite at a time, found %s; put -- in front of the program: swellbench check [suite] -- program args", strings.Join(args[:before], " "))
			}
			return nil
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, prefix string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveDefault
			}
			return suites.Names(), cobra.ShellCompDirectiveDefault
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			name, program := "default", args
			if dash := cmd.ArgsLenAtDash(); dash != 0 && len(args) > 0 {
				name, program = args[0], args[1:]
			}
			suite, err := conformance.LoadSuite(name)
			if err != nil {
				return err
			}
			if seed != "" {
				n, err := seedOf(seed)
				if err != nil {
					return err
				}
				suite.Vary(n)
			}
			if list {
				return report.ListCases(cmd.OutOrStdout(), suite, report.TextOptions{Colour: colourWanted(cmd.OutOrStdout())})
			}
			if shard != "" {
				if o.Shard, err = conformance.ParseShard(shard); err != nil {
					return err
				}
			}
			var knownFailing *conformance.Known
			if known != "" {
				if knownFailing, err = conformance.LoadKnown(known); err != nil {
					return err
				}
			}
			if profile != "" {
				if o.Profile, err = conformance.LoadProfile(profile); err != nil {
					return err
				}
				if len(program) == 0 {
					program = o.Profile.Command
				}
			}
			if mapFile != "" {
				if o.Map, err = observe.LoadMap(mapFile); err != nil {
					return err
				}
			}
			consumer := conformance.ConsumerCommand{Args: program}
			if len(program) == 0 {
				if consumer.Args, err = ownConsumer(); err != nil {
					return environment(err)
				}
				if len(o.Formats) == 0 {
					o.Formats = emulator.Formats()
				}
			}
			if o.Soundings, err = soundingsOf(cmd); err != nil {
				return err
			}
			stop := showProgress(cmd.ErrOrStderr(), &o)
			verdict, err := conformance.Run(cmd.Context(), suite, consumer, o)
			stop()
			if err != nil {
				return err
			}
			if knownFailing != nil {
				if _, err := knownFailing.Apply(&verdict); err != nil {
					return err
				}
			}
			err = report.Text(cmd.OutOrStdout(), &verdict, report.TextOptions{Colour: colourWanted(cmd.OutOrStdout())})
			err = errors.Join(err,
				writeReport(junit, &verdict, report.JUnit),
				writeReport(jsonFile, &verdict, report.JSON),
				writeReport(htmlFile, &verdict, report.HTML))
			if err != nil {
				return environment(err)
			}
			if code := verdict.ExitCode(); code != exitOK {
				return &statusError{status: code}
			}
			return nil
		},
	}
	soundingFlags(cmd)
	cmd.Flags().StringVar(&o.Observations, "observations", "", "where the program puts what it understood: output, file, or pty, tcp, udp: a port or address of its own for each case, filled in for {observations}, on which it sends NMEA 0183 on (default: output, or the file {observations} where it is told one)")
	cmd.Flags().StringVar(&mapFile, "map", "", "a file that says how what the program writes becomes observations: CSV, or NMEA 0183; see compare --example-map")
	cmd.Flags().StringSliceVar(&o.Formats, "formats", nil, "the formats that the program takes, such as nmea0183,mavlink; cases in others are skipped (default: nmea0183 of ready-made suites, all of your own)")
	cmd.Flags().StringVar(&profile, "profile", "", "a file that says what the program supports, and how it is started: what does not apply is skipped with its reason")
	cmd.Flags().StringVar(&seed, "seed", "", "draw installation, place, heading and motion of each case anew, from this number; random draws one and says which")
	cmd.Flags().StringVar(&shard, "shard", "", "play only this part of the suite, i/n; merge joins the JSON results of all n")
	cmd.Flags().StringVar(&known, "known-failing", "", "a file that names checks that are expected to fail for now: they do not fail the run, but one that passes does")
	cmd.Flags().DurationVar(&o.OpenTimeout, "open-timeout", 10*time.Second, "how long the program may take to open its port")
	cmd.Flags().DurationVar(&o.Grace, "grace", 2*time.Second, "how long it may take to end when it is asked to")
	cmd.Flags().StringVar(&junit, "junit", "", "write a JUnit XML report into this file")
	cmd.Flags().StringVar(&jsonFile, "json", "", "write the whole verdict as JSON into this file (- is standard output)")
	cmd.Flags().StringVar(&htmlFile, "html", "", "write a page with plots into this file")
	cmd.Flags().StringVar(&o.Case, "case", "", "only the cases whose name matches this pattern (* any letters, ? one)")
	cmd.Flags().BoolVar(&list, "list", false, "list the cases of the suite and what each is to show; play nothing")
	cmd.Flags().IntVar(&o.Parallel, "parallel", conformance.DefaultParallel, "how many cases to play side by side")
	return cmd
}

// seedOf reads a seed, or draws one.
func seedOf(text string) (uint64, error) {
	if text == "random" {
		return uint64(rand.Uint32()), nil
	}
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		return 0, fmt.Errorf("--seed is %q, allowed: a whole number, or random", text)
	}
	return n, nil
}

// ownConsumer is the command line of the bundled reference consumer: this program, as a process of its own.
func ownConsumer() ([]string, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, fmt.Errorf("find this program, to start its reference consumer: %w", err)
	}
	return []string{self, "consume", "--port", "{port}", "--baud", "{baud}", "--format", "{format}", "--layout", "{layout}", "--installation", "{installation}"}, nil
}

func writeReport(name string, v *conformance.Verdict, write func(io.Writer, *conformance.Verdict) error) error {
	switch name {
	case "":
		return nil
	case "-":
		return write(os.Stdout, v)
	}
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	return errors.Join(write(f, v), f.Close())
}

// showProgress makes the run tell how it goes on: a bar on a terminal, a line a case elsewhere. Call what it returns
// when the run is over.
func showProgress(w io.Writer, o *conformance.Options) (stop func()) {
	if !onTerminal(w) {
		o.Progress = func(p conformance.Progress) {
			if p.Stage == conformance.CaseDone {
				fmt.Fprintf(w, "%d of %d  %s: %s\n", p.Done, p.Total, p.Case, p.Result.Outcome())
			}
		}
		return func() {}
	}
	var bar *progressbar.ProgressBar
	o.Progress = func(p conformance.Progress) {
		if bar == nil {
			bar = progressbar.NewOptions(p.Total, progressbar.OptionSetWriter(w), progressbar.OptionClearOnFinish(),
				progressbar.OptionSetWidth(24), progressbar.OptionShowCount(), progressbar.OptionThrottle(50*time.Millisecond),
				progressbar.OptionUseANSICodes(true), progressbar.OptionEnableColorCodes(colourWanted(w)))
		}
		switch p.Stage {
		case conformance.CasePlaying:
			bar.Describe("playing " + p.Case)
		case conformance.CaseDone:
			bar.Describe(p.Case + " " + p.Result.Outcome().String())
			_ = bar.Add(1)
		}
	}
	return func() {
		if bar != nil {
			_ = bar.Finish()
		}
	}
}
