package conformance

import (
	"math"
	"slices"
	"strings"

	"swellbench/conformance/compare"
	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
)

// toldBy are the checks that tell the cause themselves: what they are about is the mistake. The rest is fitted.
var toldBy = []struct {
	check string
	tell  func(e *Evidence, t *tally, r *Result) (f diagnose.Finding, ofTime bool)
}{
	{"line.silence", func(*Evidence, *tally, *Result) (diagnose.Finding, bool) {
		return diagnose.Finding{ID: "silent-link-still-live", Title: "It goes on showing values while nothing comes.",
			Change: "Give each value an age limit: when nothing has come for a second, show none, and say so.", Confidence: 0.95}, true
	}},
	{"line.keeping-up", func(*Evidence, *tally, *Result) (diagnose.Finding, bool) {
		return diagnose.Finding{ID: "reader-falls-behind", Title: "It falls behind: what it shows is older and older.",
			Change: "Read all that waits before any of it is handled, and do nothing slow where the port is read.", Confidence: 0.95}, true
	}},
	{"parse.dialect", toldDialect},
	{"parse.talker", func(*Evidence, *tally, *Result) (diagnose.Finding, bool) {
		return diagnose.Finding{ID: "talker-prefix-fixed", Title: "It knows a message by its talker too: from another talker it passes the same message over.",
			Change: "Tell a message by its three letters, whatever the two before them are.", Confidence: 0.95}, false
	}},
	{"time.order", toldOrder},
	{"outage.reacquire", toldReturn},
	{"time.validity", toldSixty},
}

// toldDialect tells what of the spelling is not understood.
func toldDialect(_ *Evidence, _ *tally, r *Result) (f diagnose.Finding, ofTime bool) {
	f = diagnose.Finding{ID: "field-count-must-match", Title: "It passes over sentences with a further field at the end.",
		Change: "Take what fields there are: later editions add fields at the end, and older ones lack them.", Confidence: 0.9}
	switch {
	case strings.Contains(r.Summary, "small letters"):
		f = diagnose.Finding{ID: "checksum-letter-case", Title: "It passes over sentences whose checksum is written in small letters.",
			Change: "Read the checksum as a hexadecimal number: its digits may be written large or small.", Confidence: 0.95}
	case strings.Contains(r.Summary, "longer than 82") && !strings.Contains(r.Summary, "with a further field at the end"):
		f = diagnose.Finding{ID: "long-sentence-cut", Title: "It passes over sentences of more than 82 characters.",
			Change: "Give lines a buffer as long as the longest that receivers send, well over the 82 characters of the standard.", Confidence: 0.9}
		f.NotTold = []diagnose.Alternative{{ID: "field-count-must-match", Title: "It passes over sentences with a further field at the end."}}
	}
	return f, false
}

// toldOrder tells of epochs that come late, where stamps were right before the first of them.
func toldOrder(_ *Evidence, t *tally, _ *Result) (f diagnose.Finding, ofTime bool) {
	epochs := 0
	for _, k := range t.cmp.Book.Kinds {
		if k.Timed {
			epochs = max(epochs, k.Epochs())
		}
	}
	if t.notes.wrongBefore > 1 || t.stamps.n*10 > epochs*12 { // more than came: what is wrong is something else
		return f, false
	}
	f = diagnose.Finding{ID: "late-epoch-restamped", Title: "It gives epochs that come late another time than their own.",
		Change: "Take the time of each epoch from its own messages, in whatever order epochs come: do not count them, and do not move one that steps back.", Confidence: 0.95}
	if t.stamps.days.bad > 0 {
		f.ID, f.Title = "late-epoch-taken-for-midnight", "It takes a time of day that steps back for a new day."
		f.Change = "A new day begins where the time of day falls by most of a day, not where it steps back a little."
	}
	return f, true
}

// toldReturn tells how positions come back after an outage, or jump.
func toldReturn(_ *Evidence, t *tally, r *Result) (f diagnose.Finding, ofTime bool) {
	switch {
	case strings.Contains(r.Summary, "made up"):
		return f, false // is fitted
	case strings.Contains(r.Summary, "are off"):
		return diagnose.Finding{ID: "reacquisition-bridged", Title: "It slides over to the position after an outage or a jump, instead of showing it.",
			Change: "Show each position as it is measured; do not filter or limit it across an outage or a jump.", Confidence: 0.9}, true
	}
	return diagnose.Finding{ID: "return-held-back", Title: "It goes on without a position after an outage, though one is there again.",
		Change: "Take the first good position after an outage at once; let no state or time-out of the outage hold it back.", Confidence: 0.9}, true
}

// toldSixty tells of stamps that fall back by a minute where a second rounds up to 60.
func toldSixty(_ *Evidence, t *tally, _ *Result) (f diagnose.Finding, ofTime bool) {
	s := &t.stamps
	n := s.by[compare.StampWrong]
	back := n > 0 && math.Abs(s.lagLow+60) < 0.02 && math.Abs(s.lagHigh+60) < 0.02 && n*5 < s.n
	sixty := slices.ContainsFunc(t.stats.Refused, func(x observe.Refused) bool { return strings.Contains(x.Text, ":60") })
	if !back && !sixty {
		return f, false
	}
	return diagnose.Finding{ID: "rounding-makes-second-sixty", Title: "It rounds the second after the minute is split off, so that the last moments of a minute fall back to its beginning.",
		Change: "Round the whole time of day, and only then split it into hours, minutes and seconds.", Confidence: 0.95}, true
}

// told are the findings of the checks that tell them.
func told(rs []Result, ev *Evidence) (fs []diagnose.Finding) {
	t := ev.tallied()
	for _, x := range toldBy {
		i := slices.IndexFunc(rs, func(r Result) bool { return r.Check == x.check && r.Outcome == Failed })
		if i < 0 {
			continue
		}
		f, ofTime := x.tell(ev, t, &rs[i])
		if f.ID == "" {
			continue
		}
		f.Checks = []string{x.check}
		f.Evidence = append(f.Evidence, capital(rs[i].Summary)+".")
		n := int(rs[i].Worst)
		if rs[i].Unit != "" { // it measures
			n = rs[i].N / 2
		}
		fs = append(fs, diagnose.Told(f, max(1, n), ofTime))
	}
	return fs
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
