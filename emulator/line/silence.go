package line

// newSilence sends nothing of the message. It stays in the stream, without bytes, so that the sent-log can tell.
func newSilence(p Params) Fault {
	return picked{"silence", p, func([]byte, uint64, int) ([]byte, bool) { return nil, true }}
}
