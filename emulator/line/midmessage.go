package line

import "swellbench/scenarios/draws"

// newMidMessageStart takes the beginning of the message away, at least one byte and not all: the device was sending
// already when the consumer began to listen. It is for the first message of a run, and hurts one unless told otherwise. A
// message of one byte is not sent at all.
func newMidMessageStart(p Params) Fault {
	return picked{"mid-message-start", p, func(_ *Message, b []byte, src *draws.Source) ([]byte, bool) {
		return remove(b, 0, min(1+src.IntN(len(b)-1), len(b))), true
	}}
}
