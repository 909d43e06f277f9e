package nmea0183

import (
	"bytes"
	"fmt"
	"strings"
)

// A Reason says why something that began as a sentence is none.
type Reason string

// The reasons.
const (
	ChecksumMismatch  Reason = "checksum mismatch"
	ChecksumMissing   Reason = "checksum missing"
	ChecksumMalformed Reason = "checksum not two hexadecimal digits"
	TrailingText      Reason = "text after the checksum"
	BadCharacter      Reason = "bad character"
	BadAddress        Reason = "address not of up to 15 capital letters and digits"
	TooShort          Reason = "address too short"
	TooLong           Reason = "too long"
	CutShort          Reason = "cut short"
	TagChecksum       Reason = "TAG block checksum missing or wrong"
	TagNotClosed      Reason = "TAG block not closed"
	TagAlone          Reason = "TAG block without a sentence"
	// Only of [Parse]:
	Empty       Reason = "empty"
	NoStart     Reason = "no $, ! or \\ at the start"
	StartInside Reason = "a start or a line end inside"
)

// excerpt is a line for an error, without its end, and no longer than a sentence may be.
func excerpt(line []byte) string {
	line = bytes.TrimRight(line, "\r\n")
	return string(line[:min(len(line), Limit)])
}

// A RejectError reports a line that is no sentence.
type RejectError struct {
	Reason Reason
	Line   string
}

// Error says why, and what would have been right where that is known.
func (e *RejectError) Error() string {
	hint := ""
	if e.Reason == ChecksumMismatch {
		if s := e.Line[strings.IndexAny(e.Line, "$!")+1:]; len(s) >= 3 {
			hint = fmt.Sprintf(" (its characters give %02X)", checksum([]byte(s[:len(s)-3])))
		}
	}
	return fmt.Sprintf("decode sentence: %s%s: %q; allowed: $, address, fields, *, two hexadecimal digits", e.Reason, hint, e.Line)
}

// frame takes a sentence from its start to its checksum apart, if all about it is right. Its slices are those of s.
func (f *Fields) frame(s []byte) bool {
	n := len(s)
	if n < 8 || s[n-3] != '*' { // $PABC*hh is the shortest
		return false
	}
	// The address first: it costs little, and keeps the work small where starts follow one another without an end.
	rest := s[1 : n-3 : n-3]
	a := 0
	for a < len(rest) && a < 16 && (isUpper(rest[a]) || isDigit(rest[a])) {
		a++
	}
	if a < 5 && (a < 4 || rest[0] != 'P') || a > 15 || a < len(rest) && rest[a] != ',' {
		return false
	}
	hi, lo := hexDigit(s[n-2]), hexDigit(s[n-1])
	sum, ok := plain(rest)
	if !ok || hi < 0 || lo < 0 || byte(hi<<4|lo) != sum {
		return false
	}
	*f = Fields{Start: s[0], Address: rest[:a:a], Sum: sum}
	if a < len(rest) {
		f.Comma, f.Body = true, rest[a+1:]
	}
	return true
}

// judge takes a unit apart, or says what is wrong with it. A unit begins with a start, and has no other and no line
// end in it but for those of the TAG block.
func judge(unit []byte, why ending, f *Fields) Reason {
	s := unit
	var tag Tag
	if s[0] == '\\' {
		var r Reason
		if tag, s, r = splitTag(s); r != "" {
			if why == atLimit && r == TagNotClosed {
				return TooLong
			}
			return r
		}
		if len(s) == 0 {
			return TagAlone
		}
	}
	if why != atLimit && f.frame(s) {
		f.Tag = tag
		return ""
	}
	return fault(s, why)
}

// fault says what is wrong with a sentence that frame refused.
func fault(s []byte, why ending) Reason {
	for _, c := range s {
		if c < ' ' || c > '}' {
			return BadCharacter
		}
	}
	body, sum, ok := bytes.Cut(s[1:], []byte{'*'})
	switch {
	case why == atLimit:
		return TooLong
	case why == atStart && len(sum) < 2:
		return CutShort
	case !ok:
		return ChecksumMissing
	case len(sum) < 2 || hexDigit(sum[0]) < 0 || hexDigit(sum[1]) < 0:
		return ChecksumMalformed
	case len(sum) > 2:
		return TrailingText
	case byte(hexDigit(sum[0])<<4|hexDigit(sum[1])) != checksum(body):
		return ChecksumMismatch
	}
	address, _, _ := bytes.Cut(body, []byte{','})
	for _, c := range address {
		if !isUpper(c) && !isDigit(c) {
			return BadAddress
		}
	}
	if len(address) > 15 {
		return BadAddress
	}
	return TooShort
}

// split frames one line that is to hold one sentence and nothing else but a TAG block and a line end.
func split(line []byte, f *Fields) Reason {
	if n := len(line); n > 0 && line[n-1] == '\n' {
		line = line[:n-1]
	}
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	switch {
	case len(line) == 0:
		return Empty
	case class[line[0]] != starts:
		return NoStart
	case len(line) > Limit:
		return TooLong
	}
	s := line
	if s[0] == '\\' {
		if i := bytes.IndexByte(s[1:], '\\'); i >= 0 {
			if s = s[i+2:]; len(s) > 0 && s[0] != '$' && s[0] != '!' {
				return TagAlone
			}
		}
	}
	for i, c := range s {
		if i > 0 && class[c] != 0 {
			return StartInside
		}
	}
	return judge(line, atLineEnd, f)
}

// Parse reads one line of a log as one sentence: a TAG block and a line end are allowed, nothing else. A type that
// [Messages] does not have comes as *[Fields]. Its error is a [*RejectError] or a [*FieldError].
func Parse(line []byte) (Sentence, error) {
	var f Fields
	if r := split(line, &f); r != "" {
		return nil, &RejectError{Reason: r, Line: excerpt(line)}
	}
	s := f.sentence()
	if err := s.Parse(&f); err != nil {
		return nil, err
	}
	return s, nil
}

// sentence is an empty sentence of the type.
func (f *Fields) sentence() Sentence {
	if row := rowOf(f); row != nil {
		return row.Sentence()
	}
	return new(Fields)
}

// A Parser reads sentence after sentence into the same structs, one a type, and so allocates nothing. The zero Parser
// is ready. It is not safe for several goroutines at once.
type Parser struct{ sentences []Sentence }

// Parse reads an accepted sentence. What it returns is valid until the next sentence of the same type; a type that
// [Messages] does not have comes back as f. Its error is a [*FieldError].
func (p *Parser) Parse(f *Fields) (Sentence, error) {
	a := f.Address
	if f.Start != '$' || len(a) != 5 || a[0] == 'P' {
		return f, nil
	}
	if p.sentences == nil {
		for i := range Messages {
			p.sentences = append(p.sentences, Messages[i].Sentence())
		}
	}
	i := typeIndex(a)
	if i < 0 {
		return f, nil
	}
	s := p.sentences[i]
	if err := s.Parse(f); err != nil {
		return nil, err
	}
	return s, nil
}
