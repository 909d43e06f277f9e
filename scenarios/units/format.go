package units

import (
	"math"
	"math/big"
	"strconv"
	"strings"
)

// format writes v in the unit that makes it shortest; the first such unit of the table where several do. Not a
// number and infinity, which no file can hold, come out as Go writes them.
func (d *dimension) format(v float64) string {
	if v == 0 {
		s, _ := d.units[0].text(v)
		return s
	}
	best := ""
	for i := range d.units {
		u := &d.units[i]
		if !u.write {
			continue
		}
		if s, ok := u.text(v); ok && (best == "" || len(s) < len(best)) {
			best = s
		}
	}
	return best
}

// in writes v in the unit with that symbol.
func (d *dimension) in(symbol string, v float64) string {
	if u := d.find(symbol); u != nil {
		if s, ok := u.text(v); ok {
			return s
		}
	}
	return d.format(v)
}

// text writes v in the unit u with the fewest digits that read back as v. It is false where the number in this unit
// is no float64, as for the largest lengths in mm.
func (u *unit) text(v float64) (string, bool) {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v, 'g', -1, 64) + " " + u.symbol, true // keeps the sign of zero
	}
	x := new(big.Float).SetPrec(prec).SetFloat64(v)
	x.Quo(x, u.factor())
	// 17 digits tell any two float64 apart; the conversion takes a few more at most.
	for digits := 1; digits <= 24; digits++ {
		s := x.Text('g', digits)
		if y, ok := u.si(s); ok && y == v {
			return tidy(s) + " " + u.symbol, true
		}
	}
	return "", false
}

// tidy turns the exponent form into the plain one where that is readable, and else into its shortest form.
func tidy(s string) string {
	mantissa, exponent, ok := strings.Cut(s, "e")
	if !ok {
		return s
	}
	e, err := strconv.Atoi(exponent)
	if err != nil {
		return s
	}
	if e < -6 || e >= 9 {
		return mantissa + "e" + strconv.Itoa(e)
	}
	mantissa, minus := strings.CutPrefix(mantissa, "-")
	sign := ""
	if minus {
		sign = "-"
	}
	whole, frac, _ := strings.Cut(mantissa, ".")
	digits, point := whole+frac, len(whole)+e
	switch {
	case point <= 0:
		return sign + "0." + strings.Repeat("0", -point) + digits
	case point >= len(digits):
		return sign + digits + strings.Repeat("0", point-len(digits))
	default:
		return sign + digits[:point] + "." + digits[point:]
	}
}
