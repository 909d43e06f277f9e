package line

import (
	"fmt"
	"io"
	"iter"
)

// Transmit sends the messages in virtual time: it writes the bytes that leave to w and says of each message, in
// order, when it left or why not. It waits for nothing and allocates nothing per message.
//
// Messages come in order of their due times. Sent may be nil. Errors: of the settings, of w, of msgs, and of a due
// time that is not a number; each ends the run.
func Transmit(s Settings, msgs iter.Seq2[Message, error], w io.Writer, sent func(Sent)) error {
	if err := s.Validate(); err != nil {
		return err
	}
	table := newTimetable(s)
	for m, err := range msgs {
		if err == nil {
			err = checkDue(&m)
		}
		if err != nil {
			return fmt.Errorf("transmit: %w", err)
		}
		out := table.place(m)
		if out.Dropped == "" && len(m.Bytes) > 0 {
			if _, err := w.Write(m.Bytes); err != nil {
				return fmt.Errorf("transmit: message %s due at %g s: %w", m.Kind, m.Due, err)
			}
		}
		if sent != nil {
			sent(out)
		}
	}
	return nil
}

// place puts a message on the line and says when it leaves, or that it does not.
func (t *timetable) place(m Message) Sent {
	t.clock = max(t.clock, m.Due)
	out := Sent{Message: m, First: m.Due, Last: m.Due}
	if len(m.Bytes) == 0 {
		return out
	}
	before, ok := t.admit(len(m.Bytes))
	if !ok {
		out.Dropped, out.Lost = QueueFull, len(m.Bytes)
		return out
	}
	out.First, out.Last = t.end(before), t.end(before+int64(len(m.Bytes)))
	return out
}
