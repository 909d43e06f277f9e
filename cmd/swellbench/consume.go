package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"swellbench/conformance/consumer"
	"swellbench/emulator"
	"swellbench/emulator/wire/layout"
	"swellbench/scenarios/installation"
)

func newConsume() *cobra.Command {
	var cfg consumer.Config
	var path, sheet, described string
	var baud int
	cmd := &cobra.Command{
		Use:   "consume --port PATH --baud N --installation FILE",
		Short: "The reference consumer: read the port, apply the installation, print observations",
		Long: `Consume is an ordinary, correct integrator's program. It opens the port, decodes the stream, stamps each epoch
with the time in its messages, applies what the device has not applied, and prints one JSON observation a line.
With --defect it makes a well-known mistake on purpose, so that you can see how the judge names it.`,
		Example: `  swellbench play                     # in one terminal; it prints the path of its port
  swellbench consume --port PATH --baud 38400 --installation boat.yaml

  swellbench check -- swellbench consume --port {port} --baud {baud} --installation {installation} --defect roll-sign`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			in, err := installation.Load(sheet)
			if err != nil {
				return err
			}
			cfg.Installation = in
			if described != "" {
				if cfg.Layout, err = layout.LoadFile(described); err != nil {
					return err
				}
			}
			if err := cfg.Validate(); err != nil {
				return err
			}
			p, err := consumer.OpenSerial(path, baud)
			if err != nil {
				return environment(err)
			}
			defer p.Close()
			cfg.Baud = baud
			return consumer.Run(cmd.Context(), cfg, p, cmd.OutOrStdout())
		},
	}
	cmd.Flags().StringVar(&path, "port", "", "the serial port to open")
	cmd.Flags().IntVar(&baud, "baud", 38400, "its baud rate")
	cmd.Flags().StringVar(&cfg.Format, "format", "nmea0183", "the format of the stream: "+strings.Join(emulator.Formats(), ", ")+"; several that are mixed joined by +")
	cmd.Flags().StringVar(&described, "layout", "", "the layout file that describes messages of format layout")
	cmd.Flags().StringVar(&sheet, "installation", "", "the installation file (YAML)")
	cmd.Flags().StringSliceVar(&cfg.Defects, "defect", nil, "make this mistake; may be given several times (see swellbench list defects)")
	for _, f := range []string{"port", "installation"} {
		_ = cmd.MarkFlagRequired(f)
	}
	_ = cmd.RegisterFlagCompletionFunc("defect", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		var names []string
		for _, d := range consumer.AllDefects() {
			names = append(names, fmt.Sprintf("%s\t%s", d.Name, d.What))
		}
		return names, cobra.ShellCompDirectiveNoFileComp
	})
	return cmd
}
