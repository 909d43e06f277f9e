package layout

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"

	"swellbench/scenarios/strictyaml"
)

// A compiler makes a layout of a file and gathers what is wrong.
type compiler struct {
	file     *File
	problems []strictyaml.Problem
}

func (c *compiler) fail(path, format string, a ...any) {
	c.problems = append(c.problems, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, a...)})
}

var (
	layoutName = regexp.MustCompile(`^[a-z0-9]([a-z0-9-]{0,30}[a-z0-9])?$`)
	partName   = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_.-]{0,39}$`)
)

func (c *compiler) layout() *Layout {
	f := c.file
	l := &Layout{Name: f.Name, About: f.About}
	if !layoutName.MatchString(f.Name) {
		c.fail("name", "name is %s; allowed: small letters, digits and hyphens, at most 32, such as tilt-2", strictyaml.Quote(f.Name))
	}
	switch {
	case len(f.Messages) == 0:
		c.fail("messages", "there is no message; add one, with a name and fields")
	case len(f.Messages) > maxMessages:
		c.fail("messages", "there are %d messages; allowed: at most %d", len(f.Messages), maxMessages)
		return l
	}
	for i := range f.Messages {
		path := fmt.Sprintf("messages[%d]", i)
		name := f.Messages[i].Name
		if !partName.MatchString(name) {
			c.fail(path+".name", "name is %s; allowed: a letter, then letters, digits, hyphens, points and underscores, at most 40", strictyaml.Quote(name))
		}
		for k := range i {
			if f.Messages[k].Name == name {
				c.fail(path+".name", "the name %s is taken by messages[%d]; give each message a name of its own", strictyaml.Quote(name), k)
				break
			}
		}
		before := len(c.problems)
		m := c.message(path, &f.Messages[i])
		if len(c.problems) > before {
			continue
		}
		for _, o := range l.messages {
			if o.swallows(m) {
				c.fail(path, "every %s would be read as %s, which stands before it: nothing tells the two apart, and %s has no checksum; give each a start or a fixed field of its own", m.name, o.name, o.name)
				break
			}
		}
		l.messages = append(l.messages, m)
		l.longest = max(l.longest, m.size)
		for b := range 256 {
			switch {
			case m.fixed:
				l.begins[b] = l.begins[b] || byte(b)&m.mask[0] == m.want[0]
			default:
				l.begins[b] = l.begins[b] || byte(b) == m.start[0]
			}
		}
	}
	l.requests = c.requests()
	return l
}

// swallows tells whether every message of the other kind would be taken for one of this, which is asked first.
func (m *message) swallows(o *message) bool {
	if m.hasSum || !m.fixed || !o.fixed {
		return false
	}
	for i := range min(m.size, o.size) {
		if both := m.mask[i] & o.mask[i]; m.want[i]&both != o.want[i]&both {
			return false
		}
		if m.mask[i]&^o.mask[i] != 0 { // it depends on what the other says there
			return false
		}
	}
	for i := range m.fields {
		if f := &m.fields[i]; f.coding.ascii() && f.role != roleFixed { // it may not be readable
			return false
		}
	}
	return true
}

func (c *compiler) message(path string, spec *Message) *message {
	m := &message{name: spec.Name, about: spec.About, path: path, start: spec.Start, end: spec.End, fixed: true, tick: tick{1, 1}}
	switch {
	case len(spec.Fields) == 0:
		c.fail(path+".fields", "the message has no field; add one")
		return m
	case len(spec.Fields) > maxFields:
		c.fail(path+".fields", "the message has %d fields; allowed: at most %d", len(spec.Fields), maxFields)
		return m
	}
	if spec.Length < 0 || spec.Length > maxLength {
		c.fail(path+".length", "length is %d; allowed: 1 to %d bytes", spec.Length, maxLength)
		return m
	}
	m.fields = make([]field, len(spec.Fields))
	before := len(c.problems)
	for i := range spec.Fields {
		fp := fmt.Sprintf("%s.fields[%d]", path, i)
		s := &spec.Fields[i]
		if !partName.MatchString(s.Name) {
			c.fail(fp+".name", "name is %s; allowed: a letter, then letters, digits, hyphens, points and underscores, at most 40", strictyaml.Quote(s.Name))
		} else if slices.Contains(edgeWords, s.Name) {
			c.fail(fp+".name", "name is %s, which has a meaning in spans; take another", s.Name)
		}
		for k := range i {
			if spec.Fields[k].Name == s.Name {
				c.fail(fp+".name", "the name %s is taken by fields[%d]; give each field a name of its own", strictyaml.Quote(s.Name), k)
				break
			}
		}
		f := &m.fields[i]
		*f = field{name: s.Name, path: fp, spec: s, at: -1, signOf: -1}
		if i > 0 {
			f.before = spec.Separator
		}
		if s.Before != nil {
			f.before = *s.Before
		}
		c.coding(f)
		m.fixed = m.fixed && f.size >= 0
	}
	if len(c.problems) > before {
		return m
	}
	for i := range m.fields {
		c.meaning(m, i)
	}
	if len(c.problems) > before {
		return m
	}
	if m.fixed {
		c.places(m, spec)
	} else {
		c.sequence(m, spec)
	}
	for i := range m.fields {
		c.spans(m, i)
	}
	if len(c.problems) > before {
		return m
	}
	c.complete(m, spec)
	return m
}

// places gives the fields of a message of fixed length their places.
func (c *compiler) places(m *message, spec *Message) {
	next, last := len(m.start), len(m.start)
	for i := range m.fields {
		f := &m.fields[i]
		if at := f.spec.At; at != nil {
			if *at < 0 || *at >= maxLength {
				c.fail(f.path+".at", "at is %d; allowed: 0 to %d", *at, maxLength-1)
				return
			}
			if f.at = *at; f.spec.Before == nil {
				f.before = nil // the place says it all
			}
		} else {
			f.at = next + len(f.before)
		}
		next = f.at + f.size
		last = max(last, next)
	}
	m.size = last + len(m.end)
	if spec.Length > 0 {
		m.size = spec.Length
	}
	if m.size > maxLength {
		c.fail(m.path, "the message has %d bytes; allowed: at most %d", m.size, maxLength)
		return
	}
	m.least = m.size
	if len(m.start)+len(m.end) > m.size {
		c.fail(m.path+".start", "start and end have %d bytes, and the message only %d: the start could never match; make the length larger or the start shorter", len(m.start)+len(m.end), m.size)
		return
	}
	// Whose each bit is.
	owner := make([][8]int, m.size) // 1 + the index of the field; -1 start, -2 end, -3 what stands before a field
	claim := func(i, at int, mask byte, who int) (other int) {
		for k := range 8 {
			if mask>>k&1 == 0 {
				continue
			}
			if o := owner[at][k]; o != 0 && o != who {
				return o
			}
			owner[at][k] = who
		}
		return 0
	}
	for k := range m.start {
		claim(0, k, 0xFF, -1)
	}
	for k := range m.end {
		claim(0, m.size-1-k, 0xFF, -2)
	}
	for i := range m.fields {
		f := &m.fields[i]
		where := f.path
		if f.spec.At != nil {
			where += ".at"
		}
		lo := f.at - len(f.before)
		if lo < 0 || f.at+f.size > m.size {
			c.fail(where, "%s has bytes %d to %d, and the message ends with byte %d; allowed: within the length of %d bytes", f.name, lo, f.at+f.size-1, m.size-1, m.size)
			continue
		}
		overlap := 0
		for k := range f.before {
			if o := claim(i, lo+k, 0xFF, 1+i); o != 0 {
				overlap = o
			}
		}
		for k := range f.size {
			mask := byte(0xFF)
			if f.part {
				var p [8]byte
				f.putRaw(p[:], f.mask)
				mask = p[k]
			}
			if o := claim(i, f.at+k, mask, 1+i); o != 0 && overlap == 0 {
				overlap = o
			}
		}
		switch {
		case overlap == -1:
			c.fail(where, "%s (bytes %d to %d) overlaps the start (bytes 0 to %d); move it to byte %d or later", f.name, lo, f.at+f.size-1, len(m.start)-1, len(m.start))
		case overlap == -2:
			c.fail(where, "%s (bytes %d to %d) overlaps the end (bytes %d to %d); move it, or make the length larger", f.name, lo, f.at+f.size-1, m.size-len(m.end), m.size-1)
		case overlap > 0:
			o := &m.fields[overlap-1]
			c.fail(where, "%s (bytes %d to %d) overlaps %s (bytes %d to %d); give each bit to one field", f.name, lo, f.at+f.size-1, o.name, o.at, o.at+o.size-1)
		}
	}
}

// sequence looks at a message whose fields vary in length: what ends each of them must be seen.
func (c *compiler) sequence(m *message, spec *Message) {
	if spec.Length != 0 {
		c.fail(m.path+".length", "length is %d, but the length of the message varies with its fields; leave it out, or give each field a width", spec.Length)
	}
	if len(m.start) == 0 {
		c.fail(m.path, "the message varies in length and has no start: nothing tells where it begins; add start: with the bytes it begins with")
		return
	}
	m.size = len(m.start) + len(m.end)
	m.least = m.size
	for i := range m.fields {
		f := &m.fields[i]
		if f.spec.At != nil {
			c.fail(f.path+".at", "at is %d, but the length of the message varies with its fields, so no field but by its order has a place; leave it out, or give each field a width", *f.spec.At)
		}
		m.size += len(f.before) + f.most
		m.least += len(f.before) + max(f.size, 0)
		if f.size >= 0 {
			continue
		}
		stop, what := m.end, "the end of the message"
		if i+1 < len(m.fields) {
			stop, what = m.fields[i+1].before, "what stands before "+m.fields[i+1].name
		}
		switch {
		case len(stop) == 0 && i+1 < len(m.fields):
			c.fail(f.path, "%s is as long as its value, and nothing stands between it and %s; give it a width, or add a separator", f.name, m.fields[i+1].name)
		case len(stop) == 0:
			c.fail(f.path, "%s is as long as its value, and nothing ends it; give it a width, or the message an end", f.name)
		case f.mayHold(stop[0]):
			c.fail(f.path, "%s may hold %q, with which %s begins, so that nobody can tell where it ends; give it a width, or change that", f.name, stop[:1], what)
		default:
			f.stop = stop[0]
		}
	}
	if m.size > maxLength {
		c.fail(m.path, "the message may have %d bytes; allowed: at most %d", m.size, maxLength)
	}
	if len(m.end) > 0 && bytes.Contains(m.start, m.end) {
		c.fail(m.path+".start", "start is %q and holds the end %q: the message would end before it begins", m.start, m.end)
	}
	m.rest = make([]int, len(m.fields)+1)
	m.rest[len(m.fields)] = len(m.end)
	for i := len(m.fields) - 1; i >= 0; i-- {
		m.rest[i] = m.rest[i+1] + len(m.fields[i].before) + max(m.fields[i].size, 0)
	}
}

// mayHold tells whether a varying field may hold that byte.
func (f *field) mayHold(b byte) bool {
	if f.hasNone && bytes.IndexByte(f.noneT, b) >= 0 {
		return true
	}
	switch f.coding {
	case codeDecimal:
		return b >= '0' && b <= '9' || b == '.' || b == '-' || b == '+' || b == ' ' && f.plus == ' '
	case codeText:
		if bytes.IndexByte(f.text, b) >= 0 {
			return true
		}
		for _, w := range f.words {
			if bytes.IndexByte(w, b) >= 0 {
				return true
			}
		}
	}
	return false
}
