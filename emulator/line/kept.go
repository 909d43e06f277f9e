package line

import "bytes"

// keep is a copy of the message that outlasts the next pull. Only messages that a fault holds back are kept.
func keep(m *Message) Message {
	c := *m
	c.Bytes = bytes.Clone(m.Bytes)
	c.Edits = nil
	for _, e := range m.Edits {
		e.Put = bytes.Clone(e.Put)
		c.Edits = append(c.Edits, e)
	}
	return c
}
