package report

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// clean makes text that a consumer wrote harmless for terminals and XML: control characters and broken UTF-8 become
// visible as \x1b and the like. Line ends and tabs stay.
func clean(s string) string {
	ok := func(r rune) bool {
		return r == '\n' || r == '\t' || r != utf8.RuneError && !unicode.IsControl(r) && r != 0xFFFE && r != 0xFFFF && !unicode.Is(unicode.Cf, r)
	}
	if strings.IndexFunc(s, func(r rune) bool { return !ok(r) }) < 0 {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == '\r' && i+1 < len(s) && s[i+1] == '\n': // a line end of another system
		case ok(r):
			b.WriteString(s[i : i+n])
		case n == 1:
			fmt.Fprintf(&b, `\x%02x`, s[i])
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
		i += n
	}
	return b.String()
}

// oneLine is clean for text that belongs on one line.
func oneLine(s string) string {
	return strings.Join(strings.Fields(clean(s)), " ")
}
