package report

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"swellbench/conformance"
	"swellbench/conformance/diagnose"
)

// The elements of JUnit XML, as CI systems read them. There is no standard; the order and the names are those common
// to the readers of the large CI systems (common practice, no source).
type junitSuites struct {
	XMLName  xml.Name     `xml:"testsuites"`
	Name     string       `xml:"name,attr"`
	Tests    int          `xml:"tests,attr"`
	Failures int          `xml:"failures,attr"`
	Errors   int          `xml:"errors,attr"`
	Skipped  int          `xml:"skipped,attr"`
	Time     string       `xml:"time,attr"`
	Suites   []junitSuite `xml:"testsuite"`
}

type junitSuite struct {
	Name       string          `xml:"name,attr"`
	Tests      int             `xml:"tests,attr"`
	Failures   int             `xml:"failures,attr"`
	Errors     int             `xml:"errors,attr"`
	Skipped    int             `xml:"skipped,attr"`
	Time       string          `xml:"time,attr"`
	Timestamp  string          `xml:"timestamp,attr,omitempty"`
	Properties []junitProperty `xml:"properties>property"`
	Cases      []junitTest     `xml:"testcase"`
	SystemOut  *junitText      `xml:"system-out"`
	SystemErr  *junitText      `xml:"system-err"`
}

type junitProperty struct {
	Name  string `xml:"name,attr"`
	Value string `xml:"value,attr"`
}

type junitTest struct {
	Name      string        `xml:"name,attr"`
	ClassName string        `xml:"classname,attr"`
	Time      string        `xml:"time,attr"`
	Failure   *junitMessage `xml:"failure"`
	Error     *junitMessage `xml:"error"`
	Skipped   *junitMessage `xml:"skipped"`
	SystemOut *junitText    `xml:"system-out"`
}

type junitText struct {
	Text string `xml:",cdata"`
}

// textOf is nil for no text, which leaves the element out.
func textOf(s string) *junitText {
	if strings.TrimSpace(s) == "" {
		return nil
	}
	return &junitText{clean(s)}
}

type junitMessage struct {
	Message string `xml:"message,attr"`
	Type    string `xml:"type,attr,omitempty"`
	Text    string `xml:",cdata"`
}

