package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"swellbench/conformance"
)

// FormatName and FormatVersion are what a [Document] begins with. The version goes up when a field goes or changes its
// meaning; fields may be added without.
const (
	FormatName    = "swellbench verdict"
	FormatVersion = 1
)

// A Document is a verdict as JSON. Times of day are UTC in RFC 3339, durations seconds. A number that is not finite is
// null. Text of the consumer has its control characters written out (\x1b).
type Document struct {
	Format      string    `json:"format" jsonschema_description:"always swellbench verdict"`
	Version     int       `json:"version" jsonschema_description:"of this format"`
	Suite       string    `json:"suite"`
	About       string    `json:"about,omitempty"`
	Consumer    []string  `json:"consumer" jsonschema_description:"the program and its arguments, placeholders not filled in"`
	Started     time.Time `json:"started"`
	ElapsedS    float64   `json:"elapsed_s"`
	CasesSeed   *uint64   `json:"cases_seed,omitempty" jsonschema_description:"from which the cases were drawn anew; left out: they were played as written"`
	Shard       string    `json:"shard,omitempty" jsonschema_description:"which part of the suite this is, such as 2/5"`
	Whole       []string  `json:"suite_cases" jsonschema_description:"the cases of the whole suite that were chosen, of all shards"`
	Stale       []string  `json:"no_longer_failing,omitempty" jsonschema_description:"lines of the file of known failures that no longer hold"`
	Interrupted bool      `json:"interrupted" jsonschema_description:"the run was ended before all cases were played"`
	Outcome     string    `json:"outcome" jsonschema_description:"of the run: passed, failed, skipped, inconclusive, could not run"`
	ExitCode    int       `json:"exit_code" jsonschema_description:"0 passed, 1 failed or nothing proven, 3 the environment failed"`
	Counts      Counts    `json:"counts" jsonschema_description:"of the checks of all cases"`
	Cases       []Case    `json:"cases" jsonschema_description:"in the order of the suite"`
	Caution     string    `json:"caution"`
}

// Counts is how many checks had each outcome.
type Counts struct {
	Passed       int `json:"passed"`
	Failed       int `json:"failed"`
	Skipped      int `json:"skipped"`
	Inconclusive int `json:"inconclusive"`
	CouldNotRun  int `json:"could_not_run"`
}

// A Case is what one case came to.
type Case struct {
	Name         string     `json:"name"`
	About        string     `json:"about,omitempty"`
	Outcome      string     `json:"outcome"`
	Seed         uint64     `json:"seed"`
	StreamFormat string     `json:"stream_format" jsonschema_description:"of the first stream, such as nmea0183"`
	Line         string     `json:"line" jsonschema_description:"of the first stream, such as 38400 8N1"`
	Start        *time.Time `json:"start" jsonschema_description:"the instant of scenario time 0; null if the case was not played" jsonschema:"nullable"`
	DurationS    float64    `json:"duration_s" jsonschema_description:"of the scenario"`
	ElapsedS     float64    `json:"elapsed_s"`
	Consumer     []string   `json:"consumer" jsonschema_description:"the arguments as the consumer was started; empty if it was not"`
	Environment  []string   `json:"environment" jsonschema_description:"NAME=value, of the consumer besides the usual"`
	Exit         string     `json:"exit" jsonschema_description:"how the consumer ended"`
	Stderr       string     `json:"stderr" jsonschema_description:"the end of its standard error"`
	Incident     *Incident  `json:"incident" jsonschema_description:"what kept the case from running as it should; null if nothing did" jsonschema:"nullable"`
	Notes        []string   `json:"notes"`
	Sent         int        `json:"sent" jsonschema_description:"messages of the streams"`
	Unheard      int        `json:"unheard" jsonschema_description:"of these, lost because the consumer did not have the port open"`
	Output       Output     `json:"output"`
	HostLateS    *float64   `json:"host_late_s" jsonschema_description:"by how much the host handed bytes over late, and kept the consumer waiting for a processor, at most" jsonschema:"nullable"`
	Checks       []Check    `json:"checks" jsonschema_description:"in the order of the case"`
	Findings     []Finding  `json:"findings" jsonschema_description:"the causes of the failed checks, the one that explains most first"`
}

// An Incident is what kept a case from running as it should.
type Incident struct {
	Kind       string `json:"kind" jsonschema_description:"a lasting word, such as never-opened"`
	OfConsumer bool   `json:"of_consumer" jsonschema_description:"a fault of the consumer, which did run: the case has failed; else it could not run"`
	Text       string `json:"text"`
}

