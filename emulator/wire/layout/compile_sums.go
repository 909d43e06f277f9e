package layout

import (
	"fmt"
	"slices"
	"strings"

	"swellbench/emulator/wire/crc"
	"swellbench/scenarios/strictyaml"
)

// checksum is which sum the field is.
func (c *compiler) checksum(f *field) {
	s := f.spec.Checksum
	at := f.path + ".checksum"
	if f.coding == codeText || f.coding == codeFloat || f.coding == codeBCD || f.size < 0 {
		c.fail(f.path+".as", "as is %s; allowed for a checksum: whole numbers, bits, hex, and decimal with a width", f.spec.As)
		return
	}
	if strings.EqualFold(s.Method, "crc") {
		sum, err := crc.New(crc.Params{Width: s.Width, Poly: s.Poly, Init: s.Init, RefIn: s.RefIn, RefOut: s.RefOut, XorOut: s.XorOut})
		if err != nil {
			for _, line := range strings.Split(err.Error(), "\n") {
				text := strings.TrimPrefix(line, "crc: ")
				key, _, _ := strings.Cut(text, " ")
				c.fail(at+"."+key, "%s", text)
			}
			return
		}
		f.sum = sum
	} else {
		for _, k := range []struct {
			key string
			set bool
		}{{"width", s.Width != 0}, {"poly", s.Poly != 0}, {"init", s.Init != 0}, {"refin", s.RefIn}, {"refout", s.RefOut}, {"xorout", s.XorOut != 0}} {
			if k.set {
				c.fail(at+"."+k.key, "%s means nothing for %s; with parameters the method is crc", k.key, strictyaml.Quote(s.Method))
			}
		}
		sum, err := crc.Lookup(s.Method)
		if err != nil {
			c.fail(at+".method", "method is %s; %s", strictyaml.Quote(s.Method), strictyaml.Allowed(s.Method, append([]string{"crc"}, crc.Names()...)))
			return
		}
		f.sum = sum
	}
	if s.Check != nil {
		if got := f.sum.Of([]byte("123456789")); got != *s.Check {
			c.fail(at+".check", "check is 0x%X, but with these parameters the sum of 123456789 is 0x%X; one of them is wrong", *s.Check, got)
		}
	}
	most := ^uint64(0) >> (64 - f.sum.Width())
	switch {
	case f.coding == codeDecimal && (f.decimals > 0 || f.plus != 0 || most >= pow10(f.width)):
		c.fail(f.path+".width", "the checksum has %d bits, up to %d, which does not fit %d characters; allowed: a width of %d, without decimals and plus", f.sum.Width(), most, f.width, decimalLength(most))
	case f.coding != codeDecimal && int(f.nbits) < f.sum.Width():
		c.fail(f.path+".as", "the checksum has %d bits and the field %d; make the field larger", f.sum.Width(), f.nbits)
	case f.negative != unsigned:
		c.fail(f.path+".as", "as is %s, which has numbers below zero; allowed for a checksum: uint%d and the like", f.spec.As, 8*f.nbytes)
	}
}

var edgeWords = []string{"start", "after-start", "before-separator", "before-field", "end"}

// spans works out which parts of the message a field counts or sums up.
func (c *compiler) spans(m *message, i int) {
	f := &m.fields[i]
	switch f.role {
	case roleLength:
		if p, ok := c.part(m, i, *f.spec.Counts, f.path+".counts-bytes"); ok {
			f.over = []part{p}
		}
	case roleSum:
		over := f.spec.Checksum.Over
		if len(over) == 0 {
			over = []Span{{Edge{-1, "after-start"}, Edge{-1, "before-separator"}}}
		}
		if len(over) > 16 {
			c.fail(f.path+".checksum.over", "there are %d parts; allowed: at most 16", len(over))
			return
		}
		for k, s := range over {
			at := fmt.Sprintf("%s.checksum.over[%d]", f.path, k)
			p, ok := c.part(m, i, s, at)
			if !ok {
				continue
			}
			f.over = append(f.over, p)
			for j := i; j < len(m.fields); j++ {
				if g := &m.fields[j]; g.role == roleSum && m.covers(p, j) {
					what := "itself"
					if j != i {
						what = g.name + ", which is worked out after it"
					}
					c.fail(at, "%s sums up %s; allowed: parts that leave it out", f.name, what)
				}
			}
		}
	}
}