// JUnit writes the verdict as JUnit XML: a testsuite for each case, in it a testcase for each check, and before them
// one named "runs" that tells whether the case could be played.
//
// A failed check is a failure; skipped and inconclusive ones are skipped, with the reason. A fault of the consumer
// while it ran is a failure of "runs", anything else that kept the case from running an error of it; the checks that
// could not be judged for that are then skipped, so that one cause is counted once.
func JUnit(w io.Writer, v *conformance.Verdict) error {
	doc := junitSuites{Name: "swellbench " + v.Suite, Time: fixed(v.Elapsed.Seconds())}
	for i := range v.Cases {
		doc.add(junitCase(v, &v.Cases[i]))
	}
	if m := provesNothing(v); m != nil {
		s := junitSuite{Name: v.Suite, Time: fixed(0)}
		s.add(junitTest{Name: "proves-something", ClassName: v.Suite, Time: fixed(0), Failure: m})
		doc.add(s)
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", "  ")
	if err := enc.Encode(doc); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// provesNothing is the failure of a run whose checks are all skipped or inconclusive: in none of its cases anything
// fails, and still it is no success.
func provesNothing(v *conformance.Verdict) *junitMessage {
	switch v.Outcome() {
	case conformance.Skipped:
		return &junitMessage{Message: "nothing was proven: the consumer said nothing that could be checked", Type: "skipped"}
	case conformance.Inconclusive:
		return &junitMessage{Message: "nothing was proven: every check was inconclusive", Type: "inconclusive"}
	}
	return nil
}

// add appends a testsuite and counts it.
func (d *junitSuites) add(s junitSuite) {
	d.Tests += s.Tests
	d.Failures += s.Failures
	d.Errors += s.Errors
	d.Skipped += s.Skipped
	d.Suites = append(d.Suites, s)
}

func junitCase(v *conformance.Verdict, c *conformance.CaseResult) junitSuite {
	class := v.Suite + "." + c.Name
	s := junitSuite{Name: class, Time: fixed(c.Elapsed.Seconds()), SystemErr: textOf(c.Stderr)}
	if !c.Start.IsZero() {
		s.Timestamp = c.Start.UTC().Format("2006-01-02T15:04:05")
	}
	property := func(name, value string) {
		if value != "" {
			s.Properties = append(s.Properties, junitProperty{name, clean(value)})
		}
	}
	property("about", c.About)
	property("seed", strconv.FormatUint(c.Seed, 10))
	if v.Varied {
		property("cases-seed", strconv.FormatUint(v.Seed, 10))
	}
	property("line", c.Settings)
	property("format", c.Format)
	property("consumer", quoted(c.Command))
	property("environment", strings.Join(c.Environment, " "))
	property("consumer-exit", c.Exit)
	property("host-late", fixed(c.HostLateS)+" s")

	var out []string
	out = append(out, fmt.Sprintf("%d messages sent; %s", c.Sent, c.Output.String()))
	for _, n := range c.Notes {
		out = append(out, "note: "+n)
	}
	s.SystemOut = textOf(strings.Join(out, "\n"))

	s.add(junitRuns(class, c))
	for _, r := range c.Results {
		s.add(junitCheck(class, c, r))
	}
	return s
}

// add appends a testcase and counts it.
func (s *junitSuite) add(t junitTest) {
	s.Tests++
	switch {
	case t.Failure != nil:
		s.Failures++
	case t.Error != nil:
		s.Errors++
	case t.Skipped != nil:
		s.Skipped++
	}
	s.Cases = append(s.Cases, t)
}

// junitRuns is the testcase that tells whether the case could be played.
func junitRuns(class string, c *conformance.CaseResult) junitTest {
	t := junitTest{Name: "runs", ClassName: class, Time: fixed(c.Elapsed.Seconds())}
	if in := c.Incident; in != nil {
		m := &junitMessage{Message: oneLine(in.Text), Type: in.Kind.String()}
		if tail := strings.TrimSpace(clean(c.Stderr)); tail != "" {
			m.Text = "standard error of the consumer ended with:\n" + tail
		}
		if in.Kind.OfConsumer() {
			t.Failure = m
		} else {
			t.Error = m
		}
	}
	return t
}

func junitCheck(class string, c *conformance.CaseResult, r conformance.Result) junitTest {
	t := junitTest{Name: r.Check, ClassName: class, Time: fixed(0)}
	m := &junitMessage{Message: oneLine(cmp.Or(r.Reason, r.Summary)), Type: strings.ReplaceAll(r.Outcome.String(), " ", "-")}
	switch r.Outcome {
	case conformance.Passed:
		t.SystemOut = textOf(r.Summary)
	case conformance.Failed:
		if r.Known != "" {
			m.Message = oneLine(r.Known + ": " + r.Summary)
			t.Skipped = m
			break
		}
		m.Message, m.Text = oneLine(r.Summary), body(r)
		if f := findingFor(c, r.Check); f != nil {
			m.Message = oneLine(fmt.Sprintf("%s (%s): %s", strings.TrimSuffix(clean(f.Title), "."), f.Surety(), r.Summary))
			m.Text = foundText(f) + m.Text
		}
		t.Failure = m
	case conformance.CouldNotRun:
		if c.Incident != nil {
			t.Skipped = m
		} else {
			t.Error = m
		}
	default:
		m.Message = r.Outcome.String() + ": " + m.Message
		t.Skipped = m
	}
	return t
}

// findingFor is the cause that explains most of those that have to do with a check; nil if there is none.
func findingFor(c *conformance.CaseResult, check string) *diagnose.Finding {
	for i := range c.Diagnosis.Findings {
		if f := &c.Diagnosis.Findings[i]; f.ID != "unexplained" && slices.Contains(f.Checks, check) {
			return f
		}
	}
	return nil
}

// foundText tells a cause, its evidence and what to change.
func foundText(f *diagnose.Finding) string {
	var b strings.Builder
	fmt.Fprintf(&b, "what appears to be wrong: %s (%s: %s)\n", clean(f.Title), f.ID, f.Surety())
	for _, e := range f.Evidence {
		fmt.Fprintf(&b, "  %s\n", clean(e))
	}
	for _, p := range f.Parameters {
		fmt.Fprintf(&b, "  %s.\n", p)
	}
	if f.Impact != "" {
		fmt.Fprintf(&b, "  %s\n", f.Impact)
	}
	fmt.Fprintf(&b, "to do: %s\n", f.Change)
	for _, a := range f.NotTold {
		fmt.Fprintf(&b, "here it cannot be told apart from: %s\n", clean(a.Title))
	}
	return b.String() + "\n"
}

// body is the text below the message of a failure.
func body(r conformance.Result) string {
	d := checkOf(r)
	var b strings.Builder
	fmt.Fprintln(&b, d.Summary)
	if d.Requirement != "" {
		fmt.Fprintf(&b, "requirement: %s\nsource: %s\ntolerance: %s\n", d.Requirement, d.Source, d.ToleranceRule)
	}
	if r.Unit != "" {
		fmt.Fprintf(&b, "worst: %s, tolerance %s, of %d\n", measure(r.Worst, r.Unit), measure(r.Tolerance, r.Unit), r.N)
	}
	for _, p := range r.ToleranceParts {
		fmt.Fprintf(&b, "  %s: %s", p.Name, measure(p.Value, p.Unit))
		if p.Why != "" {
			fmt.Fprintf(&b, " (%s)", p.Why)
		}
		fmt.Fprintln(&b)
	}
	for _, e := range r.Examples {
		fmt.Fprintf(&b, "example: %s\n", example(e))
	}
	return b.String()
}

func fixed(s float64) string { return strconv.FormatFloat(s, 'f', 3, 64) }
