package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"swellbench/emulator"
	"swellbench/emulator/plots"
)

func newPlot() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "plot [scenario]",
		Short: "Draw a scenario: track, attitude, heave, fix and error",
		Long: `Plot draws what the vessel does in a scenario and what the device says of it, into a picture: the track from
above, then heading, tilt, heave, position error and fix over time. Look at it before you trust a scenario.`,
		Example: `  swellbench plot
  swellbench plot gnss-gap -o gap.svg`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeScenario,
		RunE: func(cmd *cobra.Command, args []string) error {
			sc, err := openScenario(cmd, args)
			if err != nil {
				return err
			}
			if sc.Start.Now {
				sc = sc.WithStart(time.Now().UTC().Truncate(time.Second))
			}
			d, err := emulator.New(sc)
			if err != nil {
				return err
			}
			if out == "" {
				out = sc.Name + ".png"
			}
			format := strings.TrimPrefix(strings.ToLower(filepath.Ext(out)), ".")
			f, err := os.Create(out)
			if err != nil {
				return environment(err)
			}
			if err := errors.Join(plots.Write(f, d, format), f.Close()); err != nil {
				os.Remove(out)
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), out)
			return nil
		},
	}
	cmd.Flags().StringVarP(&out, "output", "o", "", "the picture: its ending says the format, "+strings.Join(plots.Formats, ", ")+" (default: the scenario's name .png)")
	return cmd
}
