package layout

import (
	"math/big"
	"strings"
)

// A dimension is what can be measured in the same units; the first unit is the one of a reading.
type dimension struct {
	name  string // with its article
	units []unit
}

// A unit is num/den of the first unit, times pi if pi is set. Of runs, degrees, minutes and seconds (or hours) are written
// one after the other as one number, and count is how many of the smaller a larger has: 1234.56 is 12° 34.56'.
type unit struct {
	symbol   string
	num, den int64
	pi       bool
	runs     int // levels below the largest: 1 for deg-min, 2 for deg-min-sec
}

// The dimensions. Source of the factors: as in package units; the semicircle is half a turn (IS-GPS-200, 20.3.3.4.3).
var (
	angle = &dimension{"an angle", []unit{
		{symbol: "rad", num: 1, den: 1}, {symbol: "mrad", num: 1, den: 1000},
		{symbol: "deg", num: 1, den: 180, pi: true}, {symbol: "arcmin", num: 1, den: 180 * 60, pi: true},
		{symbol: "arcsec", num: 1, den: 180 * 3600, pi: true},
		{symbol: "semicircle", num: 1, den: 1, pi: true}, {symbol: "turn", num: 2, den: 1, pi: true},
		{symbol: "gon", num: 1, den: 200, pi: true},
		{symbol: "deg-min", num: 1, den: 180 * 60, pi: true, runs: 1},
		{symbol: "deg-min-sec", num: 1, den: 180 * 3600, pi: true, runs: 2},
	}}
	length = &dimension{"a length", []unit{
		{symbol: "m", num: 1, den: 1}, {symbol: "dm", num: 1, den: 10}, {symbol: "cm", num: 1, den: 100}, {symbol: "mm", num: 1, den: 1000},
		{symbol: "um", num: 1, den: 1000000}, {symbol: "km", num: 1000, den: 1}, {symbol: "ft", num: 3048, den: 10000}, {symbol: "NM", num: 1852, den: 1},
	}}
	speed = &dimension{"a speed", []unit{
		{symbol: "m/s", num: 1, den: 1}, {symbol: "cm/s", num: 1, den: 100}, {symbol: "mm/s", num: 1, den: 1000},
		{symbol: "kn", num: 1852, den: 3600}, {symbol: "km/h", num: 1000, den: 3600},
	}}
	rate = &dimension{"an angular rate", []unit{
		{symbol: "rad/s", num: 1, den: 1}, {symbol: "mrad/s", num: 1, den: 1000}, {symbol: "deg/s", num: 1, den: 180, pi: true},
		{symbol: "deg/min", num: 1, den: 180 * 60, pi: true}, {symbol: "deg/h", num: 1, den: 180 * 3600, pi: true},
	}}
	acceleration = &dimension{"an acceleration", []unit{
		{symbol: "m/s2", num: 1, den: 1}, {symbol: "cm/s2", num: 1, den: 100}, {symbol: "mm/s2", num: 1, den: 1000},
		{symbol: "g", num: 980665, den: 100000}, {symbol: "mg", num: 980665, den: 100000000}, {symbol: "ug", num: 980665, den: 100000000000},
	}}
	duration = &dimension{"a time", []unit{
		{symbol: "s", num: 1, den: 1}, {symbol: "ms", num: 1, den: 1000}, {symbol: "us", num: 1, den: 1000000}, {symbol: "ns", num: 1, den: 1000000000},
		{symbol: "min", num: 60, den: 1}, {symbol: "h", num: 3600, den: 1}, {symbol: "hour-min-sec", num: 1, den: 1, runs: 2},
	}}
	pure = &dimension{"a plain number", []unit{{symbol: "none", num: 1, den: 1}}}
)

// find looks a unit up.
func (d *dimension) find(symbol string) (unit, bool) {
	for _, u := range d.units {
		if u.symbol == symbol {
			return u, true
		}
	}
	return unit{}, false
}

func (d *dimension) symbols() (all []string) {
	for _, u := range d.units {
		all = append(all, u.symbol)
	}
	return all
}

func (d *dimension) list() string { return strings.Join(d.symbols(), ", ") }

// pi to more digits than two float64 hold. Source: OEIS A000796.
const piDigits = "3.14159265358979323846264338327950288419716939937510582097494459230781640628620899862803482534211706798"

const precision = 300 // bits

// factor is the unit in the unit of readings, to many digits.
func (u unit) factor() *big.Float {
	f := new(big.Float).SetPrec(precision).SetRat(big.NewRat(u.num, u.den))
	if u.pi {
		pi, _, err := big.ParseFloat(piDigits, 10, precision, big.ToNearestEven)
		if err == nil {
			f.Mul(f, pi)
		}
	}
	return f
}

// split gives a number as the sum of two float64.
func split(x *big.Float) (hi, lo float64) {
	hi, _ = x.Float64()
	lo, _ = new(big.Float).SetPrec(precision).Sub(x, new(big.Float).SetFloat64(hi)).Float64()
	return hi, lo
}
