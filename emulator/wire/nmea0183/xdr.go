package nmea0183

import (
	"strings"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// An XDR is a set of transducer measurements.
//
// Source: NMEA Revealed, XDR, and NMEA's paper "Update to XDR Sentence (Transducer Measurements)", 2019. The standard
// settles neither names before 4.11 nor the signs of pitch, roll and heave: a stream states its own.
type XDR struct {
	Talker       Talker // zero is YX
	Measurements []Measurement
}

// A Measurement is one group of four fields.
type Measurement struct {
	Type  byte // A angular displacement, D linear displacement, and others; 0 is null
	Value opt.Opt[float64]
	Unit  byte // D degrees, M metres, and others; 0 is null
	Name  string
	Group Group // which decimals are written: Angle, Heave, or any other
}

var (
	xdrDecimals = []Default{{Angle, 3}, {Heave, 3}}
	xdrFormat   = formatOf(xdrDecimals)

	measurementSpan = span{field: "measurement", allowed: "-99999999 ≤ value ≤ 99999999", lo: -99999999, hi: 99999999}
	pitchSpan       = span{field: "pitch", allowed: "-90° ≤ pitch ≤ 90°", lo: -90, hi: 90}
	rollSpan        = span{field: "roll", allowed: "-180° ≤ roll ≤ 180°", lo: -180, hi: 180}
	heaveSpan       = span{field: "heave", allowed: "-9999 m ≤ heave ≤ 9999 m", lo: -9999, hi: 9999}
)

// Type is XDR.
func (*XDR) Type() string { return "XDR" }

// Named is the first measurement of the name, whose case does not matter.
func (s *XDR) Named(name string) (Measurement, bool) {
	for _, m := range s.Measurements {
		if strings.EqualFold(m.Name, name) {
			return m, true
		}
	}
	return Measurement{}, false
}

// Append writes the sentence.
func (s *XDR) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &xdrFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'Y', 'X'}, "XDR")
	for i := range s.Measurements {
		m := &s.Measurements[i]
		w.measurementLetter("type", m.Type)
		w.number(m.Value, m.Group, &measurementSpan)
		w.measurementLetter("unit", m.Unit)
		w.b = append(w.b, ',')
		w.text("transducer name", m.Name)
	}
	if len(s.Measurements) == 0 {
		w.badText("measurements", "", "one at least")
	}
	return w.end()
}

func (w *writer) measurementLetter(field string, c byte) {
	if c == 0 {
		w.null()
		return
	}
	if !isUpper(c) && !(c >= 'a' && c <= 'z') {
		w.badText(field, string([]byte{c}), "a letter")
	}
	w.letter(c)
}

// Parse reads the sentence. It uses the room of the measurements there are, so that reading the same set again
// allocates nothing. Fields after the last whole group are skipped.
func (s *XDR) Parse(f *Fields) error {
	old := s.Measurements[:cap(s.Measurements)]
	*s = XDR{Talker: f.Talker(), Measurements: old[:0]}
	c := f.cursor("XDR")
	for range f.Len() / 4 {
		var m Measurement
		m.Type = c.measurementLetter("type")
		m.Value = c.number(&measurementSpan)
		m.Unit = c.measurementLetter("unit")
		name := c.next()
		if i := len(s.Measurements); i < len(old) {
			m.Name = unescapeAgain(old[i].Name, name)
		} else {
			m.Name = unescape(name)
		}
		m.Group = Heave
		if m.Type == 'A' {
			m.Group = Angle
		}
		s.Measurements = append(s.Measurements, m)
	}
	if len(s.Measurements) == 0 {
		c.fail("measurements", f.Body, "groups of four fields")
	}
	if c.error != nil {
		*s = XDR{Measurements: old[:0]}
	}
	return c.err()
}

func (c *cursor) measurementLetter(field string) byte {
	b := c.next()
	if len(b) == 0 {
		return 0
	}
	if len(b) != 1 || !isUpper(b[0]) && !(b[0] >= 'a' && b[0] <= 'z') {
		c.fail("transducer "+field, b, "a letter")
		return 0
	}
	return b[0]
}

