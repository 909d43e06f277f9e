package consumer

import (
	"math"
	"time"

	"swellbench/emulator/wire/nmea2000"
	"swellbench/scenarios/frame"
)

// BinaryDefects is the table of seeded defects that only formats of fields in bytes bring to light: MAVLink, NMEA 2000. They
// are told to the consumer as [Defects] are. The classes are those of common practice, no published list.
var BinaryDefects = []Defect{
	{"bytes-exchanged", "reads fields of two bytes with the high byte first, where the low one comes first", Frame, "parse.values", "", bytesExchanged},
	{"negative-as-large", "takes signed fields of two bytes for unsigned ones", Read, "parse.values", "negative-binary-read-as-large-positive", negativeAsLarge},
	{"codes-as-values", "takes the code for not available for a value", Read, "parse.null", "", codesAsValues},
	{"down-as-up", "takes axes to the right and down for axes to the left and up, without turning what is along them", Read, "parse.values", "attitude-sign-reversed compass-angle-versus-math-angle", downAsUp},
	{"north-as-east", "takes the velocity to the north for that to the east, and that to the east for that to the north", Read, "parse.values", "", northAsEast},
	{"uptime-as-utc", "takes the time since switch-on for that since 1970", Since, "time.validity", "", uptimeAsUTC},
}

// words16 is where the fields of two bytes lie in the eight of a frame.
var words16 = map[uint32][]int{127250: {1, 3, 5}, 127252: {1}, 127257: {1, 3, 5}, 129026: {2, 4}}

func bytesExchanged(s *stages) {
	s.frame = func(family string, b []byte) []byte {
		if family != "nmea2000" {
			return b
		}
		l, err := nmea2000.ParseLine(b)
		if err != nil || !l.Extended || l.Len != 8 {
			return b
		}
		out := append([]byte(nil), b...)
		data := len(b) - len("\r") - 16
		if l.Stamped {
			data -= 4
		}
		for _, at := range words16[nmea2000.ParseID(l.ID).PGN] {
			i := data + 2*at
			copy(out[i:], b[i+2:i+4])
			copy(out[i+2:], b[i:i+2])
		}
		return out
	}
}

// Units of the fields of two bytes of NMEA 2000: 0.0001 rad and 0.01 m. Source: canboat PGN database.
const (
	angle16 = 1e-4
	metre16 = 1e-2
)

func negativeAsLarge(s *stages) {
	reading(s, func(m *message) {
		shift := func(q quantity, unit float64) {
			if v := &m.values[q]; v.known && v.x < 0 {
				v.x += 0x10000 * unit
			}
		}
		switch m.kind {
		case "127257":
			shift(pitch, angle16)
			shift(roll, angle16)
		case "127252":
			shift(heave, metre16)
		}
	})
}

// notAvailable is what the codes for not available come to, read as values. Source: canboat PGN database; common.xml.
var notAvailable = map[string]map[quantity]float64{
	"127250":      {heading: 0xFFFF * angle16},
	"127257":      {pitch: 0x7FFF * angle16, roll: 0x7FFF * angle16, yaw: 0x7FFF * angle16},
	"127252":      {heave: 0x7FFF * metre16},
	"129026":      {speed: 0xFFFF / 100., course: 0xFFFF * angle16},
	"129025":      {latitude: 0x7FFFFFFF * 1e-7 * perDegree, longitude: 0x7FFFFFFF * 1e-7 * perDegree},
	"129029":      {latitude: math.MaxInt64 * 1e-16 * perDegree, longitude: math.MaxInt64 * 1e-16 * perDegree, altitude: math.MaxInt64 * 1e-6},
	"GPS_RAW_INT": {heading: 0xFFFF / 100. * perDegree, speed: 0xFFFF / 100., course: 0xFFFF / 100. * perDegree, latitude: 0, longitude: 0},
}

func codesAsValues(s *stages) {
	reading(s, func(m *message) {
		for q, x := range notAvailable[m.kind] {
			if v := &m.values[q]; v.said && !v.known {
				*v = number(x)
			}
		}
	})
}

func downAsUp(s *stages) {
	reading(s, func(m *message) {
		if m.kind != "ATTITUDE" && m.kind != "ATTITUDE_QUATERNION" {
			return
		}
		m.values[pitch].x *= -1
		if y := &m.values[yaw]; y.known {
			y.x = frame.Wrap2Pi(-y.x)
		}
	})
}

func northAsEast(s *stages) {
	reading(s, func(m *message) {
		if c := &m.values[course]; c.known && m.kind == "GLOBAL_POSITION_INT" {
			c.x = frame.Wrap2Pi(math.Pi/2 - c.x)
		}
	})
}

func uptimeAsUTC(s *stages) {
	s.since = func(_ *sinceStart, since float64) (time.Time, bool) {
		return time.Unix(0, 0).UTC().Add(time.Duration(since * 1e9)), true
	}
}
