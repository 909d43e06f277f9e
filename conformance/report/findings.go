package report

import (
	"fmt"
	"math"
	"strings"

	"swellbench/conformance"
)

// A Finding is one cause of failed checks.
type Finding struct {
	ID           string        `json:"id" jsonschema_description:"a lasting word"`
	Title        string        `json:"title" jsonschema_description:"what the program appears to do"`
	Evidence     []string      `json:"evidence" jsonschema_description:"in numbers"`
	Change       string        `json:"change" jsonschema_description:"what to change"`
	Confidence   float64       `json:"confidence" jsonschema_description:"from 0 to 1"`
	Surety       string        `json:"surety" jsonschema_description:"the same in a word: certain, likely, possible, uncertain"`
	Parameters   []Parameter   `json:"parameters" jsonschema_description:"numbers that were fitted"`
	Alternatives []Alternative `json:"alternatives" jsonschema_description:"what it cannot be told apart from in this scenario"`
	Checks       []string      `json:"checks" jsonschema_description:"the failed checks that it explains"`
	Impact       string        `json:"impact,omitempty" jsonschema_description:"what it does to a sounding"`
}

// A Parameter is a number that was fitted.
type Parameter struct {
	Name  string   `json:"name"`
	Value *float64 `json:"value" jsonschema:"nullable"`
	Sigma *float64 `json:"sigma" jsonschema_description:"standard deviation; null where the scenario does not excite it" jsonschema:"nullable"`
	Unit  string   `json:"unit"`
}

// An Alternative explains as much as a finding does.
type Alternative struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Run   string `json:"run,omitempty" jsonschema_description:"the ready-made scenario that tells them apart"`
}

func findingsOf(c *conformance.CaseResult) []Finding {
	out := []Finding{}
	for _, f := range c.Diagnosis.Findings {
		x := Finding{ID: f.ID, Title: clean(f.Title), Evidence: list(f.Evidence), Change: f.Change, Confidence: math.Round(f.Confidence*100) / 100,
			Surety: f.Surety(), Parameters: []Parameter{}, Alternatives: []Alternative{}, Checks: list(f.Checks), Impact: f.Impact}
		for _, p := range f.Parameters {
			x.Parameters = append(x.Parameters, Parameter{p.Name, number(p.Value), number(p.Sigma), p.Unit})
		}
		for _, a := range f.NotTold {
			x.Alternatives = append(x.Alternatives, Alternative{a.ID, a.Title, a.Run})
		}
		out = append(out, x)
	}
	return out
}

// maxFindings are told to a person; the rest is in the JSON.
const maxFindings = 6

// findings tells what the causes appear to be.
func (t *text) findings(v *conformance.Verdict) {
	all := v.Causes()
	for i, g := range all {
		if i == 0 {
			t.line("\nWhat appears to be wrong")
		}
		if i == maxFindings {
			t.line("  and %s more, in the JSON report", plural(len(all)-i, "finding"))
			break
		}
		f := g.Best
		t.wrap("  * ", "    ", fmt.Sprintf("%s (%s: %s, in %s)", oneLine(f.Title), f.ID, f.Surety(), strings.Join(g.Cases, ", ")))
		for _, e := range f.Evidence {
			t.wrap("    ", "      ", oneLine(e))
		}
		for _, p := range f.Parameters {
			t.wrap("    ", "      ", p.String()+".")
		}
		if f.Impact != "" {
			t.wrap("    ", "      ", f.Impact)
		}
		t.wrap("    To do: ", "      ", f.Change)
		for _, a := range f.NotTold {
			run := ""
			if a.Run != "" {
				run = " The scenario " + a.Run + " tells them apart."
			}
			t.wrap("    Here it cannot be told apart from: ", "      ", a.Title+run)
		}
	}
}
