package mavlink

import (
	"encoding/hex"
	"fmt"
	"math"
	"strconv"
	"strings"

	"swellbench/emulator/wire"
)

// describe says what a whole frame says, field by field.
func describe(message []byte) (kind string, fields []wire.Field) {
	f, err := split(message)
	if err != nil {
		return f.name(), []wire.Field{{Name: "frame", Raw: hex.EncodeToString(message), Note: err.Error()}}
	}
	number := func(name string, raw []byte, value int, note string) {
		fields = append(fields, wire.Field{Name: name, Raw: hex.EncodeToString(raw), Value: strconv.Itoa(value), Note: note})
	}
	number("version", message[:1], int(f.Version), "")
	number("length", message[1:2], int(message[1]), f.lengthNote())
	at := 2
	if f.Version == V2 {
		note := ""
		if f.Incompatible&flagSigned != 0 {
			note = "signed"
		}
		number("incompatibility flags", message[2:3], int(f.Incompatible), note)
		number("compatibility flags", message[3:4], int(f.Compatible), "")
		at = 4
	}
	number("sequence", message[at:at+1], int(f.Sequence), "")
	number("system", message[at+1:at+2], int(f.System), "")
	number("component", message[at+2:at+3], int(f.Component), "")
	head := header1
	if f.Version == V2 {
		head = header2
	}
	number("message id", message[at+3:head], int(f.id), f.known.name)
	if f.row == nil {
		fields = append(fields, wire.Field{Name: "payload", Raw: hex.EncodeToString(f.payload), Note: "its fields are not known here"})
	} else {
		p := f.full()
		for i := range f.row.Fields {
			d := &f.row.Fields[i]
			if d.Extension && d.Offset >= len(f.payload) || f.Version == V1 && d.Extension {
				continue
			}
			fields = append(fields, d.describe(f.row.Type, p[d.Offset:d.Offset+d.Bytes()]))
		}
	}
	end := head + len(f.payload)
	fields = append(fields, wire.Field{Name: "checksum", Raw: hex.EncodeToString(message[end : end+checksumBytes]), Value: fmt.Sprintf("%04X", le.Uint16(message[end:]))})
	if f.Incompatible&flagSigned != 0 {
		fields = append(fields, wire.Field{Name: "signature", Raw: hex.EncodeToString(message[end+checksumBytes : f.total]), Note: "not checked"})
	}
	return f.known.name, fields
}

func (f *packet) lengthNote() string {
	n, base, full := len(f.payload), int(f.known.base), int(f.known.full)
	switch {
	case f.Version == V1 && n > base:
		return "with extension fields, which version 1 does not have; they are passed over"
	case f.Version == V1:
	case n > full:
		return "more than is known of the message; the rest is passed over"
	case n == 0:
		return "cut to nothing; one zero should stay"
	case n > 1 && f.payload[n-1] == 0:
		return "zeros at the end not removed"
	case n < full:
		return fmt.Sprintf("of %d; zeros at the end removed", full)
	}
	return ""
}

// describe says what the bytes of a field say.
func (d *FieldDef) describe(message string, p []byte) wire.Field {
	out := wire.Field{Name: d.Name, Raw: hex.EncodeToString(p), Unit: d.Unit}
	if d.Length > 0 { // the only arrays are of floats
		var all []string
		zero := true
		for i := 0; i < len(p); i += d.Size {
			x := getFloat(p[i:])
			zero = zero && x == 0
			all = append(all, strconv.FormatFloat(float64(x), 'g', -1, 32))
		}
		if zero && d.None != nil {
			return none(out, "none")
		}
		out.Value = strings.Join(all, " ")
		return out
	}
	if d.Type == "float" {
		out.Value = strconv.FormatFloat(float64(getFloat(p)), 'g', -1, 32)
		return out
	}
	var n uint64
	for i, b := range p {
		n |= uint64(b) << (8 * i)
	}
	for _, x := range d.None {
		if n == x {
			return none(out, "not known")
		}
	}
	v := int64(n)
	if strings.HasPrefix(d.Type, "int") {
		v = int64(n<<(64-8*d.Size)) >> (64 - 8*d.Size)
	}
	out.Value, out.Unit = inUnit(v, d.Unit)
	switch {
	case d.Unit == "us" && n >= oldest && n <= maxUnix*1_000_000:
		out.Value, out.Unit = unixTime(n).Format("2006-01-02T15:04:05.000000Z"), "UTC"
	case d.Name == "fix_type" && n < uint64(len(fixWords)):
		out.Note = fixWords[n]
	case d.Name == "fields_updated":
		out.Value = fmt.Sprintf("0x%04X", n)
	case d.Name == "yaw" && n == turn:
		out.Note = "north"
	}
	return out
}

func none(f wire.Field, note string) wire.Field {
	f.Value, f.Unit, f.Note = "", "", note
	return f
}

// inUnit gives the number in the unit that people use.
func inUnit(v int64, unit string) (value, plain string) {
	decimals := 0
	switch unit {
	case "degE7":
		decimals, plain = 7, "deg"
	case "degE5":
		decimals, plain = 5, "deg"
	case "cdeg":
		decimals, plain = 2, "deg"
	case "cdegC":
		decimals, plain = 2, "degC"
	case "mm":
		decimals, plain = 3, "m"
	case "mm/s":
		decimals, plain = 3, "m/s"
	case "cm/s":
		decimals, plain = 2, "m/s"
	case "ms":
		decimals, plain = 3, "s"
	case "us":
		decimals, plain = 6, "s"
	case "0.01":
		decimals, plain = 2, ""
	default:
		plain = unit
	}
	if decimals == 0 || v > 1<<53 || v < -1<<53 {
		if decimals > 0 {
			plain = unit
		}
		return strconv.FormatInt(v, 10), plain
	}
	return strconv.FormatFloat(float64(v)/math.Pow10(decimals), 'f', decimals, 64), plain
}
