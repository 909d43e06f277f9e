package compare

import (
	"fmt"
	"math"
	"strings"

	"swellbench/conformance/observe"
	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
)

// A Q is a numeric quantity of an observation.
type Q int

// The quantities.
const (
	Lat Q = iota // residual in m to the north
	Lon          // residual in m to the east
	Height
	Speed
	Course
	Heading
	Pitch
	Roll
	Heave
	RateOfTurn
	NQ // their number
)

// quantities is the table of quantities. degrees: shown in degrees. cyclic: wraps at 360°.
var quantities = [NQ]struct {
	name    string
	wire    wire.Quantity
	unit    string // of the residual as shown
	degrees bool
	cyclic  bool
	// digit is half the last digit that a consumer may be expected to print, as in the example of design §8: 1e-7
	// degrees for latitude and longitude, hundredths for the rest. SI and rad; for latitude and longitude rad.
	digit float64
	// floor is what arithmetic may cost, SI and rad; m for latitude and longitude.
	floor float64
}{
	Lat:        {"latitude", wire.Latitude, "m", false, false, 5e-8 * math.Pi / 180, 5e-4},
	Lon:        {"longitude", wire.Longitude, "m", false, false, 5e-8 * math.Pi / 180, 5e-4},
	Height:     {"height", wire.Height, "m", false, false, 0.005, 5e-4},
	Speed:      {"speed", wire.Speed, "m/s", false, false, 0.005, 1e-4},
	Course:     {"course", wire.Course, "°", true, true, 0.005 * math.Pi / 180, 1e-4 * math.Pi / 180},
	Heading:    {"heading", wire.Heading, "°", true, true, 0.005 * math.Pi / 180, 1e-4 * math.Pi / 180},
	Pitch:      {"pitch", wire.Pitch, "°", true, true, 0.005 * math.Pi / 180, 1e-4 * math.Pi / 180},
	Roll:       {"roll", wire.Roll, "°", true, true, 0.005 * math.Pi / 180, 1e-4 * math.Pi / 180},
	Heave:      {"heave", wire.Heave, "m", false, false, 0.005, 2e-4},
	RateOfTurn: {"rate of turn", wire.RateOfTurn, "°/s", true, false, 0.005 * math.Pi / 180, 1e-4 * math.Pi / 180},
}

// String gives the name for a person.
func (q Q) String() string { return quantities[q].name }

// Unit is the unit of residuals as [Q.Show] gives them.
func (q Q) Unit() string { return quantities[q].unit }

// Show converts a residual or a tolerance from SI and rad to the unit of the quantity.
func (q Q) Show(x float64) float64 {
	if quantities[q].degrees {
		return frame.Deg(x)
	}
	return x
}

// Wire is the quantity as messages and observations name it.
func (q Q) Wire() wire.Quantity { return quantities[q].wire }

// Format writes a value of the quantity (not a residual: latitude and longitude are angles) with about as many digits
// as a tolerance, in the unit of Show, makes worth while.
func (q Q) Format(x, tolerance float64) string {
	x, n := q.Show(x), digits(q.Show(tolerance))
	unit := q.Unit()
	sign := "+"
	switch q {
	case Lat, Lon:
		x, n, unit, sign = frame.Deg(x), 7, "°", ""
	case Height, Speed, Course, Heading:
		sign = ""
	}
	if !strings.HasPrefix(unit, "°") {
		unit = " " + unit
	}
	if math.Abs(x) >= 1e9 { // no digits without end
		return fmt.Sprintf("%"+sign+".3g%s", x, unit)
	}
	return fmt.Sprintf("%"+sign+".*f%s", n, x, unit)
}

// digits is how many digits after the point show a tenth of the tolerance.
func digits(tolerance float64) int {
	if !(tolerance > 0) {
		return 3
	}
	return max(0, min(6, int(math.Ceil(1-math.Log10(tolerance)))))
}

// Raw is the field of an observation for the quantity, as it stands there.
func (q Q) Raw(o *observe.Observation) observe.Field[float64] {
	switch q {
	case Lat:
		return o.LatRad
	case Lon:
		return o.LonRad
	case Height:
		return o.HeightM
	case Speed:
		return o.SpeedMS
	case Course:
		return o.CourseRad
	case Heading:
		return o.HeadingRad
	case Pitch:
		return o.PitchRad
	case Roll:
		return o.RollRad
	case Heave:
		return o.HeaveM
	case RateOfTurn:
		return o.RateOfTurnRadS
	}
	return observe.Field[float64]{}
}

// of is the field of the observation. A heading that the consumer itself calls invalid is no value.
func (q Q) of(o *observe.Observation) observe.Field[float64] {
	if q == Heading {
		if valid, ok := o.HeadingValid.Value(); ok && !valid && o.HeadingRad.Said() {
			return observe.Null[float64]()
		}
	}
	return q.Raw(o)
}

// diff is the difference a − b, wrapped where the quantity is cyclic.
func (q Q) diff(a, b float64) float64 {
	if quantities[q].cyclic {
		return frame.AngleDiff(a, b)
	}
	const most = 1e100 // so that sums of squares stay finite whatever a consumer says
	return max(-most, min(most, a-b))
}

// Angle wraps a difference of two values of the quantity, where those are angles that wrap, into (−π, π].
func (q Q) Angle(d float64) float64 {
	if q == Lon || quantities[q].cyclic {
		return frame.WrapPi(d)
	}
	return d
}

func qOf(w wire.Quantity) (Q, bool) {
	for q := range NQ {
		if quantities[q].wire == w {
			return q, true
		}
	}
	return 0, false
}

// A Need says what a consumer has to apply to get a quantity from what is on the wire.
type Need int

// The needs.
const (
	Nothing Need = iota
	Mounting
	Baseline
	LeverArm
	HeaveArm
)
