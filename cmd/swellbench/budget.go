package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"swellbench/emulator"
)

func newBudget() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "budget [scenario]",
		Short: "Say what the messages of a scenario ask of their line at each baud rate",
		Long: `Budget says how long the messages are, which share of the line each takes, what each baud rate would make of
them (the longest wait from when a message is due to its last bit, and whether all fits), and the highest rates
that fit. Exit status 1 where a stream does not fit its own line.`,
		Example: `  swellbench budget
  swellbench budget my-scenario.yaml --json`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeScenario,
		RunE: func(cmd *cobra.Command, args []string) error {
			sc, err := openScenario(cmd, args)
			if err != nil {
				return err
			}
			d, err := emulator.New(sc)
			if err != nil {
				return err
			}
			budgets, fits := make([]emulator.Budget, d.Streams()), true
			for i := range budgets {
				if budgets[i], err = d.Budget(i); err != nil {
					return err
				}
				fits = fits && budgets[i].OwnBaud().Fits()
			}
			if asJSON {
				enc := json.NewEncoder(cmd.OutOrStdout())
				enc.SetIndent("", "  ")
				err = enc.Encode(budgets)
			} else {
				for _, b := range budgets {
					writeBudget(cmd.OutOrStdout(), b)
				}
			}
			if err == nil && !fits {
				return &statusError{status: exitFailed}
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "for programs")
	return cmd
}

func writeBudget(w io.Writer, b emulator.Budget) {
	own := b.OwnBaud()
	fmt.Fprintf(w, "Stream %s on a line of %s\n\n", b.Stream, b.Line)
	fmt.Fprintf(w, "  %-10s %8s  %-16s %9s  %s\n", "message", "rate", "bytes", "of line", "highest rate that fits, the others as they are")
	for _, m := range b.Messages {
		bytes := fmt.Sprintf("%d", m.MostB)
		if m.LeastB != m.MostB {
			bytes = fmt.Sprintf("%d to %d", m.LeastB, m.MostB)
		}
		highest := fmt.Sprintf("%g Hz", m.HighestHz)
		if m.HighestHz == 0 {
			highest = "none"
		}
		fmt.Fprintf(w, "  %-10s %5g Hz  %-16s %7.1f %%  %s\n", m.Kind, m.Rate, bytes, 100*m.Share, highest)
	}
	fmt.Fprintf(w, "\n  %-9s %9s %9s  %12s  %s\n", "baud", "mean", "at most", "longest wait", "")
	for _, x := range b.Bauds {
		mark := " "
		if x.Own {
			mark = "*"
		}
		fmt.Fprintf(w, "%s %-9d %7.1f %% %7.1f %%  %9.1f ms  %s\n", mark, x.Baud, 100*x.MeanShare, 100*x.WorstShare, 1e3*x.WorstDelayS, budgetWord(b, x))
	}
	fmt.Fprintf(w, "  * the scenario's. Wait: from when a message is due to its last bit, with all messages at their longest.\n\n")
	switch {
	case own.Fits() && b.Factor >= 2:
		fmt.Fprintf(w, "  It fits. All rates together may be %.1f times as high.\n\n", b.Factor)
	case own.Fits():
		fmt.Fprintf(w, "  It fits, but there is little room: all rates together may be %.2f times as high.\n\n", b.Factor)
	default:
		fmt.Fprintf(w, "  IT DOES NOT FIT %s. %s\n\n", strings.ToUpper(b.Line), wont(b, own))
	}
}

func budgetWord(b emulator.Budget, x emulator.BudgetBaud) string {
	switch {
	case x.Dropped > 0:
		return fmt.Sprintf("does not fit: %.0f %% of the messages are dropped", 100*x.Dropped)
	case !x.Fits():
		return "does not fit if all messages are at their longest"
	case x.WorstKind != "":
		return "fits; " + x.WorstKind + " waits longest"
	}
	return "fits"
}

// wont says what the device does with what does not fit, and what to do about it.
func wont(b emulator.Budget, own emulator.BudgetBaud) string {
	what := fmt.Sprintf("What does not fit waits in a queue of %d bytes, and what finds no room there is dropped whole.", b.Queue)
	for _, x := range b.Bauds {
		if x.Baud > own.Baud && x.Fits() {
			return fmt.Sprintf("%s Take %d baud, or multiply all rates by %.2f.", what, x.Baud, b.Factor)
		}
	}
	return fmt.Sprintf("%s Multiply all rates by %.2g.", what, b.Factor)
}
