package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"swellbench/scenarios/survey"
)

func newOffsets() *cobra.Command {
	var asJSON, example bool
	var write string
	var poses []string
	cmd := &cobra.Command{
		Use:   "offsets sheet.yaml",
		Short: "Work out an installation sheet: what to type where, and what the screen should then read",
		Long: `Offsets works out an installation sheet: points measured with tape or total station along any stated axes, and marks
on the device. It tells the mounting angles, the antenna baseline and the lever arms with their standard deviations, in
the usual conventions, compares all that is in the sheet twice, and makes a worksheet to hold beside the screen.

Measure everything twice. Local rules and licensed practice prevail over what is printed here.

Exit status: 0 all agrees, 1 something in the sheet does not agree, 2 usage or a bad file, 3 the environment failed.`,
		Example: `  swellbench offsets --example > sheet.yaml
  swellbench offsets sheet.yaml
  swellbench offsets sheet.yaml --pose 127.6,0.4,-1.2
  swellbench offsets sheet.yaml --write installation.yaml
  swellbench offsets sheet.yaml --json`,
		Args: func(_ *cobra.Command, args []string) error {
			if example && len(args) > 0 || !example && len(args) != 1 {
				return fmt.Errorf("one sheet, please, found %d; `swellbench offsets --example > sheet.yaml` writes one to fill in", len(args))
			}
			return nil
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if example {
				_, err := cmd.OutOrStdout().Write(survey.Example)
				return environment(err)
			}
			v, err := survey.Load(args[0])
			if err != nil {
				return err
			}
			wanted := v.Sheet.Poses
			if len(poses) > 0 {
				if wanted, err = survey.ParsePoses(poses); err != nil {
					return fmt.Errorf("--pose: %w", err)
				}
			}
			r := v.ReportFor(wanted)
			if write != "" {
				if same(args[0], write) {
					return fmt.Errorf("--write is %s, the sheet itself, which it would destroy; name another file", write)
				}
				text := "# Worked out by swellbench offsets from " + strings.Join(strings.Fields(args[0]), " ") + "\n"
				if err := os.WriteFile(write, v.Installation().Append([]byte(text)), 0o666); err != nil {
					return environment(err)
				}
				fmt.Fprintln(cmd.ErrOrStderr(), "installation file:", write)
			}
			if asJSON {
				enc := json.NewEncoder(cmd.OutOrStdout())
				enc.SetIndent("", "  ")
				err = enc.Encode(r)
			} else {
				err = r.Text(cmd.OutOrStdout())
			}
			if err != nil {
				return environment(err)
			}
			if r.Disagree() > 0 {
				return &statusError{status: exitFailed}
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "for programs")
	cmd.Flags().BoolVar(&example, "example", false, "print a sheet with all its parts explained, to fill in")
	cmd.Flags().StringVarP(&write, "write", "w", "", "write the installation file, for scenarios and consumers, into this file")
	cmd.Flags().StringArrayVar(&poses, "pose", nil, "in place of the sheet's poses: heading,pitch,roll of the vessel in deg, such as 127.6,0.4,-1.2; may be repeated")
	return cmd
}

// same tells whether two paths are of one file.
func same(a, b string) bool {
	x, err1 := os.Stat(a)
	y, err2 := os.Stat(b)
	return errors.Join(err1, err2) == nil && os.SameFile(x, y)
}
