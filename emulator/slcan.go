package emulator

import (
	"swellbench/emulator/wire/nmea2000"
)

// A canResponder is the serial CAN adapter of a stream of NMEA 2000: it answers the commands of its consumer, and lets
// frames through while the channel is open. A stream that sends at once begins with an open channel.
type canResponder struct {
	adapter nmea2000.Adapter
	answers []byte
}

func newCANResponder(_ *stream, streaming bool) Responder {
	c := &canResponder{}
	if streaming {
		c.adapter.Handle([]byte("O\r"), nil)
	}
	return c
}

func (c *canResponder) Hear(p []byte) {
	if len(c.answers) < maxAnswerBytes {
		c.answers = c.adapter.Handle(p, c.answers)
	} else {
		c.adapter.Handle(p, nil)
	}
}

// maxAnswerBytes bounds what is kept for a consumer that asks faster than it can be answered.
const maxAnswerBytes = 4096

func (c *canResponder) Next() (Answer, bool) {
	if len(c.answers) == 0 {
		return Answer{}, false
	}
	a := Answer{Kind: "slcan", Bytes: append([]byte(nil), c.answers...)}
	c.answers = c.answers[:0]
	return a, true
}

func (c *canResponder) Streaming() bool { return c.adapter.Flowing() }

// Dress adds the time stamps that the consumer has asked for.
func (c *canResponder) Dress(dst, message []byte, t float64) []byte {
	return c.adapter.Send(dst, message, uint64(max(t, 0)*1000))
}
