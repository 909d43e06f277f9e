package receiver

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Rate is the relative error of the speed of a clock: 1e-6 is a second in a million.
type Rate float64

// UnmarshalText reads a rate such as "20 ppm" or "-50 ppb".
func (r *Rate) UnmarshalText(b []byte) error {
	number, unit, ok := strings.Cut(strings.TrimSpace(string(b)), " ")
	x, err := strconv.ParseFloat(number, 64)
	scale := map[string]float64{"ppm": 1e6, "ppb": 1e9}[strings.TrimSpace(unit)]
	if !ok || err != nil || scale == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return fmt.Errorf("%.40q is no rate; allowed: a number and ppm or ppb, such as 20 ppm", b)
	}
	*r = Rate(x / scale)
	return nil
}

// String is the rate in ppm, so that UnmarshalText reads back the same.
func (r Rate) String() string {
	for _, digits := range []int{15, 17} {
		s := strconv.FormatFloat(float64(r)*1e6, 'g', digits, 64)
		if x, err := strconv.ParseFloat(s, 64); err == nil && x/1e6 == float64(r) {
			return s + " ppm"
		}
	}
	return strconv.FormatFloat(float64(r)*1e6, 'g', -1, 64) + " ppm"
}

// SchemaPattern describes the text form.
func (Rate) SchemaPattern() (pattern string, examples []string) {
	return `^[-+]?[0-9]*\.?[0-9]+([eE][-+]?[0-9]+)? +(ppm|ppb)$`, []string{"20 ppm", "-50 ppb"}
}
