package line

import "swellbench/scenarios/draws"

// newBreak holds the line low for For within the message, between two bytes drawn from the seed; then the message goes on. A
// receiver reads one 00 of it, which is among the message's bytes. A message has one break at most.
func newBreak(p Params) Fault {
	return picked{"break", p, func(m *Message, b []byte, src *draws.Source) ([]byte, bool) {
		if m.Break.S > 0 {
			return b, false
		}
		at := min(1+src.IntN(len(b)-1), len(b))
		m.Break = Break{At: at, S: p.For}
		return insert(b, at, 0), true
	}}
}
