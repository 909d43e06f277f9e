package report

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"swellbench/conformance"
)

// TextOptions say how a verdict is shown to a person.
type TextOptions struct {
	// Colour marks outcomes with colours beside their words. Whether the output is a terminal, and NO_COLOR, are for
	// the caller to see.
	Colour bool
	Width  int // of a line, characters; 0 is 100
}

// Caution is the last line of each report.
const Caution = "A verdict of a test tool, no calibration certificate: the rules of class, flag state and licensed surveyors prevail. " +
	"Simulated positions must never reach equipment that someone navigates by."

// Text writes the verdict for a person: the verdict in one line, then what failed, worst first, what could not run,
// the table of cases and checks, and the reasons of what was skipped.
func Text(w io.Writer, v *conformance.Verdict, o TextOptions) error {
	t := &text{w: bufio.NewWriter(w), o: o}
	if t.o.Width <= 0 {
		t.o.Width = 100
	}
	t.headline(v)
	t.incidents(v)
	t.findings(v)
	t.failures(v)
	t.known(v)
	t.table(v)
	t.reasons(v, conformance.Inconclusive, "Inconclusive: this run cannot tell")
	t.reasons(v, conformance.Skipped, "Skipped")
	t.notes(v)
	t.line("")
	t.wrap("", "", Caution)
	return t.w.Flush()
}

// text writes lines. Errors are kept by the writer until Flush.
type text struct {
	w *bufio.Writer
	o TextOptions
}

func (t *text) line(format string, args ...any) { fmt.Fprintf(t.w, format+"\n", args...) }

// wrap writes s in lines no longer than the width, the first led by first, the others by rest.
func (t *text) wrap(first, rest, s string) {
	lead, col := first, len([]rune(first))
	t.w.WriteString(lead)
	empty := true
	for _, word := range strings.Fields(s) {
		n := len([]rune(word))
		if !empty && col+1+n > t.o.Width {
			t.w.WriteString("\n" + rest)
			col, empty = len([]rune(rest)), true
		}
		if !empty {
			t.w.WriteByte(' ')
			col++
		}
		t.w.WriteString(word)
		col, empty = col+n, false
	}
	t.w.WriteByte('\n')
}

// words says each outcome in the report; the one of the table is short. Colours are ANSI SGR (ECMA-48, 5th ed., 8.3.117).
var words = map[conformance.Outcome]struct{ full, short, colour string }{
	conformance.Passed:       {"PASSED", "pass", "32"},
	conformance.Failed:       {"FAILED", "FAIL", "1;31"},
	conformance.Skipped:      {"SKIPPED", "skip", "2"},
	conformance.Inconclusive: {"INCONCLUSIVE", "incon", "33"},
	conformance.CouldNotRun:  {"COULD NOT RUN", "norun", "35"},
}

func (t *text) paint(o conformance.Outcome, s string) string {
	if !t.o.Colour {
		return s
	}
	return "\x1b[" + words[o].colour + "m" + s + "\x1b[0m"
}

// headline is the verdict in one line.
func (t *text) headline(v *conformance.Verdict) {
	o := v.Outcome()
	cases := map[conformance.Outcome]int{}
	for i := range v.Cases {
		cases[v.Cases[i].Outcome()]++
	}
	n := v.Count()
	said := ""
	switch o {
	case conformance.Passed:
		said = fmt.Sprintf("%s proven in %s", plural(n[conformance.Passed], "check"), plural(cases[conformance.Passed], "case"))
	case conformance.Failed:
		said = fmt.Sprintf("%d of %s failed", cases[conformance.Failed], plural(len(v.Cases), "case"))
	case conformance.CouldNotRun:
		said = fmt.Sprintf("%d of %s", cases[conformance.CouldNotRun], plural(len(v.Cases), "case"))
	case conformance.Inconclusive:
		said = "the host was too late, or the scenarios cannot tell: nothing was proven"
	case conformance.Skipped:
		said = "nothing was proven: the consumer said nothing that could be checked"
	}
	line := fmt.Sprintf("%s  suite %s: %s", t.paint(o, words[o].full), v.Suite, said)
	var counts []string
	for _, k := range []conformance.Outcome{conformance.Failed, conformance.CouldNotRun, conformance.Inconclusive, conformance.Skipped, conformance.Passed} {
		if n[k] > 0 && !(k == o && o == conformance.Passed) {
			counts = append(counts, fmt.Sprintf("%d %s", n[k], k))
		}
	}
	if len(counts) > 0 {
		line += " (checks: " + strings.Join(counts, ", ") + ")"
	}
	if v.Varied {
		line += fmt.Sprintf(", drawn anew with --seed %d", v.Seed)
	}
	if v.Shard.Of > 0 {
		line += fmt.Sprintf(", shard %s of %s", v.Shard, plural(len(v.Whole), "case"))
	}
	line += ", " + tenths(v.Elapsed)
	if v.Interrupted {
		line += "; interrupted before the end"
	}
	t.line("%s", line)
	t.wrap("consumer: ", "  ", quoted(v.Command))
}

