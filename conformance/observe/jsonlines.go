package observe

import (
	"fmt"
	"math"

	"swellbench/emulator/wire"
)

// Parse reads one observation from one line of JSON. Its error is a [*Refusal].
func Parse(line []byte) (Observation, error) {
	var p parser
	o, _, r := p.parse(line, nil, 0)
	if r != nil {
		return Observation{}, r
	}
	return o, nil
}

// A parser turns lines into observations. It keeps the words that recur, so that they are not allocated anew.
type parser struct {
	words map[string]string
	times timeCache
	buf   []byte // for texts with escapes
	keys  []member
	kept  int // times that keys were noted
}

// A member is how a key stood in its place on an earlier line: where the next line has the same bytes there, it is the same
// key. Nearly all lines of a program are alike.
type member struct {
	text string // from the quote to the colon, and spaces about them
	name string
	key  int
}

// maxMembers and maxMemberBytes bound what is kept of them, maxKept how often: lines of two kinds in turn are not to
// cost an allocation each.
const maxMembers, maxMemberBytes, maxKept = 32, 64, 256

// again reads over the key of the n-th member, if it is the one that stood there before.
func (p *parser) again(s *scanner, n int) (name string, key int, ok bool) {
	if n >= len(p.keys) {
		return "", 0, false
	}
	m := &p.keys[n]
	end := s.i + len(m.text)
	if m.key == 0 || end > len(s.b) || string(s.b[s.i:end]) != m.text {
		return "", 0, false
	}
	s.i = end
	return m.name, m.key, true
}

// keep notes the key of the n-th member.
func (p *parser) keep(n int, text []byte, name []byte, key int) {
	if key == 0 || n > len(p.keys) || n >= maxMembers || len(text) > maxMemberBytes || p.kept >= maxKept {
		return
	}
	if n == len(p.keys) {
		p.keys = append(p.keys, member{})
	}
	p.keys[n], p.kept = member{string(text), string(name), key}, p.kept+1
}

// The keys of an observation, design §8.
const (
	keyTime = 1 << iota
	keyPoint
	keySource
	keyLat
	keyLon
	keyHeight
	keySpeed
	keyCourse
	keyHeading
	keyPitch
	keyRoll
	keyHeave
	keyRateOfTurn
	keyFix
	keyHeadingValid
)

func keyOf(b []byte) int {
	switch string(b) {
	case "time":
		return keyTime
	case "point":
		return keyPoint
	case "source":
		return keySource
	case "lat":
		return keyLat
	case "lon":
		return keyLon
	case "height":
		return keyHeight
	case "speed":
		return keySpeed
	case "course":
		return keyCourse
	case "heading":
		return keyHeading
	case "pitch":
		return keyPitch
	case "roll":
		return keyRoll
	case "heave":
		return keyHeave
	case "rate_of_turn":
		return keyRateOfTurn
	case "fix":
		return keyFix
	case "heading_valid":
		return keyHeadingValid
	}
	return 0
}

// noteKey is a key for whatever a program has to say to a person; nothing is made of its value.
const noteKey = "note"

const radPerDeg = math.Pi / 180

// parse reads one line. Unknown keys are counted in stats, if there are any.
func (p *parser) parse(line []byte, stats *Stats, lineNo int64) (o Observation, skip bool, refusal *Refusal) {
	o, refusal = p.object(line, stats, lineNo)
	return o, false, refusal
}

func (p *parser) object(line []byte, stats *Stats, lineNo int64) (o Observation, refusal *Refusal) {
	s := scanner{b: line}
	s.space()
	if s.peek() != '{' {
		if s.value() && s.end() {
			return o, &Refusal{NotAnObject, "an observation is one JSON object a line"}
		}
		return o, s.refusal()
	}
	s.i++
	seen := 0
	for n := 0; ; n++ {
		var raw []byte
		name, key, ok := p.again(&s, n)
		if !ok {
			from := s.i
			s.space()
			if s.peek() == '}' && n == 0 {
				s.i++
				break
			}
			raw, ok = s.text(&p.buf)
			if !ok || !s.colon() {
				return o, s.refusal()
			}
			if key = keyOf(raw); key == 0 && stats != nil && string(raw) != noteKey {
				stats.unknownKey(raw, lineNo)
			}
			p.keep(n, line[from:s.i], raw, key)
		}
		if key == 0 {
			if !s.value() {
				return o, s.refusal()
			}
		} else {
			if seen&key != 0 {
				if refusal == nil {
					refusal = &Refusal{DuplicateKey, fmt.Sprintf("%q is there twice", name+string(raw))} // one of them is empty
				}
			}
			seen |= key
			r := p.field(&s, &o, key)
			if s.bad {
				return o, s.refusal()
			}
			if refusal == nil {
				refusal = r
			}
		}
		s.space()
		switch s.peek() {
		case ',':
			s.i++
			continue
		case '}':
			s.i++
		default:
			s.bad = true
			return o, s.refusal()
		}
		break
	}
	if !s.end() {
		return o, s.refusal()
	}
	if refusal == nil && seen&keyTime == 0 {
		refusal = &Refusal{NoTime, `every observation needs "time"`}
	}
	return o, refusal
}

