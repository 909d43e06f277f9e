package line

import (
	"fmt"
	"io"
	"iter"
	"math"
)

// Transmit sends the messages in virtual time: it writes the bytes that leave to w and says of each message, in
// order, when it left or why not. It waits for nothing and allocates nothing per message.
//
// Messages come in order of their due times. Sent may be nil. Errors: of the settings, of w, of msgs, and of a message
// that cannot be sent as it asks; each ends the run.
func Transmit(s Settings, msgs iter.Seq2[Message, error], w io.Writer, sent func(Sent)) error {
	return TransmitTo(s, msgs, TransmitOptions{}, func(_ float64, p []byte) error {
		_, err := w.Write(p)
		return err
	}, sent)
}

// TransmitOptions are the options of [TransmitTo]; the zero value is a consumer that is set as the device is.
type TransmitOptions struct {
	// Consumer, if not nil, says how the consumer has set its side at a scenario time, in s; false while it has not. It is
	// asked at each step of a hand-over, in order of time. What it reads is what a [Receiver] of those settings makes
	// of the line.
	Consumer func(at float64) (Settings, bool)
	// Policy is what the consumer's driver hands on for bytes with errors.
	Policy Policy
}

// TransmitTo is [Transmit] to a consumer that may be set otherwise than the device, and that is told when: deliver gets
// what arrives, in order, with the scenario time, in s, when it can be read, not before: bytes of one message together
// where nothing holds them back. The bytes are valid during the call.
func TransmitTo(s Settings, msgs iter.Seq2[Message, error], o TransmitOptions, deliver func(at float64, p []byte) error, sent func(Sent)) error {
	if err := s.Validate(); err != nil {
		return err
	}
	table := newTimetable(s)
	c := newChannel(table, s, o.Consumer, o.Policy)
	hand := func(m *Message, until float64) error {
		for p, at, ok := c.next(until); ok; p, at, ok = c.next(until) {
			if err := deliver(at, p); err != nil {
				return failed("transmit", m, err)
			}
		}
		return nil
	}
	settle := func(m *Message, until float64) error {
		for at, ok := c.settling(until); ok; at, ok = c.settling(until) {
			c.settle(at)
			if err := hand(m, at); err != nil {
				return err
			}
		}
		return nil
	}
	var last Message
	for m, err := range msgs {
		if err == nil && m.Idle {
			continue
		}
		if err == nil {
			err = checkMessage(&m)
		}
		if err != nil {
			return fmt.Errorf("transmit: %w", err)
		}
		out := table.place(m)
		if out.Dropped == "" && (len(m.Bytes) > 0 || m.HangUpS > 0) {
			if err := settle(&m, out.First); err != nil {
				return err
			}
			c.begin(&out)
		}
		switch size := int64(len(m.Bytes)); {
		case out.Dropped != "" || size == 0:
		case c.direct(&out):
			if err := deliver(table.byteEnd(size-1), m.Bytes); err != nil {
				return failed("transmit", &m, err)
			}
		default:
			for done := int64(0); done < size; {
				if err := settle(&m, table.byteStart(done)); err != nil {
					return err
				}
				next := table.stepTo(done, size)
				out.lose(HungUp, nil, c.carry(&out, done, next))
				if err := hand(&m, table.byteEnd(next-1)); err != nil {
					return err
				}
				done = next
			}
			out.lose(SpeedMismatch, nil, c.end(&out))
		}
		if sent != nil {
			sent(out)
		}
		last = m
	}
	return settle(&last, math.Inf(1))
}

// failed is an error of what takes the bytes.
func failed(step string, m *Message, err error) error {
	return fmt.Errorf("%s: message %s due at %g s: %w", step, m.Kind, m.Due, err)
}
