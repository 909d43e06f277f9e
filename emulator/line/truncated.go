package line

import (
	"bytes"

	"swellbench/scenarios/draws"
)

// newTruncated ends the message early: where, is drawn from the seed; at least its first byte goes out, and at least one
// byte before the line end does not. A message of one byte is not sent at all.
func newTruncated(p Params) Fault {
	return picked{"truncated", p, func(_ *Message, b []byte, src *draws.Source) ([]byte, bool) {
		end := len(bytes.TrimRight(b, "\r\n")) - 1
		if end < 1 {
			return b[:0], true
		}
		return b[:1+src.IntN(end)], true
	}}
}
