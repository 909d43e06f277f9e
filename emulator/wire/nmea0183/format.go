package nmea0183

import (
	"math"

	"swellbench/scenarios/frame"
)

// A Group is a set of fields that share a number of digits. Its String is the key by which files name it.
type Group uint8

// The groups, each with the unit of its fields.
const (
	Seconds     Group = iota // of UTC, s
	Minutes                  // of latitude and longitude, minutes of arc
	Altitude                 // above mean sea level, m
	Undulation               // mean sea level above the ellipsoid, m
	HDOP                     // dilution of precision, of each kind
	Age                      // of corrections, s
	Speed                    // knots and km/h
	Course                   // degrees
	Variation                // magnetic, degrees
	Heading                  // degrees
	Rate                     // of turn, degrees a minute
	Angle                    // pitch and roll, degrees
	Heave                    // m
	Deviation                // of a compass, degrees
	Sigma                    // standard deviations and biases, m
	Orientation              // of the error ellipse, degrees
	Probability              // of a missed failure
	LatOffset                // of a datum, minutes of arc
	LonOffset                // of a datum, minutes of arc
	groups
)

var groupNames = [groups]string{"seconds", "minutes", "altitude", "undulation", "hdop", "age", "speed", "course",
	"variation", "heading", "rate", "angle", "heave", "deviation", "sigma", "orientation", "probability", "lat-offset", "lon-offset"}

// String is the key of the group.
func (g Group) String() string {
	if g >= groups {
		return "unknown"
	}
	return groupNames[g]
}

// Digits says how a number is written: with at least Whole digits before the point (0 is 1; more are leading
// zeros) and exactly Decimals, at most [MaxDecimals], after it.
type Digits struct{ Whole, Decimals uint8 }

// A Version is an edition of NMEA 0183. The zero Version is 4.10.
type Version uint8

// The editions that differ in what this package writes.
const (
	V410 Version = iota
	V200         // up to 2.2: no mode indicators
	V230         // mode indicators
	V301         // modes R and F; checksum mandatory
	V411         // transducer names, six systems in GNS
)

// versions are the names of the editions, as files have them.
var versions = [...]string{V410: "4.10", V200: "2.00", V230: "2.3", V301: "3.01", V411: "4.11"}

// String is the number of the edition, such as 4.10.
func (v Version) String() string {
	if int(v) >= len(versions) {
		return "unknown"
	}
	return versions[v]
}

// ParseVersion reads the number of an edition: 2.3, 3.01, 4.10 or 4.11; "" is the zero Version. 2.00 is 2.0 to 2.2.
func ParseVersion(s string) (Version, error) {
	switch s {
	case "":
		return 0, nil
	case "2.0", "2.1", "2.2", "2.20":
		return V200, nil
	case "2.30":
		return V230, nil
	case "4.1":
		return V410, nil
	}
	for v, name := range versions {
		if name == s {
			return Version(v), nil
		}
	}
	return 0, &OptionError{Option: "version", Found: s, Allowed: versionsAllowed}
}

const versionsAllowed = "2.3, 3.01, 4.10, 4.11"

func (v Version) hasMode() bool      { return v != V200 }
func (v Version) hasNavStatus() bool { return v == V410 || v == V411 }
func (v Version) hasSystems() bool   { return v == V410 || v == V411 } // of satellites and signals
func (v Version) hasTags() bool      { return v == V410 || v == V411 }
func (v Version) hasStern() bool     { return v != V200 && v != V230 }

// A Format says how the values of a sentence are written. Each sentence has its own default, see [FormatOf].
type Format struct {
	Digits  [groups]Digits
	Version Version
	// BareNulls leaves the letter of the unit out where the value is null: some receivers do.
	BareNulls bool
}

// With returns the format with other digits for a group.
func (f Format) With(g Group, d Digits) Format {
	f.Digits[g] = d
	return f
}

// half is what rounding costs at most in a field of the group, in the unit of the group.
func (f *Format) half(g Group) float64 { return 0.5 / scales[f.Digits[g].Decimals] }

// A Default is the number of decimals that a sentence writes in a group of its fields if nothing else is said.
type Default struct {
	Group    Group
	Decimals uint8
}

func formatOf(defaults []Default) Format {
	var f Format
	for _, d := range defaults {
		f.Digits[d.Group].Decimals = d.Decimals
	}
	return f
}

// The units of the sentences in SI and rad.
const (
	knot         = 1852.0 / 3600 // m/s; the international nautical mile is 1852 m by definition (Monaco, 1929; SI brochure, 8th ed., table 8)
	kmh          = 1 / 3.6       // m/s
	degree       = math.Pi / 180
	minuteOfArc  = degree / 60
	degreeMinute = degree / 60 // a degree a minute, in rad/s
)

// headingDeg brings a direction of a reading from rad to degrees. The double called 2π lies a hair below a full turn but
// comes out as 360, and is north; other values outside the circle stay outside, and are refused when they are written.
func headingDeg(rad float64) float64 {
	deg := frame.Deg(rad)
	if deg >= 360 && rad <= 2*math.Pi {
		return 0
	}
	return deg
}
