package nmea0183

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A ROT is the rate of turn.
//
// Source: NMEA Revealed, ROT: degrees a minute, negative when the bow turns to port.
type ROT struct {
	Talker     Talker           // zero is TI
	RateDegMin opt.Opt[float64] // positive to starboard; of no meaning with Status V
	Status     Status
}

var (
	rotDecimals = []Default{{Rate, 2}}
	rotFormat   = formatOf(rotDecimals)

	rateSpan = span{field: "rate of turn", allowed: "-99999 °/min ≤ rate ≤ 99999 °/min", lo: -99999, hi: 99999}
)

// Type is ROT.
func (*ROT) Type() string { return "ROT" }

// Append writes the sentence.
func (s *ROT) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &rotFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'T', 'I'}, "ROT")
	w.number(s.RateDegMin, Rate, &rateSpan)
	w.status(s.Status)
	return w.end()
}

// Parse reads the sentence.
func (s *ROT) Parse(f *Fields) error {
	*s = ROT{Talker: f.Talker()}
	c := f.cursor("ROT")
	s.RateDegMin = c.number(&rateSpan)
	s.Status = c.status()
	if c.error != nil {
		*s = ROT{}
	}
	return c.err()
}

// appendROT writes a reading; without a rate it is void.
func appendROT(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := ROT{Talker: e.talker, RateDegMin: scaled(r.RateOfTurn, 1/degreeMinute), Status: Valid}
	if !s.RateDegMin.Has() {
		s.Status = Void
	}
	return s.Append(dst, &e.format)
}

func readROT(f *Fields, r *wire.Reading) error {
	var s ROT
	if err := s.Parse(f); err != nil {
		return err
	}
	if r.RateOfTurn = scaled(s.RateDegMin, degreeMinute); s.Status == Void {
		r.RateOfTurn = opt.None[float64]()
	}
	return nil
}

func rotResolutions(f *Format) []wire.Resolution {
	return []wire.Resolution{{Quantity: wire.RateOfTurn, Half: f.half(Rate) * degreeMinute}}
}
