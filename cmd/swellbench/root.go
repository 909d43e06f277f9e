package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"

	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"

	"swellbench/scenarios"
	"swellbench/scenarios/library"
)

// subcommands is the table of them, in the order in which the help lists them.
var subcommands = []func() *cobra.Command{
	newCheck,
	newPlay,
	newRender,
	newPlot,
	newBudget,
	newDecode,
	newLayout,
	newMerge,
	newCompare,
	newOffsets,
	newConsume,
	newList,
	newPorts,
	newSelftest,
	newDrain,
}

const caution = "Simulated positions must never reach equipment that someone navigates by."

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "swellbench",
		Short: "A virtual motion, heading and GNSS sensor, and a judge of the software that listens to it",
		Long: `Swellbench plays a virtual motion, heading and GNSS sensor on a serial port and judges the software
that listens to it: did it parse the stream, stamp it with the right time, apply every offset once, in the
right frame, with the right sign, and stay honest when GNSS dropped out?

` + caution,
		Example: `  # Judge the bundled reference consumer: sees that all works on this machine
  swellbench check

  # Judge your own program; it must print one JSON observation a line
  swellbench check -- ./my-program --port {port} --baud {baud} --offsets {installation}

  # Put the default scenario on a pseudo-terminal and look at it with any terminal program
  swellbench play

  # Write the same stream, its sent-log and the truth into files, as fast as the machine can
  swellbench render -o out`,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetVersionTemplate("swellbench {{.Version}}\n")
	cobra.EnableCommandSorting = false
	for _, sub := range subcommands {
		root.AddCommand(sub())
	}
	return root
}

// version tells what was built, from the build information that Go keeps in the program.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v, rev, dirty := info.Main.Version, "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && len(s.Value) >= 12:
			rev = s.Value[:12]
		case s.Key == "vcs.modified" && s.Value == "true":
			dirty = ", with local changes"
		}
	}
	if v == "" {
		v = "(devel)"
	}
	if rev != "" {
		v += " (" + rev + dirty + ")"
	}
	return v + ", " + info.GoVersion
}

// defaultScenario is played where none is named.
const defaultScenario = "harbour-swell"

// openScenario loads the scenario that an argument names: a file, or a ready-made one by its name. What is possible in
// it but probably not meant goes to the command's standard error.
func openScenario(cmd *cobra.Command, args []string) (*scenarios.Scenario, error) {
	sc, err := findScenario(args)
	if err != nil {
		return nil, err
	}
	if err := sc.Problems(sc.Warnings()); err != nil {
		for _, line := range strings.Split(err.Error(), "\n") {
			fmt.Fprintln(cmd.ErrOrStderr(), "warning:", line)
		}
	}
	return sc, nil
}

func findScenario(args []string) (*scenarios.Scenario, error) {
	name := defaultScenario
	if len(args) > 0 {
		name = args[0]
	}
	if looksLikeFile(name) {
		return scenarios.Load(name)
	}
	sc, err := library.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no ready-made scenario %q and no such file; `swellbench list scenarios` shows the ready-made ones", name)
	}
	return sc, err
}

// looksLikeFile tells a path from a ready-made name.
func looksLikeFile(name string) bool {
	if strings.ContainsAny(name, `/\`) || filepath.Ext(name) == ".yaml" || filepath.Ext(name) == ".yml" {
		return true
	}
	info, err := os.Stat(name)
	return err == nil && !info.IsDir()
}

// completeScenario completes the names of the ready-made scenarios, and files.
func completeScenario(_ *cobra.Command, args []string, prefix string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var out []string
	for _, n := range library.Names() {
		if strings.HasPrefix(n, prefix) {
			out = append(out, n)
		}
	}
	return out, cobra.ShellCompDirectiveDefault
}

// onTerminal tells whether f is a terminal on which a line may be redrawn.
func onTerminal(f any) bool {
	file, ok := f.(*os.File)
	return ok && isatty.IsTerminal(file.Fd())
}

// colourWanted tells whether text on f may be coloured: on a terminal, unless NO_COLOR is set.
func colourWanted(f any) bool { return onTerminal(f) && os.Getenv("NO_COLOR") == "" }
