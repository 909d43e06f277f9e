package conformance

import (
	"fmt"
	"time"

	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
)

// A Verdict is what a run of a suite came to.
type Verdict struct {
	Suite, About string
	Command      []string // of the consumer, placeholders as given
	Started      time.Time
	Elapsed      time.Duration
	Interrupted  bool         // ended before all cases were played
	Cases        []CaseResult // in the order of the suite
	Seed         uint64       // from which the cases were drawn anew, if Varied
	Varied       bool
	Shard        Shard    // which part of the suite it is
	Whole        []string // the cases of the whole suite that were chosen, of all shards
	Stale        []string // lines of the file of known failures that no longer hold
}

// A CaseResult is what one case came to.
type CaseResult struct {
	Name, About string
	Command     []string // of the consumer, as it was started; nil if it was not
	Environment []string // of the consumer besides the usual
	Seed        uint64
	Settings    string        // of the line: "38400 8N1"
	Format      string        // of the stream
	Start       time.Time     // the UTC instant of scenario time 0
	Duration    time.Duration // of the scenario
	Elapsed     time.Duration // of the whole case

	Incident *Incident     // what kept the case from running as it should; nil if nothing did
	Notes    []string      // what a person may want to know all the same
	Results  []Result      // one a check, in the order of the case
	Series   []Series      // what was judged, over time
	Plan     []PlanPoint   // how far positions were off, seen from the vessel
	Points   []VesselPoint // where things are on the vessel

	Diagnosis diagnose.Diagnosis // the causes of the failed checks

	Sent      int    // messages of the streams
	Unheard   int    // of these, not transmitted because nobody had the port open
	Observed  int    // observations
	Output    Output // lines that were no observations
	HostLateS float64
	Exit      string // how the consumer ended, in words; "" if it was not started
	Stderr    string // the end of its standard error
}

// Output counts what the consumer wrote where observations were expected.
type Output = observe.Stats

// An IncidentKind says what kept a case from running as it should.
type IncidentKind int

// The kinds of incident.
const (
	NoPort       IncidentKind = iota // the port could not be opened: taken, or no pseudo-terminals here
	PortLost                         // the port failed while the case was played
	HostFailed                       // the machine that plays failed: disk full, no temporary folder
	Interrupted                      // the run was ended from outside, as by Ctrl-C
	NotStarted                       // the consumer could not be started
	EndedAtStart                     // the consumer ended before it opened the port
	NeverOpened                      // the consumer ran, and did not open the port
	EndedMidCase                     // the consumer ended while the case was played
	EndedBadly                       // the consumer failed after the last byte, without being asked to end
	LeftPort                         // the consumer closed the port and did not open it again
	Flooded                          // the consumer wrote more than anybody could judge
	Silent                           // the consumer wrote nothing
	Rubbish                          // the consumer wrote, but no observation
)

// incidentKinds is the table of incidents.
var incidentKinds = [...]struct {
	word       string
	ofConsumer bool // it is a fault of the consumer, which did run; not of the machine or of how it was started
	judged     bool // what was observed can be judged all the same
}{
	NoPort:       {word: "no-port"},
	PortLost:     {word: "port-lost"},
	HostFailed:   {word: "host-failed"},
	Interrupted:  {word: "interrupted"},
	NotStarted:   {word: "not-started"},
	EndedAtStart: {word: "ended-at-start"},
	NeverOpened:  {word: "never-opened"},
	EndedMidCase: {word: "ended-mid-case", ofConsumer: true},
	EndedBadly:   {word: "ended-badly", ofConsumer: true, judged: true},
	LeftPort:     {word: "left-port", ofConsumer: true},
	Flooded:      {word: "flooded", ofConsumer: true},
	Silent:       {word: "silent", ofConsumer: true},
	Rubbish:      {word: "rubbish", ofConsumer: true},
}

// ParseIncidentKind reads the word that [IncidentKind.String] gives.
func ParseIncidentKind(word string) (IncidentKind, bool) {
	for k := range incidentKinds {
		if incidentKinds[k].word == word {
			return IncidentKind(k), true
		}
	}
	return 0, false
}

// String gives the lasting word of the kind, as reports have it.
func (k IncidentKind) String() string {
	if k < 0 || int(k) >= len(incidentKinds) {
		return "unknown"
	}
	return incidentKinds[k].word
}

// OfConsumer tells whether the incident is a fault of the consumer, which did run. Such a case has failed; any other
// incident means that it could not be run.
func (k IncidentKind) OfConsumer() bool {
	return k >= 0 && int(k) < len(incidentKinds) && incidentKinds[k].ofConsumer
}

func (k IncidentKind) judged() bool { return incidentKinds[k].judged }

// An Incident is what kept a case from running as it should.
type Incident struct {
	Kind IncidentKind
	Text string // one line for a person: what happened, when, what to do
}

// Error gives the text, so that an incident can end a context with a cause.
func (in *Incident) Error() string { return in.Text }

func incidentf(k IncidentKind, format string, args ...any) *Incident {
	return &Incident{Kind: k, Text: fmt.Sprintf(format, args...)}
}

// Outcome is what the case comes to: failed if the consumer was at fault or any check failed; else could not run if
// something kept it or any check from running; else passed if any check passed; else inconclusive or skipped.
func (c *CaseResult) Outcome() Outcome {
	if c.Incident != nil {
		if c.Incident.Kind.OfConsumer() {
			return Failed
		}
		return CouldNotRun
	}
	outs := make([]Outcome, len(c.Results))
	for i, r := range c.Results {
		if outs[i] = r.Outcome; r.Known != "" {
			outs[i] = Passed // as expected, for now
		}
	}
	return overall(outs)
}

// Outcome is what the run comes to, by the same order over its cases.
func (v *Verdict) Outcome() Outcome {
	outs := make([]Outcome, len(v.Cases))
	for i := range v.Cases {
		outs[i] = v.Cases[i].Outcome()
	}
	return overall(outs)
}

func overall(outs []Outcome) Outcome {
	for _, o := range [...]Outcome{Failed, CouldNotRun, Passed, Inconclusive} {
		for _, have := range outs {
			if have == o {
				return o
			}
		}
	}
	return Skipped
}

// ExitCode is that of the command line: 0 if something passed and nothing failed; 1 if anything failed, or if nothing
// was checked because the consumer said nothing that could be (a run that proves nothing is no success); 3 if the
// environment kept a case from running, or this host was too late for every single check. A check that is skipped or
// inconclusive beside others that passed changes nothing here, and is shown in the report.
func (v *Verdict) ExitCode() int {
	if len(v.Stale) > 0 && v.Outcome() == Passed {
		return 1 // what was known to fail passes, and its line is to go
	}
	switch v.Outcome() {
	case Passed:
		return 0
	case CouldNotRun, Inconclusive:
		return 3
	}
	return 1
}

// Count returns how many checks of all cases had each outcome.
func (v *Verdict) Count() map[Outcome]int {
	n := map[Outcome]int{}
	for i := range v.Cases {
		for _, r := range v.Cases[i].Results {
			n[r.Outcome]++
		}
	}
	return n
}

// A VesselPoint is a named place on the vessel, m right, forward, up from the vessel reference point.
type VesselPoint struct {
	Name               string
	Right, Forward, Up float64
}
