package layout

import (
	"fmt"
	"math"
	"strconv"

	"swellbench/emulator/wire"
)

// Resolutions says how finely the message carries what it carries. Of floating fields: up to the largest value that is
// usual of the quantity.
func (e *Encoder) Resolutions() []wire.Resolution {
	var all []wire.Resolution
	for i := range e.m.fields {
		f := &e.m.fields[i]
		if f.role == roleStatus && f.st.name == string(wire.FixState) {
			all = append(all, wire.Resolution{Quantity: wire.FixState})
		}
		if f.role != roleNumber {
			continue
		}
		half := math.Abs(f.conv.u) / 2
		if f.coding == codeFloat {
			half = f.q.top * 0x1p-52
			if f.nbytes == 4 {
				half = (f.q.top + math.Abs(f.conv.o)) * 0x1p-24
			}
		}
		all = append(all, wire.Resolution{Quantity: f.q.wire, Half: half})
	}
	if e.m.timed {
		all = append(all, wire.Resolution{Quantity: wire.Time, Half: e.m.timeHalf()})
	}
	return all
}

// Dated tells whether the message says the date, and not the time of day alone.
func (e *Encoder) Dated() bool {
	for i := range e.m.fields {
		if f := &e.m.fields[i]; f.role == roleTime {
			switch f.part2 {
			case unixTime, gpsTime, gpsWeek, year:
				return true
			}
		}
	}
	return false
}

// timeHalf is half of the finest tick.
func (m *message) timeHalf() float64 {
	half := m.tick.s() / 2
	for i := range m.fields {
		f := &m.fields[i]
		if f.role != roleTime || f.coding != codeFloat || f.tick != m.tick {
			continue
		}
		top := map[timePart]float64{ofDay: 86400, unixTime: 1 << 32, gpsTime: 1 << 31, gpsOfWeek: 604800, second: 60, fraction: 1}[f.part2]
		half = top * 0x1p-53
		if f.nbytes == 4 {
			half = top * 0x1p-24
		}
		half += 0.5e-9
	}
	return half
}

// describe says field by field what a whole message says.
func (l *Layout) describe(b []byte) (string, []wire.Field) {
	var all [maxFields]span
	m, spans := l.find(b, &all)
	if m == nil {
		return "", nil
	}
	var out []wire.Field
	for i := range m.fields {
		out = append(out, m.describeField(b, spans, i))
	}
	return m.name, out
}

func (m *message) describeField(b []byte, spans []span, i int) wire.Field {
	f := &m.fields[i]
	v := b[spans[i].from:spans[i].to]
	w := wire.Field{Name: f.name, Raw: fmt.Sprintf("%X", v), Note: f.spec.About}
	if f.coding.ascii() {
		w.Raw = string(v)
	}
	count := func() string {
		n, ok := f.count(v)
		if !ok {
			return ""
		}
		if n.neg {
			return "-" + strconv.FormatUint(n.mag, 10)
		}
		return strconv.FormatUint(n.mag, 10)
	}
	switch f.role {
	case roleFixed:
		w.Value, w.Note = w.Raw, "always this"
		if !f.coding.ascii() {
			w.Value = fmt.Sprintf("0x%X", f.raw2)
		}
	case roleNumber:
		x, ok := m.value(f, b, v, spans)
		if !ok {
			w.Note = "not known"
			break
		}
		w.Unit = map[string]string{"none": "", "deg-min": "deg", "deg-min-sec": "deg"}[f.unit]
		if _, special := map[string]bool{"none": true, "deg-min": true, "deg-min-sec": true}[f.unit]; !special {
			w.Unit = f.unit
		}
		if u, ok := f.q.dim.find(f.unit); ok {
			per, _ := u.factor().Float64()
			if u.runs > 0 {
				per = math.Pi / 180
			}
			if x -= f.conv.from; f.conv.flip { // as it is written
				x = -x
			}
			w.Value = strconv.FormatFloat(f.conv.turn.normal(x)/per, 'g', 12, 64)
		}
		if f.conv.flip {
			w.Note = "positive: " + f.spec.Positive
		}
	case roleTime:
		w.Unit = f.unit
		switch {
		case f.isNone(v):
			w.Note = "not known"
		case f.coding == codeFloat:
			w.Value = strconv.FormatFloat(f.float(v), 'g', -1, 64)
		case f.runs > 0:
			w.Value, w.Unit = string(v), "hour-min-sec"
		default:
			w.Value = f.timeText(v)
		}
	case roleCount, roleLength:
		w.Value = count()
	case roleStatus:
		if s, ok := f.state(v); ok {
			w.Value = f.st.words[s]
		} else {
			w.Note = "no state of the file"
		}
	case roleSign:
		if s, ok := f.state(v); ok {
			w.Value = [...]string{"plus", "minus"}[s]
		}
	case roleSum:
		w.Value, w.Note = fmt.Sprintf("0x%0*X", (f.sum.Width()+3)/4, m.sumOf(b, i, spans)), "right"
	}
	return w
}

// timeText is a count of ticks in the unit of the field.
func (f *field) timeText(v []byte) string {
	n, ok := f.count(v)
	if !ok {
		return ""
	}
	x := n.float()
	if f.part2.counts() {
		u, _ := duration.find(f.unit)
		x *= f.tick.s() * float64(u.den) / float64(u.num)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}
