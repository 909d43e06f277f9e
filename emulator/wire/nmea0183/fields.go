package nmea0183

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"swellbench/scenarios/opt"
)

// Fields is a sentence of any type after framing: the checksum is right, the characters are legal, and that is all
// that is known. The slices belong to whoever framed it; see [Decoder.Next].
type Fields struct {
	Start   byte   // $, or ! for encapsulated data
	Tag     Tag    // the TAG block in front; empty if there is none
	Address []byte // talker and type, such as GNGGA
	Body    []byte // what stands between the comma after the address and the *
	Sum     byte   // the checksum
	Comma   bool   // there is a comma after the address
}

// Talker is the first two characters of the address, or zero for a private sentence and other odd addresses.
func (f *Fields) Talker() Talker {
	if len(f.Address) < 5 || f.Private() {
		return Talker{}
	}
	return Talker{f.Address[0], f.Address[1]}
}

// Private tells whether the sentence is a manufacturer's own: its address begins with P.
func (f *Fields) Private() bool { return len(f.Address) > 0 && f.Address[0] == 'P' }

// kind is what stands behind the talker, or the whole address of a private sentence.
func (f *Fields) kind() []byte {
	if len(f.Address) < 5 || f.Private() {
		return f.Address
	}
	return f.Address[2:]
}

// Is tells whether the sentence is of the type, such as GGA, whatever the talker.
func (f *Fields) Is(kind string) bool { return string(f.kind()) == kind }

// Type is what stands behind the talker, such as GGA, and the whole address of a private sentence.
func (f *Fields) Type() string { return string(f.kind()) }

// Len is the number of fields after the address.
func (f *Fields) Len() int {
	if !f.Comma {
		return 0
	}
	return bytes.Count(f.Body, []byte{','}) + 1
}

// Field is the field i, counted from 1 as the standard does; nil if there are not so many. A null field is empty.
func (f *Fields) Field(i int) []byte {
	if i < 1 || !f.Comma {
		return nil
	}
	b := f.Body
	for ; i > 1; i-- {
		k := bytes.IndexByte(b, ',')
		if k < 0 {
			return nil
		}
		b = b[k+1:]
	}
	if k := bytes.IndexByte(b, ','); k >= 0 {
		return b[:k:k]
	}
	return b
}

// Parse copies g, bytes and all.
func (f *Fields) Parse(g *Fields) error {
	*f = Fields{Start: g.Start, Tag: bytes.Clone(g.Tag), Address: bytes.Clone(g.Address), Body: bytes.Clone(g.Body),
		Sum: g.Sum, Comma: g.Comma}
	return nil
}

// Append adds the sentence as it came, without its TAG block. There are no numbers to format.
func (f *Fields) Append(dst []byte, _ *Format) ([]byte, error) {
	const hex = "0123456789ABCDEF"
	start := len(dst)
	dst = append(append(dst, f.Start), f.Address...)
	if f.Comma {
		dst = append(append(dst, ','), f.Body...)
	}
	sum := checksum(dst[start+1:])
	return append(dst, '*', hex[sum>>4], hex[sum&15], '\r', '\n'), nil
}

// A FieldError reports a field that a framed sentence should not have.
type FieldError struct {
	Sentence string // its type
	Field    string
	Found    string
	Allowed  string
}

// Error says what was found and what is allowed.
func (e *FieldError) Error() string {
	return fmt.Sprintf("decode %s: %s is %q, allowed: %s", e.Sentence, e.Field, e.Found, e.Allowed)
}

// A cursor walks the fields of a sentence. Past the last one it gives null fields, as an older edition would mean.
type cursor struct {
	name  string
	rest  []byte
	more  bool
	error *FieldError
}

func (f *Fields) cursor(name string) cursor { return cursor{name: name, rest: f.Body, more: f.Comma} }

func (c *cursor) next() []byte {
	if !c.more {
		return nil
	}
	b := c.rest
	for i, x := range b {
		if x == ',' {
			c.rest = b[i+1:]
			return b[:i]
		}
	}
	c.more = false
	c.rest = nil
	return b
}

