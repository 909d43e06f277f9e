package frame

import "math"

const (
	degPerRad = 180 / math.Pi
	radPerDeg = math.Pi / 180
)

// Deg returns the angle rad, in rad, in degrees.
func Deg(rad float64) float64 { return rad * degPerRad }

// Rad returns the angle deg, in degrees, in rad.
func Rad(deg float64) float64 { return deg * radPerDeg }

// Wrap2Pi brings an angle in rad into 0 ≤ x < 2π, as for headings and azimuths.
func Wrap2Pi(x float64) float64 {
	if x >= 0 && x < 2*math.Pi {
		return x
	}
	x = math.Mod(x, 2*math.Pi)
	if x < 0 {
		x += 2 * math.Pi
	}
	if x >= 2*math.Pi { // a tiny negative angle rounds up to the full turn
		return 0
	}
	return x + 0 // no negative zero
}

// WrapPi brings an angle in rad into −π < x ≤ π, as for roll, longitude and differences.
func WrapPi(x float64) float64 {
	if x > -math.Pi && x <= math.Pi {
		return x
	}
	x = math.Remainder(x, 2*math.Pi)
	if x <= -math.Pi {
		return math.Pi
	}
	return x
}

// AngleDiff returns the shortest turn from b to a, in rad, −π < x ≤ π: positive where a lies clockwise of b, if
// both are headings.
func AngleDiff(a, b float64) float64 { return WrapPi(a - b) }

// InterpolateAngle returns the angle at the fraction f of the shortest way from a (f = 0) to b (f = 1), in rad,
// 0 ≤ x < 2π. Where the two are opposite the way is through increasing angles. f outside [0, 1] extrapolates.
func InterpolateAngle(a, b, f float64) float64 { return Wrap2Pi(a + f*AngleDiff(b, a)) }

// MeanAngle returns the direction of the sum of unit vectors at the given angles, in rad, 0 ≤ x < 2π.
//
// It is NaN where there is no such direction: for no angles, and for angles that cancel one another, such as 0 and
// π. Source: Mardia & Jupp, Directional Statistics, 2000, ch. 2 (from memory).
func MeanAngle(angles ...float64) float64 {
	var s, c float64
	for _, a := range angles {
		sa, ca := math.Sincos(a)
		s, c = s+sa, c+ca
	}
	if math.Hypot(s, c) <= 1e-14*float64(len(angles)) {
		return math.NaN()
	}
	return Wrap2Pi(math.Atan2(s, c))
}
