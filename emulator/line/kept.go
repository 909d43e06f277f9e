package line

import "bytes"

// keep is a copy of the message that outlasts the next pull. Only messages that a fault holds back are kept.
func keep(m *Message) Message {
	c := *m
	c.Bytes = bytes.Clone(m.Bytes)
	c.Edits = keepEdits(m.Edits)
	return c
}

func keepEdits(edits []Edit) []Edit {
	if len(edits) == 0 {
		return nil
	}
	kept := make([]Edit, len(edits))
	for i, e := range edits {
		e.Put = bytes.Clone(e.Put)
		kept[i] = e
	}
	return kept
}
