package consumer

import (
	"math"
	"time"

	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios/frame"
)

// parseDefects are those of what a message says.
var parseDefects = []Defect{
	{"roll-sign", "takes starboard up for positive roll", Read, "parse.values", "attitude-sign-reversed", rollSign},
	{"pitch-roll-swapped", "takes the pitch for the roll and the roll for the pitch", Read, "parse.values", "roll-and-pitch-exchanged", pitchRollSwapped},
	{"pitch-sign", "takes bow down for positive pitch", Read, "parse.values", "attitude-sign-reversed", factor(-1, pitch)},
	{"heave-sign", "takes heave for positive down", Read, "parse.values", "heave-sign-reversed", factor(-1, heave)},
	{"heave-in-feet", "takes heave for feet", Read, "parse.values", "length-unit-confused", factor(0.3048, heave)},
	{"attitude-in-radians", "takes the degrees of pitch and roll for radians, and publishes them in degrees", Read, "parse.values", "angle-unit-confused", factor(180/math.Pi, pitch, roll)},
	{"heading-in-radians", "publishes the heading in radians where degrees are wanted", Publish, "parse.values", "angle-unit-confused", headingInRadians},
	{"rate-of-turn-a-minute", "takes degrees a minute for degrees a second", Read, "parse.values", "rate-of-turn-unit-confused", factor(60, rateOfTurn)},
	{"rate-of-turn-sign", "takes a turn to port for positive", Read, "parse.values", "rate-of-turn-sign-reversed", factor(-1, rateOfTurn)},
	{"knots-as-metres", "takes knots for metres a second", Read, "parse.values", "speed-unit-confused", factor(3600.0/1852, speed)},
	{"magnetic-course", "takes the course from magnetic north for that from true north", Say, "parse.values", "magnetic-used-as-true", magneticCourse},
	{"variation-added", "takes the true heading for a magnetic one and adds the variation", Say, "parse.values", "magnetic-used-as-true", variationAdded},
	{"water-speed", "takes the speed through the water, which other equipment tells, for that over ground", Say, "parse.values", "water-speed-shown", waterSpeed},
	{"math-angle", "takes the heading for an angle from east to the left", Read, "parse.values", "compass-angle-versus-math-angle", headings(func(h float64) float64 { return math.Pi/2 - h })},
	{"heading-mirrored", "takes the heading for one to the left", Read, "parse.values", "compass-angle-versus-math-angle", headings(func(h float64) float64 { return -h })},
	{"course-for-heading", "shows the course over ground as heading", Publish, "parse.values", "course-shown-as-heading", courseForHeading},
	{"height-above-sea", "passes on the height above mean sea level as that above the ellipsoid", Read, "parse.values", "height-reference-not-converted", undulationTimes(0)},
	{"undulation-sign", "takes the undulation off instead of adding it", Read, "parse.values", "geoid-separation-reversed", undulationTimes(-1)},
	{"altitude-in-feet", "takes the altitude for feet", Read, "parse.values", "length-unit-confused", factor(0.3048, altitude)},
	{"minutes-as-decimal-degrees", "takes the minutes of latitude and longitude for hundredths of a degree", Read, "parse.values", "minutes-read-as-degree-fraction", minutesAsDecimalDegrees},
	{"four-decimals", "cuts the minutes of latitude and longitude after four decimals", Read, "parse.values", "decimals-cut", fourDecimals},
	{"single-precision", "holds latitude and longitude in single precision", Read, "parse.values", "position-in-single-precision", singlePrecision},
	{"whole-degrees", "cuts the decimals of the heading", Read, "parse.values", "decimals-cut", wholeDegrees},
	{"west-as-east", "ignores the letter of the longitude, so that west comes out east", Read, "parse.hemisphere", "hemisphere-letter-dropped", westAsEast},
	{"south-as-north", "ignores the letter of the latitude, so that south comes out north", Read, "parse.hemisphere", "hemisphere-letter-dropped", southAsNorth},
	{"blank-as-zero", "takes a blank number for zero", Read, "parse.null", "blank-read-as-zero", blankAsZero},
	{"heading-averaged", "averages the last three headings as plain numbers, so that near north it points south", Publish, "parse.wrap", "heading-averaged-through-wrap", headingAveraged},
	{"heading-signed", "shows west of north as negative headings", Publish, "parse.wrap", "angle-not-reduced", headingSigned},
	{"longitude-to-360", "shows west longitudes as more than 180 degrees", Publish, "parse.wrap", "angle-not-reduced", longitudeTo360},
	{"every-other-epoch", "shows every other epoch", Publish, "parse.loss", "messages-lost", everyOtherEpoch},
}

// reading wraps the stage that reads a message: f comes after the right thing was done.
func reading(s *stages, f func(*message)) {
	read := s.read
	s.read = func(m *message) {
		read(m)
		f(m)
	}
}

// publishing wraps the stage that publishes: f comes before.
func publishing(s *stages, f func(*observation)) {
	publish := s.publish
	s.publish = func(o *observation, emit func(*observation)) {
		f(o)
		publish(o, emit)
	}
}

// saying wraps the stage that takes fields of a sentence: f comes after.
func saying(s *stages, f func(*message, nmea0183.Sentence)) {
	say := s.say
	s.say = func(m *message, x nmea0183.Sentence) {
		say(m, x)
		f(m, x)
	}
}

