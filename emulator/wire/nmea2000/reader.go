package nmea2000

import (
	"fmt"
	"strconv"

	"swellbench/emulator/wire"
)

// A Reader reads lines of SLCAN into readings, and puts fast packets together across them. The zero value is ready. Its
// memory is fixed. It is not for several goroutines.
type Reader struct {
	assembler Assembler
	line      Line // kept here, not on the heap for each
	sid       uint8
	hasSID    bool
}

// SID is the sequence identifier of the message that [Reader.Read] gave last, which ties those together that one source
// sends of one moment, and its source. It has none if its PGN has no such field, or if the sender does not use it.
func (d *Reader) SID() (source, sid uint8, ok bool) {
	return ParseID(d.line.ID).Source, d.sid, d.hasSID
}

// Read sets in r what the line of one frame says, as [wire.Family] has it. The kind is the PGN in digits, "can" for a
// frame that is none of NMEA 2000. A frame of a fast packet that is not the last one carries nothing yet.
func (d *Reader) Read(line []byte, r *wire.Reading) (kind string, carries bool, err error) {
	d.hasSID = false
	if d.line, err = ParseLine(line); err != nil {
		return "", false, err
	}
	kind, row, payload, err := d.assembler.take(&d.line)
	if err != nil {
		return kind, false, fmt.Errorf("PGN %s: %w", kind, err)
	}
	if row == nil || payload == nil {
		return kind, false, nil
	}
	if row.Fields[0].Name == sid.Name && len(payload) > 0 {
		d.sid, d.hasSID = payload[0], payload[0] < sidCodes
	}
	return kind, row.Read(payload, r), nil
}

// kindOfOther is what frames without a PGN are called: 11-bit identifiers and remote frames.
const kindOfOther = "can"

// take gives the row of a frame, nil if the table has none, and the payload if it is whole with it.
func (a *Assembler) take(l *Line) (kind string, row *Row, payload []byte, err error) {
	if !l.Extended || l.Remote {
		return kindOfOther, nil, nil, nil
	}
	id := ParseID(l.ID)
	row = rowOfPGN(id.PGN)
	switch {
	case row == nil:
		return strconv.Itoa(int(id.PGN)), nil, nil, nil
	case row.Fast:
		payload, err = a.Push(id.Source, id.PGN, l.Bytes())
		return row.Type, row, payload, err
	}
	return row.Type, row, l.Bytes(), nil
}
