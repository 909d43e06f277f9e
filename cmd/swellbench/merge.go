package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"swellbench/conformance"
	"swellbench/conformance/report"
)

func newMerge() *cobra.Command {
	var junit, jsonFile, htmlFile, known string
	cmd := &cobra.Command{
		Use:   "merge results.json...",
		Short: "Join the results of a suite that was split over several jobs",
		Long: `Merge joins what check --shard i/n --json FILE wrote, one file a shard, into one verdict, and reports it as check
does. All n must be there, of the same suite and program. A page from merged results has no plots.

Exit status as of check.`,
		Example: `  swellbench check full --shard 1/3 --json 1.json -- ./my-program {port} {baud}     # one job; the others 2/3 and 3/3
  swellbench merge 1.json 2.json 3.json --junit results.xml --html report.html`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			var parts []conformance.Verdict
			for _, name := range args {
				v, err := readVerdict(name)
				if err != nil {
					return fmt.Errorf("%s: %w", name, err)
				}
				parts = append(parts, *v)
			}
			verdict, err := conformance.Merge(parts)
			if err != nil {
				return err
			}
			if known != "" {
				k, err := conformance.LoadKnown(known)
				if err != nil {
					return err
				}
				if _, err := k.Apply(&verdict); err != nil {
					return err
				}
			}
			err = report.Text(cmd.OutOrStdout(), &verdict, report.TextOptions{Colour: colourWanted(cmd.OutOrStdout())})
			err = errors.Join(err, writeReport(junit, &verdict, report.JUnit), writeReport(jsonFile, &verdict, report.JSON), writeReport(htmlFile, &verdict, report.HTML))
			if err != nil {
				return environment(err)
			}
			if code := verdict.ExitCode(); code != exitOK {
				return &statusError{status: code}
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&junit, "junit", "", "write a JUnit XML report into this file")
	cmd.Flags().StringVar(&jsonFile, "json", "", "write the whole verdict as JSON into this file (- is standard output)")
	cmd.Flags().StringVar(&htmlFile, "html", "", "write a page into this file")
	cmd.Flags().StringVar(&known, "known-failing", "", "a file that names checks that are expected to fail for now")
	return cmd
}

func readVerdict(name string) (*conformance.Verdict, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	d, err := report.ReadJSON(f)
	if err != nil {
		return nil, err
	}
	return report.VerdictOf(d)
}
