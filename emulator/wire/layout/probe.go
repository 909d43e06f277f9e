package layout

import (
	"bytes"

	"swellbench/emulator/wire"
)

// Family is the layout as a stream of mixed messages is taken apart by.
func (l *Layout) Family() wire.Family {
	return wire.Family{Name: l.Name, Begins: &l.begins, Longest: l.longest, Probe: l.probe, Describe: l.describe, Read: l.Read}
}

// The reasons of [wire.Broken].
const (
	whySum    = "checksum"
	whyField  = "field"
	whyLength = "length"
	whyCut    = "cut off"
	whyEnd    = "no end"
)

// probe asks each kind of message in the order of the file. The first that has a whole message has it, unless an earlier
// one needs more bytes to tell.
func (l *Layout) probe(b []byte, ended bool) wire.Probe {
	var broken wire.Probe
	for _, m := range l.messages {
		p := m.probe(b, ended)
		switch p.Verdict {
		case wire.Whole, wire.Partial:
			return p
		case wire.Broken:
			if broken.Verdict == wire.Foreign {
				broken = p
			}
		}
	}
	return broken
}

func (m *message) probe(b []byte, ended bool) wire.Probe {
	if m.fixed {
		return m.probeFixed(b, ended)
	}
	var all [maxFields]span
	return m.parse(b, ended, &all)
}

func (m *message) probeFixed(b []byte, ended bool) wire.Probe {
	for i, x := range b[:min(len(b), m.size)] {
		if x&m.mask[i] != m.want[i] {
			return wire.Probe{}
		}
	}
	if len(b) < m.size {
		return short(len(b), m.size, ended)
	}
	b = b[:m.size]
	for _, i := range m.sums {
		if !m.sumFits(b, i, m.spans) {
			return wire.Probe{Verdict: wire.Broken, Len: m.size, Why: whySum}
		}
	}
	for i := range m.fields {
		f := &m.fields[i]
		if !m.hasSum && f.coding.ascii() && f.role != roleSum && !f.readable(b[f.at:f.at+f.size]) {
			return wire.Probe{Verdict: wire.Broken, Len: m.size, Why: whyField}
		}
	}
	return wire.Probe{Verdict: wire.Whole, Len: m.size}
}

// short is the verdict on a message of which only a part is there.
func short(have, need int, ended bool) wire.Probe {
	if ended {
		return wire.Probe{Verdict: wire.Broken, Len: have, Why: whyCut}
	}
	return wire.Probe{Verdict: wire.Partial, Len: max(need, have+1)}
}

// sumFits tells whether a checksum is right.
func (m *message) sumFits(b []byte, i int, spans []span) bool {
	f := &m.fields[i]
	got, ok := f.whole(b[spans[i].from:spans[i].to])
	return ok && got == m.sumOf(b, i, spans)
}

// whole reads a whole number that is not below zero.
func (f *field) whole(b []byte) (uint64, bool) {
	switch f.coding {
	case codeDecimal:
		n, ok := f.parseDecimal(b)
		return n.mag, ok && !n.neg
	case codeHex:
		return parseHex(b)
	}
	n, ok := f.numOf(f.raw(b))
	return n.mag, ok && !n.neg
}

