package nmea0183

import (
	"fmt"
	"slices"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A Sentence is one sentence, its fields in their own units. The pointers to the structs of the types in [Messages],
// such as *[GGA], are sentences, and so is *[Fields], which holds one of any type.
type Sentence interface {
	// Type is the three characters that name the sentence, such as GGA.
	Type() string
	// Parse fills the sentence from a framed one. It takes older editions, which have fewer fields, and newer ones,
	// which have more at the end. Its error is a [*FieldError], and then the sentence is zero.
	Parse(f *Fields) error
	// Append adds the sentence, from its $ to its line end, to dst. A nil format is the default of the type. Its
	// error is a [*wire.RangeError] or [*wire.TextError], and then dst is as it was.
	Append(dst []byte, f *Format) ([]byte, error)
}

// A Talker is the two characters that say what kind of equipment speaks.
type Talker [2]byte

// String is the two characters.
func (t Talker) String() string { return string(t[:]) }

const talkerAllowed = "a capital letter other than P, then a capital letter or a digit"

// ParseTalker reads a talker such as GN or U0. P is kept for private sentences.
func ParseTalker(s string) (Talker, error) {
	if len(s) == 2 {
		if t := (Talker{s[0], s[1]}); t.valid() {
			return t, nil
		}
	}
	return Talker{}, fmt.Errorf("nmea0183: talker is %q, allowed: %s", s, talkerAllowed)
}

func (t Talker) valid() bool {
	return isUpper(t[0]) && t[0] != 'P' && (isUpper(t[1]) || isDigit(t[1]))
}

func isUpper(c byte) bool { return c >= 'A' && c <= 'Z' }
func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// A span is the range of a field, in its unit, and the name and range in words for the error text.
type span struct {
	field, allowed string
	lo, hi         float64
	open           bool // hi itself is outside
}

// has is false for NaN.
func (s *span) has(x float64) bool { return x >= s.lo && (x < s.hi || x == s.hi && !s.open) }

// A writer builds one sentence. After the first error it goes on, and end gives back what begin was given.
type writer struct {
	b     []byte
	start int
	name  string
	f     *Format
	err   error
}

func (w *writer) begin(dst []byte, f *Format, t, def Talker, name string) {
	w.start, w.name, w.f = len(dst), name, f
	if t == (Talker{}) {
		t = def
	}
	if !t.valid() {
		w.err = &wire.TextError{Message: name, Field: "talker", Found: t.String(), Allowed: talkerAllowed}
	}
	w.b = append(slices.Grow(dst, 128), '$', t[0], t[1], name[0], name[1], name[2])
}

// end adds the checksum and the line end.
func (w *writer) end() ([]byte, error) {
	if w.err != nil {
		return w.b[:w.start], w.err
	}
	sum := checksum(w.b[w.start+1:])
	const hex = "0123456789ABCDEF"
	return append(w.b, '*', hex[sum>>4], hex[sum&15], '\r', '\n'), nil
}

func (w *writer) null()         { w.b = append(w.b, ',') }
func (w *writer) letter(c byte) { w.b = append(w.b, ',', c) }

// unit writes the letter of a unit.
func (w *writer) unit(c byte, present bool) {
	if !present && w.f.BareNulls {
		w.null()
		return
	}
	w.letter(c)
}

func (w *writer) outOfRange(s *span, x float64) {
	if w.err == nil {
		w.err = &wire.RangeError{Message: w.name, Field: s.field, Allowed: s.allowed, Found: x}
	}
}

func (w *writer) badText(field, found, allowed string) {
	if w.err == nil {
		w.err = &wire.TextError{Message: w.name, Field: field, Found: found, Allowed: allowed}
	}
}

// number writes a value with the digits of its group.
func (w *writer) number(v opt.Opt[float64], g Group, s *span) {
	w.b = append(w.b, ',')
	x, ok := v.Value()
	if !ok {
		return
	}
	if !s.has(x) {
		w.outOfRange(s, x)
		return
	}
	d := w.f.Digits[g]
	w.b = appendFixed(w.b, round(x, scales[d.Decimals]), x < 0, d)
}

// bearing writes an angle that wraps at 360°, after rounding.
func (w *writer) bearing(v opt.Opt[float64], g Group, s *span) {
	w.b = append(w.b, ',')
	x, ok := v.Value()
	if !ok {
		return
	}
	if !s.has(x) {
		w.outOfRange(s, x)
		return
	}
	d := w.f.Digits[g]
	n := round(x, scales[d.Decimals])
	if n == 360*pow10[d.Decimals] {
		n = 0
	}
	w.b = appendFixed(w.b, n, false, d)
}

// integer writes a number that is not negative, with leading zeros to the width.
func (w *writer) integer(v opt.Opt[int], width int, s *span) {
	w.b = append(w.b, ',')
	n, ok := v.Value()
	if !ok {
		return
	}
	if !s.has(float64(n)) {
		w.outOfRange(s, float64(n))
		return
	}
	w.b = appendDigits(w.b, uint64(n), max(width, decimalLength(uint64(n))))
}

// plainInteger writes a number that is there.
func (w *writer) plainInteger(n, width int, s *span) {
	w.b = append(w.b, ',')
	if !s.has(float64(n)) {
		w.outOfRange(s, float64(n))
		return
	}
	w.b = appendDigits(w.b, uint64(n), max(width, decimalLength(uint64(n))))
}

// lettered writes the size of a value and the letter of its sign, each in a field; zero is positive. Both are null if it
// is absent.
func (w *writer) lettered(v opt.Opt[float64], g Group, s *span, positive, negative byte) {
	x, ok := v.Value()
	if !ok {
		w.b = append(w.b, ",,"...)
		return
	}
	if !s.has(x) {
		w.outOfRange(s, x)
		return
	}
	d := w.f.Digits[g]
	n := round(x, scales[d.Decimals])
	w.b = appendFixed(append(w.b, ','), n, false, d)
	if x < 0 && n != 0 {
		w.letter(negative)
	} else {
		w.letter(positive)
	}
}

// oneOf writes one of the letters.
func (w *writer) oneOf(field string, c byte, letters string) {
	for i := range len(letters) {
		if letters[i] == c {
			w.letter(c)
			return
		}
	}
	w.badText(field, string([]byte{c}), "one of "+letters)
}
