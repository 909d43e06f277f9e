package line

import (
	"bytes"
	"fmt"
	"iter"
)

// An Edit is what one fault did to the bytes of a message: Cut bytes from At on became Put.
type Edit struct {
	Fault string
	At    int
	Cut   int
	Put   []byte
}

// editOf is what makes after of before. It shares its bytes with after.
func editOf(fault string, before, after []byte) Edit {
	at := 0
	for at < len(before) && at < len(after) && before[at] == after[at] {
		at++
	}
	tail := 0
	for tail < len(before)-at && tail < len(after)-at && before[len(before)-1-tail] == after[len(after)-1-tail] {
		tail++
	}
	return Edit{fault, at, len(before) - at - tail, after[at : len(after)-tail]}
}

// apply does what the edit says to b.
func (e Edit) apply(b []byte) ([]byte, error) {
	if e.At < 0 || e.Cut < 0 || e.At > len(b) || e.Cut > len(b)-e.At {
		return b, fmt.Errorf("%s cuts %d bytes at %d of a message of %d bytes", e.Fault, e.Cut, e.At, len(b))
	}
	tail := bytes.Clone(b[e.At+e.Cut:])
	return append(append(b[:e.At], e.Put...), tail...), nil
}

// moveBreak keeps the break at its byte when an edit moves that, and takes it away with it.
func (m *Message) moveBreak(e Edit) {
	switch {
	case m.Break.S == 0 || m.Break.At < e.At:
	case m.Break.At < e.At+e.Cut:
		m.Break = Break{}
	case e.Fault != "break": // which has put its byte there just now
		m.Break.At += len(e.Put) - e.Cut
	}
}

// Numbered counts the device's own messages, before any fault: see Message.Number.
func Numbered(in iter.Seq2[Message, error]) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		n := 0
		for m, err := range in {
			if err == nil {
				m.Number = n
				n++
			}
			if !yield(m, err) {
				return
			}
		}
	}
}

// replayWindow is how many of the device's messages are kept for a log that names them again, or later.
const replayWindow = 4096

// Replay gives the messages again that a log tells of, in its order: the clean ones, as the device made them before any
// fault, changed as the log says. So it is seen that a log is complete, and a run can be had again without the faults that
// made it. The bytes are valid until the next message is pulled.
//
// It keeps 4096 clean messages, and errors out where the log names one from before those, or one that was never made.
func Replay(clean iter.Seq2[Message, error], log iter.Seq2[Sent, error]) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		next, stop := iter.Pull2(Numbered(clean))
		defer stop()
		var window [][]byte // of message i at i % replayWindow
		made := 0
		var buf []byte
		for s, err := range log {
			m := s.Message
			buf = buf[:0]
			if err == nil && m.Number >= 0 {
				for err == nil && made <= m.Number {
					c, bad, ok := next()
					switch {
					case bad != nil:
						err = bad
					case !ok:
						err = fmt.Errorf("the device made %d messages", made)
					case made < replayWindow:
						window = append(window, bytes.Clone(c.Bytes))
						made++
					default:
						i := made % replayWindow
						window[i] = append(window[i][:0], c.Bytes...)
						made++
					}
				}
				if err == nil && m.Number < made-replayWindow {
					err = fmt.Errorf("only the last %d messages are kept", replayWindow)
				}
				if err == nil {
					buf = append(buf, window[m.Number%replayWindow]...)
				}
			}
			for _, e := range m.Edits {
				if err == nil {
					buf, err = e.apply(buf)
				}
			}
			m.Bytes = buf
			if err != nil {
				yield(Message{}, fmt.Errorf("replay: message %d, %s due at %g s: %w", m.Number, m.Kind, m.Due, err))
				return
			}
			if !yield(m, nil) {
				return
			}
		}
	}
}
