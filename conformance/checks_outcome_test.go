package conformance

import (
	"math"
	"strings"
	"testing"
	"time"

	"swellbench/conformance/observe"
	"swellbench/scenarios/installation"
)

// outcomes holds what checks must come to, each with a part of its reason or summary.
type outcomes map[string]struct {
	want Outcome
	says string
}

func (o outcomes) check(t *testing.T, results map[string]Result) {
	t.Helper()
	for id, x := range o {
		r := results[id]
		if r.Outcome != x.want || !strings.Contains(r.Summary, x.says) {
			t.Errorf("%s is %v: %s\nwant %v, saying %q", id, r.Outcome, r.Summary, x.want, x.says)
		}
		if (r.Outcome == Skipped || r.Outcome == Inconclusive) && r.Reason == "" {
			t.Errorf("%s is %v without a reason", id, r.Outcome)
		}
	}
}

// At rest nothing tells a stamp on arrival from values computed for that instant: no verdict either way.
func TestRestCannotTellTime(t *testing.T) {
	b := newBench(t, benches["pose"])
	l := listener{b: b, stamp: func(_, arrived time.Time) time.Time { return arrived }}
	outcomes{
		"time.validity": {Inconclusive, "the vessel moves too little here"},
		"parse.loss":    {Inconclusive, "see time.validity"},
		"parse.values":  {Passed, ""},
	}.check(t, judgeAll(b.evidence(l.run())))
}

// A consumer that publishes on a clock of its own, with values right for its stamps, has the times right; what it lost
// nobody can tell.
func TestResampler(t *testing.T) {
	b := newBench(t, benches["raw"])
	sonar, _ := b.dev.Scenario().Installation.Point("sonar")
	var obs []observe.Observation
	for s := 0.033; s < 7.9; s += 0.077 {
		state := b.dev.Truth().At(s)
		p := state.Point(sonar)
		obs = append(obs, observe.Observation{Time: b.dev.UTC(s), LatRad: observe.Of(p.Position.Lat), LonRad: observe.Of(p.Position.Lon), HeightM: observe.Of(p.Position.Height),
			HeadingRad: observe.Of(state.Attitude.Heading), RollRad: observe.Of(state.Attitude.Roll), HeaveM: observe.Of(p.HeaveM)})
	}
	outcomes{
		"time.validity":    {Passed, "the values are those of their stamps"},
		"parse.loss":       {Inconclusive, "instants of its own"},
		"offset.lever-arm": {Passed, ""},
		"offset.mounting":  {Passed, ""},
		"offset.heave":     {Passed, ""},
		"offset.baseline":  {Passed, ""},
	}.check(t, judgeAll(b.evidence(obs)))
}

// A host later than the tolerance bears leaves values that needed the window undecided, and what is wrong wrong.
func TestLateHost(t *testing.T) {
	b := newBench(t, benches["done"])
	late := func(l listener) map[string]Result {
		l.b, l.perSentence, l.arrival = b, true, true
		e := b.evidence(l.run())
		e.HostLateS = 0.15
		return judgeAll(e)
	}
	outcomes{"parse.values": {Inconclusive, "the host was up to 150 ms late"}, "time.validity": {Passed, ""}}.check(t, late(listener{}))
	outcomes{"parse.values": {Failed, "roll is off"}}.check(t, late(listener{tweak: func(r *reading) { scale(*r, "roll", -1) }}))
}

