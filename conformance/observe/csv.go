package observe

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"swellbench/emulator/wire"
)

const maxColumns = 1000

// A lineParser turns lines into observations, one after another. skip: the line is no record and is not to be counted.
type lineParser interface {
	parse(line []byte, stats *Stats, lineNo int64) (o Observation, skip bool, refusal *Refusal)
}

// A csvParser reads the records of a log as its map says. Fields may be quoted as RFC 4180 has it, but for line ends
// within.
type csvParser struct {
	m       *Map
	sep     byte
	spaces  bool
	comma   bool // the decimal mark
	skip    int  // lines left to be passed over
	headed  bool
	failed  *Refusal // the header lacks columns: all records are refused
	numbers []numberColumn
	fix     wordColumn
	valid   wordColumn
	point   int
	source  int
	stamp   stamper
	words   parser // of points and sources
	fields  [][]byte
	buf     []byte
	text    []byte
	o       Observation
}

type numberColumn struct {
	q          quantityRow
	at         int
	scale, add float64
	written    string
	hemisphere int
	name       string
}

type wordColumn struct {
	at    int
	fix   map[string]wire.Fix
	valid map[string]bool
}

func newCSVParser(m *Map) *csvParser {
	p := &csvParser{m: m, sep: m.separator(), spaces: m.Between == "spaces", comma: m.decimal() == ',', skip: m.Skip}
	if m.Header == NoHeader {
		p.bind(nil)
	}
	return p
}

// bind finds the columns; header is nil where they have numbers.
func (p *csvParser) bind(header [][]byte) {
	p.headed = true
	find := func(name string) int {
		if name == "" {
			return -1
		}
		at := -1
		for i, h := range header {
			if string(h) == name {
				if at >= 0 {
					p.fail("the header has two columns %q; give one of them another name, or take header: none and numbers", name)
				}
				at = i
			}
		}
		if at >= 0 {
			return at
		}
		if n, err := strconv.Atoi(name); err == nil && n >= 1 && n <= maxColumns {
			return n - 1
		}
		names := make([]string, len(header))
		for i, h := range header {
			names[i] = printable(h, 40)
		}
		p.fail("the header has no column %q; it has: %s", name, strings.Join(names, ", "))
		return -1
	}
	for _, q := range quantityRows {
		c, ok := p.m.Columns[q.name]
		if !ok {
			continue
		}
		n := numberColumn{q: q, at: find(c.Column), written: c.Written, hemisphere: find(c.Hemisphere), name: q.name}
		unit := c.Unit
		if unit == "" {
			unit = q.unit
		}
		n.scale = q.units[unit]
		if c.Positive != "" && c.Positive == q.signs[1] {
			n.scale = -n.scale
		}
		if c.From != "" && c.From == q.from[1] {
			n.add = float64(p.m.Variation)
			if q.name == "height" {
				n.add = float64(p.m.Undulation)
			}
		}
		p.numbers = append(p.numbers, n)
	}
	p.fix, p.valid = wordColumn{at: -1}, wordColumn{at: -1}
	if c, ok := p.m.Columns["fix"]; ok {
		p.fix = wordColumn{at: find(c.Column), fix: map[string]wire.Fix{}}
		for text, word := range c.Words {
			p.fix.fix[text], _ = wire.ParseFix(word)
		}
		if len(c.Words) == 0 {
			for f := wire.FixNone; f <= wire.FixSimulated; f++ {
				p.fix.fix[f.String()] = f
			}
		}
	}
	if c, ok := p.m.Columns["heading_valid"]; ok {
		p.valid = wordColumn{at: find(c.Column), valid: map[string]bool{"true": true, "false": false, "1": true, "0": false}}
		if len(c.Words) > 0 {
			p.valid.valid = map[string]bool{}
			for text, word := range c.Words {
				p.valid.valid[text] = word == "true"
			}
		}
	}
	p.point, p.source = find(p.m.Points), find(p.m.Source)
	p.stamp = newStamper(p.m.Time, p.comma)
	for _, c := range p.m.Time.Columns {
		p.stamp.columns = append(p.stamp.columns, find(c))
	}
}

// fail keeps the first thing that is wrong with the header.
func (p *csvParser) fail(format string, a ...any) {
	if p.failed == nil {
		p.failed = &Refusal{BadHeader, fmt.Sprintf(format, a...)}
	}
}

