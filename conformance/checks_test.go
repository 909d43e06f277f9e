package conformance

import (
	"math"
	"strings"
	"testing"
	"time"

	"swellbench/conformance/observe"
	"swellbench/emulator/wire"
)

// styles are consumers that do nothing wrong.
var styles = map[string]listener{
	"epoch":                   {},
	"epoch, no source":        {noSource: true},
	"sentence":                {perSentence: true},
	"sentence, bare":          {perSentence: true, noSource: true},
	"sentence, arrival":       {perSentence: true, arrival: true},
	"sentence, arrival, bare": {perSentence: true, arrival: true, noSource: true},
	"sentence, last epoch":    {perSentence: true, lastEpoch: true},
	"null left out":           {omitNull: true},
	"two decimals":            {decimals: 2},
	"heading only": {row: func(o *observe.Observation) bool {
		*o = observe.Observation{Time: o.Time, Arrival: o.Arrival, HeadingRad: o.HeadingRad}
		return o.HeadingRad.Said()
	}},
	"position only": {row: func(o *observe.Observation) bool {
		*o = observe.Observation{Time: o.Time, Arrival: o.Arrival, LatRad: o.LatRad, LonRad: o.LonRad}
		return o.LatRad.Said()
	}},
	"nothing in an outage": {row: func(o *observe.Observation) bool { f, ok := o.Fix.Value(); return !ok || f != wire.FixNone }},
	"antenna":              {point: "antenna-primary"},
	"pole-free names":      {point: "sonar"},
	"milliseconds cut": {perSentence: true, arrival: true, row: func(o *observe.Observation) bool {
		o.Time = o.Time.Truncate(time.Millisecond)
		return true
	}},
}

func judgeAll(e *Evidence) map[string]Result {
	out := map[string]Result{}
	for _, c := range Checks {
		out[c.ID] = c.Judge(e)
	}
	return out
}

// No check accuses a consumer that does nothing wrong.
func TestCorrectConsumersPass(t *testing.T) {
	for scenario, yaml := range benches {
		b := newBench(t, yaml)
		for style, l := range styles {
			l.b = b
			t.Run(scenario+"/"+style, func(t *testing.T) {
				obs := l.run()
				if len(obs) == 0 {
					t.Skip("this consumer shows nothing of what the scenario sends")
				}
				for id, r := range judgeAll(b.evidence(obs)) {
					if r.Outcome == Failed || r.Outcome == CouldNotRun {
						t.Errorf("%s accuses: %s", id, r.Summary)
					}
				}
			})
		}
	}
}

// broad are checks that pass wherever positions come with their time and are shown when they come.
const broad = "time.arrival time.leap-second time.zone time.date outage.fix-state line.keeping-up"

// What each scenario is to prove, it proves: the checks named pass, and the others do not but for the broad ones.
func TestProven(t *testing.T) {
	for scenario, want := range map[string]string{
		"raw":               "parse.values parse.loss parse.hemisphere time.validity offset.mounting offset.lever-arm offset.heave offset.baseline",
		"entered":           "parse.values parse.loss parse.hemisphere time.validity offset.lever-arm offset.heave",
		"done":              "parse.values parse.loss parse.hemisphere time.validity",
		"single":            "parse.values parse.loss parse.hemisphere time.validity offset.mounting offset.lever-arm offset.heave",
		"blocked":           "parse.values parse.loss parse.null parse.hemisphere time.validity outage.stale outage.zero outage.reacquire",
		"damage":            "parse.values parse.loss parse.checksum parse.hemisphere time.validity line.resync",
		"wrap":              "parse.values parse.loss parse.hemisphere parse.wrap time.validity offset.mounting offset.lever-arm offset.heave offset.baseline",
		"midnight":          "parse.values parse.loss parse.hemisphere time.validity time.midnight offset.mounting offset.lever-arm offset.heave offset.baseline",
		"sensor-other-date": "offset.mounting offset.heave",
	} {
		b := newBench(t, benches[scenario])
		var got []string
		results := judgeAll(b.evidence((&listener{b: b}).run()))
		for _, c := range Checks {
			switch r := results[c.ID]; {
			case strings.Contains(broad, c.ID):
			case r.Outcome == Passed:
				got = append(got, c.ID)
			case r.Reason == "" || r.Outcome != Skipped:
				t.Errorf("%s: %s is %v without a reason: %s", scenario, c.ID, r.Outcome, r.Summary)
			}
		}
		if s := strings.Join(got, " "); s != want {
			t.Errorf("%s: passed\n got  %s\n want %s", scenario, s, want)
			for _, c := range Checks {
				t.Logf("%s: %v: %s", c.ID, results[c.ID].Outcome, results[c.ID].Summary)
			}
		}
	}
}