func TestSkips(t *testing.T) {
	b := newBench(t, benches["raw"])
	all := func(change func(*observe.Observation)) map[string]Result {
		l := listener{b: b, row: func(o *observe.Observation) bool { change(o); return true }}
		return judgeAll(b.evidence(l.run()))
	}
	outcomes{
		"offset.lever-arm": {Skipped, `the consumer speaks of the point "funnel", which the installation does not have`},
		"offset.heave":     {Skipped, "funnel"},
		"offset.mounting":  {Passed, ""},
		"time.validity":    {Inconclusive, ""},
	}.check(t, all(func(o *observe.Observation) { o.Point = "funnel"; o.Time = o.Time.Add(31 * time.Millisecond) }))
	outcomes{
		"offset.lever-arm": {Skipped, "the consumer never shows latitude, longitude or height"},
		"parse.hemisphere": {Skipped, "never shows"},
		"offset.heave":     {Skipped, "the consumer never shows heave"},
		"offset.mounting":  {Skipped, "the consumer never shows heading, pitch or roll"},
		"offset.baseline":  {Skipped, "the consumer never shows heading"},
		"parse.wrap":       {Skipped, "never shows"},
		"parse.null":       {Skipped, "no field is null in this case"},
		"parse.checksum":   {Skipped, "no damaged message"},
		"parse.values":     {Passed, "speed"},
		"parse.loss":       {Skipped, "nothing whose message carries its time"},
		"time.validity":    {Skipped, "nothing whose message carries its time"},
		"time.midnight":    {Skipped, "midnight"},
	}.check(t, all(func(o *observe.Observation) { *o = observe.Observation{Time: o.Time, SpeedMS: o.SpeedMS} }))
	outcomes{
		"offset.lever-arm": {Skipped, "every latitude has the wrong sign, see parse.hemisphere"},
		"parse.hemisphere": {Failed, "latitude has the wrong sign in 75 of 75"},
	}.check(t, all(func(o *observe.Observation) {
		if v, ok := o.LatRad.Value(); ok {
			o.LatRad = observe.Of(-v)
		}
		o.LonRad, o.HeightM = observe.Field[float64]{}, observe.Field[float64]{}
	}))
	outcomes{
		"parse.values":  {Skipped, "outside the run"},
		"time.validity": {Failed, "80 observations stamped outside the run"},
	}.check(t, all(func(o *observe.Observation) {
		*o = observe.Observation{Time: o.Time.Add(-1e6 * time.Hour).Add(431 * time.Second), HeadingRad: o.HeadingRad}
	}))

	b = newBench(t, benches["wrap"])
	outcomes{"parse.wrap": {Inconclusive, "heading is off, and not at its wrap alone"}}.check(t, all(func(o *observe.Observation) {
		if v, ok := o.HeadingRad.Value(); ok {
			o.HeadingRad = observe.Of(math.Mod(v+0.1, 2*math.Pi))
		}
		o.LonRad, o.CourseRad = observe.Field[float64]{}, observe.Field[float64]{}
	}))
	// The damage is in sentences without a digit to spoil: who believed them would say the same.
	b = newBench(t, strings.NewReplacer("every: 7", "every: 7, message: HDT", "{heading: 2}", "{heading: 0}").Replace(benches["damage-pose"]))
	l := listener{b: b, noChecksum: true}
	outcomes{"parse.checksum": {Inconclusive, "could know without them"}}.check(t, judgeAll(b.evidence(l.run())))
}

// Lines that were no observations are told with what is missing.
func TestRefusedLinesAreTold(t *testing.T) {
	b := newBench(t, benches["raw"])
	l := listener{b: b, row: everyNth(3, false)}
	e := b.evidence(l.run())
	e.ObserveStats.Refused = []observe.Refused{{Reason: observe.BadNumber, N: 26, Line: 3, Detail: "roll is NaN; allowed: a finite number, or null for no value"}}
	outcomes{"parse.loss": {Failed, "26 lines of output were no observations: not a finite number 26, first in line 3, roll is NaN"}}.check(t, judgeAll(e))
}

// The seeded geometry has no blind spot: what the checks rely on.
func TestBenchGeometry(t *testing.T) {
	in := newBench(t, benches["raw"]).dev.Scenario().Installation
	a, _ := in.Point(installation.AntennaPrimary)
	s, _ := in.Point("sonar")
	d := []float64{math.Abs(a.X - s.X), math.Abs(a.Y - s.Y), math.Abs(a.Z - s.Z)}
	if math.Abs(d[0]-d[1]) < 1 || math.Abs(d[1]-d[2]) < 0.4 || math.Abs(d[0]-d[2]) < 1 {
		t.Errorf("the components %v of the lever arm are too much alike to tell them apart", d)
	}
}