// Output counts what the consumer wrote where observations were expected.
type Output struct {
	Lines        int64        `json:"lines"`
	Observations int64        `json:"observations"`
	Bytes        int64        `json:"bytes"`
	Refused      []Refused    `json:"refused" jsonschema_description:"lines that were no observations, by reason"`
	UnknownKeys  []UnknownKey `json:"unknown_keys" jsonschema_description:"keys that an observation does not have; they were ignored"`
}

// UnknownKey counts a key that an observation does not have.
type UnknownKey struct {
	Key string `json:"key"`
	N   int64  `json:"n"`
}

// Refused counts the lines that were no observations for one reason.
type Refused struct {
	Reason string `json:"reason"`
	N      int64  `json:"n"`
	Line   int64  `json:"line" jsonschema_description:"of the first of them"`
	Text   string `json:"text" jsonschema_description:"the first of them"`
}

// A Check is the result of one check.
type Check struct {
	ID             string     `json:"id"`
	Requirement    string     `json:"requirement,omitempty"`
	Source         string     `json:"source,omitempty"`
	ToleranceRule  string     `json:"tolerance_rule,omitempty"`
	Outcome        string     `json:"outcome"`
	Summary        string     `json:"summary"`
	Known          string     `json:"known_failing,omitempty" jsonschema_description:"why it is expected to fail for now"`
	Reason         string     `json:"reason,omitempty" jsonschema_description:"why it was skipped, is inconclusive or could not run"`
	N              int        `json:"n" jsonschema_description:"how many values, epochs or messages were judged"`
	Worst          *float64   `json:"worst" jsonschema_description:"the largest deviation by its tolerance" jsonschema:"nullable"`
	Tolerance      *float64   `json:"tolerance" jsonschema:"nullable"`
	Unit           string     `json:"unit" jsonschema_description:"of both; empty where the check counts"`
	ToleranceParts []Part     `json:"tolerance_parts"`
	Quantities     []Quantity `json:"quantities"`
	Examples       []Example  `json:"examples"`
}

// A Part is one contribution to a tolerance.
type Part struct {
	Name  string   `json:"name"`
	Value *float64 `json:"value" jsonschema:"nullable"`
	Unit  string   `json:"unit"`
	Why   string   `json:"why,omitempty"`
}

// A Quantity is the statistics of the deviations, observed minus expected, of one quantity.
type Quantity struct {
	Name      string   `json:"name"`
	Unit      string   `json:"unit"`
	N         int      `json:"n"`
	Beyond    int      `json:"beyond" jsonschema_description:"how many of these were beyond their tolerance"`
	Mean      *float64 `json:"mean" jsonschema:"nullable"`
	RMS       *float64 `json:"rms" jsonschema:"nullable"`
	P95       *float64 `json:"p95" jsonschema_description:"of the magnitudes: what 95 % do not exceed" jsonschema:"nullable"`
	Max       *float64 `json:"max" jsonschema_description:"the largest magnitude" jsonschema:"nullable"`
	Worst     *float64 `json:"worst" jsonschema:"nullable"`
	Tolerance *float64 `json:"tolerance" jsonschema:"nullable"`
}

// An Example is one observation that shows what the check says.
type Example struct {
	Time     *time.Time `json:"time" jsonschema_description:"as the consumer stamped it" jsonschema:"nullable"`
	T        *float64   `json:"t_s" jsonschema_description:"scenario time it was held against" jsonschema:"nullable"`
	Quantity string     `json:"quantity,omitempty"`
	Expected string     `json:"expected"`
	Observed string     `json:"observed"`
	Source   string     `json:"source,omitempty" jsonschema_description:"the message it came from, in the consumer's words"`
	Line     int64      `json:"line,omitempty" jsonschema_description:"of the consumer's output"`
}

// JSON writes the verdict as a [Document].
func JSON(w io.Writer, v *conformance.Verdict) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(DocumentOf(v))
}

// ReadJSON reads what [JSON] wrote.
func ReadJSON(r io.Reader) (*Document, error) {
	var d Document
	if err := json.NewDecoder(r).Decode(&d); err != nil {
		return nil, fmt.Errorf("verdict: %w", err)
	}
	if d.Format != FormatName {
		return nil, fmt.Errorf("verdict: format is %q, allowed: %q", d.Format, FormatName)
	}
	if d.Version != FormatVersion {
		return nil, fmt.Errorf("verdict: version is %d, this program reads %d", d.Version, FormatVersion)
	}
	return &d, nil
}

