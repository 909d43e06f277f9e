package nmea0183

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"swellbench/emulator/wire"
)

// A column is one field of a sentence, for people.
type column struct {
	name string
	unit string
	// show gives the value of a field that is not null, given also the field behind it, in which a letter may stand. nil:
	// the field as it is.
	show func(raw, behind []byte) (value, note string)
}

// describe says field by field what a message says, TAG block and checksum included.
func describe(message []byte) (kind string, fields []wire.Field) {
	n := 0
	for rest := message; len(rest) > 0; n++ {
		var line []byte
		if line, rest = nextLine(rest); len(line) == 0 {
			continue
		}
		var f Fields
		if why := split(line, &f); why != "" {
			fields = append(fields, wire.Field{Name: "sentence", Raw: string(line), Note: string(why)})
			continue
		}
		kind = string(f.Address)
		fields = append(fields, describeTag(f.Tag)...)
		fields = append(fields, f.describe()...)
		start := bytes.LastIndexByte(line, f.Start) // a TAG block has none inside
		sum := wire.Field{Name: "checksum", Raw: string(line[len(line)-2:])}
		sum.Value = sum.Raw
		if strings.ToUpper(sum.Raw) != sum.Raw {
			sum.Note = "the rule is capital letters"
		}
		fields = append(fields, sum)
		if length := len(line) - start + 2; length > MaxLength {
			fields = append(fields, wire.Field{Name: "length", Value: strconv.Itoa(length), Unit: "characters", Note: "the rule is at most 82, CR LF included"})
		}
	}
	return kind, fields
}

var tagKeys = map[string]string{"c": "tag time", "s": "tag source", "d": "tag destination", "n": "tag line count", "g": "tag group", "r": "tag relative time",
	"t": "tag text", "i": "tag text"}

func describeTag(t Tag) (fields []wire.Field) {
	for key, value := range t.All() {
		f := wire.Field{Name: tagKeys[key], Raw: string(value), Value: unescape(value)}
		switch {
		case f.Name == "":
			f.Name = "tag " + key
		case key == "c":
			if at, ok := t.Time(); ok {
				f.Value, f.Unit = at.Format("2006-01-02T15:04:05.999"), "UTC"
			} else {
				f.Value, f.Note = "", "no UNIX time"
			}
		case key == "g":
			if p := strings.Split(f.Raw, "-"); len(p) == 3 {
				f.Value = "sentence " + p[0] + " of " + p[1] + ", group " + p[2]
			}
		}
		fields = append(fields, f)
	}
	return fields
}

// describe says what the fields of one sentence say.
func (f *Fields) describe() (fields []wire.Field) {
	name := string(f.kind())
	head := wire.Field{Name: "sentence", Raw: string(f.Address), Value: name}
	row := rowOf(f)
	query, asks := f.Query()
	switch {
	case row != nil:
		head.Note = row.Title
	case asks:
		head.Value = "query"
		head.Note = fmt.Sprintf("%v asks %v for %s", query.Requester, query.Target, query.Wanted)
	case f.Private():
		head.Note = "a maker's own sentence"
	case f.Start == '!':
		head.Note = "encapsulated data"
	default:
		head.Note = "a type that is not known here"
	}
	fields = append(fields, head)
	var refused *FieldError
	if row != nil {
		refused, _ = row.Sentence().Parse(f).(*FieldError)
	}
	columns := f.columns(name, row != nil)
	for i := 1; i <= f.Len(); i++ {
		raw, behind := f.Field(i), f.Field(i+1)
		x := wire.Field{Raw: string(raw)}
		switch {
		case i <= len(columns):
			col := columns[i-1]
			x.Name, x.Unit = col.name, col.unit
			switch {
			case len(raw) == 0:
				x.Unit = ""
			case col.show == nil:
				x.Value = x.Raw
			default:
				if x.Value, x.Note = col.show(raw, behind); x.Value == "" {
					x.Unit = ""
				}
			}
		default:
			x.Name, x.Value = "field "+strconv.Itoa(i), x.Raw
			if row != nil {
				x.Note = "more than the sentence has"
			}
		}
		if refused != nil && refused.Found == x.Raw && len(raw) > 0 {
			x.Note = "allowed: " + refused.Allowed
			refused = nil
		}
		fields = append(fields, x)
	}
	if refused != nil {
		fields = append(fields, wire.Field{Name: refused.Field, Raw: refused.Found, Note: "allowed: " + refused.Allowed})
	}
	return fields
}

// columns are those of a sentence, for types whose fields repeat as many as it has.
func (f *Fields) columns(name string, known bool) []column {
	if !known {
		return nil
	}
	switch name {
	case "GSV":
		all := append([]column(nil), gsvHead...)
		n := f.Len() - 3
		for k := range min(max(n, 0)/4, perGSV) {
			for _, c := range gsvGroup {
				c.name = "satellite " + strconv.Itoa(k+1) + " " + c.name
				all = append(all, c)
			}
		}
		if n%4 == 1 {
			all = append(all, column{"signal", "", id})
		}
		return all
	case "XDR":
		var all []column
		for k := range f.Len() / 4 {
			at := func(c column) column {
				c.name = "transducer " + strconv.Itoa(k+1) + " " + c.name
				return c
			}
			unit := f.Field(4*k + 3)
			value := column{"value", string(unit), decimalValue}
			if w := words(unit, map[byte]string{'D': "°", 'M': "m", 'C': "°C", 'B': "bar", 'P': "Pa", 'H': "Hz", 'V': "V", 'A': "A"}); w != "" {
				value.unit = w
			}
			all = append(all, at(column{"type", "", xdrType}), at(value), at(column{"unit", "", nil}), at(column{"name", "", text}))
		}
		return all
	case "VTG":
		if f.Len() <= 4 && string(f.Field(2)) != "T" { // the form from before the letters
			return []column{columnsOf["VTG"][0], columnsOf["VTG"][2], columnsOf["VTG"][4], columnsOf["VTG"][6]}
		}
	}
	return columnsOf[name]
}

func words(raw []byte, m map[byte]string) string {
	if len(raw) != 1 {
		return ""
	}
	return m[raw[0]]
}
