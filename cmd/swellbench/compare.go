package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"swellbench/conformance"
	"swellbench/conformance/observe"
	"swellbench/conformance/report"
)

func newCompare() *cobra.Command {
	var mapFile, sentLog, start, profile, junit, jsonFile, htmlFile string
	cmd := &cobra.Command{
		Use:   "compare scenario log",
		Short: "Judge the log that a program exported after a scenario was played to it",
		Long: `Compare judges after the fact: play a scenario to your program, export what it recorded, and compare that with
what it should have understood. The stream is worked out anew from the scenario and its seed; the sent-log of
play --sent-log tells what your program could not hear, and when a scenario that starts now began.

A log is CSV with a map of its columns (see the README; swellbench compare --example-map writes one to fill in),
or one JSON object a line as check reads it.

Exit status: 0 all well, 1 checks failed, 2 usage or a bad file, 3 the environment failed.`,
		Example: `  swellbench play quay-pose --sent-log sent.jsonl          # meanwhile your program records
  swellbench compare quay-pose export.csv --map columns.yaml --sent-log sent.jsonl
  swellbench compare my-scenario.yaml observations.jsonl --start 2026-06-01T12:00:00Z`,
		Args: func(cmd *cobra.Command, args []string) error {
			if example, _ := cmd.Flags().GetBool("example-map"); example {
				return cobra.NoArgs(cmd, args)
			}
			return cobra.ExactArgs(2)(cmd, args)
		},
		ValidArgsFunction: func(cmd *cobra.Command, args []string, prefix string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveDefault
			}
			return completeScenario(cmd, args, prefix)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if example, _ := cmd.Flags().GetBool("example-map"); example {
				_, err := cmd.OutOrStdout().Write(observe.ExampleMap)
				return err
			}
			sc, err := findScenario(args[:1])
			if err != nil {
				return err
			}
			if start != "" {
				t, err := time.Parse(time.RFC3339Nano, start)
				if err != nil {
					return fmt.Errorf("--start is %q, allowed: a UTC instant such as 2026-06-01T12:00:00Z", start)
				}
				sc = sc.WithStart(t.UTC())
			}
			l := conformance.Log{Scenario: sc, Path: args[1], SentLog: sentLog}
			if mapFile != "" {
				if l.Map, err = observe.LoadMap(mapFile); err != nil {
					return err
				}
			}
			if profile != "" {
				if l.Profile, err = conformance.LoadProfile(profile); err != nil {
					return err
				}
			}
			if l.Soundings, err = soundingsOf(cmd); err != nil {
				return err
			}
			verdict, err := conformance.Afterwards(l)
			if err != nil {
				return err
			}
			err = report.Text(cmd.OutOrStdout(), &verdict, report.TextOptions{Colour: colourWanted(cmd.OutOrStdout())})
			err = errors.Join(err, writeReport(junit, &verdict, report.JUnit), writeReport(jsonFile, &verdict, report.JSON),
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
	cmd.Flags().StringVar(&mapFile, "map", "", "the file that says how the lines of the log become observations")
	cmd.Flags().StringVar(&sentLog, "sent-log", "", "the sent-log of the run")
	cmd.Flags().StringVar(&start, "start", "", "the UTC instant of scenario time 0, in place of the scenario's")
	cmd.Flags().StringVar(&profile, "profile", "", "a file that says what the program supports and how accurate it is to be")
	cmd.Flags().StringVar(&junit, "junit", "", "write a JUnit XML report into this file")
	cmd.Flags().StringVar(&jsonFile, "json", "", "write the whole verdict as JSON into this file (- is standard output)")
	cmd.Flags().StringVar(&htmlFile, "html", "", "write a page with plots into this file")
	cmd.Flags().Bool("example-map", false, "write a map to fill in to standard output")
	return cmd
}
