package nmea0183

import "strings"

const reserved = "$*,!\\^~"

// text writes a text, with the escape ^hh for what the standard reserves and for the rest of ISO 8859-1.
func (w *writer) text(field, s string) {
	const hex = "0123456789ABCDEF"
	for _, r := range s {
		switch {
		case r > 0xff || r < ' ':
			w.badText(field, s, "characters of ISO 8859-1")
			return
		case r > 0x7e || strings.IndexByte(reserved, byte(r)) >= 0:
			w.b = append(w.b, '^', hex[r>>4], hex[r&15])
		default:
			w.b = append(w.b, byte(r))
		}
	}
}

// unescape reads a text. A ^ that two hexadecimal digits do not follow stands for itself.
func unescape(b []byte) string {
	var s strings.Builder
	for i := 0; i < len(b); i++ {
		if b[i] == '^' && i+2 < len(b) {
			if hi, lo := hexDigit(b[i+1]), hexDigit(b[i+2]); hi >= 0 && lo >= 0 {
				s.WriteRune(rune(hi<<4 | lo))
				i += 2
				continue
			}
		}
		s.WriteByte(b[i])
	}
	return s.String()
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
