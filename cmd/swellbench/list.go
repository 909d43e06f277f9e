package main

import (
	"encoding/json"
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"swellbench/conformance"
	"swellbench/conformance/consumer"
	"swellbench/conformance/suites"
	"swellbench/emulator/line"
	"swellbench/emulator/wire/mavlink"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/emulator/wire/nmea2000"
	"swellbench/scenarios/gnss"
	"swellbench/scenarios/library"
)

// An entry is one row of a list.
type entry struct {
	Name  string `json:"name"`
	About string `json:"about"`
	More  string `json:"more,omitempty"`
	// Cases are those of the ready-made suites that exercise it, as suite/case.
	Cases []string `json:"cases,omitempty"`
}

// lists is the table of what can be listed.
var lists = []struct {
	name, what string
	entries    func() ([]entry, error)
}{
	{"scenarios", "ready-made scenarios, for play and render", listScenarios},
	{"suites", "ready-made suites, for check", listSuites},
	{"checks", "the checks: requirement, source, tolerance, and the cases that exercise them", listChecks},
	{"messages", "the messages a stream can carry", listMessages},
	{"faults", "what can be done to a stream on its way", listFaults},
	{"conditions", "what can happen to the GNSS", listConditions},
	{"defects", "the seeded defects of the reference consumer", listDefects},
}

func newList() *cobra.Command {
	var asJSON bool
	var kinds []string
	for _, l := range lists {
		kinds = append(kinds, l.name)
	}
	cmd := &cobra.Command{
		Use:       "list [" + strings.Join(kinds, "|") + "]",
		Short:     "Show what is built in: scenarios, suites, checks, messages, faults, defects",
		Example:   "  swellbench list\n  swellbench list checks\n  swellbench list scenarios --json",
		ValidArgs: kinds,
		Args:      cobra.MatchAll(cobra.MaximumNArgs(1), cobra.OnlyValidArgs),
		RunE: func(cmd *cobra.Command, args []string) error {
			all := map[string][]entry{}
			w := tabwriter.NewWriter(cmd.OutOrStdout(), 0, 0, 2, ' ', 0)
			for _, l := range lists {
				if len(args) > 0 && args[0] != l.name {
					continue
				}
				entries, err := l.entries()
				if err != nil {
					return err
				}
				all[l.name] = entries
				if asJSON {
					continue
				}
				fmt.Fprintf(w, "%s: %s\n", l.name, l.what)
				for _, e := range entries {
					about := e.About
					if len(args) == 0 { // the overview keeps to a line each
						about, _, _ = strings.Cut(about, ". ")
					}
					for i, part := range wrap(about, 100) {
						name := ""
						if i == 0 {
							name = e.Name
						}
						fmt.Fprintf(w, "  %s\t%s\n", name, part)
					}
					if e.More != "" && len(args) > 0 {
						for _, part := range wrap(e.More, 100) {
							fmt.Fprintf(w, "  \t  %s\n", part)
						}
					}
				}
				fmt.Fprintln(w)
			}
			if asJSON {
				enc := json.NewEncoder(cmd.OutOrStdout())
				enc.SetIndent("", "  ")
				return enc.Encode(all)
			}
			return w.Flush()
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "for programs")
	return cmd
}

// wrap breaks text into lines of at most width characters, between words.
func wrap(text string, width int) []string {
	var lines []string
	for _, word := range strings.Fields(text) {
		if n := len(lines); n > 0 && len([]rune(lines[n-1]))+1+len([]rune(word)) <= width {
			lines[n-1] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	if lines == nil {
		lines = []string{""}
	}
	return lines
}

func listScenarios() (out []entry, err error) {
	for _, n := range library.Names() {
		sc, err := library.Open(n)
		if err != nil {
			return nil, err
		}
		out = append(out, entry{Name: n, About: sc.About})
	}
	return out, nil
}

func listSuites() (out []entry, err error) {
	for _, n := range suites.Names() {
		s, err := conformance.LoadSuite(n)
		if err != nil {
			return nil, err
		}
		out = append(out, entry{Name: n, About: s.About, More: fmt.Sprintf("%d cases; `swellbench check %s --list` shows them", len(s.Cases), n)})
	}
	return out, nil
}

func listChecks() (out []entry, err error) {
	proofs, err := conformance.Proofs()
	if err != nil {
		return nil, err
	}
	for _, c := range conformance.Checks {
		var cases []string
		text, suite := "", ""
		for _, p := range proofs[c.ID] {
			cases = append(cases, p.Suite+"/"+p.Case)
			switch {
			case p.Suite != suite:
				text += fmt.Sprintf(". In suite %s: %s", p.Suite, p.Case)
			default:
				text += ", " + p.Case
			}
			suite = p.Suite
		}
		out = append(out, entry{Name: c.ID, About: c.Requirement, More: "Source: " + c.Source + ". Tolerance: " + c.Tolerance + text, Cases: cases})
	}
	return out, nil
}

func listMessages() (out []entry, err error) {
	for _, m := range nmea0183.Messages {
		out = append(out, entry{Name: "nmea0183 " + m.Type, About: m.Title, More: "Source: " + m.Source})
	}
	for _, m := range mavlink.Messages {
		out = append(out, entry{Name: "mavlink " + m.Type, About: m.Title, More: "Source: " + m.Source})
	}
	for _, m := range nmea2000.Messages {
		out = append(out, entry{Name: "nmea2000 " + m.Type, About: m.Title, More: "Source: " + m.Source})
	}
	return out, nil
}

func listFaults() (out []entry, err error) {
	for _, f := range line.Faults {
		out = append(out, entry{Name: f.Name, About: f.What})
	}
	return out, nil
}

func listConditions() (out []entry, err error) {
	for _, c := range gnss.Conditions {
		out = append(out, entry{Name: string(c.Name), About: c.What})
	}
	return out, nil
}

func listDefects() (out []entry, err error) {
	for _, d := range consumer.AllDefects() {
		out = append(out, entry{Name: d.Name, About: d.What, More: "Meant to fail " + d.Expect})
	}
	return out, nil
}
