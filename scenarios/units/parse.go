package units

import (
	"fmt"
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

const (
	maxText = 100 // bytes of a value that are looked at; no honest value is longer
	prec    = 256 // bits of the conversion, far beyond the 53 that are kept
)

// pi to 60 digits. Source: OEIS A000796.
var pi, _, _ = big.ParseFloat("3.14159265358979323846264338327950288419716939937510582097494", 10, prec, big.ToNearestEven)

// parseAs reads s as a quantity of the dimension.
func parseAs[T ~float64](d *dimension, s string) (T, error) {
	v, err := d.parse(s)
	return T(v), err
}

// unmarshal reads b into x, or leaves x as it was.
func unmarshal[T ~float64](d *dimension, x *T, b []byte) error {
	v, err := d.parse(string(b))
	if err != nil {
		return err
	}
	*x = T(v)
	return nil
}

// parse reads a number and a unit of the dimension, and returns the value in SI.
func (d *dimension) parse(s string) (float64, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, fmt.Errorf("nothing is written; write %s such as %s", d.name, d.examples[0])
	}
	if len(s) > maxText {
		return 0, fmt.Errorf("%s is too long; write %s such as %s", quote(s), d.name, d.examples[0])
	}
	number, symbol := split(s)
	if number == "" {
		return 0, d.noNumber(s)
	}
	if symbol == "" {
		return 0, fmt.Errorf("%s has no unit; write %s", number, d.with(number))
	}
	u := d.find(symbol)
	if u == nil {
		return 0, d.wrongUnit(number, symbol)
	}
	v, ok := u.si(number)
	if !ok {
		return 0, fmt.Errorf("%s %s is beyond all that can be held; write a smaller number", number, symbol)
	}
	return v, nil
}

// split cuts s into the longest number in front and the rest without the space between. The number is "" where s
// does not begin with one.
func split(s string) (number, symbol string) {
	digits := func(i int) int {
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i
	}
	i := 0
	if s[i] == '+' || s[i] == '-' {
		i++
	}
	start := i
	i = digits(i)
	count := i - start
	if i < len(s) && s[i] == '.' {
		end := digits(i + 1)
		count += end - i - 1
		i = end
	}
	if count == 0 {
		return "", s
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if end := digits(j); end > j {
			i = end
		}
	}
	return s[:i], strings.TrimLeft(s[i:], " \t")
}

// si converts a number of the unit to SI, rounded once. It is false where the result is no finite float64.
func (u *unit) si(number string) (float64, bool) {
	x, _, err := big.ParseFloat(number, 10, prec, big.ToNearestEven)
	if err != nil {
		return 0, false // an exponent beyond all bounds
	}
	v, _ := x.Mul(x, u.factor()).Float64()
	return v, !math.IsInf(v, 0)
}

// factor is the unit in SI.
func (u *unit) factor() *big.Float {
	x := new(big.Float).SetPrec(prec).SetInt64(u.num)
	x.Quo(x, new(big.Float).SetInt64(u.den))
	if u.pi {
		x.Mul(x, pi)
	}
	return x
}

// find returns the unit with that symbol, or nil. The micro sign and superscript two, which keyboards have, count
// as "u" and "2".
func (d *dimension) find(symbol string) *unit {
	symbol = strings.NewReplacer("µ", "u", "μ", "u", "²", "2").Replace(symbol)
	for i := range d.units {
		if d.units[i].symbol == symbol {
			return &d.units[i]
		}
	}
	return nil
}

// noNumber explains text that does not begin with a number.
func (d *dimension) noNumber(s string) error {
	if d.find(s) != nil {
		return fmt.Errorf("%s has no number; write %s such as %s", s, d.name, d.examples[0])
	}
	first, _, _ := strings.Cut(strings.ToLower(strings.TrimLeft(s, "+-.")), " ")
	switch first {
	case "nan", "inf", "infinity":
		return fmt.Errorf("%s is no number that can be used; write %s such as %s", quote(s), d.name, d.examples[0])
	}
	if strings.HasPrefix(s, "\u2212") || strings.HasPrefix(s, "\u2013") {
		return fmt.Errorf("%s begins with a typeset dash; write the minus as -", quote(s))
	}
	return fmt.Errorf("%s is no number with a unit; write %s such as %s", quote(s), d.name, d.examples[0])
}

// wrongUnit explains a symbol that is no unit of the dimension.
func (d *dimension) wrongUnit(number, symbol string) error {
	for _, other := range dimensions {
		if other != d && other.find(symbol) != nil {
			return fmt.Errorf("%s %s is %s, not %s; allowed units: %s", number, symbol, other.name, d.name, d.symbols())
		}
	}
	if strings.HasPrefix(symbol, ",") {
		return fmt.Errorf("%s has a comma; the decimal mark is a point, as in %s", quote(number+symbol), d.examples[0])
	}
	for _, u := range d.units {
		if strings.EqualFold(u.symbol, symbol) {
			return fmt.Errorf("%s %s: the unit is written %s; allowed units: %s", number, symbol, u.symbol, d.symbols())
		}
	}
	return fmt.Errorf("%s %s has a unit that is not known; %s is allowed in: %s", number, quote(symbol), d.name, d.symbols())
}

// pattern is a regular expression (of ECMA-262, as JSON Schema has it) of what parse reads.
func (d *dimension) pattern() string {
	var all []string
	for _, u := range d.units {
		s := regexp.QuoteMeta(u.symbol)
		if rest, ok := strings.CutPrefix(s, "u"); ok {
			s = "[uµμ]" + rest
		}
		if rest, ok := strings.CutSuffix(s, "2"); ok {
			s = rest + "[2²]"
		}
		all = append(all, s)
	}
	return `^[-+]?([0-9]+[.]?[0-9]*|[.][0-9]+)([eE][-+]?[0-9]+)?[ \t]*(` + strings.Join(all, "|") + `)$`
}

// symbols lists the units of the dimension.
func (d *dimension) symbols() string {
	var all []string
	for _, u := range d.units {
		all = append(all, u.symbol)
	}
	return strings.Join(all, ", ")
}

// with shows the number in each of the first three units.
func (d *dimension) with(number string) string {
	n := min(3, len(d.units))
	var all []string
	for _, u := range d.units[:n] {
		all = append(all, number+" "+u.symbol)
	}
	if n == 1 {
		return all[0]
	}
	return strings.Join(all[:n-1], ", ") + " or " + all[n-1]
}

// quote shows text from a file in an error: as it stands where that is harmless, else with escapes, and never all
// of something long.
func quote(s string) string {
	const most = 40
	plain := utf8.ValidString(s)
	for _, r := range s {
		plain = plain && unicode.IsPrint(r)
	}
	if utf8.RuneCountInString(s) > most {
		s = string([]rune(s)[:most]) + "..."
	}
	if plain {
		return s
	}
	return strconv.Quote(s)
}
