package consumer

import (
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios/opt"
)

// headingDefects are those of a heading that comes from magnetic north.
var headingDefects = []Defect{
	{"magnetic-heading", "shows the heading from magnetic north as that from true north", Say, "parse.values", "magnetic-used-as-true", magneticHeading},
	{"variation-reversed", "takes the variation for positive west", Say, "parse.values", "variation-sign-reversed", variationReversed},
}

func magneticHeading(s *stages) {
	saying(s, func(m *message, x nmea0183.Sentence) {
		if hdg, ok := x.(*nmea0183.HDG); ok {
			m.values[heading] = told(hdg.MagneticDeg(), perDegree)
		}
	})
}

func variationReversed(s *stages) {
	saying(s, func(m *message, x nmea0183.Sentence) {
		if hdg, ok := x.(*nmea0183.HDG); ok {
			turned := *hdg
			if v, ok := turned.VariationDeg.Value(); ok {
				turned.VariationDeg = opt.Of(-v)
			}
			m.values[heading] = told(turned.TrueDeg(), perDegree)
		}
	})
}
