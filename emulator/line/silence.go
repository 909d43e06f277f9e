package line

import "swellbench/scenarios/draws"

// newSilence sends nothing of the message. It stays in the stream, without bytes, so that the sent-log can tell.
func newSilence(p Params) Fault {
	return picked{"silence", p, func(*Message, []byte, *draws.Source) ([]byte, bool) { return nil, true }}
}
