package line

import "swellbench/scenarios/draws"

// newBadChecksum damages a sentence so that its checksum no longer fits: the digit before a decimal point, drawn from
// the seed, becomes another one. The sentence stays well formed and its values plausible, wrong by one unit at least:
// a reader that does not compare the checksum shows a value that nobody sent. Where there is no such digit, or where
// another fault has spoiled the text before so that the checksum would fit again, the checksum digits themselves are
// made wrong.
//
// A message that is no sentence with a checksum is left alone and not marked. Source of the checksum: IEC 61162-1,
// exclusive or of all characters between the delimiter $ or ! and *.
func newBadChecksum(p Params) Fault {
	return picked{"bad-checksum", p, func(_ *Message, b []byte, src *draws.Source) ([]byte, bool) {
		s, ok := sentenceOf(b)
		if !ok || s.star < 0 {
			return b, false
		}
		star := s.star
		body := b[s.start+1 : star]
		if n := unitsDigits(body, -1); n > 0 {
			i := unitsDigits(body, src.IntN(n))
			body[i] = '0' + (body[i]-'0'+byte(1+src.IntN(9)))%10
		}
		var sum byte
		for _, c := range body {
			sum ^= c
		}
		if sum == hexValue(b[star+1])<<4|hexValue(b[star+2]) {
			const digits = "0123456789ABCDEF"
			sum ^= byte(1 + src.IntN(255))
			b[star+1], b[star+2] = digits[sum>>4], digits[sum&15]
		}
		return b, true
	}}
}

// unitsDigits gives the place of the n-th digit that stands before a decimal point; with n < 0 it counts them. A time
// of day, six digits, is left out: it would move the sentence to another epoch instead of spoiling a value.
func unitsDigits(b []byte, n int) int {
	count, run := 0, 0
	for i, c := range b {
		switch {
		case c >= '0' && c <= '9':
			run++
			continue
		case c == '.' && run > 0 && run < 6:
			if count == n {
				return i - 1
			}
			count++
		}
		run = 0
	}
	return count
}

func hexValue(c byte) byte {
	switch {
	case c <= '9':
		return c - '0'
	case c <= 'F':
		return c - 'A' + 10
	default:
		return c - 'a' + 10
	}
}

func isHex(c byte) bool {
	return c >= '0' && c <= '9' || c >= 'A' && c <= 'F' || c >= 'a' && c <= 'f'
}
