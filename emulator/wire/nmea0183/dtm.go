package nmea0183

import (
	"unicode/utf8"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A DTM is the datum of the positions that follow it, as offsets from a reference datum.
//
// Source: NMEA Revealed, DTM; that it goes before the positions when their datum is not WGS 84: from memory.
type DTM struct {
	Talker       Talker           // zero is GP
	Datum        string           // such as W84; 999 is defined by the user
	Subdivision  string           // "" is null
	LatOffsetMin opt.Opt[float64] // minutes of arc, north positive
	LonOffsetMin opt.Opt[float64] // minutes of arc, east positive
	AltOffsetM   opt.Opt[float64]
	Reference    string // such as W84
}

var (
	dtmDecimals = []Default{{LatOffset, 4}, {LonOffset, 4}, {Altitude, 1}}
	dtmFormat   = formatOf(dtmDecimals)

	latOffsetSpan  = span{field: "latitude offset", allowed: "-5400′ ≤ offset ≤ 5400′", lo: -5400, hi: 5400}
	lonOffsetSpan  = span{field: "longitude offset", allowed: "-10800′ ≤ offset ≤ 10800′", lo: -10800, hi: 10800}
	latOffsetRead  = span{field: "latitude offset", allowed: "0′ ≤ offset ≤ 5400′", lo: 0, hi: 5400}
	lonOffsetRead  = span{field: "longitude offset", allowed: "0′ ≤ offset ≤ 10800′", lo: 0, hi: 10800}
	altOffsetSpan  = span{field: "altitude offset", allowed: "-99999 m ≤ offset ≤ 99999 m", lo: -99999, hi: 99999}
	maxDatumLength = 15
)

// Type is DTM.
func (*DTM) Type() string { return "DTM" }

// Append writes the sentence.
func (s *DTM) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &dtmFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'P'}, "DTM")
	w.code("datum", s.Datum)
	w.code("subdivision", s.Subdivision)
	w.lettered(s.LatOffsetMin, LatOffset, &latOffsetSpan, 'N', 'S')
	w.lettered(s.LonOffsetMin, LonOffset, &lonOffsetSpan, 'E', 'W')
	w.number(s.AltOffsetM, Altitude, &altOffsetSpan)
	w.code("reference datum", s.Reference)
	return w.end()
}

// code writes a short text.
func (w *writer) code(field, s string) {
	if utf8.RuneCountInString(s) > maxDatumLength {
		w.badText(field, s, "up to 15 characters")
	}
	w.b = append(w.b, ',')
	w.text(field, s)
}

func (c *cursor) code(field string) string {
	b := c.next()
	switch {
	case string(b) == "W84": // the usual one costs nothing
		return "W84"
	case len(b) > 3*maxDatumLength: // all of them escapes
		c.fail(field, b, "up to 15 characters")
		return ""
	}
	s := unescape(b)
	if utf8.RuneCountInString(s) > maxDatumLength {
		c.fail(field, b, "up to 15 characters")
		return ""
	}
	return s
}

// Parse reads the sentence.
func (s *DTM) Parse(f *Fields) error {
	*s = DTM{Talker: f.Talker()}
	c := f.cursor("DTM")
	s.Datum = c.code("datum")
	s.Subdivision = c.code("subdivision")
	s.LatOffsetMin = c.lettered(&latOffsetRead, 'N', 'S')
	s.LonOffsetMin = c.lettered(&lonOffsetRead, 'E', 'W')
	s.AltOffsetM = c.number(&altOffsetSpan)
	s.Reference = c.code("reference datum")
	if c.error != nil {
		*s = DTM{}
	}
	return c.err()
}

// appendDTM says that positions are in WGS 84, as those of a reading are.
func appendDTM(e *encoder, dst []byte, _ *wire.Reading) ([]byte, error) {
	s := DTM{Talker: e.talker, Datum: "W84", Reference: "W84", LatOffsetMin: opt.Of(0.), LonOffsetMin: opt.Of(0.), AltOffsetM: opt.Of(0.)}
	return s.Append(dst, &e.format)
}

// readDTM finds nothing that a reading holds.
func readDTM(f *Fields, _ *wire.Reading) error {
	var s DTM
	return s.Parse(f)
}

func dtmResolutions(*Format) []wire.Resolution { return nil }
