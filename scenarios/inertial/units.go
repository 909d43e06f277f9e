package inertial

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// An AngleRandomWalk is the white noise of a gyro, in rad/√s: the angle integrated from it wanders by that much times
// the square root of the time.
type AngleRandomWalk float64

// An AccelerometerNoise is the white noise of an accelerometer, in m/s²/√Hz, which is m/s/√s: the velocity integrated
// from it wanders by that much times the square root of the time.
type AccelerometerNoise float64

type noiseUnit struct {
	symbol string
	si     float64
}

var (
	angleUnits = []noiseUnit{{"deg/sqrt(h)", math.Pi / 180 / 60}, {"deg/s/sqrt(Hz)", math.Pi / 180}, {"rad/sqrt(s)", 1}}
	accelUnits = []noiseUnit{{"ug/sqrt(Hz)", microG}, {"mg/sqrt(Hz)", 1000 * microG}, {"m/s/sqrt(h)", 1.0 / 60}, {"m/s2/sqrt(Hz)", 1}}
)

const microG = 9.80665e-6 // m/s²; standard gravity, 3rd CGPM 1901

// UnmarshalText reads what String writes; after an error x is as it was.
func (x *AngleRandomWalk) UnmarshalText(b []byte) error {
	return read(b, (*float64)(x), angleUnits, "an angle random walk", "0.1 deg/sqrt(h)")
}

// UnmarshalText reads what String writes; after an error x is as it was.
func (x *AccelerometerNoise) UnmarshalText(b []byte) error {
	return read(b, (*float64)(x), accelUnits, "a noise of an accelerometer", "50 ug/sqrt(Hz)")
}

// String writes the value in deg/sqrt(h).
func (x AngleRandomWalk) String() string { return write(float64(x), angleUnits[0]) }

// String writes the value in ug/sqrt(Hz).
func (x AccelerometerNoise) String() string { return write(float64(x), accelUnits[0]) }

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (AngleRandomWalk) SchemaPattern() (string, []string) {
	return pattern(angleUnits), []string{"0.1 deg/sqrt(h)"}
}

// SchemaPattern gives the regular expression of the text form, and examples, for the JSON Schema.
func (AccelerometerNoise) SchemaPattern() (string, []string) {
	return pattern(accelUnits), []string{"50 ug/sqrt(Hz)"}
}

func read(b []byte, x *float64, units []noiseUnit, what, example string) error {
	number, symbol, _ := strings.Cut(strings.TrimSpace(string(b)), " ")
	v, err := strconv.ParseFloat(number, 64)
	if err == nil && !math.IsInf(v, 0) && !math.IsNaN(v) {
		for _, u := range units {
			if strings.TrimSpace(symbol) == u.symbol {
				*x = v * u.si
				return nil
			}
		}
	}
	return fmt.Errorf("%q is not %s; allowed: a number and one of %s, as in %s", b, what, symbols(units), example)
}

func symbols(units []noiseUnit) string {
	var s []string
	for _, u := range units {
		s = append(s, u.symbol)
	}
	return strings.Join(s, ", ")
}

func write(x float64, u noiseUnit) string {
	return strconv.FormatFloat(x/u.si, 'g', 12, 64) + " " + u.symbol
}

func pattern(units []noiseUnit) string {
	var s []string
	for _, u := range units {
		s = append(s, strings.NewReplacer("(", `\(`, ")", `\)`).Replace(u.symbol))
	}
	return `^\d+(\.\d+)?([eE][+-]?\d+)? (` + strings.Join(s, "|") + `)$`
}