func (c *cursor) fail(field string, found []byte, allowed string) {
	if c.error == nil {
		c.error = &FieldError{Sentence: c.name, Field: field, Found: string(found), Allowed: allowed}
	}
}

// err is the first error, as an untyped nil if there is none.
func (c *cursor) err() error {
	if c.error != nil {
		return c.error
	}
	return nil
}

// number reads a decimal number in the span.
func (c *cursor) number(s *span) opt.Opt[float64] {
	b := c.next()
	if len(b) == 0 {
		return opt.None[float64]()
	}
	x, ok := float(b)
	if !ok || !s.has(x) {
		c.fail(s.field, b, s.allowed)
		return opt.None[float64]()
	}
	return opt.Of(x)
}

// integer reads a number of digits alone in the span.
func (c *cursor) integer(s *span) opt.Opt[int] {
	b := c.next()
	if len(b) == 0 {
		return opt.None[int]()
	}
	n, ok := decimalInt(b)
	if !ok || !s.has(float64(n)) {
		c.fail(s.field, b, s.allowed)
		return opt.None[int]()
	}
	return opt.Of(n)
}

// unit reads the letter of a unit, which may be left out.
func (c *cursor) unit(field string, want byte) {
	if b := c.next(); len(b) != 0 && (len(b) != 1 || b[0] != want) {
		c.fail("unit of "+field, b, string([]byte{want}))
	}
}

// letter reads one of the letters in allowed; none is 0.
func (c *cursor) letter(field, allowed string) byte {
	b := c.next()
	if len(b) == 0 {
		return 0
	}
	if len(b) != 1 || strings.IndexByte(allowed, b[0]) < 0 {
		c.fail(field, b, "one of "+allowed)
		return 0
	}
	return b[0]
}

// lettered reads a value and the letter of its sign.
func (c *cursor) lettered(s *span, positive, negative byte) opt.Opt[float64] {
	v := c.number(s)
	letter := c.next()
	x, ok := v.Value()
	switch {
	case !ok:
	case len(letter) == 1 && letter[0] == negative:
		return opt.Of(0 - x) // not -x: no negative zero
	case len(letter) != 1 || letter[0] != positive:
		c.fail(s.field, letter, "the letter "+string([]byte{positive})+" or "+string([]byte{negative}))
		return opt.None[float64]()
	}
	return v
}

// float reads a decimal number: an optional sign, digits, perhaps a point among them or at either end.
func float(b []byte) (float64, bool) {
	t := b
	negative := false
	if t[0] == '-' || t[0] == '+' {
		negative = t[0] == '-'
		t = t[1:]
	}
	m, dec, ok := decimal(t)
	if !ok {
		if len(t) <= 15 || strings.Trim(string(t), "0123456789.") != "" {
			return 0, false
		}
		x, err := strconv.ParseFloat(string(b), 64) // more digits than a double holds
		return x + 0, err == nil
	}
	x := float64(m) / scale(dec)
	if negative && m != 0 {
		x = -x
	}
	return x, true
}

func scale(dec int) float64 { return float64(pow10[dec]) }

// decimal reads digits with at most one point as an integer and the number of decimals. It takes up to 15 digits
// after leading zeros, so that the integer and its scale are exact as doubles; more are not ok.
func decimal(b []byte) (n uint64, dec int, ok bool) {
	point, digits := -1, 0
	for i, c := range b {
		switch {
		case isDigit(c):
			n = n*10 + uint64(c-'0')
			digits++
			if n >= 1e15 || digits > 19 {
				return 0, 0, false
			}
		case c == '.' && point < 0:
			point = i
		default:
			return 0, 0, false
		}
	}
	if point >= 0 {
		dec = len(b) - point - 1
	}
	return n, dec, digits > 0
}

// decimalInt reads digits alone, at most nine.
func decimalInt(b []byte) (int, bool) {
	if len(b) == 0 || len(b) > 9 {
		return 0, false
	}
	n := 0
	for _, c := range b {
		if !isDigit(c) {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, true
}
