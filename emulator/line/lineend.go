package line

import "swellbench/scenarios/draws"

// newWrongLineEnd ends the last sentence with LF alone, with CR alone, or not at all. IEC 61162-1 wants CR LF.
func newWrongLineEnd(p Params) Fault {
	return picked{"wrong-line-end", p, lineEnd(map[string]string{"lf": "\n", "cr": "\r"}[p.Ending])}
}

// newMerged takes the line end away: the next message follows on the same line. That one is not hurt: its $ begins it.
func newMerged(p Params) Fault {
	return picked{"merged-messages", p, lineEnd("")}
}

func lineEnd(end string) hurter {
	return func(_ *Message, b []byte, _ *draws.Source) ([]byte, bool) {
		s, ok := sentenceOf(b)
		if !ok || string(b[s.end:]) == end {
			return b, false
		}
		return append(b[:s.end], end...), true
	}
}
