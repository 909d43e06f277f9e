package line

import "swellbench/scenarios/draws"

// newNonASCII makes one character between delimiter and * a byte from 80 to FF, both drawn from the seed; the checksum fits,
// so that nothing but the byte is wrong. IEC 61162-1 allows 20 to 7E.
func newNonASCII(p Params) Fault {
	return picked{"non-ascii", p, onSentence(true, func(b []byte, s place, src *draws.Source) ([]byte, bool) {
		if s.star == s.start+1 {
			return b, false
		}
		b[s.start+1+src.IntN(s.star-s.start-1)] = byte(0x80 + src.IntN(0x80))
		return b, true
	})}
}
