package nmea0183

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// An HDT is the heading from true north.
//
// Source: NMEA Revealed, HDT.
type HDT struct {
	Talker     Talker           // zero is HE
	HeadingDeg opt.Opt[float64] // null when it is not valid
}

var (
	hdtDecimals = []Default{{Heading, 2}}
	hdtFormat   = formatOf(hdtDecimals)

	headingSpan = span{field: "heading", allowed: "0° ≤ heading < 360°", lo: 0, hi: 360, open: true}
	headingRead = span{field: "heading", allowed: "0° ≤ heading ≤ 360°", lo: 0, hi: 360}
)

// Type is HDT.
func (*HDT) Type() string { return "HDT" }

// Append writes the sentence.
func (s *HDT) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &hdtFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'H', 'E'}, "HDT")
	w.bearing(s.HeadingDeg, Heading, &headingSpan)
	w.letter('T')
	return w.end()
}

// Parse reads the sentence. It takes 360.0, which some writers send for north.
func (s *HDT) Parse(f *Fields) error {
	*s = HDT{Talker: f.Talker()}
	c := f.cursor("HDT")
	s.HeadingDeg = c.number(&headingRead)
	c.unit("heading", 'T')
	if c.error != nil {
		*s = HDT{}
	}
	return c.err()
}

func appendHDT(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := HDT{Talker: e.talker, HeadingDeg: headingOpt(r.Heading)}
	return s.Append(dst, &e.format)
}

func readHDT(f *Fields, r *wire.Reading) error {
	var s HDT
	if err := s.Parse(f); err != nil {
		return err
	}
	r.Heading = radOpt(s.HeadingDeg)
	return nil
}

func hdtResolutions(f *Format) []wire.Resolution {
	return []wire.Resolution{{Quantity: wire.Heading, Half: f.half(Heading) * degree}}
}
