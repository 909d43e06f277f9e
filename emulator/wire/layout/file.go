package layout

import (
	"encoding/hex"
	"fmt"
	"math/big"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// A File is a layout file as a person writes it. [Load] reads it and makes a [Layout] of it.
type File struct {
	Name      string    `yaml:"name,required" doc:"what the format is called: small letters, digits and hyphens"`
	About     string    `yaml:"about" doc:"what the sensor is"`
	ByteOrder Order     `yaml:"byte-order" doc:"of binary fields that do not say it themselves: big has the highest byte first. Default: big"`
	Messages  []Message `yaml:"messages,required" doc:"the messages that the sensor sends"`
	Requests  []Request `yaml:"requests" doc:"what a consumer may send to the sensor, and what that brings"`
}

// A Message is one kind of message.
type Message struct {
	Name      string  `yaml:"name,required" doc:"what a scenario calls it"`
	About     string  `yaml:"about" doc:"what it is for"`
	Start     Bytes   `yaml:"start" doc:"the bytes that every such message begins with"`
	End       Bytes   `yaml:"end" doc:"the bytes that every such message ends with, such as \"\\r\\n\""`
	Separator Bytes   `yaml:"separator" doc:"stands between one field and the next. Default: nothing"`
	Length    int     `yaml:"length" doc:"bytes of the whole message, start and end included. Default: as many as its fields need"`
	Fill      uint8   `yaml:"fill" doc:"value of bytes that belong to no field. Default: 0"`
	Fields    []Field `yaml:"fields,required" doc:"the fields, in order"`
}

// A Field is one field of a message.
type Field struct {
	Name   string `yaml:"name,required" doc:"what the field is called; its own in the message"`
	About  string `yaml:"about" doc:"what it is for"`
	At     *int   `yaml:"at" doc:"number of its first byte, counted from 0 at the first byte of the message. Default: right after the field before it"`
	Before *Bytes `yaml:"before" doc:"what stands before the field, in place of the separator"`
	As     Coding `yaml:"as,required" doc:"how it is written"`

	ByteOrder Order    `yaml:"byte-order" doc:"big has the highest byte first, little the lowest. Default: the file's"`
	Bits      int      `yaml:"bits" doc:"of as: bits: how many bits the field has, 1 to 64"`
	FirstBit  int      `yaml:"first-bit" doc:"of as: bits: number of its first bit; its lowest where bit 0 is low, its highest where bit 0 is high. Default: 0"`
	BitZero   BitZero  `yaml:"bit-0" doc:"of as: bits: whether bit 0 is the lowest or the highest bit of the bytes that hold the field. Default: low"`
	Bytes     int      `yaml:"bytes" doc:"of as: bits: how many bytes, in their byte order, hold the field, 1 to 8. Default: as few as do"`
	Negative  Negative `yaml:"negative" doc:"how numbers below zero are written in binary and hexadecimal fields. Default: twos-complement for int, else none"`
	Width     int      `yaml:"width" doc:"characters of a field of text, its sign and point included. Default: as many as it needs; of as: bcd the digits"`
	Decimals  int      `yaml:"decimals" doc:"of as: decimal: digits after the point"`
	Plus      Plus     `yaml:"plus" doc:"of as: decimal: what stands before numbers that are not below zero. Default: none"`
	Pad       Pad      `yaml:"pad" doc:"of as: decimal: what fills the width. Default: zeros"`
	Lower     bool     `yaml:"small-letters" doc:"of as: hex: whether the digits a to f are small letters"`

	Quantity  string  `yaml:"quantity" doc:"what of the reading it carries, such as roll or unix-time"`
	Unit      string  `yaml:"unit" doc:"in which unit"`
	Scale     *Scale  `yaml:"scale" doc:"units a count, such as 0.01, 1/100 or 360/2^16; may be negative. Default: 1, of as: decimal the last decimal"`
	Offset    *Scale  `yaml:"offset" doc:"units at count 0: value = count × scale + offset. Default: 0"`
	Positive  string  `yaml:"positive" doc:"which way is positive, such as bow-down. Default: as everywhere in Swellbench"`
	Zero      Compass `yaml:"zero" doc:"of headings and courses: which way is 0. Default: north"`
	Circle    Circle  `yaml:"circle" doc:"how a full circle is written: 0 to 360 degrees, or -180 to 180. Default: by the quantity"`
	Magnitude bool    `yaml:"magnitude" doc:"whether the sign is left out; another field with sign-of has it"`
	Modulo    *uint64 `yaml:"modulo" doc:"of counters, weeks and years: begins again at this number. Default: where the field is full"`
	Beyond    Beyond  `yaml:"beyond" doc:"what is done with a value that does not fit: refuse it, send the limit, or send it as absent. Default: refuse"`
	Absent    *Raw    `yaml:"absent" doc:"what is sent where the quantity is not known: a count as on the wire, nan, or of a field of text its characters"`
	States    *States `yaml:"states" doc:"which state is sent as what, such as {none: 0, rtk-fixed: 4}; other: is all that are not named"`
	SignOf    string  `yaml:"sign-of" doc:"name of the field whose sign this one carries; its states are plus and minus"`
	Fixed     *Raw    `yaml:"fixed" doc:"the field is always this: a count, or text"`
	Checksum  *Check  `yaml:"checksum" doc:"the field is a checksum"`
	Counts    *Span   `yaml:"counts-bytes" doc:"the field is the number of bytes of a part of the message"`
	Extra     int     `yaml:"counts-extra" doc:"is added to the number of bytes. Default: 0"`
}

// Check is which checksum a field is, and of what.
type Check struct {
	Method string  `yaml:"method,required" doc:"crc with parameters, or the name of a sum: XOR-8, SUM-8, SUM-16, FLETCHER-16, CRC-16/MODBUS and others"`
	Width  int     `yaml:"width" doc:"of a crc: its bits, 8 to 64"`
	Poly   uint64  `yaml:"poly" doc:"of a crc: the polynomial without its highest term, such as 0x1021"`
	Init   uint64  `yaml:"init" doc:"of a crc: what the register begins with"`
	RefIn  bool    `yaml:"refin" doc:"of a crc: whether bytes go in lowest bit first"`
	RefOut bool    `yaml:"refout" doc:"of a crc: whether the result is turned round"`
	XorOut uint64  `yaml:"xorout" doc:"of a crc: what the result is combined with"`
	Check  *uint64 `yaml:"check" doc:"the sum of the nine characters 123456789, as the maker's papers have it; the file is refused if it is another"`
	Over   []Span  `yaml:"over" doc:"the parts of the message that are summed up, in this order. Default: from after the start to right before the separator of the checksum"`
}

// A Span is a part of a message, both its ends included.
type Span struct {
	From Edge `yaml:"from,required" doc:"number of its first byte, or a field's name, start or after-start"`
	To   Edge `yaml:"to,required" doc:"number of its last byte, or a field's name, before-separator (of this field), before-field, or end"`
}

// A Request is something that a consumer may send.
type Request struct {
	Name      string  `yaml:"name,required" doc:"what the request is called"`
	Bytes     []Piece `yaml:"bytes,required" doc:"what it looks like: text, {hex: ...}, {any: 2} for so many bytes of any kind, {digits: 3} for so many decimal digits"`
	Reply     string  `yaml:"reply" doc:"name of the message that answers it"`
	Answer    Bytes   `yaml:"answer" doc:"bytes that answer it"`
	Streaming string  `yaml:"streaming" doc:"start or stop: the stream begins or ends"`
}

// Order is which byte comes first.
type Order string

// SchemaEnum lists the words.
func (Order) SchemaEnum() []string { return []string{"big", "little"} }

// BitZero is where bits are counted from.
type BitZero string

// SchemaEnum lists the words.
func (BitZero) SchemaEnum() []string { return []string{"low", "high"} }

// Negative is how numbers below zero are written.
type Negative string

// SchemaEnum lists the words.
func (Negative) SchemaEnum() []string {
	return []string{"none", "twos-complement", "ones-complement", "sign-bit", "half-range"}
}

// Plus is what stands before numbers that are not below zero.
type Plus string

// SchemaEnum lists the words.
func (Plus) SchemaEnum() []string { return []string{"none", "plus", "space"} }

// Pad is what fills the width of a decimal number.
type Pad string

// SchemaEnum lists the words.
func (Pad) SchemaEnum() []string { return []string{"zeros", "spaces", "spaces-after"} }

// Compass is a point of the compass.
type Compass string

// SchemaEnum lists the words.
func (Compass) SchemaEnum() []string { return []string{"north", "east", "south", "west"} }

// Circle is how a full circle is written.
type Circle string

// SchemaEnum lists the words.
func (Circle) SchemaEnum() []string { return []string{"whole", "halves"} }

// Beyond is what is done with a value that does not fit.
type Beyond string

// SchemaEnum lists the words.
func (Beyond) SchemaEnum() []string { return []string{"refuse", "limit", "absent"} }

// Coding is how a field is written.
type Coding string

// codings lists the words.
func codings() (all []string) {
	for _, p := range []string{"uint", "int"} {
		for n := 8; n <= 64; n += 8 {
			all = append(all, fmt.Sprint(p, n))
		}
	}
	return append(all, "float32", "float64", "bits", "bcd", "decimal", "hex", "text")
}

// SchemaEnum lists the words.
func (Coding) SchemaEnum() []string { return codings() }

// Bytes are bytes written as text, or as {hex: A5 5A}.
type Bytes []byte

type hexBytes struct {
	Hex Raw `yaml:"hex,required" doc:"pairs of hexadecimal digits, such as A5 5A"`
}

// SchemaOneOf lists how it may be written.
func (Bytes) SchemaOneOf() []any { return []any{"", hexBytes{}} }

// DecodeYAML reads either form.
func (b *Bytes) DecodeYAML(n strictyaml.Node) error {
	if n.Kind() != strictyaml.Mapping {
		var s string
		if err := n.Decode(&s); err != nil {
			return err
		}
		for i := range len(s) {
			if s[i] >= 0x80 {
				return n.Error("the text "+strictyaml.Quote(s)+" has characters beyond ASCII", "write such bytes as {hex: ...}")
			}
		}
		*b = Bytes(s)
		return nil
	}
	var h hexBytes
	if err := n.Decode(&h); err != nil {
		return err
	}
	p, err := hex.DecodeString(strings.ReplaceAll(h.Hex.text, " ", ""))
	if err != nil || len(p) == 0 {
		return n.Error("hex is "+strictyaml.Quote(h.Hex.text), "allowed: pairs of hexadecimal digits, such as A5 5A")
	}
	*b = p
	return nil
}

// Raw is a count or text as it is on the wire.
type Raw struct{ text string }

// SchemaOneOf lists how it may be written.
func (Raw) SchemaOneOf() []any { return []any{"", 0.0} }

// DecodeYAML reads a scalar.
func (r *Raw) DecodeYAML(n strictyaml.Node) error {
	if n.Kind() == strictyaml.Sequence || n.Kind() == strictyaml.Mapping {
		return n.Error("there is "+n.Kind().String(), "allowed: a number, or text")
	}
	r.text = n.Text()
	return nil
}

// States are the states of a field and what they are sent as.
type States struct {
	names []string
	raw   []Raw
}

// SchemaOneOf lists how it may be written.
func (States) SchemaOneOf() []any { return []any{map[string]Raw{}} }

// DecodeYAML reads a mapping and keeps its order.
func (s *States) DecodeYAML(n strictyaml.Node) error {
	if n.Kind() != strictyaml.Mapping {
		return n.Error("there is "+n.Kind().String(), "allowed: a mapping of states, such as {none: 0, autonomous: 1}")
	}
	for _, k := range n.Keys() {
		v, ok := n.Key(k)
		if !ok {
			continue
		}
		var r Raw
		if err := r.DecodeYAML(v); err != nil {
			return err
		}
		s.names, s.raw = append(s.names, k), append(s.raw, r)
	}
	return nil
}

// Edge is an end of a span: the number of a byte, or a word.
type Edge struct {
	number int // -1 where it is a word
	word   string
}

// SchemaOneOf lists how it may be written.
func (Edge) SchemaOneOf() []any { return []any{uint16(0), ""} }

// DecodeYAML reads either.
func (e *Edge) DecodeYAML(n strictyaml.Node) error {
	if n.Kind() == strictyaml.Int {
		var i uint16
		if err := n.Decode(&i); err != nil {
			return err
		}
		e.number = int(i)
		return nil
	}
	e.number = -1
	return n.Decode(&e.word)
}

// A Piece is a part of a request.
type Piece struct {
	bytes  []byte // these; else
	n      int    // so many
	digits bool   // decimal digits, else anything
}

type anyPiece struct {
	Any int `yaml:"any,required" doc:"so many bytes of any kind"`
}

type digitsPiece struct {
	Digits int `yaml:"digits,required" doc:"so many decimal digits"`
}

// SchemaOneOf lists how it may be written.
func (Piece) SchemaOneOf() []any { return []any{"", hexBytes{}, anyPiece{}, digitsPiece{}} }

// DecodeYAML reads any of the forms.
func (p *Piece) DecodeYAML(n strictyaml.Node) error {
	keys := n.Keys()
	switch {
	case len(keys) == 1 && keys[0] == "any":
		var a anyPiece
		err := n.Decode(&a)
		p.n = a.Any
		return err
	case len(keys) == 1 && keys[0] == "digits":
		var d digitsPiece
		err := n.Decode(&d)
		p.n, p.digits = d.Digits, true
		return err
	}
	return (*Bytes)(&p.bytes).DecodeYAML(n)
}

// Scale is an exact number: 0.01, 1e-7, 1/100, 360/2^16, 180*2^-31.
type Scale struct {
	text string
	rat  *big.Rat
}

// SchemaOneOf lists how it may be written.
func (Scale) SchemaOneOf() []any { return []any{0.0, ""} }

// DecodeYAML reads a number, or factors and divisors.
func (s *Scale) DecodeYAML(n strictyaml.Node) error {
	r, ok := parseScale(n.Text())
	if !ok || n.Kind() == strictyaml.Mapping || n.Kind() == strictyaml.Sequence {
		return n.Error(fmt.Sprintf("there is %s", strictyaml.Quote(n.Text())), "allowed: a number such as 0.01, 1/100, 360/2^16 or 180*2^-31, its size from 1e-30 to 1e30")
	}
	s.text, s.rat = n.Text(), r
	return nil
}

// parseScale reads numbers with * and / between them, worked out from the left; each may be a power.
func parseScale(text string) (*big.Rat, bool) {
	if len(text) > 64 {
		return nil, false
	}
	r, op := big.NewRat(1, 1), byte('*')
	for rest := text; ; {
		i := strings.IndexAny(rest, "*/")
		part := rest
		if i >= 0 {
			part = rest[:i]
		}
		base, exp, power := strings.Cut(strings.TrimSpace(part), "^")
		x, ok := plainRat(base)
		if !ok {
			return nil, false
		}
		if power {
			var n int
			if _, err := fmt.Sscanf(exp, "%d", &n); err != nil || fmt.Sprint(n) != exp || n > 100 || n < -100 || x.Sign() == 0 ||
				max(x.Num().BitLen(), x.Denom().BitLen())*max(n, -n) > 1024 { // it is worked out in full

				return nil, false
			}
			y := big.NewRat(1, 1)
			for range max(n, -n) {
				y.Mul(y, x)
			}
			if n < 0 {
				y.Inv(y)
			}
			x = y
		}
		switch {
		case op == '*':
			r.Mul(r, x)
		case x.Sign() == 0:
			return nil, false
		default:
			r.Quo(r, x)
		}
		if i < 0 {
			break
		}
		op, rest = rest[i], rest[i+1:]
	}
	f, _ := new(big.Rat).Abs(r).Float64()
	return r, r.Sign() == 0 || f >= 1e-30 && f <= 1e30
}

// plainRat reads one number. Its exponent is bounded, since the number is worked out in full.
func plainRat(s string) (*big.Rat, bool) {
	if s == "" || strings.ContainsAny(s, "_xXoObBpP/ ") {
		return nil, false
	}
	if _, exp, ok := strings.Cut(strings.ToLower(s), "e"); ok {
		var n int
		if _, err := fmt.Sscanf(exp, "%d", &n); err != nil || n > 40 || n < -40 {
			return nil, false
		}
	}
	return new(big.Rat).SetString(s)
}