// followers are families of checks that look at one side of what a check looks at.
var followers = map[string]string{"time.validity": "time.", "parse.null": "outage."}

// Each mistake fails the check that is about it, clearly, and no other but those allowed.
func TestMistakesFail(t *testing.T) {
	for _, m := range mistakes {
		t.Run(m.name, func(t *testing.T) {
			b := newBench(t, benches[m.scenario])
			m.l.b = b
			results := judgeAll(b.evidence(m.l.run()))
			r := results[m.check]
			if r.Outcome != Failed {
				t.Errorf("%s is %v: %s", m.check, r.Outcome, r.Summary)
			}
			if r.Tolerance > 0 && !(math.Abs(r.Worst) >= 5*r.Tolerance) {
				t.Errorf("%s is off by %g, less than five tolerances of %g", m.check, r.Worst, r.Tolerance)
			}
			if len(r.Examples) == 0 || r.Summary == "" {
				t.Errorf("%s gives no example or summary: %+v", m.check, r)
			}
			for id, o := range results {
				if id != m.check && o.Outcome == Failed && !strings.Contains(m.also, id) && !(followers[m.check] != "" && strings.HasPrefix(id, followers[m.check])) {
					t.Errorf("%s fails as well: %s", id, o.Summary)
				}
			}
			t.Log(r.Summary)
		})
	}
}

func TestNothingObserved(t *testing.T) {
	b := newBench(t, benches["raw"])
	e := b.evidence(nil)
	e.ObserveStats = observe.Stats{Lines: 3, Refused: []observe.Refused{{Reason: observe.NotJSON, N: 3, Line: 1, Detail: "at byte 1"}}}
	for id, r := range judgeAll(e) {
		switch {
		case id == "parse.loss" && (r.Outcome != Failed || r.Summary != "nothing was observed: the consumer wrote 3 lines, none of them an observation (not JSON 3, first in line 1, at byte 1)"):
			t.Errorf("parse.loss: %v: %s", r.Outcome, r.Summary)
		case id != "parse.loss" && (r.Outcome != Skipped || r.Reason == ""):
			t.Errorf("%s: %v: %s", id, r.Outcome, r.Reason)
		}
	}
}

// The table is what a reader starts from.
func TestTable(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Checks {
		if seen[c.ID] || c.Requirement == "" || c.Source == "" || c.Tolerance == "" || c.Judge == nil || strings.Contains(c.Requirement, "\n") {
			t.Errorf("row %q is not complete, or there twice", c.ID)
		}
		seen[c.ID] = true
		if got, ok := CheckByID(c.ID); !ok || got.ID != c.ID {
			t.Errorf("CheckByID(%q) is %v, %v", c.ID, got.ID, ok)
		}
	}
	if _, ok := CheckByID("parse.nothing"); ok {
		t.Error("an unknown check was found")
	}
}

// The words for a person.
func TestSummary(t *testing.T) {
	b := newBench(t, benches["done"])
	r := judgeAll(b.evidence((&listener{b: b, tweak: func(r *reading) { scale(*r, "roll", -1) }}).run()))["parse.values"]
	t.Log(r.Summary)
	for _, want := range []string{"roll is off by up to ", "° (tolerance 0.01", " of 75 values; first at 12:00:00.500Z: expected ", ", observed "} {
		if !strings.Contains(r.Summary, want) {
			t.Errorf("the summary lacks %q: %s", want, r.Summary)
		}
	}
	sum := 0.0
	for _, p := range r.ToleranceParts {
		if p.Unit == r.Unit {
			sum += p.Value
		}
	}
	if math.Abs(sum-r.Tolerance) > 1e-9 || r.Unit != "°" {
		t.Errorf("the parts %+v come to %g, not %g", r.ToleranceParts, sum, r.Tolerance)
	}
}
