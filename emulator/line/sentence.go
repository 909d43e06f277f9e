package line

import (
	"bytes"

	"swellbench/scenarios/draws"
)

// A place is where the last sentence of a message is. Source: IEC 61162-1: delimiter $ or !, fields after commas, the
// checksum (exclusive or of all characters between delimiter and *) as two hexadecimal digits after *, CR LF.
type place struct {
	start int // its $ or !
	star  int // the * before its checksum, -1 without one
	end   int // its line end
}

// sentenceOf finds the last sentence of a message. A message is text where it begins with $, with ! or with the \ of a TAG
// block; frames and datagrams of other families do not, and are left alone.
func sentenceOf(b []byte) (s place, ok bool) {
	if len(b) == 0 || b[0] != '$' && b[0] != '!' && b[0] != '\\' {
		return s, false
	}
	s.end = len(bytes.TrimRight(b, "\r\n"))
	s.start = bytes.LastIndexAny(b[:s.end], "$!")
	s.star = s.end - 3
	if s.star <= s.start || b[s.star] != '*' || !isHex(b[s.star+1]) || !isHex(b[s.star+2]) {
		s.star = -1
	}
	return s, s.start >= 0
}

// onSentence makes a hurter of what is done to a sentence with a checksum. What hurt returns is the message with its
// body, up to the *, changed and a checksum, which is made to fit, where fix says so.
func onSentence(fix bool, hurt func(b []byte, s place, src *draws.Source) ([]byte, bool)) hurter {
	return func(_ *Message, b []byte, src *draws.Source) ([]byte, bool) {
		s, ok := sentenceOf(b)
		if !ok || s.star < 0 {
			return b, false
		}
		out, ok := hurt(b, s, src)
		if ok && fix {
			fixChecksum(out, s.start)
		}
		return out, ok
	}
}

// fixChecksum makes the checksum of the sentence that begins at start and ends the message fit.
func fixChecksum(b []byte, start int) {
	const digits = "0123456789ABCDEF"
	star := len(bytes.TrimRight(b, "\r\n")) - 3
	var sum byte
	for _, c := range b[start+1 : star] {
		sum ^= c
	}
	b[star+1], b[star+2] = digits[sum>>4], digits[sum&15]
}

// insert puts p into b at i.
func insert(b []byte, i int, p ...byte) []byte {
	n := len(b)
	b = append(b, p...)
	copy(b[i+len(p):], b[i:n])
	copy(b[i:], p)
	return b
}

// remove takes n bytes out of b at i.
func remove(b []byte, i, n int) []byte { return append(b[:i], b[i+n:]...) }
