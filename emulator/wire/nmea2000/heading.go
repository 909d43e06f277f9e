package nmea2000

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// 127250, Vessel Heading: unsigned, from true or from magnetic north. Deviation and variation are positive to the east.
// The device sends the heading without deviation left in it, and the variation it goes by with either reference.
//
// Source: canboat PGN database; NMEA2000 C++ library; the signs from memory.
var (
	headingAngle     = Field{Name: "heading", Bit: 8, Width: 16, Decimals: 4, Unit: "rad"}
	headingDeviation = Field{Name: "deviation", Bit: 24, Width: 16, Type: Signed, Decimals: 4, Unit: "rad"}
	headingVariation = Field{Name: "variation", Bit: 40, Width: 16, Type: Signed, Decimals: 4, Unit: "rad"}
	headingReference = Field{Name: "reference", Bit: 56, Width: 2, Type: Lookup, Words: references}

	headingFields = []Field{sid, headingAngle, headingDeviation, headingVariation, headingReference, reserved(58, 6)}
)

func packHeading(e *encoder, r *wire.Reading) (uint64, error) {
	from, reference := r.Heading, uint64(fromTrue)
	if e.magnetic {
		from, reference = turned(r.Heading, r.Variation, -1), fromMagnetic
	}
	heading, ok := direction16(from)
	if !ok {
		return 0, e.tooLarge(&headingAngle, from)
	}
	variation, ok := angle16(r.Variation)
	if !ok {
		return 0, e.tooLarge(&headingVariation, r.Variation)
	}
	return e.sidOf(r) | heading<<8 | 0x7FFF<<24 | variation<<40 | reference<<56 | 0x3F<<58, nil
}

// readHeading sets the true heading. A magnetic one needs the variation that comes with it, or that the reading has
// already; a deviation that comes with it is yet to be added, as in HDG of NMEA 0183 (from memory).
func readHeading(p []byte, r *wire.Reading) {
	variation := headingVariation.known(p)
	if variation.Has() {
		r.Variation = variation
	}
	heading := headingAngle.known(p)
	switch reference, ok := headingReference.code(p); {
	case ok && reference == fromTrue:
	case ok && reference == fromMagnetic:
		if deviation := headingDeviation.known(p); deviation.Has() {
			heading = turned(heading, deviation, 1)
		}
		heading = turned(heading, r.Variation, 1)
	default:
		heading = opt.None[float64]()
	}
	r.Heading = turned(heading, opt.Of(0.0), 1)
}

func headingResolutions(*encoder) []wire.Resolution {
	return []wire.Resolution{headingAngle.resolution(wire.Heading)}
}

// turned is the direction plus sign times by, in 0 ≤ x < 2π; absent if one of them is.
func turned(direction, by opt.Opt[float64], sign float64) opt.Opt[float64] {
	d, ok := direction.Value()
	b, ok2 := by.Value()
	if !ok || !ok2 {
		return opt.None[float64]()
	}
	return opt.Of(frame.Wrap2Pi(d + sign*b))
}
