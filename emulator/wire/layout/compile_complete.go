package layout

import (
	"bytes"
	"slices"
)

// complete works out what the encoder and the decoder need.
func (c *compiler) complete(m *message, spec *Message) {
	for i := range m.fields {
		f := &m.fields[i]
		if f.role == roleTime && (!m.timed || f.tick.finer(m.tick)) {
			m.timed, m.tick = true, f.tick
		}
		if f.role == roleSum {
			m.sums, m.hasSum = append(m.sums, i), true
		}
		if f.role != roleFixed && (f.role != roleLength || !m.fixed) {
			m.dynamic = append(m.dynamic, i)
		}
		if name := f.needs(); name != "" && !f.hasNone {
			m.must = append(m.must, i)
			if !slices.Contains(m.known, name) {
				m.known = append(m.known, name)
			}
		}
		f.noneOf()
	}
	if !m.fixed {
		return
	}
	m.template, m.mask, m.want = bytes.Repeat([]byte{spec.Fill}, m.size), make([]byte, m.size), make([]byte, m.size)
	m.spans = make([]span, len(m.fields))
	set := func(at int, p []byte) {
		for k, x := range p {
			m.template[at+k], m.mask[at+k], m.want[at+k] = x, 0xFF, x
		}
	}
	set(0, m.start)
	set(m.size-len(m.end), m.end)
	for i := range m.fields {
		f := &m.fields[i]
		m.spans[i] = span{int16(f.at), int16(f.at + f.size)}
		set(f.at-len(f.before), f.before)
	}
	for i := range m.fields {
		f := &m.fields[i]
		b := m.template[f.at : f.at+f.size]
		if !f.coding.ascii() {
			f.putRaw(b, 0)
		}
		switch f.role {
		case roleFixed:
			if f.coding.ascii() {
				set(f.at, f.text)
				continue
			}
			f.putRaw(b, f.raw2)
		case roleLength:
			n := m.partLen(f.over[0], m.spans, m.size) + f.extra
			if !f.putCount(m.template, m.spans[i], uint64(n)) {
				c.fail(f.path, "%s would be %d, which does not fit; make the field larger", f.name, n)
				return
			}
			if f.coding.ascii() {
				set(f.at, bytes.Clone(b))
				continue
			}
		default:
			continue
		}
		var p [8]byte
		f.putRaw(p[:], f.mask)
		for k := range f.size {
			m.mask[f.at+k] |= p[k]
			m.want[f.at+k] = m.template[f.at+k] & m.mask[f.at+k]
		}
	}
	identity := 0
	for _, x := range m.mask {
		if x != 0 {
			identity++
		}
	}
	if identity == 0 && !m.hasSum {
		c.fail(m.path, "nothing tells where a message begins; add start: with the bytes it begins with, a field that is fixed, or a checksum")
	}
}