// field reads the value of a known key. On broken JSON s is bad; otherwise the value has been read, understood or not.
func (p *parser) field(s *scanner, o *Observation, key int) *Refusal {
	s.space()
	switch key {
	case keyTime:
		return p.time(s, o)
	case keyPoint:
		return p.word(s, "point", &o.Point)
	case keySource:
		return p.word(s, "source", &o.Source)
	case keyLat:
		return number(s, "lat", radPerDeg, &o.LatRad)
	case keyLon:
		return number(s, "lon", radPerDeg, &o.LonRad)
	case keyHeight:
		return number(s, "height", 1, &o.HeightM)
	case keySpeed:
		return number(s, "speed", 1, &o.SpeedMS)
	case keyCourse:
		return number(s, "course", radPerDeg, &o.CourseRad)
	case keyHeading:
		return number(s, "heading", radPerDeg, &o.HeadingRad)
	case keyPitch:
		return number(s, "pitch", radPerDeg, &o.PitchRad)
	case keyRoll:
		return number(s, "roll", radPerDeg, &o.RollRad)
	case keyHeave:
		return number(s, "heave", 1, &o.HeaveM)
	case keyRateOfTurn:
		return number(s, "rate_of_turn", radPerDeg, &o.RateOfTurnRadS)
	case keyFix:
		return p.fix(s, o)
	default:
		return valid(s, o)
	}
}

func (p *parser) time(s *scanner, o *Observation) *Refusal {
	switch s.peek() {
	case '"':
		b, ok := s.text(&p.buf)
		if !ok {
			return nil
		}
		t, why := p.times.parse(b)
		if why != "" {
			return &Refusal{BadTime, fmt.Sprintf("%q %s; allowed: RFC 3339, such as 2026-06-01T12:00:00.200Z", printable(b, 40), why)}
		}
		o.Time = t
		return nil
	case 'n':
		s.literal("null")
		return &Refusal{NoTime, `"time" is null`}
	}
	return wrongType(s, "time", "an RFC 3339 text")
}

func (p *parser) word(s *scanner, key string, to *string) *Refusal {
	switch s.peek() {
	case '"':
		if b, ok := s.text(&p.buf); ok {
			*to = p.intern(b)
		}
		return nil
	case 'n':
		s.literal("null")
		return nil
	}
	return wrongType(s, key, "a text or null")
}

// intern returns b as a string, the same one for the same few words.
func (p *parser) intern(b []byte) string {
	if w, ok := p.words[string(b)]; ok {
		return w
	}
	w := string(b)
	const maxWords, maxWordBytes = 256, 64
	if len(p.words) < maxWords && len(w) <= maxWordBytes {
		if p.words == nil {
			p.words = map[string]string{}
		}
		p.words[w] = w
	}
	return w
}

func (p *parser) fix(s *scanner, o *Observation) *Refusal {
	switch s.peek() {
	case '"':
		b, ok := s.text(&p.buf)
		if !ok {
			return nil
		}
		f, ok := wire.ParseFix(p.intern(b))
		if !ok {
			return &Refusal{UnknownWord, fmt.Sprintf("fix is %q; allowed: none, estimated, autonomous, differential, rtk-float, rtk-fixed, "+
				"precise, manual, simulated, or null", printable(b, 40))}
		}
		o.Fix = Of(f)
		return nil
	case 'n':
		s.literal("null")
		o.Fix = Null[wire.Fix]()
		return nil
	}
	return wrongType(s, "fix", "a text or null")
}

func valid(s *scanner, o *Observation) *Refusal {
	switch s.peek() {
	case 't':
		s.literal("true")
		o.HeadingValid = Of(true)
		return nil
	case 'f':
		s.literal("false")
		o.HeadingValid = Of(false)
		return nil
	case 'n':
		s.literal("null")
		o.HeadingValid = Null[bool]()
		return nil
	}
	return wrongType(s, "heading_valid", "true, false or null")
}

func number(s *scanner, key string, unit float64, to *Field[float64]) *Refusal {
	switch c := s.peek(); {
	case c == '-' || c >= '0' && c <= '9':
		if c == '-' && s.i+1 < len(s.b) && s.b[s.i+1] > '9' && s.notFinite() {
			return &Refusal{BadNumber, fmt.Sprintf("%s is -Infinity; allowed: a finite number, or null for no value", key)}
		}
		from := s.i
		v, ok := s.number()
		if s.bad {
			return nil
		}
		if !ok {
			return &Refusal{BadNumber, fmt.Sprintf("%s is %s, too large for a number; allowed: a finite number, or null for no value",
				key, printable(s.b[from:s.i], 40))}
		}
		*to = Of(v * unit)
		return nil
	case c == 'n':
		s.literal("null")
		*to = Null[float64]()
		return nil
	case c == 'N' || c == 'I':
		from := s.i
		if s.notFinite() {
			return &Refusal{BadNumber, fmt.Sprintf("%s is %s; allowed: a finite number, or null for no value", key, s.b[from:s.i])}
		}
	}
	return wrongType(s, key, "a number or null")
}

// wrongType reads over a value of a kind that the key does not take.
func wrongType(s *scanner, key, allowed string) *Refusal {
	from := s.i
	if !s.value() {
		return nil
	}
	return &Refusal{WrongType, fmt.Sprintf("%s is %s; allowed: %s", key, printable(s.b[from:s.i], 40), allowed)}
}
