package nmea0183

import (
	"strings"
	"unicode/utf8"
)

const reserved = "$*,!\\^~"

// text writes a text, with the escape ^hh for what the standard reserves and for the rest of ISO 8859-1.
func (w *writer) text(field, s string) {
	const hex = "0123456789ABCDEF"
	for _, r := range s {
		switch {
		case r > 0xff || r < ' ':
			w.badText(field, s, "characters of ISO 8859-1")
			return
		case escaped(r):
			w.b = append(w.b, '^', hex[r>>4], hex[r&15])
		default:
			w.b = append(w.b, byte(r))
		}
	}
}

// escaped tells whether a character is sent as an escape.
func escaped(r rune) bool { return r > 0x7e || strings.IndexByte(reserved, byte(r)) >= 0 }

// unescapeAgain reads a text, and gives back the one before if it is the same: that costs no memory.
func unescapeAgain(before string, b []byte) string {
	if string(b) == before && !strings.Contains(before, "^") {
		return before
	}
	var room [256]byte
	t := appendUnescaped(room[:0], b)
	if string(t) == before {
		return before
	}
	return string(t)
}

// unescape reads a text. A ^ that two hexadecimal digits do not follow stands for itself.
func unescape(b []byte) string { return string(appendUnescaped(nil, b)) }

func appendUnescaped(dst, b []byte) []byte {
	for i := 0; i < len(b); i++ {
		if b[i] == '^' && i+2 < len(b) {
			if hi, lo := hexDigit(b[i+1]), hexDigit(b[i+2]); hi >= 0 && lo >= 0 {
				dst = utf8.AppendRune(dst, rune(hi<<4|lo))
				i += 2
				continue
			}
		}
		dst = append(dst, b[i])
	}
	return dst
}

// hexDigit is the value of a hexadecimal digit of either case, or -1.
func hexDigit(c byte) int {
	switch {
	case isDigit(c):
		return int(c - '0')
	case c >= 'A' && c <= 'F':
		return int(c-'A') + 10
	case c >= 'a' && c <= 'f':
		return int(c-'a') + 10
	}
	return -1
}