// incidents lists the cases that something kept from running as they should, equal ones together.
func (t *text) incidents(v *conformance.Verdict) {
	byText := map[string][]*conformance.CaseResult{}
	var order []string
	for i := range v.Cases {
		c := &v.Cases[i]
		if c.Incident == nil {
			continue
		}
		key := c.Incident.Kind.String() + " " + c.Incident.Text
		if byText[key] == nil {
			order = append(order, key)
		}
		byText[key] = append(byText[key], c)
	}
	said := "" // of standard error: what one case after the other says alike is shown once
	for _, of := range []bool{true, false} {
		headed := false
		for _, key := range order {
			cases := byText[key]
			in := cases[0].Incident
			if in.Kind.OfConsumer() != of {
				continue
			}
			if !headed {
				headed = true
				if of {
					t.line("\nThe consumer failed")
				} else {
					t.line("\nCould not run")
				}
			}
			o := conformance.CouldNotRun
			if of {
				o = conformance.Failed
			}
			t.line("  %s %s: %s", t.paint(o, words[o].short), caseNames(cases), in.Kind)
			t.wrap("    ", "    ", oneLine(in.Text))
			if e := cases[0].Stderr; e != said {
				t.tail(e)
				said = e
			}
		}
	}
}

// tail shows the end of the consumer's standard error.
func (t *text) tail(stderr string) {
	s := strings.TrimSpace(clean(stderr))
	if s == "" {
		return
	}
	lines := strings.Split(s, "\n")
	if over := len(lines) - maxTailLines; over > 0 {
		lines = lines[over:]
	}
	t.line("    its standard error ended with:")
	for _, l := range lines {
		t.line("    | %s", strings.TrimRight(l, " \t"))
	}
}

const maxTailLines = 12

// known lists what fails as expected, and what no longer does.
func (t *text) known(v *conformance.Verdict) {
	for i, s := range v.Stale {
		if i == 0 {
			t.line("\nNo longer failing")
		}
		t.wrap("  ", "    ", oneLine(s))
	}
	headed := false
	for i := range v.Cases {
		for _, r := range v.Cases[i].Results {
			if r.Known == "" {
				continue
			}
			if !headed {
				t.line("\nFailing as expected")
				headed = true
			}
			t.wrap("  ", "    ", fmt.Sprintf("%s in %s (%s): %s", r.Check, v.Cases[i].Name, oneLine(r.Known), oneLine(r.Summary)))
		}
	}
}

// A failure is one check with the cases in which it failed, worst first.
type failure struct {
	check string
	in    []failedIn
}

type failedIn struct {
	c *conformance.CaseResult
	r *conformance.Result
}

// severity orders failures: by how many tolerances the worst value is off, or by its count for a check that counts.
func severity(r *conformance.Result) float64 {
	s := math.Abs(r.Worst)
	if r.Tolerance > 0 {
		s /= r.Tolerance
	}
	if math.IsNaN(s) {
		return math.Inf(1)
	}
	return s
}

func failures(v *conformance.Verdict) []failure {
	byCheck := map[string]*failure{}
	for i := range v.Cases {
		c := &v.Cases[i]
		for j := range c.Results {
			r := &c.Results[j]
			if r.Outcome != conformance.Failed || r.Known != "" {
				continue
			}
			if byCheck[r.Check] == nil {
				byCheck[r.Check] = &failure{check: r.Check}
			}
			f := byCheck[r.Check]
			f.in = append(f.in, failedIn{c, r})
		}
	}
	var fs []failure
	for _, id := range slices.Sorted(maps.Keys(byCheck)) {
		f := byCheck[id]
		slices.SortStableFunc(f.in, func(a, b failedIn) int { return cmp.Compare(severity(b.r), severity(a.r)) })
		fs = append(fs, *f)
	}
	slices.SortStableFunc(fs, func(a, b failure) int { return cmp.Compare(severity(b.in[0].r), severity(a.in[0].r)) })
	return fs
}

