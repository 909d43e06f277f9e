package emulator

import "bytes"

// EchoKind is the kind of what is sent back of a consumer's bytes.
const EchoKind = "ECHO"

// An echo is a responder that sends back what it hears, while it lasts. It rules no messages.
type echo struct {
	spans [][2]float64 // from, until, in s of scenario time; until 0 is the end of the run
	now   func() float64
	heard []Answer
}

// Hear takes the next bytes.
func (e *echo) Hear(p []byte) {
	t := e.now()
	for _, s := range e.spans {
		if t >= s[0] && (s[1] == 0 || t < s[1]) {
			e.heard = append(e.heard, Answer{Kind: EchoKind, Bytes: bytes.Clone(p)})
			return
		}
	}
}

// Next gives what comes back.
func (e *echo) Next() (Answer, bool) {
	if len(e.heard) == 0 {
		return Answer{}, false
	}
	a := e.heard[0]
	e.heard = e.heard[1:]
	return a, true
}

// Streaming is true: the stream sends of itself.
func (e *echo) Streaming() bool { return true }