// part works out a span.
func (c *compiler) part(m *message, i int, s Span, at string) (p part, ok bool) {
	from, ok1 := c.edge(m, i, s.From, at+".from", false)
	to, ok2 := c.edge(m, i, s.To, at+".to", true)
	if !ok1 || !ok2 {
		return part{}, false
	}
	p = part{from, to}
	if m.order(from) > m.order(to) || m.fixed && m.offset(from) > m.offset(to) {
		c.fail(at, "the part ends before it begins; swap the two")
		return p, false
	}
	return p, true
}

// edge works out an end of a span.
func (c *compiler) edge(m *message, i int, e Edge, at string, to bool) (edge, bool) {
	last := 0
	if to {
		last = 1
	}
	if e.number >= 0 {
		switch {
		case !m.fixed:
			c.fail(at, "it is byte %d, but the length of the message varies; allowed: %s, or a field's name", e.number, strings.Join(edgeWords, ", "))
			return edge{}, false
		case e.number >= m.size:
			c.fail(at, "it is byte %d, outside of the message, which ends with byte %d; allowed: 0 to %d", e.number, m.size-1, m.size-1)
			return edge{}, false
		}
		return edge{offset: e.number + last, field: -1}, true
	}
	allowed := edgeWords[:2]
	if to {
		allowed = edgeWords[2:]
	}
	if slices.Contains(allowed, e.word) {
		switch e.word {
		case "start":
			return edge{field: -1}, true
		case "after-start":
			return edge{offset: len(m.start), field: -1}, true
		case "before-separator":
			return edge{field: i, place: ahead}, true
		case "before-field":
			return edge{field: i, place: first}, true
		}
		return edge{field: -1, place: endOff}, true
	}
	k := slices.IndexFunc(m.fields, func(f field) bool { return f.name == e.word })
	if k < 0 {
		c.fail(at, "there is no field %s; %s", strictyaml.Quote(e.word), strictyaml.Allowed(e.word, append(slices.Clone(allowed), m.names()...)))
		return edge{}, false
	}
	if to {
		return edge{field: k, place: past}, true
	}
	return edge{field: k, place: first}, true
}

// order is where an edge lies among the fields of a message in order: comparable, not in bytes.
func (m *message) order(e edge) int {
	switch {
	case e.field >= 0:
		return 3*e.field + 2 + [...]int{first: 1, past: 2, ahead: 0}[e.place]
	case e.place == endOff:
		return 1 << 20
	case m.fixed:
		return 0 // by bytes
	case e.offset == 0:
		return 0
	}
	return 1
}

// offset is where an edge lies in a message of fixed length.
func (m *message) offset(e edge) int {
	switch {
	case e.field < 0 && e.place == endOff:
		return m.size
	case e.field < 0:
		return e.offset
	}
	f := &m.fields[e.field]
	return [...]int{first: f.at, past: f.at + f.size, ahead: f.at - len(f.before)}[e.place]
}

// covers tells whether a part holds bytes of a field.
func (m *message) covers(p part, i int) bool {
	f := &m.fields[i]
	if m.fixed {
		return m.offset(p.from) < f.at+f.size && m.offset(p.to) > f.at
	}
	return m.order(p.from) <= m.order(edge{field: i, place: first}) && m.order(p.to) >= m.order(edge{field: i, place: past})
}

// bounds is a part of a message whose fields lie at spans.
func (m *message) bounds(p part, spans []span, size int) (from, to int) {
	return m.find(p.from, spans, size), m.find(p.to, spans, size)
}

func (m *message) find(e edge, spans []span, size int) int {
	switch {
	case e.field < 0 && e.place == endOff:
		return size
	case e.field < 0:
		return e.offset
	case e.place == past:
		return int(spans[e.field].to)
	case e.place == ahead:
		return int(spans[e.field].from) - len(m.fields[e.field].before)
	}
	return int(spans[e.field].from)
}

func (m *message) partLen(p part, spans []span, size int) int {
	from, to := m.bounds(p, spans, size)
	return max(to-from, 0)
}
