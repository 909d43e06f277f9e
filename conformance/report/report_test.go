package report

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"flag"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"swellbench/conformance"
	"swellbench/conformance/observe"
)

var update = flag.Bool("update", false, "rewrite the golden files")

var start = time.Date(2026, 6, 1, 12, 0, 0, 300e6, time.UTC)

// The table of checks is made by hand too: that reports show it does not depend on what the checks are.
func init() {
	conformance.Checks = nil
	for _, id := range []string{"parse.values", "parse.loss", "parse.null", "parse.wrap", "time.validity", "offset.lever-arm", "offset.heave"} {
		conformance.Checks = append(conformance.Checks, conformance.Check{ID: id, Requirement: "What " + id + " requires.",
			Source: "Made by hand.", Tolerance: "A rule of thumb."})
	}
}

// verdicts are made by hand: they show what a report does, not what a consumer did.
var verdicts = map[string]func() *conformance.Verdict{
	"passed":      passedVerdict,
	"failed":      failedVerdict,
	"not-started": notStartedVerdict,
	"nothing":     nothingVerdict,
}

func played(name string, results ...conformance.Result) conformance.CaseResult {
	return conformance.CaseResult{
		Name: name, About: "Made by hand.", Seed: 7, Settings: "38400 8N1", Format: "nmea0183", Start: start,
		Command:  []string{"./my-program", "--port", "/tmp/swellbench-1/port-1", "--title", "it's ours"},
		Duration: 6 * time.Second, Elapsed: 7310 * time.Millisecond, Results: results,
		Sent: 240, Observed: 180, Output: observe.Stats{Lines: 180, Observations: 180, Bytes: 36000},
		HostLateS: 0.0012, Exit: "exit status 0",
	}
}

func passed(id string) conformance.Result {
	return conformance.Result{Check: id, Outcome: conformance.Passed, Summary: "all 60 within tolerance", N: 60, Worst: 0.002, Tolerance: 0.01, Unit: "m"}
}

func skipped(id, reason string) conformance.Result {
	return conformance.Result{Check: id, Outcome: conformance.Skipped, Summary: "skipped", Reason: reason}
}

func verdictOf(cases ...conformance.CaseResult) *conformance.Verdict {
	return &conformance.Verdict{
		Suite: "default", About: "Made by hand.", Started: start.Add(-time.Second), Elapsed: 21400 * time.Millisecond,
		Command: []string{"./my-program", "--port", "{port}", "--title", "it's ours"}, Cases: cases,
	}
}

func passedVerdict() *conformance.Verdict {
	a := played("pose-raw", passed("parse.values"), passed("parse.loss"), passed("offset.lever-arm"))
	b := played("swell-raw", passed("parse.values"), skipped("offset.heave", "the consumer never gave a heave"),
		conformance.Result{Check: "time.validity", Outcome: conformance.Inconclusive, Summary: "cannot tell", Reason: "the host was up to 31 ms late, the tolerance is 20 ms"})
	b.Notes = []string{"12 messages were lost because the consumer had the port closed for a while"}
	return verdictOf(a, b)
}

