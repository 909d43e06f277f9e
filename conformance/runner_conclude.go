package conformance

import (
	"errors"
	"os"
	"path/filepath"
	"time"
)

// busyFrom is how long a case has to last for the processor time of a consumer to tell anything: starting up takes some.
const busyFrom = 4 * time.Second

// conclude takes stock when the consumer has ended: how it ended, and what it said. before is what has stopped the case,
// nil if it was played to its end; left tells that the consumer had the port closed when we asked it to end.
func (p *playedCase) conclude(before *Incident, end ending, left bool) *Incident {
	res := p.res
	res.Exit = exitText(end.state)
	res.Stderr = p.stderr.String()
	n, st := p.sent.summary()
	res.Sent, res.Unheard = n, st.unheard
	stats, err := p.out.count()
	res.Output, res.Observed = stats, int(stats.Observations)
	if err := errors.Join(err, p.out.failed()); err != nil && before == nil {
		before = incidentf(HostFailed, "keep what the consumer wrote: %v", err)
	}
	if what := p.out.meter.flooded(); what != "" && before == nil {
		before = p.floodIncident(what)
	}

	if before != nil {
		switch before.Kind {
		case EndedAtStart, EndedMidCase:
			before.Text += ": " + endText(end.state)
		}
		return before
	}
	if end.killed {
		p.note("the consumer did not end within %g s of being asked to (SIGTERM); it was killed", p.o.Grace.Seconds())
	}
	if stats.NRefused() > 0 && stats.Observations > 0 {
		r := stats.Refused[0]
		p.note("%d of %d lines are no observations; the first is line %d (%s): %s", stats.NRefused(), stats.Lines, r.Line, r.Reason, r.Text)
	}
	if busy, whole := end.cpu(), time.Since(p.proc.begun); whole > busyFrom && busy > whole/2 {
		p.note("the consumer ran without a rest: %.1f s of processor time within %.1f s; one that waits for bytes by asking again and again, or for a port that is gone, does that", busy.Seconds(), whole.Seconds())
	}
	for _, k := range stats.UnknownKeys {
		p.note("the key %q is none of an observation and was ignored, %d times; the first is in line %d", k.Key, k.N, k.Line)
	}
	if st.unheard > 0 && st.unheardAtEnd == 0 {
		p.note("%d messages were lost because the consumer had the port closed for a while", st.unheard)
	}
	switch {
	case !end.asked && !end.state.Success():
		return incidentf(EndedBadly, "the consumer failed after the last byte of the stream: %s", endText(end.state))
	case end.asked && !end.killed && crashed(end.state):
		return incidentf(EndedBadly, "the consumer crashed when it was asked to end: %s", endText(end.state))
	case left && st.unheardAtEnd > 0:
		return incidentf(LeftPort, "the consumer closed the port before the end of the stream and did not open it again; it missed the last %d of %d messages", st.unheardAtEnd, n)
	case stats.Observations == 0 && p.misheard != "":
		return incidentf(Silent, "%s, so all that it heard was rubbish", p.misheard)
	case stats.Lines == 0 && p.out.from != nil:
		return incidentf(Silent, "nothing came where observations were expected (%s, which the program was told as {observations})", p.o.Observations)
	case stats.Lines == 0 && p.out.path != "":
		return incidentf(Silent, "the consumer wrote no observations to the file it was told (%s)", filepath.Base(p.out.path))
	case stats.Lines == 0:
		return incidentf(Silent, "the consumer opened the port and printed nothing on its standard output; is it made to write each line at once, also when that is no terminal?")
	case stats.Observations == 0:
		r := stats.Refused[0]
		return incidentf(Rubbish, "none of the %d lines the consumer printed is an observation; the first is line %d (%s, %s): %s", stats.Lines, r.Line, r.Reason, r.Detail, r.Text)
	}
	return nil
}

// endText says how the consumer ended, and that it was not we who ended it.
func endText(s *os.ProcessState) string {
	if signalled(s) {
		return exitText(s) + " (not sent by swellbench)"
	}
	return exitText(s)
}