// parse judges a message of varying length, and says where its fields are.
func (m *message) parse(b []byte, ended bool, all *[maxFields]span) wire.Probe {
	if k := min(len(b), len(m.start)); !bytes.Equal(b[:k], m.start[:k]) {
		return wire.Probe{}
	}
	at := len(m.start)
	if len(b) < at {
		return short(len(b), m.least, ended)
	}
	for i := range m.fields {
		f := &m.fields[i]
		if rest := b[at:]; len(f.before) > 0 {
			if k := min(len(rest), len(f.before)); !bytes.Equal(rest[:k], f.before[:k]) {
				return m.hurt(b, at, ended)
			}
			if len(rest) < len(f.before) {
				return short(len(b), at+m.rest[i], ended)
			}
			at += len(f.before)
		}
		rest := b[at:]
		n := f.size
		if n < 0 {
			n = bytes.IndexByte(rest[:min(len(rest), f.most+1)], f.stop)
			switch {
			case n < 0 && len(rest) > f.most:
				return m.hurt(b, at, ended)
			case n < 0:
				return short(len(b), max(at+m.rest[i+1], len(b)+1), ended)
			}
		} else if len(rest) < n {
			if f.role == roleFixed && f.coding.ascii() && !bytes.HasPrefix(f.text, rest) {
				return wire.Probe{}
			}
			return short(len(b), at+n+m.rest[i+1], ended)
		}
		switch v := rest[:n]; {
		case f.role == roleFixed && f.coding.ascii():
			if !bytes.Equal(v, f.text) {
				return wire.Probe{} // another kind of message
			}
		case f.role == roleFixed:
			if f.raw(v) != f.raw2 {
				return wire.Probe{}
			}
		case !m.hasSum && !f.readable(v):
			return m.hurt(b, at, ended)
		}
		all[i] = span{int16(at), int16(at + n)}
		at += n
	}
	rest := b[at:]
	if k := min(len(rest), len(m.end)); !bytes.Equal(rest[:k], m.end[:k]) {
		return m.hurt(b, at, ended)
	}
	if len(rest) < len(m.end) {
		return short(len(b), at+len(m.end), ended)
	}
	at += len(m.end)
	for i := range m.fields {
		if f := &m.fields[i]; f.role == roleLength {
			if n, ok := f.whole(b[all[i].from:all[i].to]); !ok || n != uint64(m.partLen(f.over[0], all[:], at)+f.extra) {
				return wire.Probe{Verdict: wire.Broken, Len: at, Why: whyLength}
			}
		}
	}
	for _, i := range m.sums {
		if !m.sumFits(b[:at], i, all[:]) {
			return wire.Probe{Verdict: wire.Broken, Len: at, Why: whySum}
		}
	}
	return wire.Probe{Verdict: wire.Whole, Len: at}
}

// hurt is the verdict on what is no such message any more at byte at. It goes as far as the end of a message, or to where
// the next begins; without an end to look for, no further than it was right.
func (m *message) hurt(b []byte, at int, ended bool) wire.Probe {
	if len(m.end) == 0 {
		return wire.Probe{Verdict: wire.Broken, Len: max(at, 1), Why: whyField}
	}
	look := b[:min(len(b), m.size)]
	from := max(at-len(m.end)+1, 1)
	end, next := -1, -1
	if i := bytes.Index(look[min(from, len(look)):], m.end); i >= 0 {
		end = from + i + len(m.end)
	}
	if i := bytes.Index(look[min(at, len(look)):], m.start); i >= 0 && at+i > 0 {
		next = at + i
	}
	switch {
	case next > 0 && (end < 0 || next < end):
		return wire.Probe{Verdict: wire.Broken, Len: next, Why: whyEnd}
	case end > 0:
		return wire.Probe{Verdict: wire.Broken, Len: end, Why: whyField}
	case len(b) >= m.size || ended:
		return wire.Probe{Verdict: wire.Broken, Len: len(look), Why: whyEnd}
	}
	return wire.Probe{Verdict: wire.Partial, Len: len(b) + 1}
}

// readable tells whether a field of text has the form of one. It is asked where there is no checksum to tell; where there
// is, and is right, a field that cannot be read is not known.
func (f *field) readable(b []byte) bool {
	if f.hasNone && f.coding.ascii() && bytes.Equal(b, f.noneT) {
		return true
	}
	switch f.role {
	case roleFixed:
		return true // told elsewhere
	case roleStatus, roleSign:
		_, ok := f.state(b)
		return ok || f.coding != codeText
	}
	switch f.coding {
	case codeDecimal:
		_, ok := f.parseDecimal(b)
		return ok
	case codeHex:
		_, ok := parseHex(b)
		return ok
	}
	return true
}

// state is which of the states a field says. Of several with one code it is the first that the file names, else the usual
// one, else the first there is.
func (f *field) state(b []byte) (int, bool) {
	found := -1
	var raw uint64
	if !f.coding.ascii() {
		raw = f.raw(b)
	}
	for i := range f.codes {
		if f.coding.ascii() && !bytes.Equal(b, f.words[i]) || !f.coding.ascii() && raw != f.codes[i] {
			continue
		}
		if f.sent[i] {
			return i, true
		}
		if found < 0 || f.st != nil && i == f.st.usual {
			found = i
		}
	}
	return found, found >= 0
}