func failedVerdict() *conformance.Verdict {
	arm := conformance.Result{
		Check: "offset.lever-arm", Outcome: conformance.Failed, Summary: "position is up to 1.82 m from the sonar, tolerance 0.021 m; 58 of 60 beyond",
		N: 60, Worst: 1.82, Tolerance: 0.021, Unit: "m",
		ToleranceParts: []conformance.Part{{Name: "message resolution", Value: 0.0013, Unit: "m", Why: "GGA has 6 decimals of a minute"}, {Name: "arithmetic", Value: 0.01, Unit: "m"}},
		Examples: []conformance.Example{
			{Time: start.Add(400 * time.Millisecond), T: 0.4, Quantity: "latitude", Expected: "54.3271840°", Observed: "54.3272004°", Source: "GGA", Line: 12},
			{Time: start.Add(500 * time.Millisecond), T: 0.5, Quantity: "longitude", Expected: "7.9136520°", Observed: "7.9136\x1b[31m520°", Source: "GGA", Line: 15},
		},
		Quantities: []conformance.Quantity{{Name: "latitude", Unit: "m", N: 60, Beyond: 58, Mean: 1.2, RMS: 1.3, Worst: 1.82, Tolerance: 0.021}},
	}
	less := arm
	less.Worst, less.Summary, less.Examples = 0.4, "position is up to 0.4 m from the sonar, tolerance 0.021 m; 40 of 60 beyond", nil
	loss := conformance.Result{Check: "parse.loss", Outcome: conformance.Failed, Summary: "3 of 60 HDT were lost", N: 60, Worst: 3}
	crashed := played("circle", passed("parse.values"))
	crashed.Incident = &conformance.Incident{Kind: conformance.EndedMidCase, Text: "the consumer ended 2.3 s after the stream began, 3.7 s before its end: signal: segmentation fault (not sent by swellbench)"}
	crashed.Results[0] = conformance.Result{Check: "parse.values", Outcome: conformance.CouldNotRun, Summary: "not judged: " + crashed.Incident.Text, Reason: crashed.Incident.Text}
	crashed.Stderr = "loading\x00 <settings> & more\r\nfatal: \xff\xfe in \x1b[1mparser\x1b[0m ]]>\n"
	odd := played("odd-numbers", conformance.Result{Check: "parse.wrap", Outcome: conformance.Failed, Summary: "heading is not a number", N: 1, Worst: math.NaN(), Tolerance: math.Inf(1), Unit: "deg"})
	broken := played("broken", conformance.Result{Check: "parse.null", Outcome: conformance.CouldNotRun, Summary: "the check itself broke", Reason: "the check itself broke"})
	return verdictOf(
		played("pose-raw", passed("parse.values"), less),
		played("swell-raw", passed("parse.values"), loss, arm),
		crashed, odd, broken,
	)
}

func notStartedVerdict() *conformance.Verdict {
	in := &conformance.Incident{Kind: conformance.NotStarted, Text: `consumer "./my-program" not found; check the program after --, and its place or PATH`}
	v := verdictOf()
	for _, name := range []string{"pose-raw", "swell-raw"} {
		c := conformance.CaseResult{Name: name, Seed: 7, Settings: "38400 8N1", Duration: 6 * time.Second, Incident: in,
			Results: []conformance.Result{{Check: "parse.values", Outcome: conformance.CouldNotRun, Summary: "not judged: " + in.Text, Reason: in.Text}}}
		v.Cases = append(v.Cases, c)
	}
	v.Interrupted = true
	return v
}

func nothingVerdict() *conformance.Verdict {
	return verdictOf(played("pose-raw", skipped("parse.values", "the consumer gave nothing but times"), skipped("parse.wrap", "the consumer gave nothing but times")))
}

func TestGolden(t *testing.T) {
	for name, verdict := range verdicts {
		for suffix, write := range map[string]func(*bytes.Buffer) error{
			".txt":        func(b *bytes.Buffer) error { return Text(b, verdict(), TextOptions{}) },
			".colour.txt": func(b *bytes.Buffer) error { return Text(b, verdict(), TextOptions{Colour: true, Width: 60}) },
			".json":       func(b *bytes.Buffer) error { return JSON(b, verdict()) },
			".junit.xml":  func(b *bytes.Buffer) error { return JUnit(b, verdict()) },
		} {
			t.Run(name+suffix, func(t *testing.T) {
				var b bytes.Buffer
				if err := write(&b); err != nil {
					t.Fatal(err)
				}
				path := filepath.Join("testdata", name+suffix)
				if *update {
					if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
						t.Fatal(err)
					}
				}
				want, err := os.ReadFile(path)
				if err != nil {
					t.Fatal(err)
				}
				if b.String() != string(want) {
					t.Errorf("%s has changed; see go test -update\n%s", path, b.String())
				}
			})
		}
	}
}

// TestTextWidth sees that no line is wider than asked for, but for names that cannot be broken and standard error.
func TestTextWidth(t *testing.T) {
	for _, width := range []int{60, 80, 132} {
		var b bytes.Buffer
		if err := Text(&b, failedVerdict(), TextOptions{Width: width}); err != nil {
			t.Fatal(err)
		}
		for i, l := range strings.Split(b.String(), "\n") {
			if i > 0 && len([]rune(l)) > width && !strings.Contains(l, "|") {
				t.Errorf("width %d, line %d has %d characters: %s", width, i+1, len([]rune(l)), l)
			}
		}
	}
}

