package nmea2000

import (
	"fmt"
	"strconv"
	"time"

	"swellbench/emulator/wire"
)

// A describer says line by line what stands in a stream.
type describer struct{ assembler Assembler }

func (d *describer) describe(line []byte) (kind string, fields []wire.Field) {
	l, err := ParseLine(line)
	if err != nil {
		return "", []wire.Field{{Name: "line", Raw: string(line), Note: err.Error()}}
	}
	kind, row, payload, err := d.assembler.take(&l)
	fields = describeFrame(&l, row)
	switch {
	case err != nil:
		fields[len(fields)-1].Note = err.Error()
	case row != nil && payload != nil:
		fields = append(fields, row.Describe(payload)...)
	}
	return kind, fields
}

// describeFrame says what the frame is, but for the message in it.
func describeFrame(l *Line, row *Row) []wire.Field {
	digits := 3
	if l.Extended {
		digits = 8
	}
	raw := string(appendHex(nil, l.ID, digits))
	var fields []wire.Field
	if l.Extended {
		id := ParseID(l.ID)
		title := ""
		if row != nil {
			title = row.Title
		}
		fields = append(fields,
			wire.Field{Name: "PGN", Raw: raw, Value: strconv.Itoa(int(id.PGN)), Note: title},
			number("priority", int(id.Priority)), number("source address", int(id.Source)), number("destination", int(id.Destination)))
	} else {
		fields = append(fields, wire.Field{Name: "identifier", Raw: raw, Value: strconv.Itoa(int(l.ID))})
	}
	if l.Stamped {
		fields = append(fields, wire.Field{Name: "time stamp", Raw: string(appendHex(nil, uint32(l.StampMS), 4)), Value: strconv.Itoa(int(l.StampMS)), Unit: "ms"})
	}
	data := l.Bytes()
	switch {
	case l.Remote:
		fields = append(fields, wire.Field{Name: "remote request", Value: strconv.Itoa(int(l.Len)), Unit: "bytes"})
	case row != nil && row.Fast && len(data) > 0:
		fields = append(fields, number("sequence", int(data[0]>>5)))
		f := number("frame", int(data[0]&0x1F))
		if f.Value == "0" && len(data) > 1 {
			f.Note = fmt.Sprintf("of a fast packet of %d bytes", data[1])
		}
		fields = append(fields, f)
	case row == nil:
		fields = append(fields, wire.Field{Name: "data", Raw: hexOf(data)})
	}
	return fields
}

func number(name string, n int) wire.Field { return wire.Field{Name: name, Value: strconv.Itoa(n)} }

func hexOf(b []byte) string {
	out := make([]byte, 0, 2*len(b))
	for _, c := range b {
		out = append(out, upper[c>>4], upper[c&15])
	}
	return string(out)
}

// Describe says field by field what the payload of the message says. Reserved and spare bits are left out where they are
// as they should be.
func (w *Row) Describe(payload []byte) []wire.Field {
	var fields []wire.Field
	for i := range w.Fields {
		if f, ok := w.Fields[i].describe(payload); ok {
			fields = append(fields, f)
		}
	}
	rest := payload[min(w.Length, len(payload)):]
	for k := range w.repeats(payload) {
		for i := range w.Repeat {
			f, _ := w.Repeat[i].describe(rest)
			f.Name = fmt.Sprintf("%s %d", f.Name, k+1)
			fields = append(fields, f)
		}
		rest = rest[w.repeatLength():]
	}
	if len(rest) > 0 {
		fields = append(fields, wire.Field{Name: "beyond", Raw: hexOf(rest), Note: "more than the message has in the database"})
	}
	return fields
}

// repeatLength is the bytes of the fields that repeat.
func (w *Row) repeatLength() int {
	last := w.Repeat[len(w.Repeat)-1]
	return (last.Bit + last.Width) / 8
}

// repeats is how many times the repeated fields stand in the payload, whole.
func (w *Row) repeats(payload []byte) int {
	for i := range w.Fields {
		if f := &w.Fields[i]; w.Repeat != nil && f.Name == w.Times {
			n, ok := f.code(payload)
			if !ok || len(payload) <= w.Length {
				return 0
			}
			return min(n, (len(payload)-w.Length)/w.repeatLength())
		}
	}
	return 0
}

// describe says what the field says, or false where there is nothing to say: reserved bits as they should be, or bits
// that the payload does not have.
func (f *Field) describe(payload []byte) (wire.Field, bool) {
	raw, state := f.Raw(payload)
	if f.Bit+f.Width > 8*len(payload) {
		return wire.Field{Name: f.Name, Note: "the message ends before it"}, f.Type < Reserved
	}
	out := wire.Field{Name: f.Name, Raw: fmt.Sprintf("%0*X", (f.Width+3)/4, uint64(raw)&(1<<f.Width-1)), Unit: f.Unit}
	switch {
	case f.Type == Reserved:
		out.Note = "reserved bits are not all ones"
		return out, raw != f.top()
	case f.Type == Spare:
		out.Note = "spare bits are not all zeros"
		return out, raw != 0
	case state != Known:
		out.Note = state.String()
	case f.Type == Lookup && raw < int64(len(f.Words)) && f.Words[raw] != "":
		out.Value = f.Words[raw]
	default:
		out.Value = f.decimal(raw)
		if f.Type == Lookup && f.Words != nil {
			out.Note = "a code without a word"
		}
	}
	if f.Unit == "d" && state == Known {
		out.Note = time.Unix(raw*86400, 0).UTC().Format(time.DateOnly)
	}
	return out, true
}

// decimal is the value of the raw integer, exactly.
func (f *Field) decimal(raw int64) string {
	if f.Decimals == 0 {
		return strconv.FormatInt(raw, 10)
	}
	n := uint64(raw)
	sign := ""
	if raw < 0 {
		n, sign = -n, "-"
	}
	s := fmt.Sprintf("%0*d", f.Decimals+1, n*uint64(max(f.Factor, 1)))
	return sign + s[:len(s)-f.Decimals] + "." + s[len(s)-f.Decimals:]
}
