package nmea2000

import (
	"math"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// 129026, COG & SOG, Rapid Update: course over ground, unsigned, from true or from magnetic north, and speed.
//
// Source: canboat PGN database; NMEA2000 C++ library.
var (
	courseReference = Field{Name: "COG reference", Bit: 8, Width: 2, Type: Lookup, Words: references}
	courseAngle     = Field{Name: "COG", Bit: 16, Width: 16, Decimals: 4, Unit: "rad"}
	courseSpeed     = Field{Name: "SOG", Bit: 32, Width: 16, Decimals: 2, Unit: "m/s"}

	courseFields = []Field{sid, courseReference, reserved(10, 6), courseAngle, courseSpeed, reserved(48, 16)}
)

func packCourse(e *encoder, r *wire.Reading) (uint64, error) {
	from, reference := r.CourseRad, uint64(fromTrue)
	if e.magnetic {
		from, reference = turned(r.CourseRad, r.Variation, -1), fromMagnetic
	}
	course, ok := direction16(from)
	if !ok {
		return 0, e.tooLarge(&courseAngle, from)
	}
	speed, ok := unsigned16(r.SpeedMS, 100)
	if !ok {
		return 0, e.tooLarge(&courseSpeed, r.SpeedMS)
	}
	return e.sidOf(r) | reference<<8 | 0x3F<<10 | course<<16 | speed<<32 | 0xFFFF<<48, nil
}

// readCourse sets speed and true course, and the velocity that they are. A magnetic course needs the variation that
// the reading has already.
func readCourse(p []byte, r *wire.Reading) {
	course := courseAngle.known(p)
	switch reference, ok := courseReference.code(p); {
	case ok && reference == fromTrue:
		course = turned(course, opt.Of(0.0), 1)
	case ok && reference == fromMagnetic:
		course = turned(course, r.Variation, 1)
	default:
		course = opt.None[float64]()
	}
	r.CourseRad, r.SpeedMS = course, courseSpeed.known(p)
	r.VelocityEN = opt.None[[2]float64]()
	c, ok := r.CourseRad.Value()
	if v, ok2 := r.SpeedMS.Value(); ok && ok2 {
		sin, cos := math.Sincos(c)
		r.VelocityEN = opt.Of([2]float64{v * sin, v * cos})
	}
}

func courseResolutions(*encoder) []wire.Resolution {
	return []wire.Resolution{courseAngle.resolution(wire.Course), courseSpeed.resolution(wire.Speed)}
}
