package line

import "swellbench/scenarios/draws"

// newOverLong adds a field of letters to the sentence until it has Count characters, from its delimiter to its line end,
// and the checksum fits. IEC 61162-1 allows 82. A sentence that is as long already is left alone.
func newOverLong(p Params) Fault {
	return picked{"over-long", p, onSentence(true, func(b []byte, s place, src *draws.Source) ([]byte, bool) {
		n := p.Count - (len(b) - s.start)
		if n <= 0 {
			return b, false
		}
		star := s.star
		tail := [8]byte{}
		rest := append(tail[:0], b[star:]...)
		b = append(b[:star], ',')
		for range n - 1 {
			b = append(b, byte('A'+src.IntN(26)))
		}
		return append(b, rest...), true
	})}
}
