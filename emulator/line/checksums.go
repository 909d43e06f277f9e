package line

import "swellbench/scenarios/draws"

// newLowerCaseChecksum writes the letters of the checksum small. A checksum without letters stays, and its sentence is
// not marked. IEC 61162-1 wants capitals; many readers take both.
func newLowerCaseChecksum(p Params) Fault {
	return picked{"lower-case-checksum", p, onSentence(false, func(b []byte, s place, _ *draws.Source) ([]byte, bool) {
		changed := false
		for i := s.star + 1; i < s.end; i++ {
			if b[i] >= 'A' && b[i] <= 'F' {
				b[i] += 'a' - 'A'
				changed = true
			}
		}
		return b, changed
	})}
}

// newMissingChecksum ends the sentence before the * of its checksum; the line end stays.
func newMissingChecksum(p Params) Fault {
	return picked{"missing-checksum", p, onSentence(false, func(b []byte, s place, _ *draws.Source) ([]byte, bool) {
		return remove(b, s.star, s.end-s.star), true
	})}
}
