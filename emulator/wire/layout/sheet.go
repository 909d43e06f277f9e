package layout

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"swellbench/emulator/wire"
)

// A Sheet shows what a layout makes of a reading, for people and programs: what `swellbench layout check` prints.
type Sheet struct {
	Layout   string         `json:"layout"`
	About    string         `json:"about,omitempty"`
	Messages []SheetMessage `json:"messages"`
	Requests []SheetRequest `json:"requests,omitempty"`
}

// A SheetMessage is one message of a [Sheet].
type SheetMessage struct {
	Name     string       `json:"name"`
	About    string       `json:"about,omitempty"`
	Least    int          `json:"least_bytes"`
	Most     int          `json:"most_bytes"`
	Hex      string       `json:"hex"`
	Text     string       `json:"text,omitempty"` // where all of it is text
	Fields   []SheetField `json:"fields"`
	Trips    []SheetTrip  `json:"round_trip"`
	Unknown  string       `json:"if_nothing_is_known"` // what is sent then, in hexadecimal digits; "" if nothing
	Silent   []string     `json:"silent_without,omitempty"`
	Warnings []string     `json:"warnings,omitempty"`
	Fits     bool         `json:"round_trip_fits"`
}

// A SheetField is one field of the sample.
type SheetField struct {
	Offset  int    `json:"offset"`
	Hex     string `json:"hex"`
	Text    string `json:"text,omitempty"`
	Name    string `json:"name"`
	Meaning string `json:"meaning"`
	Value   string `json:"value"`
	Unit    string `json:"unit,omitempty"`
	Note    string `json:"note,omitempty"`
}

// A SheetTrip is what became of a quantity that was written and read again, in m, deg, s.
type SheetTrip struct {
	Quantity string  `json:"quantity"`
	Unit     string  `json:"unit"`
	Sent     float64 `json:"sent"`
	Read     float64 `json:"read"`
	Off      float64 `json:"off"`
	Half     float64 `json:"allowed"` // by rounding
	Known    bool    `json:"known"`   // whether it was read as known
	Fits     bool    `json:"fits"`
}

// A SheetRequest is one request.
type SheetRequest struct {
	Name   string `json:"name"`
	Brings string `json:"brings"`
}

// Sheet shows the messages of a reading. A message that cannot carry it is an error.
func (l *Layout) Sheet(r *wire.Reading) (Sheet, error) {
	s := Sheet{Layout: l.Name, About: l.About}
	for _, m := range l.messages {
		x, err := l.sheet(m, r)
		if err != nil {
			return Sheet{}, err
		}
		s.Messages = append(s.Messages, x)
	}
	for _, a := range l.Requests() {
		var brings []string
		if a.Reply != "" {
			brings = append(brings, "the message "+a.Reply)
		}
		if a.Answer != nil {
			brings = append(brings, fmt.Sprintf("the bytes %q", a.Answer))
		}
		if a.Streaming != AsBefore {
			brings = append(brings, [...]string{Starts: "the stream begins", Stops: "the stream ends"}[a.Streaming])
		}
		s.Requests = append(s.Requests, SheetRequest{a.Request, strings.Join(brings, ", ")})
	}
	return s, nil
}

func (l *Layout) sheet(m *message, r *wire.Reading) (SheetMessage, error) {
	enc := &Encoder{m}
	s := SheetMessage{Name: m.name, About: m.about, Least: m.least, Most: m.size, Silent: enc.Needs(), Fits: true}
	b, err := enc.Append(nil, r)
	if err != nil {
		return s, err
	}
	if len(b) == 0 {
		s.Warnings = append(s.Warnings, "nothing is sent for the sample reading, which lacks "+strings.Join(enc.Lacks(r), ", "))
		return s, nil
	}
	s.Hex, s.Text = spaced(b), visible(b)
	var all [maxFields]span
	found, spans := l.find(b, &all)
	if found != m {
		name := "no message"
		if found != nil {
			name = "as " + found.name
		}
		s.Fits = false
		s.Warnings = append(s.Warnings, fmt.Sprintf("it is read %s: nothing tells it from that message; give the two a fixed field that differs", name))
		return s, nil
	}
	if len(m.start) > 0 && m.fixed {
		s.Fields = append(s.Fields, SheetField{Hex: spaced(m.start), Text: visible(m.start), Name: "start", Meaning: "every message begins with it"})
	}
	for i := range m.fields {
		f := &m.fields[i]
		v := b[spans[i].from:spans[i].to]
		w := m.describeField(b, spans, i)
		s.Fields = append(s.Fields, SheetField{Offset: int(spans[i].from), Hex: spaced(v), Text: visible(v), Name: f.name, Meaning: f.meaning(m), Value: w.Value, Unit: w.Unit, Note: w.Note})
	}
	got := wire.Reading{Variation: r.Variation, Undulation: r.Undulation, Pitch: r.Pitch}
	if m.timed && !m.dated() { // then the day is known otherwise
		got.UTC = r.UTC
	}
	if _, _, err := l.Read(b, &got); err != nil {
		return s, err
	}
	for i := range m.fields {
		if f := &m.fields[i]; f.role == roleNumber {
			t := m.trip(f, r, &got)
			s.Trips, s.Fits = append(s.Trips, t), s.Fits && t.Fits
		}
	}
	if m.timed {
		a, _ := r.UTC.Value()
		z, ok := got.UTC.Value()
		t := SheetTrip{Quantity: "time", Unit: "s", Sent: seconds(a.UnixNano()), Read: seconds(z.UnixNano()), Off: z.Sub(a).Seconds(), Half: m.timeHalf(), Known: ok}
		t.Fits = ok && math.Abs(t.Off) <= t.Half+1e-9
		s.Trips, s.Fits = append(s.Trips, t), s.Fits && t.Fits
	}
	none := wire.Reading{}
	if b, err = enc.Append(nil, &none); err != nil {
		s.Warnings = append(s.Warnings, fmt.Sprintf("what is not known cannot be sent: %v", err))
	}
	s.Unknown = spaced(b)
	s.Warnings = append(s.Warnings, m.warnings()...)
	return s, nil
}