// DocumentOf makes the document of a verdict.
func DocumentOf(v *conformance.Verdict) *Document {
	n := v.Count()
	d := &Document{
		Format: FormatName, Version: FormatVersion, Suite: v.Suite, About: v.About, Consumer: list(v.Command),
		Started: v.Started.UTC().Round(time.Millisecond), ElapsedS: milli(v.Elapsed), Interrupted: v.Interrupted,
		Shard: v.Shard.String(), Whole: list(v.Whole), Stale: v.Stale, Outcome: v.Outcome().String(), ExitCode: v.ExitCode(), Caution: Caution, Cases: []Case{},
		Counts: Counts{Passed: n[conformance.Passed], Failed: n[conformance.Failed], Skipped: n[conformance.Skipped],
			Inconclusive: n[conformance.Inconclusive], CouldNotRun: n[conformance.CouldNotRun]},
	}
	if v.Varied {
		d.CasesSeed = &v.Seed
	}
	for i := range v.Cases {
		d.Cases = append(d.Cases, caseOf(&v.Cases[i]))
	}
	return d
}

func caseOf(c *conformance.CaseResult) Case {
	out := Case{
		Name: c.Name, About: c.About, Outcome: c.Outcome().String(), Seed: c.Seed, StreamFormat: c.Format, Line: c.Settings,
		Start: instant(c.Start), DurationS: milli(c.Duration), ElapsedS: milli(c.Elapsed), Consumer: list(c.Command),
		Environment: list(c.Environment), Exit: c.Exit, Stderr: clean(c.Stderr), Notes: []string{}, Sent: c.Sent, Unheard: c.Unheard, HostLateS: number(c.HostLateS),
		Output: Output{Lines: c.Output.Lines, Observations: c.Output.Observations, Bytes: c.Output.Bytes,
			Refused: []Refused{}, UnknownKeys: []UnknownKey{}},
		Checks: []Check{}, Findings: findingsOf(c),
	}
	if in := c.Incident; in != nil {
		out.Incident = &Incident{Kind: in.Kind.String(), OfConsumer: in.Kind.OfConsumer(), Text: clean(in.Text)}
	}
	for _, n := range c.Notes {
		out.Notes = append(out.Notes, clean(n))
	}
	for _, r := range c.Output.Refused {
		out.Output.Refused = append(out.Output.Refused, Refused{Reason: string(r.Reason), N: r.N, Line: r.Line, Text: clean(r.Text)})
	}
	for _, k := range c.Output.UnknownKeys {
		out.Output.UnknownKeys = append(out.Output.UnknownKeys, UnknownKey{clean(k.Key), k.N})
	}
	for _, r := range c.Results {
		out.Checks = append(out.Checks, checkOf(r))
	}
	return out
}

func checkOf(r conformance.Result) Check {
	out := Check{ID: r.Check, Outcome: r.Outcome.String(), Summary: clean(r.Summary), Known: clean(r.Known), Reason: clean(r.Reason), N: r.N,
		Worst: number(r.Worst), Tolerance: number(r.Tolerance), Unit: r.Unit,
		ToleranceParts: []Part{}, Quantities: []Quantity{}, Examples: []Example{}}
	if i := slices.IndexFunc(conformance.Checks, func(c conformance.Check) bool { return c.ID == r.Check }); i >= 0 {
		c := conformance.Checks[i]
		out.Requirement, out.Source, out.ToleranceRule = c.Requirement, c.Source, c.Tolerance
	}
	for _, p := range r.ToleranceParts {
		out.ToleranceParts = append(out.ToleranceParts, Part{Name: p.Name, Value: number(p.Value), Unit: p.Unit, Why: p.Why})
	}
	for _, q := range r.Quantities {
		out.Quantities = append(out.Quantities, Quantity{Name: q.Name, Unit: q.Unit, N: q.N, Beyond: q.Beyond,
			Mean: number(q.Mean), RMS: number(q.RMS), P95: number(q.P95), Max: number(q.Max), Worst: number(q.Worst), Tolerance: number(q.Tolerance)})
	}
	for _, e := range r.Examples {
		out.Examples = append(out.Examples, Example{Time: instant(e.Time), T: number(e.T), Quantity: e.Quantity,
			Expected: clean(e.Expected), Observed: clean(e.Observed), Source: clean(e.Source), Line: e.Line})
	}
	return out
}

// number is x, or nil where JSON has no number for it.
func number(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// instant is t in UTC, or nil for no instant.
func instant(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.UTC().Round(0)
	return &t
}

// list is never null in JSON.
func list(s []string) []string {
	out := make([]string, len(s))
	for i := range s {
		out[i] = clean(s[i])
	}
	return out
}

// milli is d in s, to whole milliseconds.
func milli(d time.Duration) float64 { return float64(d.Round(time.Millisecond).Milliseconds()) / 1000 }
