package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"swellbench/conformance"
)

// ListCases shows the cases of a suite: name, length, line, checks, and what each brings to light.
func ListCases(w io.Writer, s *conformance.Suite, o TextOptions) error {
	t := lister(w, o)
	t.wrap("suite "+s.Name+": ", "  ", oneLine(s.About))
	for _, c := range s.Cases {
		t.line("")
		t.line("  %s  (%g s; %s)", c.Name, float64(c.Scenario.Duration), lines(c))
		t.wrap("    ", "    ", oneLine(c.About))
		t.wrap("    checks: ", "      ", strings.Join(c.Checks, ", "))
	}
	return t.w.Flush()
}

// lines says what the streams of the case are.
func lines(c conformance.Case) string {
	var all []string
	for _, s := range c.Scenario.Streams {
		all = append(all, fmt.Sprintf("%s at %d baud", s.Format, s.Line.Baud))
	}
	return strings.Join(all, ", ")
}

// ListChecks shows the table of checks: id, requirement, source, tolerance.
func ListChecks(w io.Writer, o TextOptions) error {
	t := lister(w, o)
	for i, c := range conformance.Checks {
		if i > 0 {
			t.line("")
		}
		t.line("%s", c.ID)
		t.wrap("  ", "  ", oneLine(c.Requirement))
		t.wrap("  source: ", "    ", oneLine(c.Source))
		t.wrap("  tolerance: ", "    ", oneLine(c.Tolerance))
	}
	return t.w.Flush()
}

func lister(w io.Writer, o TextOptions) *text {
	if o.Width <= 0 {
		o.Width = 100
	}
	return &text{w: bufio.NewWriter(w), o: o}
}
