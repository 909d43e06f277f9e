package main

import (
	"encoding/json"
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"swellbench/emulator/port"
)

func newPorts() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "ports",
		Short:   "List the serial ports of this machine, and those that swellbench plays on now",
		Example: "  swellbench ports\n  swellbench ports --json",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ports, err := port.List()
			if err != nil {
				return environment(err)
			}
			if asJSON {
				enc := json.NewEncoder(cmd.OutOrStdout())
				enc.SetIndent("", "  ")
				return enc.Encode(ports)
			}
			if len(ports) == 0 {
				fmt.Fprintln(cmd.ErrOrStderr(), "No serial ports here. `swellbench play` makes a pseudo-terminal that programs open like one.")
				return nil
			}
			w := tabwriter.NewWriter(cmd.OutOrStdout(), 0, 0, 2, ' ', 0)
			for _, p := range ports {
				fmt.Fprintf(w, "%s\t%s\n", p.Path, p.What)
			}
			return w.Flush()
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "for programs")
	return cmd
}
