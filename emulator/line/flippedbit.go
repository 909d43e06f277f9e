package line

import "swellbench/scenarios/draws"

// newFlippedBit inverts one bit of the message, drawn from the seed among all its bits, the line end included.
//
// A sentence hurt so may still be acceptable to a correct reader: a flip can hit the line end, or turn a checksum
// digit into its small letter. A check takes it as "may arrive or not".
func newFlippedBit(p Params) Fault {
	return picked{"flipped-bit", p, func(_ *Message, b []byte, src *draws.Source) ([]byte, bool) {
		bit := src.IntN(8 * len(b))
		b[bit/8] ^= 1 << (bit % 8)
		return b, true
	}}
}