// failures lists the failed checks, worst first, each with the case that shows it best.
func (t *text) failures(v *conformance.Verdict) {
	for k, f := range failures(v) {
		if k == 0 {
			t.line("\nFailed checks, worst first")
		}
		worst := f.in[0]
		t.line("  %s %s in %s", t.paint(conformance.Failed, words[conformance.Failed].short), f.check, worst.c.Name)
		t.wrap("    ", "    ", oneLine(worst.r.Summary))
		if len(worst.r.ToleranceParts) > 0 {
			var parts []string
			for _, p := range worst.r.ToleranceParts {
				parts = append(parts, fmt.Sprintf("%s %s", p.Name, measure(p.Value, p.Unit)))
			}
			t.wrap("    ", "    ", fmt.Sprintf("tolerance %s: %s", measure(worst.r.Tolerance, worst.r.Unit), strings.Join(parts, ", ")))
		}
		for i, e := range worst.r.Examples {
			if i == maxExamples {
				break
			}
			t.wrap("    for example ", "      ", example(e))
		}
		if len(f.in) > 1 {
			var names []string
			for _, in := range f.in[1:] {
				names = append(names, in.c.Name)
			}
			t.wrap("    also in ", "      ", strings.Join(names, ", "))
		}
	}
}

const maxExamples = 3

func example(e conformance.Example) string {
	s := ""
	if !e.Time.IsZero() {
		s = e.Time.UTC().Format("15:04:05.000Z ")
	}
	if e.Quantity != "" {
		s += e.Quantity + ": "
	}
	s += fmt.Sprintf("expected %s, observed %s", oneLine(e.Expected), oneLine(e.Observed))
	if e.Source != "" {
		s += " (" + oneLine(e.Source) + ")"
	}
	return s
}

// reasons lists why checks had the given outcome, each reason once with the checks and cases it holds for.
func (t *text) reasons(v *conformance.Verdict, o conformance.Outcome, head string) {
	type reason struct {
		text   string
		checks []string
		cases  map[string][]string // by check
	}
	var all []*reason
	for i := range v.Cases {
		for _, r := range v.Cases[i].Results {
			if r.Outcome != o {
				continue
			}
			said := oneLine(cmp.Or(r.Reason, r.Summary))
			k := slices.IndexFunc(all, func(a *reason) bool { return a.text == said })
			if k < 0 {
				k = len(all)
				all = append(all, &reason{text: said, cases: map[string][]string{}})
			}
			a := all[k]
			if a.cases[r.Check] == nil {
				a.checks = append(a.checks, r.Check)
			}
			a.cases[r.Check] = append(a.cases[r.Check], v.Cases[i].Name)
		}
	}
	for i, a := range all {
		if i == 0 {
			t.line("\n%s", head)
		}
		var where []string
		for _, id := range a.checks {
			where = append(where, fmt.Sprintf("%s in %s", id, strings.Join(a.cases[id], ", ")))
		}
		t.wrap("  ", "    ", fmt.Sprintf("%s: %s", a.text, strings.Join(where, "; ")))
	}
}

// notes lists what a person may want to know all the same.
func (t *text) notes(v *conformance.Verdict) {
	headed := false
	for i := range v.Cases {
		c := &v.Cases[i]
		for _, n := range c.Notes {
			if !headed {
				headed = true
				t.line("\nNotes")
			}
			t.wrap("  ", "    ", fmt.Sprintf("%s: %s", c.Name, oneLine(n)))
		}
	}
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func caseNames(cases []*conformance.CaseResult) string {
	var names []string
	for _, c := range cases {
		names = append(names, c.Name)
	}
	return strings.Join(names, ", ")
}

func tenths(d time.Duration) string { return fmt.Sprintf("%.1f s", d.Seconds()) }

func measure(x float64, unit string) string {
	if strings.HasPrefix(unit, "°") {
		return fmt.Sprintf("%.3g%s", x, unit)
	}
	return strings.TrimSpace(fmt.Sprintf("%.3g %s", x, unit))
}

// quoted writes a command line so that a shell would take it.
func quoted(args []string) string {
	var b []string
	for _, a := range args {
		if a == "" || strings.ContainsAny(a, " \t\n\"'\\$`*?[]();&|<>#~") {
			a = "'" + strings.ReplaceAll(a, "'", `'\''`) + "'"
		}
		b = append(b, oneLine(a))
	}
	return strings.Join(b, " ")
}
