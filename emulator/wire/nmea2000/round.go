package nmea2000

import "math"

// largest is the size from which on a scaled value is out of every field's range. What is below is so by 512 at least, so
// that no rounding brings it there.
const largest = 1 << 63

// scale is x·by, rounded to an integer half away from zero, as the exact product has it; by is a whole number. It is
// false where x is no number or the product too large for any field.
func scale(x, by float64) (int64, bool) {
	a := math.Abs(x)
	y := float64(a * by) // the conversion keeps compilers from fusing what follows
	if !(y < largest) {
		return 0, false
	}
	n := int64(y)
	switch f := y - float64(n); {
	case f < 0.5 && y < 1<<52: // y is the double next to the product, and so on the same side of the half
	case f > 0.5:
		n++
	default:
		n += settle(f, math.FMA(a, by, -y))
	}
	if x < 0 {
		n = -n
	}
	return n, true
}

// settle is what to add to the whole part where the fraction f alone does not decide: it is a half, or the number is so
// large that it has none and e, which is what the product is more than the double next to it, may be more than a half.
func settle(f, e float64) int64 {
	if f == 0.5 {
		if e < 0 {
			return 0
		}
		return 1
	}
	r := math.Round(e)
	if e-r == 0.5 { // -0.5 is rounded up: the whole is positive
		r++
	}
	return int64(r)
}

// Degrees in a radian, as the sum of two doubles. Source: computed to 40 digits, 57.29577951308232087679815481410517...
const (
	degPerRad   = 57.29577951308232
	degPerRadLo = -1.9878495670576283e-15
)

// scaleDegrees is the angle rad in units of 1/by degrees, by being a whole number up to 1e16, rounded. The product is
// taken to twice the digits of a double, and what lies within 2^-50 of a half is a half: rad was made from degrees and
// is off by that much.
func scaleDegrees(rad, by float64) (int64, bool) {
	a := math.Abs(rad)
	if !(a <= 2*math.Pi) {
		return 0, false
	}
	deg := float64(a * degPerRad)
	rest := math.FMA(a, degPerRad, -deg) + a*degPerRadLo
	y := float64(deg * by)
	e := math.FMA(deg, by, -y) + float64(rest*by)
	n := int64(y)
	f := y - float64(n) + e
	if by <= 1e9 {
		f += y * 0x1p-50
	}
	n += int64(math.Floor(f + 0.5))
	if rad < 0 {
		n = -n
	}
	return n, true
}