// TestColourChangesNothing sees that colours add nothing that the words do not say.
func TestColourChangesNothing(t *testing.T) {
	for name, verdict := range verdicts {
		var plain, colour bytes.Buffer
		if err := Text(&plain, verdict(), TextOptions{}); err != nil {
			t.Fatal(err)
		}
		if err := Text(&colour, verdict(), TextOptions{Colour: true}); err != nil {
			t.Fatal(err)
		}
		if got := regexp.MustCompile("\x1b\\[[0-9;]*m").ReplaceAllString(colour.String(), ""); got != plain.String() {
			t.Errorf("%s: without its colours the report is\n%s\nwant\n%s", name, got, plain.String())
		}
		if strings.ContainsFunc(plain.String(), func(r rune) bool { return r < ' ' && r != '\n' }) {
			t.Errorf("%s: control characters in the report: %q", name, plain.String())
		}
	}
}

func TestJUnitParses(t *testing.T) {
	for name, verdict := range verdicts {
		v := verdict()
		var b bytes.Buffer
		if err := JUnit(&b, v); err != nil {
			t.Fatal(err)
		}
		var doc junitSuites
		if err := xml.Unmarshal(b.Bytes(), &doc); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var tests, failures, errors, skipped int
		for i, s := range doc.Suites {
			want := 1 // "runs", or that of the run that proves nothing
			if i < len(v.Cases) {
				want += len(v.Cases[i].Results)
			}
			if len(s.Cases) != want || s.Tests != want {
				t.Errorf("%s: suite %s has %d testcases and says %d, want %d", name, s.Name, len(s.Cases), s.Tests, want)
			}
			for _, tc := range s.Cases {
				tests++
				n := 0
				for k, m := range []*junitMessage{tc.Failure, tc.Error, tc.Skipped} {
					if m == nil {
						continue
					}
					n++
					*[]*int{&failures, &errors, &skipped}[k]++
					if m.Message == "" {
						t.Errorf("%s: %s %s has no message", name, tc.ClassName, tc.Name)
					}
				}
				if n > 1 {
					t.Errorf("%s: %s %s has %d outcomes", name, tc.ClassName, tc.Name, n)
				}
			}
		}
		if doc.Tests != tests || doc.Failures != failures || doc.Errors != errors || doc.Skipped != skipped {
			t.Errorf("%s: totals %d %d %d %d, counted %d %d %d %d", name, doc.Tests, doc.Failures, doc.Errors, doc.Skipped, tests, failures, errors, skipped)
		}
		// A build must be red exactly where the exit code says so.
		if red := failures+errors > 0; red != (v.ExitCode() != 0) {
			t.Errorf("%s: red is %t, exit code %d", name, red, v.ExitCode())
		}
	}
}

func TestJSONParses(t *testing.T) {
	for name, verdict := range verdicts {
		v := verdict()
		var b bytes.Buffer
		if err := JSON(&b, v); err != nil {
			t.Fatal(err)
		}
		d, err := ReadJSON(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d.Outcome != v.Outcome().String() || d.ExitCode != v.ExitCode() || len(d.Cases) != len(v.Cases) {
			t.Errorf("%s: outcome %s, exit code %d, %d cases", name, d.Outcome, d.ExitCode, len(d.Cases))
		}
		var again bytes.Buffer
		enc := json.NewEncoder(&again)
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		if err := enc.Encode(d); err != nil || again.String() != b.String() {
			t.Errorf("%s: written again it is not the same, error %v", name, err)
		}
	}
}

func TestReadJSONRefuses(t *testing.T) {
	for in, want := range map[string]string{
		`{`:                  "verdict: unexpected EOF",
		`{"format":"other"}`: `verdict: format is "other", allowed: "swellbench verdict"`,
		`{"format":"swellbench verdict","version":2}`: "verdict: version is 2, this program reads 1",
	} {
		if _, err := ReadJSON(strings.NewReader(in)); err == nil || err.Error() != want {
			t.Errorf("%s: error %v, want %s", in, err, want)
		}
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"plain\ttext\nä€😀":   "plain\ttext\nä€😀",
		"bell\a":             `bell\x07`,
		"\x1b[31mred\x1b[0m": `\x1b[31mred\x1b[0m`,
		"a\r\nb\rc":          "a\nb\\x0dc",
		"\xff\xc3(":          `\xff\xc3(`,
		"\ufffe\uffff\x7f":   `\ufffe\uffff\x7f`,
		"turn\u202eround":    `turn\u202eround`,
		"\u0085\ufffd":       `\u0085\ufffd`,
	} {
		if got := clean(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}