func (p *csvParser) parse(line []byte, _ *Stats, _ int64) (_ Observation, skip bool, refusal *Refusal) {
	p.o = Observation{}
	o := &p.o
	switch {
	case p.skip > 0:
		p.skip--
		return *o, true, nil
	case p.m.Comment != "" && bytes.HasPrefix(line, []byte(p.m.Comment)):
		return *o, true, nil
	}
	if !p.split(line) {
		return *o, false, &Refusal{WrongForm, "a quotation mark without its pair, or too many columns"}
	}
	if !p.headed {
		for i := range p.fields {
			p.fields[i] = bytes.Clone(p.fields[i])
		}
		p.bind(p.fields)
		return *o, p.failed == nil, p.failed
	}
	if p.failed != nil {
		return *o, false, p.failed
	}
	if o.Time, refusal = p.stamp.time(p.fields); refusal != nil {
		return *o, false, refusal
	}
	var east, north Field[float64]
	for i := range p.numbers {
		c := &p.numbers[i]
		f, refusal := p.number(c)
		if refusal != nil {
			return *o, false, refusal
		}
		switch {
		case c.q.set != nil:
			*c.q.set(o) = f
		case c.name == "velocity_east":
			east = f
		default:
			north = f
		}
	}
	if e, ok := east.Value(); ok {
		if n, ok := north.Value(); ok {
			o.SpeedMS, o.CourseRad = Of(math.Hypot(e, n)), Of(math.Mod(math.Atan2(e, n)+2*math.Pi, 2*math.Pi))
		}
	} else if east.IsNull() {
		o.SpeedMS, o.CourseRad = Null[float64](), Null[float64]()
	}
	return *o, false, p.wordsOf(o)
}

// wordsOf reads what is no number.
func (p *csvParser) wordsOf(o *Observation) *Refusal {
	o.Point = p.m.Point
	if f, ok := p.field(p.point); ok && len(f) > 0 {
		o.Point = p.words.intern(f)
	}
	if f, ok := p.field(p.source); ok {
		o.Source = p.words.intern(f)
	}
	if f, ok := p.field(p.fix.at); ok && len(f) > 0 {
		word, known := p.fix.fix[string(f)]
		switch {
		case known:
			o.Fix = Of(word)
		case p.isNull(f):
			o.Fix = Null[wire.Fix]()
		default:
			return &Refusal{UnknownWord, fmt.Sprintf("fix is %q; the map has no such word", printable(f, 40))}
		}
	}
	if f, ok := p.field(p.valid.at); ok && len(f) > 0 {
		word, known := p.valid.valid[string(f)]
		switch {
		case known:
			o.HeadingValid = Of(word)
		case p.isNull(f):
			o.HeadingValid = Null[bool]()
		default:
			return &Refusal{UnknownWord, fmt.Sprintf("heading_valid is %q; the map has no such word", printable(f, 40))}
		}
	}
	return nil
}

func (p *csvParser) field(i int) ([]byte, bool) {
	if i < 0 || i >= len(p.fields) {
		return nil, false
	}
	return p.fields[i], true
}

func (p *csvParser) isNull(f []byte) bool {
	return len(f) == 0 || slices.ContainsFunc(p.m.NoValue, func(s string) bool { return string(f) == s })
}

// number reads a column. One that the record does not have is absent; an empty one is null.
func (p *csvParser) number(c *numberColumn) (Field[float64], *Refusal) {
	f, ok := p.field(c.at)
	if !ok {
		return Field[float64]{}, nil
	}
	if p.isNull(f) {
		return Null[float64](), nil
	}
	var v float64
	switch c.written {
	case "parts":
		v, ok = p.parts(f)
	case "degrees-minutes":
		v, ok = p.decimalOf(f)
		whole := math.Trunc(v / 100)
		v = whole + (v-100*whole)/60
	default:
		v, ok = p.decimalOf(f)
	}
	if !ok || math.IsInf(v, 0) || math.IsNaN(v) {
		reason := WrongType
		if w := strings.ToLower(string(f)); strings.Contains(w, "nan") || strings.Contains(w, "inf") || math.IsInf(v, 0) {
			reason = BadNumber
		}
		return Field[float64]{}, &Refusal{reason, fmt.Sprintf("%s is %q; allowed: a finite number as the map has it", c.name, printable(f, 40))}
	}
	v = v*c.scale + c.add
	if h, ok := p.field(c.hemisphere); ok && len(h) > 0 {
		switch h[0] {
		case 'S', 's', 'W', 'w':
			v = -v
		case 'N', 'n', 'E', 'e':
		default:
			return Field[float64]{}, &Refusal{UnknownWord, fmt.Sprintf("the hemisphere of %s is %q; allowed: N, S, E, W", c.name, printable(h, 40))}
		}
	}
	if (c.name == "heading" || c.name == "course") && c.add != 0 {
		if v = math.Mod(v, 2*math.Pi); v < 0 {
			v += 2 * math.Pi
		}
	}
	return Of(v), nil
}

