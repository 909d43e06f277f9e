package line

import "swellbench/scenarios/draws"

// newLostByte takes Count bytes out of the message, each drawn from the seed among those left, the line end included.
// Nothing is left of a message that is no longer than that.
func newLostByte(p Params) Fault {
	return picked{"lost-byte", p, func(_ *Message, b []byte, src *draws.Source) ([]byte, bool) {
		for range min(p.Count, len(b)) {
			b = remove(b, src.IntN(len(b)), 1)
		}
		return b, true
	}}
}