// factor makes a defect that multiplies what messages say.
func factor(k float64, qs ...quantity) func(*stages) {
	return func(s *stages) {
		reading(s, func(m *message) {
			for _, q := range qs {
				m.values[q].x *= k
			}
		})
	}
}

// headings makes a defect that does something to the heading on the wire.
func headings(f func(float64) float64) func(*stages) {
	return func(s *stages) {
		reading(s, func(m *message) {
			if h := &m.values[heading]; h.known {
				h.x = frame.Wrap2Pi(f(h.x))
			}
		})
	}
}

func rollSign(s *stages) { factor(-1, roll)(s) }

func pitchRollSwapped(s *stages) {
	reading(s, func(m *message) { m.values[pitch], m.values[roll] = m.values[roll], m.values[pitch] })
}

func headingInRadians(s *stages) {
	publishing(s, func(o *observation) { o.heading.x = frame.Rad(o.heading.x) })
}

func magneticCourse(s *stages) {
	saying(s, func(m *message, x nmea0183.Sentence) {
		if vtg, ok := x.(*nmea0183.VTG); ok && vtg.MagneticDeg.Has() {
			m.values[course] = told(vtg.MagneticDeg, perDegree)
		}
	})
}

func variationAdded(s *stages) {
	variation := 0.0
	saying(s, func(m *message, x nmea0183.Sentence) {
		if rmc, ok := x.(*nmea0183.RMC); ok {
			variation = rmc.VariationDeg.Or(0) * perDegree
		}
		if h := &m.values[heading]; h.known {
			h.x = frame.Wrap2Pi(h.x + variation)
		}
	})
}

func waterSpeed(s *stages) {
	saying(s, func(m *message, x nmea0183.Sentence) {
		if vbw, ok := x.(*nmea0183.VBW); ok {
			m.rank, m.values[speed] = 9, told(vbw.Water.AheadKn, perKnot)
		}
	})
}

func courseForHeading(s *stages) {
	publishing(s, func(o *observation) {
		if o.course.known && o.heading.said {
			o.heading = o.course
		}
	})
}

// undulationTimes makes a defect that counts the undulation k times.
func undulationTimes(k float64) func(*stages) { return factor(k, undulation) }

// coordinates wraps the stage that reads a message with something done to latitude and longitude, in degrees.
func coordinates(s *stages, f func(deg float64) float64) {
	reading(s, func(m *message) {
		for _, q := range []quantity{latitude, longitude} {
			if v := &m.values[q]; v.known {
				v.x = frame.Rad(f(frame.Deg(v.x)))
			}
		}
	})
}

// minutesOf splits degrees as they are on the wire.
func minutesOf(deg float64) (whole, minutes float64) {
	size := math.Abs(deg)
	whole = math.Floor(size + 1e-11) // a whole degree may come back from rad a hair short
	return whole, (size - whole) * 60
}

func minutesAsDecimalDegrees(s *stages) {
	coordinates(s, func(deg float64) float64 {
		whole, minutes := minutesOf(deg)
		return math.Copysign(whole+minutes/100, deg)
	})
}

func fourDecimals(s *stages) {
	coordinates(s, func(deg float64) float64 {
		whole, minutes := minutesOf(deg)
		return math.Copysign(whole+math.Floor(minutes*1e4+1e-6)/1e4/60, deg)
	})
}

func singlePrecision(s *stages) {
	coordinates(s, func(deg float64) float64 { return float64(float32(deg)) })
}

func wholeDegrees(s *stages) {
	headings(func(h float64) float64 { return frame.Rad(math.Floor(frame.Deg(h) + 1e-9)) })(s)
}

func westAsEast(s *stages) {
	reading(s, func(m *message) { m.values[longitude].x = math.Abs(m.values[longitude].x) })
}

func southAsNorth(s *stages) {
	reading(s, func(m *message) { m.values[latitude].x = math.Abs(m.values[latitude].x) })
}

func blankAsZero(s *stages) {
	reading(s, func(m *message) {
		for q := range m.values {
			if v := &m.values[q]; v.said && !v.known {
				*v = number(0)
			}
		}
	})
}

func headingAveraged(s *stages) {
	var last []float64
	publishing(s, func(o *observation) {
		if !o.heading.known {
			return
		}
		if last = append(last, o.heading.x); len(last) > 3 {
			last = last[1:]
		}
		sum := 0.0
		for _, h := range last {
			sum += h
		}
		o.heading.x = sum / float64(len(last))
	})
}

func headingSigned(s *stages) {
	publish := s.publish
	s.publish = func(o *observation, emit func(*observation)) {
		o.signed = true
		publish(o, emit)
	}
}

func longitudeTo360(s *stages) {
	publishing(s, func(o *observation) {
		if o.lon.known {
			o.lon.x = frame.Wrap2Pi(o.lon.x)
		}
	})
}

func everyOtherEpoch(s *stages) {
	publish, n, last := s.publish, 0, time.Time{}
	s.publish = func(o *observation, emit func(*observation)) {
		if !o.time.Equal(last) {
			n++
		}
		if last = o.time; n%2 == 1 {
			publish(o, emit)
		}
	}
}