// decimalOf reads a number with the map's decimal mark.
func (p *csvParser) decimalOf(f []byte) (float64, bool) {
	if p.comma {
		if bytes.IndexByte(f, '.') >= 0 {
			return 0, false
		}
		p.text = append(p.text[:0], f...)
		for i, c := range p.text {
			if c == ',' {
				p.text[i] = '.'
			}
		}
		f = p.text
	}
	for _, c := range f {
		if !(c >= '0' && c <= '9' || c == '.' || c == '-' || c == '+' || c == 'e' || c == 'E') {
			return 0, false // ParseFloat would take 0x1p4, 1_0 and Inf too
		}
	}
	v, err := strconv.ParseFloat(string(f), 64)
	return v, err == nil
}

// parts reads degrees, minutes and seconds, as many as there are, with any signs between: 50° 08' 14.03" N.
func (p *csvParser) parts(f []byte) (float64, bool) {
	var v, unit float64 = 0, 1
	negative, n := false, 0
	for i := 0; i < len(f); {
		c := f[i]
		switch {
		case c == '-' && n == 0, c == 'S' || c == 'W':
			negative = true
			i++
		case c >= '0' && c <= '9':
			j := i
			for j < len(f) && (f[j] >= '0' && f[j] <= '9' || f[j] == '.' || p.comma && f[j] == ',') {
				j++
			}
			x, ok := p.decimalOf(f[i:j])
			if n++; !ok || n > 3 || n > 1 && x >= 60 {
				return 0, false
			}
			v += x * unit
			unit /= 60
			i = j
		default:
			i++
		}
	}
	if negative {
		v = -v
	}
	return v, n > 0
}

// split cuts a line into p.fields, which lie in the line or in p.buf.
func (p *csvParser) split(line []byte) bool {
	p.fields, p.buf = p.fields[:0], p.buf[:0]
	for i := 0; ; {
		if len(p.fields) == maxColumns {
			return false
		}
		if p.spaces {
			for i < len(line) && (line[i] == ' ' || line[i] == '\t') {
				i++
			}
			if i == len(line) {
				return true
			}
		}
		from := i
		for p.sep != '\t' && i < len(line) && line[i] == ' ' {
			i++
		}
		if i < len(line) && line[i] == '"' {
			field, next, ok := p.quoted(line, i)
			if !ok {
				return false
			}
			p.fields, i = append(p.fields, field), next
		} else {
			for i = from; i < len(line) && line[i] != p.sep && !(p.spaces && line[i] == '\t'); {
				i++
			}
			p.fields = append(p.fields, bytes.TrimSpace(line[from:i]))
		}
		if i >= len(line) {
			return true
		}
		i++ // the separator
	}
}

// quoted reads a quoted field that begins at line[i]; next is its separator or the end.
func (p *csvParser) quoted(line []byte, i int) (field []byte, next int, ok bool) {
	from := len(p.buf)
	for i++; i < len(line); i++ {
		if line[i] != '"' {
			p.buf = append(p.buf, line[i])
			continue
		}
		if i+1 < len(line) && line[i+1] == '"' {
			p.buf = append(p.buf, '"')
			i++
			continue
		}
		for i++; i < len(line) && line[i] == ' ' && p.sep != ' '; i++ {
		}
		if i < len(line) && line[i] != p.sep {
			return nil, i, false
		}
		return bytes.TrimSpace(p.buf[from:len(p.buf):len(p.buf)]), i, true
	}
	return nil, i, false
}
