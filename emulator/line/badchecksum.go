package line

import (
	"bytes"

	"swellbench/scenarios/draws"
)

// newBadChecksum makes the two checksum digits of a sentence wrong, drawn from the seed among the 255 wrong values.
//
// The right value is worked out from the sentence as it is, so that the digits are wrong even where another fault
// has spoiled the text before. A message that is no sentence with a checksum is left alone and not marked.
// Source of the checksum: IEC 61162-1, exclusive or of all characters between the delimiter $ or ! and *.
func newBadChecksum(p Params) Fault {
	return picked{"bad-checksum", p, func(b []byte, seed uint64, k int) ([]byte, bool) {
		star := bytes.LastIndexByte(b, '*')
		if star < 0 || star+3 > len(b) || !isHex(b[star+1]) || !isHex(b[star+2]) {
			return b, false
		}
		start := bytes.LastIndexAny(b[:star], "$!")
		if start < 0 {
			return b, false
		}
		var sum byte
		for _, c := range b[start+1 : star] {
			sum ^= c
		}
		src := draws.At(seed, "fault/bad-checksum", k)
		sum ^= byte(1 + src.IntN(255))
		const digits = "0123456789ABCDEF"
		b[star+1], b[star+2] = digits[sum>>4], digits[sum&15]
		return b, true
	}}
}

func isHex(c byte) bool {
	return c >= '0' && c <= '9' || c >= 'A' && c <= 'F' || c >= 'a' && c <= 'f'
}
