// Package wire is what every message family shares: the reading that goes in, and the encoder interface.
//
// Each family has a sub-package whose table of messages is where a reader starts.
package wire

import (
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

// An Encoder turns a reading into the bytes of one message. Append adds the message to dst and allocates nothing;
// after an error dst comes back as it was. A message that has no way to say that something is not known is not sent while
// it is not known: Append then adds nothing.
type Encoder interface {
	Append(dst []byte, r *Reading) ([]byte, error)
	// Kind is the name of the message on the wire, such as "GNGGA".
	Kind() string
	// Resolutions says how finely the message carries what it carries, one entry a quantity.
	Resolutions() []Resolution
}

// A Resolution says how finely a message carries a quantity: what it says is within Half of the reading, by
// rounding alone. Units are SI and rad; for latitude and longitude rad.
type Resolution struct {
	Quantity Quantity
	Half     float64
}

// A Quantity is one thing a message carries and a consumer observes.
type Quantity string

// The quantities.
const (
	Time       Quantity = "time"
	Latitude   Quantity = "latitude"
	Longitude  Quantity = "longitude"
	Height     Quantity = "height"
	Speed      Quantity = "speed"
	Course     Quantity = "course"
	Heading    Quantity = "heading"
	Pitch      Quantity = "pitch"
	Roll       Quantity = "roll"
	Heave      Quantity = "heave"
	RateOfTurn Quantity = "rate-of-turn"
	Yaw        Quantity = "yaw"      // the heading of the attitude, see [Reading].Yaw
	Velocity   Quantity = "velocity" // over ground, as components to the east and north; the half is that of each
	FixState   Quantity = "fix"
	Surge      Quantity = "surge"
	Sway       Quantity = "sway"
)

// A Reading is what the device believes and reports at one epoch. SI units and radians, axes and signs of package
// frame; what the device does not know is absent.
type Reading struct {
	T    float64            // scenario time of validity, s; the device was switched on at 0
	UTC  opt.Opt[time.Time] // the stamp of validity
	Leap Leap               // how it lies to a leap second; [Reading.Stamp] sets both

	Fix         Fix
	Position    opt.Opt[geo.Position] // ellipsoidal height
	Void        opt.Opt[geo.Position] // what position fields hold while there is no fix, for a status to call void
	Undulation  opt.Opt[float64]      // mean sea level above the ellipsoid, m
	Variation   opt.Opt[float64]      // magnetic variation, rad, east positive
	SpeedMS     opt.Opt[float64]      // over ground, m/s
	CourseRad   opt.Opt[float64]      // over ground, rad true
	VelocityUp  opt.Opt[float64]      // m/s
	Satellites  opt.Opt[int]          // used in the fix
	Sigma       opt.Opt[r3.Vec]       // of the position, 1 sigma, east north up, m, as the device believes
	SigmaEN     float64               // covariance of east and north, m²
	HDOP        opt.Opt[float64]
	DiffAge     opt.Opt[float64] // age of corrections, s
	DiffStation opt.Opt[int]

	Heading    opt.Opt[float64] // what heading sentences carry, rad true
	Yaw        opt.Opt[float64] // heading of the attitude, rad true
	Pitch      opt.Opt[float64] // rad, bow up
	Roll       opt.Opt[float64] // rad, starboard down
	RateOfTurn opt.Opt[float64] // rad/s, to starboard

	HeadingSigma     opt.Opt[float64] // 1 sigma of the heading, rad, as the device believes
	HeadingEstimated bool             // it comes from the inertial sensor, not from the baseline
	HeaveM           opt.Opt[float64] // m, up
	SurgeM, SwayM    opt.Opt[float64] // m, forward, to starboard

	VelocityEN    opt.Opt[[2]float64] // over ground, east and north, m/s; Speed and Course say the same in other words
	WaterSpeed    opt.Opt[[2]float64] // through water, forward and to starboard, m/s
	Rates         opt.Opt[r3.Vec]     // angular rate about the axes that Yaw, Pitch and Roll speak of, rad/s: right, forward, up
	SpecificForce opt.Opt[r3.Vec]     // along the same axes, m/s²
	PDOP, VDOP    opt.Opt[float64]
	TDOP          opt.Opt[float64]
	Origin        opt.Opt[geo.Position] // from which local positions count: where the device was when it was switched on

	// Sky is the satellites in view, in order of their numbers. The slice is the device's own: it lasts until the next
	// reading.
	Sky []Satellite

	// Count is how many messages of this kind the stream has sent before this one, Series how many of its family:
	// what sequence numbers are made of.
	Count, Series uint32
}

// A Satellite is one of those in view.
type Satellite struct {
	System             System
	Number             int              // in its system: for GPS the PRN, 1 to 32, for GLONASS the slot, 1 to 24
	Elevation, Azimuth float64          // rad, true
	SNR                opt.Opt[float64] // carrier to noise density, dB-Hz; absent if it is not tracked
	Used               bool
}

// A System is whose satellite it is. The zero System is GPS.
type System uint8

// The systems.
const (
	GPS System = iota
	GLONASS
	Galileo
	BeiDou
	QZSS
	NavIC
	Systems // how many there are
)

// Leap is how a stamp lies to a leap second, of which a [time.Time] knows nothing.
type Leap uint8

// The cases.
const (
	NoLeap    Leap = iota
	LeapAhead      // the UTC day of the stamp ends with 23:59:60, so that 23:59:59.9999 is rounded to that and not to midnight
	LeapNow        // the stamp is within 23:59:60, and UTC is a second more: the first second of the next day
)

// Stamp sets the stamp of validity to what the device's clock shows. ahead tells that by this clock the day ends with
// 23:59:60.
func (r *Reading) Stamp(l utc.Label, ahead bool) {
	r.UTC, r.Leap = opt.Of(l.Time()), NoLeap
	switch {
	case l.Leap():
		r.Leap = LeapNow
	case ahead:
		r.Leap = LeapAhead
	}
}

// Label is the stamp of validity as a clock shows it, second 60 included.
func (r *Reading) Label() opt.Opt[utc.Label] {
	t, ok := r.UTC.Value()
	if !ok {
		return opt.None[utc.Label]()
	}
	l := utc.LabelOf(t)
	if r.Leap == LeapNow && l.OfDay < time.Second {
		l = utc.Label{Day: l.Day - 1, OfDay: l.OfDay + 24*time.Hour}
	}
	return opt.Of(l)
}

// Fix is the state of the position solution.
type Fix int

// The fix states, worst first within "no GNSS" and "GNSS".
const (
	FixNone Fix = iota
	FixEstimated
	FixAutonomous
	FixDifferential
	FixRTKFloat
	FixRTKFixed
	FixPrecise
	FixManual
	FixSimulated
)

var fixNames = [...]string{"none", "estimated", "autonomous", "differential", "rtk-float", "rtk-fixed", "precise", "manual", "simulated"}

// String gives the word used in files and observations.
func (f Fix) String() string {
	if f < 0 || int(f) >= len(fixNames) {
		return "unknown"
	}
	return fixNames[f]
}

// ParseFix reads the word that [Fix.String] writes.
func ParseFix(s string) (Fix, bool) {
	for i, n := range fixNames {
		if n == s {
			return Fix(i), true
		}
	}
	return FixNone, false
}