func seconds(ns int64) float64 { return float64(ns) / 1e9 }

// dated tells whether the message has its date, so that the stamp can be read without any other.
func (m *message) dated() bool {
	for i := range m.fields {
		if f := &m.fields[i]; f.role == roleTime {
			switch f.part2 {
			case unixTime, gpsTime, gpsWeek, year:
				return f.modulo == 0 || f.part2 == year || f.part2 == gpsWeek
			}
		}
	}
	return false
}

func (m *message) trip(f *field, r, got *wire.Reading) SheetTrip {
	a, _ := f.q.get(r)
	z, ok := f.q.get(got)
	half := math.Abs(f.conv.u) / 2
	if f.coding == codeFloat {
		half = f.q.top * 0x1p-50
		if f.nbytes == 4 {
			half = (f.q.top + math.Abs(f.conv.o)) * 0x1p-23
		}
	}
	t := SheetTrip{Quantity: f.q.name, Unit: f.q.dim.units[0].symbol, Sent: a, Read: z, Off: z - a, Half: half, Known: ok}
	if f.q.turn != straight {
		t.Off = math.Remainder(t.Off, 2*math.Pi)
	}
	off := t.Off
	slack := half*1e-6 + (math.Abs(a)+math.Abs(f.conv.o))*1e-14
	if f.q.name == "inclination-right" {
		slack += half
	}
	for _, d := range []struct {
		dim  *dimension
		unit string
	}{{angle, "deg"}, {rate, "deg/s"}} {
		if f.q.dim == d.dim {
			const deg = 180 / math.Pi
			t.Unit, t.Sent, t.Read, t.Off, t.Half = d.unit, t.Sent*deg, t.Read*deg, t.Off*deg, t.Half*deg
		}
	}
	if t.Unit == "none" {
		t.Unit = ""
	}
	t.Fits = ok && math.Abs(off) <= half+slack || f.beyond == "limit" || f.beyond == "absent" && !ok
	return t
}

// warnings are what is possible but probably not meant.
func (m *message) warnings() (all []string) {
	for i := range m.fields {
		f := &m.fields[i]
		if f.role == roleNumber && f.magnitude && m.signAt(f) < 0 {
			all = append(all, fmt.Sprintf("%s has no sign, and no field has sign-of: %s: what is below zero is read as above", f.name, f.name))
		}
		if f.role != roleNumber || !f.hasNone || f.coding == codeFloat || f.coding.ascii() {
			continue
		}
		n, ok := f.numOf(f.none)
		if !ok {
			continue
		}
		x := math.Abs(f.conv.value(n))
		if x < f.q.top/2 && f.lo.less(n) && n.less(f.hi) {
			all = append(all, fmt.Sprintf("%s: the code for not known, 0x%X, is also an ordinary value, which then is refused", f.name, f.none))
		}
	}
	if !m.hasSum {
		all = append(all, "there is no checksum: a hurt message is not noticed")
	}
	return all
}

// meaning says in words what a field carries and how.
func (f *field) meaning(m *message) string {
	how := string(f.spec.As)
	if f.spec.As == "bits" {
		how = fmt.Sprintf("%d bits", f.nbits)
	}
	if f.nbytes > 1 {
		how += map[bool]string{true: ", low byte first", false: ", high byte first"}[f.little]
	}
	switch f.role {
	case roleFixed:
		return "always the same"
	case roleNumber:
		s := f.q.what
		if f.conv.flip {
			s += ", positive " + f.spec.Positive
		}
		if f.spec.Zero != "" {
			s += ", from " + string(f.spec.Zero)
		}
		if f.spec.Scale != nil {
			s += strings.TrimSuffix(", a count is "+f.spec.Scale.text+" "+f.unit, " none")
		}
		if f.spec.Offset != nil {
			s += strings.TrimSuffix(", from "+f.spec.Offset.text+" "+f.unit, " none")
		}
		return s + " (" + how + ")"
	case roleTime:
		for _, t := range times {
			if t.part == f.part2 {
				return t.what + " (" + how + ")"
			}
		}
	case roleCount:
		what := "how many of these messages were sent before"
		if f.series {
			what = "how many messages were sent before"
		}
		if f.modulo > 0 {
			what += ", again from 0 at " + strconv.FormatUint(f.modulo, 10)
		}
		return what + " (" + how + ")"
	case roleStatus:
		return f.st.what + " (" + how + ")"
	case roleSign:
		return "sign of " + f.spec.SignOf
	case roleSum:
		return "checksum " + f.spec.Checksum.Method + " (" + how + ")"
	case roleLength:
		return "number of bytes (" + how + ")"
	}
	return ""
}

// spaced writes bytes as pairs of digits.
func spaced(b []byte) string {
	return strings.TrimSpace(fmt.Sprintf("% X", b))
}

// visible is the text of bytes that are text, line ends as escapes; "" of others.
func visible(b []byte) string {
	for _, c := range b {
		if c != '\r' && c != '\n' && (c < 0x20 || c > 0x7E) {
			return ""
		}
	}
	q := strconv.Quote(string(b))
	return strings.ReplaceAll(q[1:len(q)-1], `\"`, `"`)
}
