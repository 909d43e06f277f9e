package nmea0183

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// An HDG is the heading that a magnetic sensor shows, its deviation, and the variation.
//
// Magnetic heading is sensor + deviation, true heading is magnetic + variation, both east positive. Source: NMEA
// Revealed, HDG.
type HDG struct {
	Talker       Talker           // zero is HC
	SensorDeg    opt.Opt[float64] // what the sensor shows
	DeviationDeg opt.Opt[float64] // of the sensor, east positive
	VariationDeg opt.Opt[float64] // magnetic, east positive
}

var (
	hdgDecimals = []Default{{Heading, 2}, {Deviation, 1}, {Variation, 2}}
	hdgFormat   = formatOf(hdgDecimals)

	sensorSpan    = span{field: "sensor heading", allowed: "0° ≤ heading < 360°", lo: 0, hi: 360, open: true}
	deviationSpan = span{field: "deviation", allowed: "-180° ≤ deviation ≤ 180°", lo: -180, hi: 180}
	deviationRead = span{field: "deviation", allowed: "0° ≤ deviation ≤ 180°", lo: 0, hi: 180}
)

// Type is HDG.
func (*HDG) Type() string { return "HDG" }

// MagneticDeg is the heading from magnetic north, 0 ≤ h < 360; a deviation that is not known counts as none.
func (s *HDG) MagneticDeg() opt.Opt[float64] {
	if h, ok := s.SensorDeg.Value(); ok {
		return opt.Of(wrap360(h + s.DeviationDeg.Or(0)))
	}
	return s.SensorDeg
}

// TrueDeg is the heading from true north, 0 ≤ h < 360; absent unless the variation is known.
func (s *HDG) TrueDeg() opt.Opt[float64] {
	h, ok := s.MagneticDeg().Value()
	v, ok2 := s.VariationDeg.Value()
	if !ok || !ok2 {
		return opt.None[float64]()
	}
	return opt.Of(wrap360(h + v))
}

// Append writes the sentence.
func (s *HDG) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &hdgFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'H', 'C'}, "HDG")
	w.bearing(s.SensorDeg, Heading, &sensorSpan)
	w.lettered(s.DeviationDeg, Deviation, &deviationSpan, 'E', 'W')
	w.lettered(s.VariationDeg, Variation, &variationSpan, 'E', 'W')
	return w.end()
}

// Parse reads the sentence. It takes 360.0, which some writers send for north.
func (s *HDG) Parse(f *Fields) error {
	*s = HDG{Talker: f.Talker()}
	c := f.cursor("HDG")
	s.SensorDeg = c.number(&headingRead)
	s.DeviationDeg = c.lettered(&deviationRead, 'E', 'W')
	s.VariationDeg = c.lettered(&variationRead, 'E', 'W')
	if c.error != nil {
		*s = HDG{}
	}
	return c.err()
}

// appendHDG writes a reading, of a compass that has no deviation or corrects for it: the field is null. Without a
// variation the sensor cannot be told from true north, and the heading is null.
func appendHDG(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := HDG{Talker: e.talker, VariationDeg: degOpt(r.Variation)}
	if h, ok := headingOpt(r.Heading).Value(); ok {
		if !headingSpan.has(h) { // the sum may fall into the circle again
			s.SensorDeg = opt.Of(h)
		} else if v, ok := s.VariationDeg.Value(); ok && variationSpan.has(v) {
			s.SensorDeg = opt.Of(wrap360(h - v))
		}
	}
	return s.Append(dst, &e.format)
}

// readHDG takes the variation that is known from elsewhere if the sentence has none.
func readHDG(f *Fields, r *wire.Reading) error {
	var s HDG
	if err := s.Parse(f); err != nil {
		return err
	}
	if s.VariationDeg.Has() {
		r.Variation = radOpt(s.VariationDeg)
	} else {
		s.VariationDeg = degOpt(r.Variation)
	}
	r.Heading, r.HeadingEstimated = radOpt(s.TrueDeg()), false
	return nil
}

func hdgResolutions(f *Format) []wire.Resolution {
	return []wire.Resolution{{Quantity: wire.Heading, Half: (f.half(Heading) + f.half(Variation)) * degree}}
}
