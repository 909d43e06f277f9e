package layout

import (
	"encoding/hex"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

var zeroPosition geo.Position

const deg = math.Pi / 180

// TestBytes holds single fields against bytes worked out by hand.
func TestBytes(t *testing.T) {
	roll := func(x float64) wire.Reading { return wire.Reading{Roll: opt.Of(x * deg)} }
	heading := func(x float64) wire.Reading { return wire.Reading{Heading: opt.Of(x * deg)} }
	heave := func(x float64) wire.Reading { return wire.Reading{HeaveM: opt.Of(x)} }
	stamp := func(s string) wire.Reading {
		x, err := time.Parse(time.RFC3339Nano, s)
		if err != nil {
			t.Fatal(err)
		}
		return wire.Reading{UTC: opt.Of(x)}
	}
	const q = "quantity: roll, unit: deg, "
	const h = "quantity: heading, unit: deg, "
	const v = "quantity: heave, unit: m, "
	for _, c := range []struct {
		field string
		r     wire.Reading
		want  string // hexadecimal digits, or 'text
	}{
		{q + "as: int16, scale: 0.01", roll(-1.5), "FF6A"},
		{q + "as: int16, scale: 0.01, byte-order: little", roll(-1.5), "6AFF"},
		{q + "as: int24, scale: 0.001", roll(-1.5), "FFFA24"},
		{q + "as: int24, scale: 0.001, byte-order: little", roll(-1.5), "24FAFF"},
		{q + "as: uint16, scale: 0.01, offset: -180", roll(-1.5), "45BA"}, // 17850: offset binary
		{q + "as: bits, bits: 16, scale: 0.01, negative: half-range", roll(-1.5), "7F6A"},
		{q + "as: bits, bits: 16, scale: 0.01, negative: sign-bit", roll(-1.5), "8096"},
		{q + "as: bits, bits: 16, scale: 0.01, negative: ones-complement", roll(-1.5), "FF69"},
		{q + "as: int16, scale: -0.01", roll(-1.5), "0096"},
		{q + "as: int16, scale: 0.01, positive: port-down", roll(-1.5), "0096"},
		{q + "as: int16, scale: 180/2^15", roll(180), "8000"}, // 180° does not fit, -180° is the same
		{q + "as: int16, scale: 180/2^15", roll(-90), "C000"},
		{"quantity: roll, as: int32, scale: 2^-31, unit: semicircle", roll(-90), "C0000000"},
		{"quantity: roll, as: int64, scale: 2^-63, unit: semicircle", roll(-90), "C0000000000000B4"}, // the double nearest to -90° is not -π/2
		{q + "as: uint16, scale: 360/2^16", roll(-90), "C000"},                                       // no sign: 270°
		{h + "as: uint16, scale: 360/2^16", heading(359.999), "0000"},                                // rounds up into north
		{"quantity: heading, as: uint64, scale: 2^-64, unit: turn", heading(90), "3FFFFFFFFFFFFF4C"},
		{h + "as: int16, scale: 0.01, circle: halves", heading(270), "DCD8"},          // -9000
		{h + "as: uint16, scale: 0.01, positive: anticlockwise", heading(90), "6978"}, // 27000
		{h + "as: uint16, scale: 0.01", heading(359.994), "8C9F"},
		{h + "as: uint16, scale: 0.01", heading(359.996), "0000"},
		{h + "as: uint16, zero: east, positive: anticlockwise", heading(30), "003C"},  // 60° from the x axis, as in mathematics
		{h + "as: uint16, zero: east, positive: anticlockwise", heading(100), "015E"}, // 350°
		{h + "as: int16, zero: south, circle: halves", heading(170), "FFF6"},          // -10°
		{h + "as: bcd, width: 5, scale: 0.01", heading(123.45), "012345"},
		{h + "as: bcd, width: 5, scale: 0.01, byte-order: little", heading(123.45), "452301"},
		{q + "as: bcd, width: 4, scale: 0.1, negative: sign-bit", roll(-12.3), "8123"},
		{q + "as: bits, bits: 12, first-bit: 2, scale: 0.1", roll(12.3), "01EC"}, // 123<<2, high byte first
		{q + "as: bits, bits: 12, first-bit: 2, scale: 0.1, byte-order: little", roll(12.3), "EC01"},
		{q + "as: bits, bits: 12, first-bit: 2, bit-0: high, scale: 0.1", roll(12.3), "01EC"},                      // 16-2-12 = 2 from below
		{q + "as: bits, bits: 12, first-bit: 1, bit-0: high, scale: 0.1", roll(12.3), "03D8"},                      // 123<<3
		{q + "as: bits, bits: 12, first-bit: 7, bit-0: high, scale: 0.1", roll(12.3), "000F60"},                    // 123<<5 in 24 bits
		{q + "as: bits, bits: 12, first-bit: 7, bytes: 4, scale: 0.1, byte-order: little", roll(12.3), "803D0000"}, // 123<<7
		{v + "as: float32", heave(-0.275), "BE8CCCCD"},                                                             // IEEE 754
		{v + "as: float64, byte-order: little", heave(1), "000000000000F03F"},
		{"quantity: heave, as: float32, unit: cm", heave(1.25), "42FA0000"},
		{v + "as: float32, scale: -1", heave(0), "00000000"},     // never −0
		{v + "as: decimal, decimals: 2", heave(-0.004), "'0.00"}, // never −0
		{v + "as: decimal, decimals: 2", heave(0.285), "'0.29"},  // half away from zero, as with pencil and paper
		{v + "as: decimal, decimals: 2", heave(-0.285), "'-0.29"},
		{v + "as: decimal, decimals: 2, width: 7", heave(-1.5), "'-001.50"},
		{v + "as: decimal, decimals: 2, width: 7, plus: plus", heave(1.5), "'+001.50"},
		{v + "as: decimal, decimals: 2, width: 7, plus: space, pad: spaces", heave(1.5), "'   1.50"},
		{v + "as: decimal, decimals: 2, width: 7, pad: spaces", heave(-1.5), "'  -1.50"},
		{v + "as: decimal, decimals: 2, width: 7, pad: spaces-after", heave(-1.5), "'-1.50  "},
		{v + "as: decimal, width: 5, scale: 0.01", heave(1.5), "'00150"}, // a point that is not sent
		{v + "as: decimal, decimals: 1, width: 5, scale: 10", heave(15), "'001.5"},
		{v + "as: hex, width: 4, scale: 0.01, negative: twos-complement", heave(-1.5), "'FF6A"},
		{v + "as: hex, width: 4, scale: 0.01, negative: twos-complement, small-letters: true", heave(-1.5), "'ff6a"},
		{v + "as: hex, width: 3, scale: 0.01", heave(2.55), "'0FF"},
		{v + "as: int8, scale: 0.01, beyond: limit", heave(9), "7F"},
		{v + "as: int8, scale: 0.01, beyond: limit", heave(-9), "80"},
		{v + "as: int8, scale: -0.01, beyond: limit", heave(9), "80"},
		{v + "as: int8, scale: 0.01, beyond: absent, absent: -128", heave(9), "80"},
		{v + "as: int8, absent: 0x7F", wire.Reading{}, "7F"},
		{v + "as: bits, bits: 8, negative: half-range, absent: 0", wire.Reading{}, "00"}, // as on the wire
		{v + "as: bits, bits: 8, negative: half-range, absent: -1", wire.Reading{}, "7F"},
		{v + "as: float32, absent: nan", wire.Reading{}, "7FC00000"},
		{v + "as: float32, absent: -999.25", wire.Reading{}, "C479D000"},
		{v + `as: decimal, width: 5, absent: "-----"`, wire.Reading{}, "'-----"},
		{v + "as: int8, scale: 0.01, magnitude: true", heave(-1.25), "7D"},

		{"quantity: latitude, unit: deg-min, as: decimal, decimals: 4, width: 10", wire.Reading{Position: opt.Of(geo.Position{Lat: -(12 + 59.99996/60) * deg})}, "'-1300.0000"},
		{"quantity: latitude, unit: deg-min, as: decimal, decimals: 3, width: 9, magnitude: true", wire.Reading{Position: opt.Of(geo.Position{Lat: -(12 + 3.5/60) * deg})}, "'01203.500"},
		{"quantity: longitude, unit: deg-min-sec, as: decimal, decimals: 1, width: 9", wire.Reading{Position: opt.Of(geo.Position{Lon: (123 + 4/60. + 5.25/3600) * deg})}, "'1230405.3"},

		{"quantity: unix-time, unit: ms, as: uint48", stamp("2026-06-01T12:00:00.1234996Z"), "019E830E1A7B"},
		{"quantity: unix-time, unit: s, as: uint32", stamp("2026-06-01T12:00:00.5Z"), "6A1D7441"},
		{"quantity: unix-time, unit: s, as: float64", stamp("1970-01-01T00:00:01.5Z"), "3FF8000000000000"},
		{"quantity: time-of-day, unit: ms, as: uint32", stamp("2026-06-01T23:59:59.9996Z"), "00000000"},
		{"quantity: time-of-day, unit: s, scale: 1/256, as: uint24", stamp("2026-06-01T00:00:01.5Z"), "000180"},
		{"quantity: time-of-day, unit: hour-min-sec, as: decimal, decimals: 2, width: 9", stamp("2026-06-01T09:08:07.055Z"), "'090807.06"},
		// IS-GPS-200: week 0 began on 1980-01-06; GPS time was 18 s ahead of UTC in 2026 as in 2017 (IERS Bulletin C).
		{"quantity: gps-week, as: uint16", stamp("2026-06-01T12:00:00Z"), "0975"}, // 2421
		{"quantity: gps-week, modulo: 1024, as: uint16", stamp("2026-06-01T12:00:00Z"), "0175"},
		{"quantity: gps-time-of-week, unit: s, as: uint32", stamp("2026-06-01T12:00:00Z"), "0001FA52"}, // 86400+43200+18
		{"quantity: gps-time, unit: s, as: uint32", stamp("1980-01-06T00:00:10Z"), "0000000A"},
		{"quantity: year, modulo: 100, as: bcd, width: 2", stamp("2026-06-01T12:00:00Z"), "26"},
		{"quantity: year, offset: 2000, as: uint8", stamp("2026-06-01T12:00:00Z"), "1A"},
		{"quantity: month, offset: 1, as: uint8", stamp("2026-06-01T12:00:00Z"), "05"},
		{"quantity: day-of-year, as: uint16", stamp("2026-06-01T12:00:00Z"), "0098"}, // 152
		{"quantity: gps-minus-utc, as: uint8", stamp("2026-06-01T12:00:00Z"), "12"},
		{"quantity: count, as: uint8", wire.Reading{Count: 300}, "2C"},
		{"quantity: count, modulo: 100, as: uint8", wire.Reading{Count: 300}, "00"},
		{"quantity: count, offset: 1, modulo: 100, as: uint8", wire.Reading{Count: 99}, "00"},
		{"quantity: series, as: decimal, width: 3", wire.Reading{Series: 1005}, "'005"},
		{"quantity: fix, as: uint8, states: {none: 9, other: 1}", wire.Reading{}, "09"},
		{"quantity: fix, as: uint8, states: {none: 9, other: 1}", wire.Reading{Fix: wire.FixRTKFixed}, "01"},
		{"quantity: heading-valid, as: text, states: {yes: ok, no: bad}, width: 4", wire.Reading{}, "'bad "},
		{"quantity: altitude, unit: m, as: int16", wire.Reading{Position: opt.Of(geo.Position{Height: 60}), Undulation: opt.Of(50.0)}, "000A"},
		{"quantity: inclination-right, unit: deg, scale: 0.001, as: int24", wire.Reading{Pitch: opt.Of(60 * deg), Roll: opt.Of(30 * deg)}, "00388E"}, // asin(cos 60°·sin 30°) = 14.4775°
		{"quantity: magnetic-heading, unit: deg, as: uint16", wire.Reading{Heading: opt.Of(1 * deg), Variation: opt.Of(3 * deg)}, "0166"},            // 358
		{"quantity: rate-about-up, unit: deg/s, positive: starboard, scale: 0.1, as: int8", wire.Reading{Rates: opt.Of(vec(0, 0, -2*deg))}, "14"},
		{"quantity: force-up, unit: g, positive: down, scale: 0.001, as: int16", wire.Reading{SpecificForce: opt.Of(vec(0, 0, 9.80665))}, "FC18"},
		{"quantity: velocity-north, unit: kn, scale: 0.1, as: int8", wire.Reading{VelocityEN: opt.Of([2]float64{0, 1852. / 3600})}, "0A"},
	} {
		text := "name: x\nmessages:\n- name: M\n  start: \"$\"\n  fields:\n  - {name: a, " + c.field + "}\n"
		if strings.HasPrefix(c.want, "'") && !strings.Contains(c.field, "width") {
			text = strings.Replace(text, "  start: \"$\"\n", "  start: \"$\"\n  end: \";\"\n", 1)
			c.want += ";"
		}
		l, err := Parse("x.yaml", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", c.field, err)
			continue
		}
		enc, err := l.New("M")
		if err != nil {
			t.Fatal(err)
		}
		b, err := enc.Append(nil, &c.r)
		got := strings.ToUpper(hex.EncodeToString(b[min(1, len(b)):]))
		if c.want[0] == '\'' {
			got = "'" + string(b[min(1, len(b)):])
		}
		if err != nil || got != c.want {
			t.Errorf("%s: %s, %v; want %s", c.field, got, err, c.want)
		}
	}
}

// TestLimits: what does not fit is refused, and dst is as it was.
func TestLimits(t *testing.T) {
	for _, c := range []struct {
		field string
		heave float64
		want  string // the error, or "" if it fits
	}{
		{"as: int8, scale: 0.01", 1.27, ""},
		{"as: int8, scale: 0.01", 1.2749, ""},
		{"as: int8, scale: 0.01", 1.275, "encode M: a is 1.275, allowed: -1.28 to 1.27 m"},
		{"as: int8, scale: 0.01", -1.28, ""},
		{"as: int8, scale: 0.01", -1.286, "encode M: a is -1.286, allowed: -1.28 to 1.27 m"},
		{"as: uint8, scale: 0.01", -0.01, "encode M: a is -0.01, allowed: 0 to 2.55 m"},
		{"as: int8, scale: 0.01, absent: 0x7F", 1.27, "encode M: a is 1.27, allowed: -1.28 to 1.27 m, but for 0x7F on the wire, which says that it is not known"},
		{"as: decimal, width: 4, decimals: 2", 9.99, ""},
		{"as: decimal, width: 4, decimals: 2", 9.995, "encode M: a is 9.995, allowed: 0 to 9.99 m"},
		{"as: decimal, width: 4, decimals: 2", -1, "encode M: a is -1, allowed: 0 to 9.99 m"},
		{"as: decimal, width: 5, decimals: 2, plus: plus", 10, "encode M: a is 10, allowed: -9.99 to 9.99 m"},
		{`as: decimal, width: 5, decimals: 2, absent: "99.99"`, 99.99, `encode M: a is 99.99, allowed: -9.99 to 99.99 m, but for "99.99", which says that it is not known`},
		{"as: float32", 1e39, "encode M: a is 1e+39, allowed: a number that fits"},
		{"as: bcd, width: 3, unit: cm", 9.99, ""},
		{"as: bcd, width: 3, unit: cm", 10, "encode M: a is 1000, allowed: 0 to 999 cm"},
		{"as: int64", 1e300, "encode M: a is 1e+300, allowed: -9.223372036854776e+18 to 9.223372036854776e+18 m"},
		{"as: hex, width: 2, positive: down", 1, "encode M: a is -1, allowed: 0 to 255 m"},
	} {
		unit := "unit: m, "
		if strings.Contains(c.field, "unit:") {
			unit = ""
		}
		l, err := Parse("x.yaml", []byte("name: x\nmessages:\n- name: M\n  start: \"$\"\n  fields:\n  - {name: a, quantity: heave, "+unit+c.field+"}\n"))
		if err != nil {
			t.Errorf("%s: %v", c.field, err)
			continue
		}
		enc, _ := l.New("M")
		r := wire.Reading{HeaveM: opt.Of(c.heave)}
		b, err := enc.Append([]byte("kept"), &r)
		var re *wire.RangeError
		switch {
		case c.want == "" && (err != nil || len(b) <= 4):
			t.Errorf("%s of %g: %v", c.field, c.heave, err)
		case c.want != "" && (err == nil || err.Error() != c.want || !errors.As(err, &re) || string(b) != "kept"):
			t.Errorf("%s of %g: %q, %v\nwant %s", c.field, c.heave, b, err, c.want)
		}
	}
}

func vec(x, y, z float64) (v r3.Vec) { v.X, v.Y, v.Z = x, y, z; return v }
