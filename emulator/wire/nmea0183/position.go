package nmea0183

import (
	"bytes"

	"swellbench/scenarios/opt"
)

var (
	latitudeSpan  = span{field: "latitude", allowed: "-90° ≤ latitude ≤ 90°", lo: -90, hi: 90}
	longitudeSpan = span{field: "longitude", allowed: "-180° ≤ longitude ≤ 180°", lo: -180, hi: 180}
)

// position writes latitude and longitude with their letters; all four fields are null if either is absent.
func (w *writer) position(lat, lon opt.Opt[float64]) {
	y, okLat := lat.Value()
	x, okLon := lon.Value()
	switch {
	case !okLat || !okLon:
		w.b = append(w.b, ",,,,"...)
	case !latitudeSpan.has(y):
		w.outOfRange(&latitudeSpan, y)
	case !longitudeSpan.has(x):
		w.outOfRange(&longitudeSpan, x)
	default:
		w.minutes(y, 2, 'N', 'S')
		w.minutes(x, 3, 'E', 'W')
	}
}

// minutes writes degrees, minutes and the letter. The degrees are split off after rounding; zero is north and east.
func (w *writer) minutes(deg float64, width int, positive, negative byte) {
	dec := int(w.f.Digits[Minutes].Decimals)
	n := round(deg, 60*scales[dec])
	letter := positive
	if deg < 0 && n != 0 {
		letter = negative
	}
	size := 1 + width + 2 + 2
	if dec > 0 {
		size += 1 + dec
	}
	i := len(w.b)
	w.b = append(w.b, "                    "[:size]...)
	b := w.b[i:]
	b[0] = ','
	if dec > 0 {
		n = putDigits(b[width+4:], n, dec)
		b[width+3] = '.'
	}
	d := n / 60
	putDigits(b[1+width:], n-d*60, 2)
	putDigits(b[1:], d, width)
	b[size-2] = ','
	b[size-1] = letter
}

// position reads latitude and longitude.
func (c *cursor) position() (lat, lon opt.Opt[float64]) {
	lat = c.minutes(&latitudeSpan, 2, 'N', 'S')
	lon = c.minutes(&longitudeSpan, 3, 'E', 'W')
	if lat.Has() != lon.Has() {
		c.fail("position", nil, "latitude and longitude, or neither")
	}
	return lat, lon
}

// minutes reads degrees and minutes in signed degrees. The width is that of the degrees.
func (c *cursor) minutes(s *span, width int, positive, negative byte) opt.Opt[float64] {
	value, letter := c.next(), c.next()
	if len(value) == 0 {
		return opt.None[float64]()
	}
	var negated bool
	switch {
	case len(letter) == 1 && letter[0] == positive:
	case len(letter) == 1 && letter[0] == negative:
		negated = true
	default:
		c.fail(s.field, letter, "the letter "+string([]byte{positive})+" or "+string([]byte{negative}))
		return opt.None[float64]()
	}
	whole := bytes.IndexByte(value, '.')
	if whole < 0 {
		whole = len(value)
	}
	deg, ok := degrees(value, whole, width)
	if !ok || !s.has(deg) {
		c.fail(s.field, value, "degrees in "+string(rune('0'+width))+" digits and minutes below 60 in two, "+s.allowed)
		return opt.None[float64]()
	}
	if negated && deg != 0 {
		deg = -deg
	}
	return opt.Of(deg)
}

// degrees puts degrees and minutes together. The degrees and minutes as an integer of the last digit, over the
// number of those in a degree, is one division and so as exact as a double can be.
func degrees(value []byte, whole, width int) (float64, bool) {
	if whole != width+2 {
		return 0, false
	}
	d, ok := decimalInt(value[:width])
	if !ok {
		return 0, false
	}
	if m, dec, ok := decimal(value[width:]); ok && dec <= MaxDecimals {
		scale := 60 * pow10[dec]
		return float64(uint64(d)*scale+m) / float64(scale), m < scale
	}
	m, ok := float(value[width:]) // more decimals than anyone needs
	return float64(d) + m/60, ok && m < 60 && isDigit(value[width])
}
