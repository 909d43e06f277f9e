package consumer

import (
	"encoding/json"
	"math"
	"strconv"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// An observation is what the consumer says about one epoch. In memory rad, m, m/s, rad/s.
type observation struct {
	time                 time.Time
	point                string
	lat, lon, height     value
	heading, pitch, roll value
	heave, speed, course value
	rateOfTurn           value
	fix                  opt.Opt[wire.Fix]
	source               string
	note                 string // why something that was received is null
	signed               bool   // west of north is negative
}

// append adds the observation as one line of JSON. What nothing was said about is left out, what is known to be
// unknown is null. Nine decimals of a degree are 0.1 mm; one more keeps rounding out of the way.
func (o *observation) append(b []byte) []byte {
	b = append(b, `{"time":"`...)
	b = o.time.UTC().AppendFormat(b, stampLayout(o.time))
	b = append(b, `","point":`...)
	b = appendText(b, o.point)
	b = appendField(b, "lat", o.lat, degrees, 10)
	b = appendField(b, "lon", o.lon, degrees, 10)
	b = appendField(b, "height", o.height, same, 5)
	compass := bearing
	if o.signed {
		compass = func(rad float64) float64 { return degrees(frame.WrapPi(rad)) }
	}
	b = appendField(b, "heading", o.heading, compass, 6)
	b = appendField(b, "pitch", o.pitch, degrees, 6)
	b = appendField(b, "roll", o.roll, degrees, 6)
	b = appendField(b, "heave", o.heave, same, 5)
	b = appendField(b, "speed", o.speed, same, 5)
	b = appendField(b, "course", o.course, bearing, 6)
	b = appendField(b, "rate_of_turn", o.rateOfTurn, degrees, 6)
	if f, ok := o.fix.Value(); ok {
		b = append(append(append(b, `,"fix":"`...), f.String()...), '"')
	}
	if o.heading.said {
		b = strconv.AppendBool(append(b, `,"heading_valid":`...), o.heading.known)
	}
	b = appendText(append(b, `,"source":`...), o.source)
	if o.note != "" {
		b = appendText(append(b, `,"note":`...), o.note)
	}
	return append(b, "}\n"...)
}

// stampLayout shows milliseconds, or as many digits more as the stamp has.
func stampLayout(t time.Time) string {
	switch ns := t.Nanosecond(); {
	case ns%1e6 == 0:
		return "2006-01-02T15:04:05.000Z"
	case ns%1e3 == 0:
		return "2006-01-02T15:04:05.000000Z"
	}
	return "2006-01-02T15:04:05.000000000Z"
}

func appendField(b []byte, name string, v value, unit func(float64) float64, decimals int) []byte {
	if !v.said {
		return b
	}
	b = append(append(append(b, ',', '"'), name...), `":`...)
	x := unit(v.x)
	if !v.known || math.IsNaN(x) || math.IsInf(x, 0) {
		return append(b, "null"...)
	}
	return strconv.AppendFloat(b, x, 'f', decimals, 64)
}

func appendText(b []byte, s string) []byte {
	q, _ := json.Marshal(s) // a string can always be marshalled
	return append(b, q...)
}

func same(x float64) float64 { return x }

// bearing gives degrees that are below 360 also when printed with six decimals.
func bearing(rad float64) float64 {
	d := degrees(rad)
	if d >= 360-5e-7 || d < 0 && d > -5e-7 {
		return 0
	}
	return d
}
