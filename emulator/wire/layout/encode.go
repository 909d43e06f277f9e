package layout

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"swellbench/emulator/wire"
)

// An Encoder writes one kind of message.
type Encoder struct{ m *message }

// Kind is the name of the message.
func (e *Encoder) Kind() string { return e.m.name }

// Needs names what the message has no way to say is not known: without it, nothing is sent.
func (e *Encoder) Needs() []string { return slices.Clone(e.m.known) }

// Lacks names what of that a reading lacks; empty if the message is sent.
func (e *Encoder) Lacks(r *wire.Reading) (names []string) {
	for i := range e.m.fields {
		f := &e.m.fields[i]
		if name := f.needs(); name != "" && !f.hasNone && !f.knows(r) && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// needs is what a field carries that may be absent; "" if there is no such thing.
func (f *field) needs() string {
	if f.role == roleNumber || f.role == roleTime {
		return f.spec.Quantity
	}
	return ""
}

func (f *field) knows(r *wire.Reading) bool {
	switch f.role {
	case roleNumber:
		v, ok := f.q.get(r)
		return ok && v-v == 0
	case roleTime:
		return r.UTC.Has()
	}
	return true
}

// Append adds the message. Where the reading lacks what the message cannot do without, nothing is added: the device says
// nothing. A value that does not fit is a [wire.RangeError], and then dst comes back as it was.
func (e *Encoder) Append(dst []byte, r *wire.Reading) ([]byte, error) {
	m := e.m
	for _, i := range m.must {
		if !m.fields[i].knows(r) {
			return dst, nil
		}
	}
	w := work{m: m, r: r}
	if m.timed {
		w.now = instantOf(r, m.tick)
	}
	if m.fixed {
		n := len(dst)
		out := append(dst, m.template...)
		b := out[n:]
		for _, i := range m.dynamic {
			f := &m.fields[i]
			if f.role == roleSum {
				continue
			}
			got, err := w.field(b[:f.at:f.at+f.size], f)
			if err != nil {
				return dst[:n], err
			}
			if len(got) != f.at+f.size {
				return dst[:n], f.wide(m)
			}
		}
		for _, i := range m.sums {
			m.putSum(b, i, m.spans)
		}
		return out, nil
	}
	return w.sequence(dst)
}

// A work is one message in the making.
type work struct {
	m   *message
	r   *wire.Reading
	now instant
}

// sequence writes a message of varying length.
func (w *work) sequence(dst []byte) ([]byte, error) {
	m, n := w.m, len(dst)
	var all [maxFields]span
	out := append(slices.Grow(dst, m.size), m.start...)
	for i := range m.fields {
		f := &m.fields[i]
		out = append(out, f.before...)
		at := len(out)
		var err error
		switch {
		case f.role == roleFixed && f.coding.ascii():
			out = append(out, f.text...)
		case f.role == roleFixed:
			out = append(out, make8[:f.size]...)
			f.putRaw(out[at:], f.raw2)
		case f.role == roleSum || f.role == roleLength:
			for range f.size {
				out = append(out, 0)
			}
		case f.coding.ascii():
			out, err = w.field(out, f)
		default:
			out = append(out, make8[:f.size]...)
			_, err = w.field(out[:at:at+f.size], f)
		}
		if err != nil {
			return dst[:n], err
		}
		if f.size >= 0 && len(out) != at+f.size {
			return dst[:n], f.wide(m)
		}
		all[i] = span{int16(at - n), int16(len(out) - n)}
	}
	out = append(out, m.end...)
	b := out[n:]
	for i := range m.fields {
		if f := &m.fields[i]; f.role == roleLength {
			length := m.partLen(f.over[0], all[:], len(b)) + f.extra
			if !f.putCount(b, all[i], uint64(length)) {
				return dst[:n], &wire.RangeError{Message: m.name, Field: f.name, Found: float64(length), Allowed: "what the field holds"}
			}
		}
	}
	for _, i := range m.sums {
		m.putSum(b, i, all[:])
	}
	return out, nil
}

var make8 [8]byte

// wide is the error of a text that is not as wide as its field.
func (f *field) wide(m *message) error {
	return fmt.Errorf("encode %s: %s does not fit its width", m.name, f.name)
}

// putSum works out a checksum and puts it in its place.
func (m *message) putSum(b []byte, i int, spans []span) {
	m.fields[i].putCount(b, spans[i], m.sumOf(b, i, spans))
}

func (m *message) sumOf(b []byte, i int, spans []span) uint64 {
	f := &m.fields[i]
	st := f.sum.Start()
	for k := range f.over {
		from, to := m.bounds(f.over[k], spans, len(b))
		st = f.sum.Update(st, b[from:max(from, to)])
	}
	return f.sum.Finish(st)
}

// putCount puts a whole number that is worked out last. It is false where it does not fit.
func (f *field) putCount(b []byte, s span, n uint64) bool {
	at := b[s.from:s.to:s.to]
	switch {
	case f.coding == codeDecimal:
		_, ok := f.appendDecimal(at[:0], num{false, n})
		return ok
	case f.coding == codeHex:
		if n&^f.mask != 0 {
			return false
		}
		f.appendHex(at[:0], n)
		return true
	}
	lo, hi := f.limits()
	v := num{false, n}
	if v.less(lo) || hi.less(v) {
		return false
	}
	f.putRaw(at, f.bitsOf(v))
	return true
}

// field writes what a field carries behind dst, where there is room for it.
func (w *work) field(dst []byte, f *field) ([]byte, error) {
	switch f.role {
	case roleNumber:
		return w.number(dst, f)
	case roleTime:
		return w.time(dst, f)
	case roleCount:
		n := uint64(w.r.Count)
		if f.series {
			n = uint64(w.r.Series)
		}
		n += uint64(f.offset)
		if f.modulo > 0 {
			n %= f.modulo
		}
		out, ok := f.write(dst, num{false, n})
		if !ok { // modulo keeps it within the width
			return dst, f.wide(w.m)
		}
		return out, nil
	case roleStatus:
		return f.writeState(dst, f.st.get(w.r)), nil
	case roleSign:
		o := &w.m.fields[f.signOf]
		v, ok := o.q.get(w.r)
		if !ok || v-v != 0 {
			return f.writeNone(dst), nil
		}
		n, _ := o.conv.count(v)
		if n.neg {
			return f.writeState(dst, 1), nil
		}
		return f.writeState(dst, 0), nil
	}
	return dst, nil
}

func (w *work) number(dst []byte, f *field) ([]byte, error) {
	v, ok := f.q.get(w.r)
	if !ok || v-v != 0 {
		return f.writeNone(dst), nil
	}
	if f.coding == codeFloat {
		return w.float(dst, f, f.conv.number(v), v)
	}
	n, ok := f.conv.count(v)
	if f.magnitude {
		n.neg = false
	}
	if !ok || f.limited && (n.less(f.lo) || f.hi.less(n)) {
		switch {
		case f.beyond == "absent":
			return f.writeNone(dst), nil
		case f.beyond == "limit" && !f.magnitude && f.conv.number(v) < 0:
			n = f.lo
		case f.beyond == "limit":
			n = f.hi
		default:
			return dst, f.outside(w.m, v)
		}
	}
	out, ok := f.write(dst, n)
	if !ok {
		if f.beyond == "absent" {
			return f.writeNone(dst), nil
		}
		return dst, f.outside(w.m, v)
	}
	return out, nil
}

// float writes a floating number. v is the value, for the error.
func (w *work) float(dst []byte, f *field, x, v float64) ([]byte, error) {
	x += 0 // never −0
	if f.nbytes == 4 {
		x = float64(float32(x))
	}
	if f.role == roleNumber && f.conv.turn == whole && f.conv.o == 0 && f.conv.plain(x) >= 2*math.Pi {
		x = 0
	}
	if math.IsInf(x, 0) || f.hasNone && x == f.noneF {
		if f.beyond == "absent" {
			return f.writeNone(dst), nil
		}
		return dst, f.outside(w.m, v)
	}
	f.putFloat(dst[len(dst):len(dst)+f.size], x)
	return dst[:len(dst)+f.size], nil
}

func (w *work) time(dst []byte, f *field) ([]byte, error) {
	if !w.now.ok {
		return f.writeNone(dst), nil
	}
	n := w.now.part(f.part2, f.tick)
	if f.coding == codeFloat {
		s := float64(n) / 1e9
		return w.float(dst, f, s*f.conv.k-f.conv.b, s)
	}
	if f.offset != 0 {
		if f.tick.perSecond > 1 {
			n -= f.offset * int64(f.tick.perSecond)
		} else {
			n -= f.offset / int64(f.tick.seconds)
		}
	}
	if m := int64(f.modulo); m > 0 {
		if n %= m; n < 0 {
			n += m
		}
	}
	c := numOf(n)
	if f.limited && (c.less(f.lo) || f.hi.less(c)) {
		return dst, f.outside(w.m, float64(n)*f.tick.s())
	}
	out, ok := f.write(dst, c)
	if !ok {
		return dst, f.outside(w.m, float64(n)*f.tick.s())
	}
	return out, nil
}

// write writes a count that is within the limits of the field. It is false where the count has not the width, or would
// look like what says that it is not known.
func (f *field) write(dst []byte, n num) ([]byte, bool) {
	switch f.coding {
	case codeDecimal:
		out, ok := f.appendDecimal(dst, n)
		return out, ok && !(f.noneCounts && n == f.noneN && f.isNone(out[len(dst):]))
	case codeHex:
		out := f.appendHex(dst, f.bitsOf(n))
		return out, !(f.noneCounts && n == f.noneN && f.isNone(out[len(dst):]))
	}
	raw := f.bitsOf(n)
	out := dst[:len(dst)+f.size]
	f.putRaw(out[len(dst):], raw)
	return out, !(f.hasNone && raw == f.none)
}

// writeState writes what a state is sent as.
func (f *field) writeState(dst []byte, i int) []byte {
	if f.coding.ascii() {
		return append(dst, f.words[i]...)
	}
	out := dst[:len(dst)+f.size]
	f.putRaw(out[len(dst):], f.codes[i])
	return out
}

// writeNone writes what is sent for what is not known.
func (f *field) writeNone(dst []byte) []byte {
	if f.coding.ascii() {
		if !f.hasNone {
			return append(dst, f.words[0]...) // of a sign
		}
		return append(dst, f.noneT...)
	}
	out := dst[:len(dst)+f.size]
	switch {
	case f.coding == codeFloat:
		f.putFloat(out[len(dst):], f.noneF)
	case !f.hasNone:
		f.putRaw(out[len(dst):], f.codes[0])
	default:
		f.putRaw(out[len(dst):], f.none)
	}
	return out
}

// isNone tells whether a field says that it is not known.
func (f *field) isNone(b []byte) bool {
	switch {
	case !f.hasNone:
		return false
	case f.coding.ascii():
		return bytes.Equal(b, f.noneT)
	case f.coding == codeFloat:
		x := f.float(b)
		return x == f.noneF || x != x && f.noneF != f.noneF
	}
	return f.raw(b) == f.none
}
