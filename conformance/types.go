package conformance

import (
	"encoding/json"
	"fmt"
	"iter"
	"time"

	"swellbench/conformance/compare"
	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
	"swellbench/emulator/line"
	"swellbench/scenarios"
)

// A Suite is a set of cases.
type Suite struct {
	Name, About string
	Cases       []Case
	Seed        uint64 // from which the cases were drawn anew, if Varied; see [Suite.Vary]
	Varied      bool

	readyMade bool
}

// A Case is a scenario plus the checks that apply.
type Case struct {
	Name, About string
	Scenario    *scenarios.Scenario
	Checks      []string // ids of the checks this case is to prove
	Keep        []string // what [Suite.Vary] leaves as it is: installation, place, heading, motion
	Environment []string // "NAME=value", of the consumer besides the usual
}

// A Device is what the judge needs to know of the device under test; [swellbench/emulator.Device] is one.
type Device interface {
	compare.Device
	// UTC is the instant of scenario time t, in s.
	UTC(t float64) time.Time
}

// Evidence is all that one played case left behind. Its sequences can be walked more than once. It may be shared by
// checks that run one after the other; it must not be copied after the first check.
type Evidence struct {
	Case         *Case
	Truth        scenarios.Truth
	Device       Device
	Origin       time.Time                     // wall-clock instant of scenario time 0 (real-time runs)
	Sent         iter.Seq[line.Sent]           // in order of transmission, every message incl. hurt and dropped ones
	Outline      iter.Seq[line.Sent]           // Sent but for what messages say, where that is quicker; nil: there is none
	Observed     iter.Seq[observe.Observation] // in order of arrival
	ObserveStats observe.Stats                 // lines that were no observations: counts by reason, first examples
	HostLateS    float64                       // the worst lateness of the host during the case, s
	Soundings    diagnose.Conditions           // for which findings say what they do to a sounding; zero is the usual ones
	Declared     compare.Accuracy              // of the program; zero is as fine as the digits of the messages

	tally lazyTally
}

// An Outcome is what a check came to.
type Outcome int

// The outcomes, never mixed.
const (
	Passed       Outcome = iota
	Failed               // the consumer is wrong
	Skipped              // the check does not apply here, or its quantity never appeared
	Inconclusive         // the host was later than the tolerance bears, or the scenario cannot tell
	CouldNotRun          // no port, the consumer did not start
)

var outcomeNames = [...]string{"passed", "failed", "skipped", "inconclusive", "could not run"}

// String gives the word used in reports.
func (o Outcome) String() string {
	if o < 0 || int(o) >= len(outcomeNames) {
		return fmt.Sprintf("Outcome(%d)", int(o))
	}
	return outcomeNames[o]
}

// MarshalJSON writes the word.
func (o Outcome) MarshalJSON() ([]byte, error) { return json.Marshal(o.String()) }

// UnmarshalJSON reads the word.
func (o *Outcome) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	for i, n := range outcomeNames {
		if n == s {
			*o = Outcome(i)
			return nil
		}
	}
	return fmt.Errorf("outcome is %q, allowed: passed, failed, skipped, inconclusive, could not run", s)
}

// A Result is what one check came to in one case.
type Result struct {
	Check   string
	Outcome Outcome
	Summary string // one line for a person
	N       int    // how many values, epochs or messages were judged
	// Worst is the largest deviation by its own tolerance, Tolerance what it was held against; both in Unit. Unit is ""
	// where the check counts instead of measuring.
	Worst, Tolerance float64
	Unit             string
	ToleranceParts   []Part // what Tolerance is made of
	Examples         []Example
	Reason           string // why skipped or inconclusive
	Quantities       []Quantity
	Known            string        // why it is expected to fail for now; "" if it is not
	Around           []SentMessage // what was sent about the first example, if the check failed
}

// A Part is one contribution to a tolerance.
type Part struct {
	Name  string // message resolution, consumer's digits, device noise, age of attitude, time, arithmetic
	Value float64
	Unit  string
	Why   string // one line
}

// An Example is one observation that shows what the check says.
type Example struct {
	Time     time.Time // as the consumer stamped it
	T        float64   // scenario time it was held against, s
	Quantity string
	Expected string
	Observed string
	Source   string // as the consumer gave it
	Line     int64  // of the consumer's output
}

// A Quantity is the statistics of one quantity under one check. Deviations are observed minus expected.
type Quantity struct {
	Name             string // as in observations: "roll", "latitude" in metres north, ...
	Unit             string
	N, Beyond        int     // values judged, and how many were beyond their tolerance
	Mean, RMS        float64 // of the deviations
	P95, Max         float64 // of their magnitudes: what 95 % do not exceed (at most 9 % too large), and the largest
	Worst, Tolerance float64 // of the value worst by its tolerance
}

// A Check is one requirement.
type Check struct {
	ID          string // a lasting word
	Requirement string // one line
	Source      string // a standard's clause, or "common practice"
	Tolerance   string // the rule, in words
	Judge       func(*Evidence) Result
}