// appendXDR writes pitch, roll and heave of a reading, under the names and with the signs of the stream.
func appendXDR(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	var w writer
	w.begin(dst, &e.format, e.talker, e.talker, "XDR")
	w.transducer(&e.transducers[0], degOpt(r.Pitch), Angle, 'A', 'D', &pitchSpan)
	w.transducer(&e.transducers[1], degOpt(r.Roll), Angle, 'A', 'D', &rollSpan)
	w.transducer(&e.transducers[2], r.HeaveM, Heave, 'D', 'M', &heaveSpan)
	return w.end()
}

// usual is what writers call what a reading holds, in capitals. Source: the names in use that the reference page of the
// project has from free decoders, and those that 4.11 defines; SURGE and SWAY: common practice, no source. All are read
// with the sign of package frame, which a stream may have said to be another: see Options.Signs.
var usual = [...]struct {
	name       string
	kind, unit byte
	in         func(r *wire.Reading) *opt.Opt[float64]
}{
	{"PITCH", 'A', 'D', func(r *wire.Reading) *opt.Opt[float64] { return &r.Pitch }},
	{"PTCH", 'A', 'D', func(r *wire.Reading) *opt.Opt[float64] { return &r.Pitch }},
	{"ROLL", 'A', 'D', func(r *wire.Reading) *opt.Opt[float64] { return &r.Roll }},
	{"YAW", 'A', 'D', func(r *wire.Reading) *opt.Opt[float64] { return &r.Yaw }},
	{"HEAVE", 'D', 'M', func(r *wire.Reading) *opt.Opt[float64] { return &r.HeaveM }},
	{"HEAV", 'D', 'M', func(r *wire.Reading) *opt.Opt[float64] { return &r.HeaveM }},
	{"SURGE", 'D', 'M', func(r *wire.Reading) *opt.Opt[float64] { return &r.SurgeM }},
	{"SWAY", 'D', 'M', func(r *wire.Reading) *opt.Opt[float64] { return &r.SwayM }},
}

// readXDR reads the measurements that have usual names.
func readXDR(f *Fields, r *wire.Reading) error {
	c := f.cursor("XDR")
	n := f.Len() / 4
	if n == 0 {
		c.fail("measurements", f.Body, "groups of four fields")
	}
	now := *r
	for range n {
		kind, value, unit, name := c.measurementLetter("type"), c.number(&measurementSpan), c.measurementLetter("unit"), c.next()
		for i := range usual {
			u := &usual[i]
			if kind != u.kind || unit != u.unit || !equalFold(name, u.name) {
				continue
			}
			switch {
			case u.unit == 'M':
			case u.name == "YAW" && value.Or(0) < 0: // some count from -180° to 180°
				value = opt.Of(frame.Rad(value.Or(0) + 360))
			default:
				value = radOpt(value)
			}
			*u.in(r) = value
			break
		}
	}
	if c.error != nil {
		*r = now
	}
	return c.err()
}

// equalFold tells whether b is the capitals of name, whatever its case.
func equalFold(b []byte, name string) bool {
	if len(b) != len(name) {
		return false
	}
	for i, c := range b {
		if c >= 'a' && c <= 'z' {
			c -= 'a' - 'A'
		}
		if c != name[i] {
			return false
		}
	}
	return true
}

// A transducer is what a stream calls a measurement, with its escapes, and its sign.
type transducer struct {
	name string // "" leaves it out
	sign float64
}

func (w *writer) transducer(t *transducer, v opt.Opt[float64], g Group, kind, unit byte, s *span) {
	if t.name == "" {
		return
	}
	w.letter(kind)
	w.number(scaled(v, t.sign), g, s)
	w.letter(unit)
	w.b = append(append(w.b, ','), t.name...)
}

func xdrResolutions(f *Format) []wire.Resolution {
	return []wire.Resolution{
		{Quantity: wire.Pitch, Half: f.half(Angle) * degree},
		{Quantity: wire.Roll, Half: f.half(Angle) * degree},
		{Quantity: wire.Heave, Half: f.half(Heave)},
	}
}
