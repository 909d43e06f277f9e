package nmea0183

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A THS is the heading from true north and whether it is valid.
//
// Source: comments of gpsd's decoder and notes of IEC 61162-1: the mode is never null, and the heading is null when it is
// not valid.
type THS struct {
	Talker     Talker           // zero is HE
	HeadingDeg opt.Opt[float64] // null when it is not valid
	Mode       HeadingMode
}

// A HeadingMode is the mode indicator of THS: A autonomous, E estimated, M manual, S simulator, V not valid.
type HeadingMode byte

const headingModes = "AEMSV"

var (
	thsDecimals = []Default{{Heading, 2}}
	thsFormat   = formatOf(thsDecimals)
)

// Type is THS.
func (*THS) Type() string { return "THS" }

// Append writes the sentence.
func (s *THS) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &thsFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'H', 'E'}, "THS")
	w.bearing(s.HeadingDeg, Heading, &headingSpan)
	w.oneOf("mode", byte(s.Mode), headingModes)
	return w.end()
}

// Parse reads the sentence. It takes 360.0, which some writers send for north.
func (s *THS) Parse(f *Fields) error {
	*s = THS{Talker: f.Talker()}
	c := f.cursor("THS")
	s.HeadingDeg = c.number(&headingRead)
	s.Mode = HeadingMode(c.letter("mode", headingModes))
	if s.Mode == 0 {
		c.fail("mode", nil, "one of "+headingModes)
	}
	if c.error != nil {
		*s = THS{}
	}
	return c.err()
}

// appendTHS writes a reading; without a heading it is not valid.
func appendTHS(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := THS{Talker: e.talker, HeadingDeg: headingOpt(r.Heading), Mode: 'A'}
	switch {
	case !s.HeadingDeg.Has():
		s.Mode = 'V'
	case e.simulated:
		s.Mode = 'S'
	case r.HeadingEstimated:
		s.Mode = 'E'
	}
	return s.Append(dst, &e.format)
}

func readTHS(f *Fields, r *wire.Reading) error {
	var s THS
	if err := s.Parse(f); err != nil {
		return err
	}
	if s.Mode == 'V' {
		s.HeadingDeg = opt.None[float64]()
	}
	r.Heading, r.HeadingEstimated = radOpt(s.HeadingDeg), s.Mode == 'E'
	return nil
}

func thsResolutions(f *Format) []wire.Resolution { return hdtResolutions(f) }
