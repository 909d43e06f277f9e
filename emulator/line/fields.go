package line

import (
	"bytes"

	"swellbench/scenarios/draws"
)

// newMissingField takes a field and the comma before it out of the sentence, which one is drawn from the seed. All after it
// move up, and the checksum fits. A sentence without fields is left alone.
func newMissingField(p Params) Fault {
	return picked{"missing-field", p, onSentence(true, func(b []byte, s place, src *draws.Source) ([]byte, bool) {
		n := bytes.Count(b[s.start:s.star], []byte{','})
		if n == 0 {
			return b, false
		}
		from := nthComma(b, s, src.IntN(n))
		to := from + 1
		for to < s.star && b[to] != ',' {
			to++
		}
		return remove(b, from, to-from), true
	})}
}

// newExtraField puts an empty field into the sentence, where is drawn from the seed: before any of its fields or behind the
// last. All after it move down, and the checksum fits.
func newExtraField(p Params) Fault {
	return picked{"extra-field", p, onSentence(true, func(b []byte, s place, src *draws.Source) ([]byte, bool) {
		n := bytes.Count(b[s.start:s.star], []byte{','})
		return insert(b, nthComma(b, s, src.IntN(n+1)), ','), true
	})}
}

// nthComma is the place of comma n (0, 1, ...) of a sentence; of the * where it has no more.
func nthComma(b []byte, s place, n int) int {
	for i := s.start; i < s.star; i++ {
		if b[i] == ',' {
			if n == 0 {
				return i
			}
			n--
		}
	}
	return s.star
}
