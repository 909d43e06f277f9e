package nmea0183

import (
	"unicode/utf8"

	"swellbench/emulator/wire"
)

// A TXT is one of up to 99 sentences of a text. An [Assembler] puts them together.
//
// Source: the library that the reference page of the project names; up to 61 characters a sentence.
type TXT struct {
	Talker        Talker // zero is GN
	Total, Number int    // of sentences, and which this is
	ID            int    // of the text
	Text          string
}

// MaxText is how many characters of text, escapes as sent, a TXT may have.
const MaxText = 61

// DefaultText is what a TXT says if nothing else is said.
const DefaultText = "SIMULATED DATA NOT FOR NAVIGATION"

var (
	txtTotalSpan  = span{field: "number of sentences", allowed: "1 to 99", lo: 1, hi: 99}
	txtNumberSpan = span{field: "number of the sentence", allowed: "1 to 99, and not more than there are", lo: 1, hi: 99}
	textIDSpan    = span{field: "text identifier", allowed: "1 to 99", lo: 1, hi: 99}
	textIDRead    = span{field: "text identifier", allowed: "0 to 99", lo: 0, hi: 99}
)

// Type is TXT.
func (*TXT) Type() string { return "TXT" }

// Append writes the sentence.
func (s *TXT) Append(dst []byte, f *Format) ([]byte, error) {
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "TXT")
	w.plainInteger(s.Total, 2, &txtTotalSpan)
	w.plainInteger(s.Number, 2, &txtNumberSpan)
	if s.Number > s.Total {
		w.outOfRange(&txtNumberSpan, float64(s.Number))
	}
	w.plainInteger(s.ID, 2, &textIDRead)
	w.b = append(w.b, ',')
	w.text("text", s.Text)
	return w.end()
}

// Parse reads the sentence. A text longer than [MaxText] is taken.
func (s *TXT) Parse(f *Fields) error {
	*s = TXT{Text: s.Text}
	c := s.head(f)
	s.Text = unescapeAgain(s.Text, c.next())
	if c.error != nil {
		*s = TXT{}
	}
	return c.err()
}

// head reads all but the text.
func (s *TXT) head(f *Fields) cursor {
	s.Talker = f.Talker()
	c := f.cursor("TXT")
	s.Total = c.integer(&txtTotalSpan).Or(0)
	s.Number = c.integer(&txtNumberSpan).Or(0)
	if s.Number < 1 || s.Number > s.Total {
		c.fail("number of the sentence", f.Field(2), txtNumberSpan.allowed)
	}
	s.ID = c.integer(&textIDRead).Or(0)
	return c
}

// textParts cuts a text into pieces that fit a sentence each, no escape across two. ok is false if there are more than 99
// of them or it has characters that cannot be sent.
func textParts(text string) (parts []string, ok bool) {
	from, length := 0, 0
	for i, r := range text {
		size := 1
		if r > 0xff || r < ' ' || r == utf8.RuneError {
			return nil, false
		}
		if escaped(r) {
			size = 3
		}
		if length+size > MaxText {
			parts = append(parts, text[from:i])
			from, length = i, 0
		}
		length += size
	}
	parts = append(parts, text[from:])
	return parts, len(parts) <= 99
}

// appendTXT writes the text of the stream, in as many sentences as it takes.
func appendTXT(e *encoder, dst []byte, _ *wire.Reading) ([]byte, error) {
	start := len(dst)
	for i, part := range e.text {
		s := TXT{Talker: e.talker, Total: len(e.text), Number: i + 1, ID: e.textID, Text: part}
		var err error
		if dst, err = s.Append(dst, &e.format); err != nil {
			return dst[:start], err
		}
	}
	return dst, nil
}

// readTXT finds nothing that a reading holds.
func readTXT(f *Fields, _ *wire.Reading) error {
	var s TXT
	c := s.head(f)
	return c.err()
}

func txtResolutions(*Format) []wire.Resolution { return nil }
