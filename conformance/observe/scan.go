package observe

import (
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// A scanner reads JSON (RFC 8259) from a line in memory. After broken JSON it is bad, and i is where.
type scanner struct {
	b   []byte
	i   int
	bad bool
}

func (s *scanner) refusal() *Refusal {
	if s.i >= len(s.b) {
		return &Refusal{NotJSON, "it ends too early"}
	}
	return &Refusal{NotJSON, "at byte " + strconv.Itoa(s.i+1)}
}

// peek is the next byte, 0 at the end.
func (s *scanner) peek() byte {
	if s.i < len(s.b) {
		return s.b[s.i]
	}
	return 0
}

func (s *scanner) space() {
	if s.i < len(s.b) && s.b[s.i] > ' ' {
		return
	}
	for s.i < len(s.b) && (s.b[s.i] == ' ' || s.b[s.i] == '\t' || s.b[s.i] == '\r' || s.b[s.i] == '\n') {
		s.i++
	}
}

func (s *scanner) fail() bool {
	s.bad = true
	return false
}

// end tells whether nothing but space is left.
func (s *scanner) end() bool {
	s.space()
	if s.i < len(s.b) {
		return s.fail()
	}
	return true
}

func (s *scanner) colon() bool {
	s.space()
	if s.peek() != ':' {
		return s.fail()
	}
	s.i++
	s.space()
	return true
}

func (s *scanner) literal(w string) bool {
	if len(s.b)-s.i < len(w) || string(s.b[s.i:s.i+len(w)]) != w {
		return s.fail()
	}
	s.i += len(w)
	return true
}

// notFinite reads over what some programs write for numbers that are none; it is no JSON.
func (s *scanner) notFinite() bool {
	for _, w := range [...]string{"NaN", "Infinity", "-Infinity", "-NaN"} {
		if len(s.b)-s.i >= len(w) && string(s.b[s.i:s.i+len(w)]) == w {
			s.i += len(w)
			return true
		}
	}
	return false
}

// maxDepth bounds how deep values of unknown keys may be nested.
const maxDepth = 64

// value reads over any value.
func (s *scanner) value() bool { return s.nested(0) }

func (s *scanner) nested(depth int) bool {
	s.space()
	switch c := s.peek(); {
	case c == '"':
		return s.skipText()
	case c == 't':
		return s.literal("true")
	case c == 'f':
		return s.literal("false")
	case c == 'n':
		return s.literal("null")
	case c == '-' || c >= '0' && c <= '9':
		return s.skipNumber()
	case c == '{' || c == '[':
		return depth < maxDepth && s.group(c, depth) || s.fail()
	}
	return s.fail()
}

// group reads over an object or an array.
func (s *scanner) group(open byte, depth int) bool {
	closing := byte(']')
	if open == '{' {
		closing = '}'
	}
	s.i++
	s.space()
	if s.peek() == closing {
		s.i++
		return true
	}
	for {
		if open == '{' {
			s.space()
			if !s.skipText() || !s.colon() {
				return s.fail()
			}
		}
		if !s.nested(depth + 1) {
			return false
		}
		s.space()
		switch s.peek() {
		case ',':
			s.i++
		case closing:
			s.i++
			return true
		default:
			return s.fail()
		}
	}
}

// number reads a number; !ok if it is beyond what a float64 holds.
func (s *scanner) number() (v float64, ok bool) {
	from := s.i
	if v, ok := s.plainNumber(); ok {
		return v, true
	}
	s.i = from
	if !s.skipNumber() {
		return 0, false
	}
	v, err := strconv.ParseFloat(string(s.b[from:s.i]), 64)
	return v, err == nil
}

// plainNumber reads a number of up to fifteen digits without an exponent, as nearly all are; of any other ok is false.
// Such a number is a quotient of two integers that a float64 holds exactly, so that one division rounds it as it should
// be rounded. Source: Clinger, How to Read Floating Point Numbers Accurately, PLDI 1990, from memory.
func (s *scanner) plainNumber() (v float64, ok bool) {
	const most = 15
	b, i := s.b, s.i
	negative := i < len(b) && b[i] == '-'
	if negative {
		i++
	}
	first, n, after := i, int64(0), 0
	for ; i < len(b) && b[i] >= '0' && b[i] <= '9' && i-first <= most; i++ {
		n = 10*n + int64(b[i]-'0')
	}
	whole := i - first
	if whole == 0 || whole > most || whole > 1 && b[first] == '0' {
		return 0, false
	}
	if i < len(b) && b[i] == '.' {
		i++
		from := i
		for ; i < len(b) && b[i] >= '0' && b[i] <= '9' && whole+i-from <= most; i++ {
			n = 10*n + int64(b[i]-'0')
		}
		if after = i - from; after == 0 || whole+after > most {
			return 0, false
		}
	}
	if i < len(b) && (b[i]|' ' == 'e' || b[i] >= '0' && b[i] <= '9') {
		return 0, false
	}
	s.i = i
	if v = float64(n) / powersOfTen[after]; negative {
		v = -v
	}
	return v, true
}

// powersOfTen are those that go with so many digits after the point.
var powersOfTen = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

func (s *scanner) skipNumber() bool {
	if s.peek() == '-' {
		s.i++
	}
	if s.peek() == '0' {
		s.i++
	} else if !s.someDigits() {
		return false
	}
	if s.peek() == '.' {
		s.i++
		if !s.someDigits() {
			return false
		}
	}
	if c := s.peek(); c == 'e' || c == 'E' {
		s.i++
		if c := s.peek(); c == '+' || c == '-' {
			s.i++
		}
		return s.someDigits()
	}
	return true
}

func (s *scanner) someDigits() bool {
	from := s.i
	for s.i < len(s.b) && s.b[s.i] >= '0' && s.b[s.i] <= '9' {
		s.i++
	}
	return s.i > from || s.fail()
}

// skipText reads over a text.
func (s *scanner) skipText() bool {
	_, ok := s.rawText()
	return ok
}

// rawText reads a text and tells whether it has escapes; the text runs from the returned start to i-1.
func (s *scanner) rawText() (escapes, ok bool) {
	if s.peek() != '"' {
		return false, s.fail()
	}
	b, i := s.b, s.i+1
	for i < len(b) {
		switch c := b[i]; {
		case c == '"':
			s.i = i + 1
			return escapes, true
		case c < ' ':
			s.i = i
			return escapes, s.fail()
		case c == '\\':
			escapes = true
			if s.i = i; !s.escape() {
				return escapes, s.fail()
			}
			i = s.i
		default:
			i++
		}
	}
	s.i = i
	return escapes, s.fail()
}

// escape reads over one escape.
func (s *scanner) escape() bool {
	s.i++
	switch s.peek() {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		s.i++
		return true
	case 'u':
		if _, ok := hex4(s.b, s.i+1); ok {
			s.i += 5
			return true
		}
	}
	return false
}

// text reads a text. What it returns lies in the line or in *buf, and is valid until the next call.
func (s *scanner) text(buf *[]byte) ([]byte, bool) {
	from := s.i + 1
	escapes, ok := s.rawText()
	if !ok {
		return nil, false
	}
	raw := s.b[from : s.i-1]
	if !escapes {
		return raw, true
	}
	out := (*buf)[:0]
	for i := 0; i < len(raw); {
		c := raw[i]
		if c != '\\' {
			out = append(out, c)
			i++
			continue
		}
		i += 2
		switch e := raw[i-1]; e {
		case 'b':
			out = append(out, '\b')
		case 'f':
			out = append(out, '\f')
		case 'n':
			out = append(out, '\n')
		case 'r':
			out = append(out, '\r')
		case 't':
			out = append(out, '\t')
		case 'u':
			r, _ := hex4(raw, i)
			i += 4
			if utf16.IsSurrogate(r) {
				low, ok := rune(0), false
				if i+1 < len(raw) && raw[i] == '\\' && raw[i+1] == 'u' {
					low, ok = hex4(raw, i+2)
				}
				if r = utf16.DecodeRune(r, low); ok && r != utf8.RuneError {
					i += 6
				}
			}
			out = utf8.AppendRune(out, r)
		default:
			out = append(out, e)
		}
	}
	*buf = out
	return out, true
}

// hex4 reads four hexadecimal digits at b[i].
func hex4(b []byte, i int) (rune, bool) {
	if len(b)-i < 4 {
		return 0, false
	}
	var r rune
	for _, c := range b[i : i+4] {
		switch {
		case c >= '0' && c <= '9':
			r = r<<4 | rune(c-'0')
		case c >= 'a' && c <= 'f':
			r = r<<4 | rune(c-'a'+10)
		case c >= 'A' && c <= 'F':
			r = r<<4 | rune(c-'A'+10)
		default:
			return 0, false
		}
	}
	return r, true
}
