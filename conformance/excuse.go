package conformance

import "fmt"

// lateFrom is the lateness of the host, s, from which a program may have been so late that it put the messages of two epochs
// together, or missed some: the silence between two epochs by which programs tell them apart is often no longer. Common
// practice, no source.
const lateFrom = 0.02

// lateness is what checks can fail by because the host was late: what a program shows of an epoch, when, and whether. Not among
// them are those of signs, spellings, checksums and of what is shown without any message that could have brought it.
var lateness = map[string]bool{"parse.values": true, "parse.loss": true, "parse.null": true, "parse.dialect": true, "parse.talker": true,
	"time.validity": true, "time.arrival": true, "time.order": true, "offset.mounting": true, "offset.lever-arm": true, "offset.heave": true,
	"offset.baseline": true, "outage.fix-state": true, "outage.stale": true, "outage.reacquire": true,
	"line.resync": true, "line.recovery": true, "line.silence": true, "line.keeping-up": true}

// excuse makes a failed check inconclusive where the host was late, and no more than some of what was judged is wrong: a mistake
// of the program is there most of the time.
func (r *Result) excuse(hostLateS float64) {
	if r.Outcome != Failed || hostLateS < lateFrom || !lateness[r.Check] {
		return
	}
	bad, all := 0.0, float64(r.N)
	if r.Unit == "" {
		bad = r.Worst
	}
	for _, q := range r.Quantities {
		if q.N > 0 && float64(q.Beyond) > 0.4*float64(q.N) {
			return // of one quantity it is most
		}
		bad = max(bad, float64(q.Beyond))
	}
	if all <= 0 || bad > 0.4*all || bad == 0 {
		return
	}
	r.Outcome = Inconclusive
	r.Reason = fmt.Sprintf("the host kept the program or the line waiting for up to %s, and no more than some of what was judged is wrong: run again on a quieter machine, or with fewer cases side by side (%s)",
		durationText(hostLateS), r.Summary)
	r.Summary = r.Reason
}
