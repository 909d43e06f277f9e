package layout

import (
	"fmt"
	"math"

	"swellbench/emulator/wire"
)

// Read sets in r what a whole message says, and makes absent what it says is not known; the rest of r stays. It allocates
// nothing.
func (l *Layout) Read(b []byte, r *wire.Reading) (kind string, carries bool, err error) {
	var all [maxFields]span
	m, spans := l.find(b, &all)
	if m == nil {
		return "", false, fmt.Errorf("decode layout %s: these %d bytes are no message of it; allowed: whole messages", l.Name, len(b))
	}
	d := draft{r: r}
	for i := range m.fields {
		f := &m.fields[i]
		m.read(&d, f, b, spans, i)
	}
	d.finish()
	return m.name, true, nil
}

// find tells which message the bytes are, all of them, and where its fields lie.
func (l *Layout) find(b []byte, all *[maxFields]span) (*message, []span) {
	for _, m := range l.messages {
		if m.fixed {
			if p := m.probeFixed(b, true); p.Verdict == wire.Whole && p.Len == len(b) {
				return m, m.spans
			}
			continue
		}
		if p := m.parse(b, true, all); p.Verdict == wire.Whole && p.Len == len(b) {
			return m, all[:]
		}
	}
	return nil, nil
}

// count reads the count of a field; false if it says that it is not known, or nothing that can be read.
func (f *field) count(b []byte) (num, bool) {
	if f.isNone(b) {
		return num{}, false
	}
	switch f.coding {
	case codeDecimal:
		return f.parseDecimal(b)
	case codeHex:
		raw, ok := parseHex(b)
		if !ok {
			return num{}, false
		}
		return f.numOf(raw)
	case codeText:
		return num{}, false
	}
	return f.numOf(f.raw(b))
}

func (m *message) read(d *draft, f *field, b []byte, spans []span, i int) {
	v := b[spans[i].from:spans[i].to]
	switch f.role {
	case roleNumber:
		x, ok := m.value(f, b, v, spans)
		if ok {
			x = f.q.turn.normal(x)
		}
		f.q.put(d, x, ok)
	case roleTime:
		if f.coding == codeFloat {
			x := f.float(v)
			if f.isNone(v) || x-x != 0 {
				d.time.absent = true
				return
			}
			d.time.float(f.part2, f.conv.floating(x))
			return
		}
		n, ok := f.count(v)
		c, small := n.small()
		if !ok || !small {
			d.time.absent = true
			return
		}
		t := f.tick
		if uint64(max(c, -c)) > uint64(math.MaxInt64)/t.seconds {
			d.time.absent = true
			return
		}
		if f.offset != 0 && t.perSecond > 1 {
			if uint64(max(f.offset, -f.offset)) > (1<<62)/t.perSecond {
				d.time.absent = true
				return
			}
			c += f.offset * int64(t.perSecond)
		} else if f.offset != 0 {
			c += f.offset / int64(t.seconds)
		}
		modulo := int64(0)
		if f.modulo > 0 && f.modulo < 1<<62 {
			modulo = int64(f.modulo) / int64(t.perSecond) * int64(t.seconds)
		}
		d.time.count(f.part2, c, t, modulo)
	case roleCount:
		n, ok := f.count(v)
		if !ok {
			return
		}
		at := n.mag - uint64(f.offset)
		if f.modulo > 0 {
			at = (n.mag + f.modulo - uint64(f.offset)%f.modulo) % f.modulo
		}
		if f.series {
			d.r.Series = uint32(at)
		} else {
			d.r.Count = uint32(at)
		}
	case roleStatus:
		if s, ok := f.state(v); ok {
			f.st.put(d, s)
		}
	}
}

// value reads a number in the unit of readings.
func (m *message) value(f *field, b, v []byte, spans []span) (float64, bool) {
	if f.coding == codeFloat {
		x := f.float(v)
		if f.isNone(v) || x-x != 0 {
			return 0, false
		}
		x = f.conv.floating(x)
		return x, x-x == 0
	}
	n, ok := f.count(v)
	if !ok {
		return 0, false
	}
	if f.magnitude {
		n.neg = false
		if k := m.signAt(f); k >= 0 {
			s := &m.fields[k]
			i, ok := s.state(b[spans[k].from:spans[k].to])
			if !ok {
				return 0, false
			}
			n.neg = i == 1 && n.mag != 0
		}
	}
	return f.conv.value(n), true
}

// signAt finds the field that has the sign of another.
func (m *message) signAt(f *field) int {
	for i := range m.fields {
		if k := m.fields[i].signOf; k >= 0 && &m.fields[k] == f {
			return i
		}
	}
	return -1
}
