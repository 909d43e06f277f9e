package line

import "swellbench/scenarios/draws"

// newDoubledByte sends Count bytes of the message twice, each drawn from the seed, the line end included.
func newDoubledByte(p Params) Fault {
	return picked{"doubled-byte", p, func(_ *Message, b []byte, src *draws.Source) ([]byte, bool) {
		for range p.Count {
			i := src.IntN(len(b))
			b = insert(b, i, b[i])
		}
		return b, true
	}}
}
