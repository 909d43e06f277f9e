package conformance

import (
	"sync"

	"swellbench/conformance/compare"
	"swellbench/conformance/diagnose"
)

// lazyTally is the one pass over the evidence that all checks share.
type lazyTally struct {
	once  sync.Once
	tally *tally
}

// startS is how long a consumer that has just opened the port may still be settling, s of scenario time: nothing of
// that time is judged. Common practice, no source.
const startS = 0.5

// tallied walks the evidence, the first time it is asked.
func (e *Evidence) tallied() *tally {
	e.tally.once.Do(func() {
		noted := &events{}
		sent := e.Sent
		if e.Outline != nil {
			sent = e.Outline
		}
		if e.Device.Streams() == 1 && sent != nil {
			sent = noted.watch(sent)
		}
		t := &tally{cmp: compare.New(compare.Run{Device: e.Device, Truth: e.Truth, Start: e.Device.UTC(0), Origin: e.Origin,
			HostLateS: e.HostLateS, Sent: sent, Declared: e.Declared}), events: noted, hostLateS: e.HostLateS, refused: e.ObserveStats.NRefused(), stats: &e.ObserveStats}
		noted.settle()
		t.coverage = newCoverage(t.cmp)
		t.notes = newNotes(e, t)
		t.series = newSeries(e.Truth, e.durationS())
		t.diagnoser = diagnose.New(e.Device, t.cmp, e.Sent, diagnose.Options{StartS: startS, Conditions: e.Soundings})
		if e.Observed != nil {
			for row := range t.cmp.Rows(e.Observed) {
				t.add(row)
				t.diagnoser.Add(row)
			}
		}
		t.settle()
		e.tally.tally = t
	})
	if e.tally.tally == nil {
		panic("conformance: the evidence could not be walked before")
	}
	return e.tally.tally
}
