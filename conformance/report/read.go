package report

import (
	"fmt"
	"math"
	"time"

	"swellbench/conformance"
	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
)

// VerdictOf makes the verdict of a document again: all but what only pictures need.
func VerdictOf(d *Document) (*conformance.Verdict, error) {
	v := &conformance.Verdict{Suite: d.Suite, About: d.About, Command: d.Consumer, Started: d.Started, Elapsed: seconds(d.ElapsedS),
		Interrupted: d.Interrupted, Whole: d.Whole, Stale: d.Stale}
	if d.CasesSeed != nil {
		v.Seed, v.Varied = *d.CasesSeed, true
	}
	if d.Shard != "" {
		var err error
		if v.Shard, err = conformance.ParseShard(d.Shard); err != nil {
			return nil, err
		}
	}
	for i := range d.Cases {
		c, err := caseAgain(&d.Cases[i])
		if err != nil {
			return nil, fmt.Errorf("case %s: %w", d.Cases[i].Name, err)
		}
		v.Cases = append(v.Cases, c)
	}
	return v, nil
}

func caseAgain(c *Case) (out conformance.CaseResult, err error) {
	out = conformance.CaseResult{Name: c.Name, About: c.About, Command: c.Consumer, Environment: c.Environment, Seed: c.Seed, Settings: c.Line, Format: c.StreamFormat,
		Duration: seconds(c.DurationS), Elapsed: seconds(c.ElapsedS), Notes: c.Notes, Sent: c.Sent, Unheard: c.Unheard,
		Observed: int(c.Output.Observations), HostLateS: value(c.HostLateS), Exit: c.Exit, Stderr: c.Stderr,
		Output: conformance.Output{Lines: c.Output.Lines, Observations: c.Output.Observations, Bytes: c.Output.Bytes}}
	if c.Start != nil {
		out.Start = *c.Start
	}
	for _, r := range c.Output.Refused {
		out.Output.Refused = append(out.Output.Refused, observe.Refused{Reason: observe.Reason(r.Reason), N: r.N, Line: r.Line, Text: r.Text})
	}
	for _, k := range c.Output.UnknownKeys {
		out.Output.UnknownKeys = append(out.Output.UnknownKeys, observe.UnknownKey{Key: k.Key, N: k.N})
	}
	if c.Incident != nil {
		kind, ok := conformance.ParseIncidentKind(c.Incident.Kind)
		if !ok {
			return out, fmt.Errorf("incident %q is none that this program knows", c.Incident.Kind)
		}
		out.Incident = &conformance.Incident{Kind: kind, Text: c.Incident.Text}
	}
	for _, k := range c.Checks {
		r := conformance.Result{Check: k.ID, Summary: k.Summary, Known: k.Known, Reason: k.Reason, N: k.N, Worst: value(k.Worst), Tolerance: value(k.Tolerance), Unit: k.Unit}
		if err := r.Outcome.UnmarshalJSON([]byte(`"` + k.Outcome + `"`)); err != nil {
			return out, fmt.Errorf("check %s: %w", k.ID, err)
		}
		for _, p := range k.ToleranceParts {
			r.ToleranceParts = append(r.ToleranceParts, conformance.Part{Name: p.Name, Value: value(p.Value), Unit: p.Unit, Why: p.Why})
		}
		for _, q := range k.Quantities {
			r.Quantities = append(r.Quantities, conformance.Quantity{Name: q.Name, Unit: q.Unit, N: q.N, Beyond: q.Beyond, Mean: value(q.Mean),
				RMS: value(q.RMS), P95: value(q.P95), Max: value(q.Max), Worst: value(q.Worst), Tolerance: value(q.Tolerance)})
		}
		for _, e := range k.Examples {
			x := conformance.Example{T: value(e.T), Quantity: e.Quantity, Expected: e.Expected, Observed: e.Observed, Source: e.Source, Line: e.Line}
			if e.Time != nil {
				x.Time = *e.Time
			}
			r.Examples = append(r.Examples, x)
		}
		out.Results = append(out.Results, r)
	}
	for _, f := range c.Findings {
		x := diagnose.Finding{ID: f.ID, Title: f.Title, Evidence: f.Evidence, Change: f.Change, Confidence: f.Confidence, Checks: f.Checks, Impact: f.Impact, Cause: f.Title}
		for _, p := range f.Parameters {
			x.Parameters = append(x.Parameters, diagnose.Parameter{Name: p.Name, Value: value(p.Value), Sigma: value(p.Sigma), Unit: p.Unit})
		}
		for _, a := range f.Alternatives {
			x.NotTold = append(x.NotTold, diagnose.Alternative{ID: a.ID, Title: a.Title, Run: a.Run})
		}
		out.Diagnosis.Findings = append(out.Diagnosis.Findings, x)
	}
	return out, nil
}

// value is what number made null of, or the number.
func value(x *float64) float64 {
	if x == nil {
		return math.Inf(1)
	}
	return *x
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
