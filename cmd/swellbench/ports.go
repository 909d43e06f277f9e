package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"swellbench/emulator/port"
)

func newPorts() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "ports",
		Short: "List the serial ports of this machine, and the ports of every kind that swellbench plays on now",
		Long: `Ports lists the serial ports of this machine, with what their USB adapters say of themselves where the system
tells, and the pseudo-terminals, TCP ports and other ports that runs of yours play on now.

What play --port can open:

` + portHelp(),
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

// completePort completes what play --port takes: the kinds, and the serial ports that are there.
func completePort(_ *cobra.Command, _ []string, prefix string) ([]string, cobra.ShellCompDirective) {
	out := []string{"pty", "-", "tcp:127.0.0.1:", "rfc2217:127.0.0.1:", "udp:127.0.0.1:", "file:"}
	if ports, err := port.List(); err == nil {
		for _, p := range ports {
			if !p.Ours {
				out = append(out, "serial:"+p.Path)
			}
		}
	}
	return slices.DeleteFunc(out, func(s string) bool { return !strings.HasPrefix(s, prefix) }), cobra.ShellCompDirectiveNoSpace
}
