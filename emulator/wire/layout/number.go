package layout

import (
	"math"
	"math/big"
)

// A num is a whole number of up to 64 bits and a sign. Zero is never negative.
type num struct {
	neg bool
	mag uint64
}

func numOf(i int64) num {
	if i < 0 {
		return num{true, uint64(-i)}
	}
	return num{false, uint64(i)}
}

func (n num) less(m num) bool {
	switch {
	case n.neg != m.neg:
		return n.neg
	case n.neg:
		return n.mag > m.mag
	}
	return n.mag < m.mag
}

// small is the number as an int64 if it is far from the ends of that.
func (n num) small() (int64, bool) {
	if n.mag >= 1<<62 {
		return 0, false
	}
	if n.neg {
		return -int64(n.mag), true
	}
	return int64(n.mag), true
}

func (n num) float() float64 {
	if n.neg {
		return -float64(n.mag)
	}
	return float64(n.mag)
}

// A conv turns a quantity in the unit of readings into a count and back: value = (count × scale + offset) × unit.
//
// All factors are kept as the sum of two float64, so that the product is rounded once, to the count: half away from zero.
// Readings are often in rad, and 0.125° to rad and back may land a hair below 0.125; so what lies within a billionth of a
// count, or four units in the last place of the double, of a half is a half, as in package nmea0183.
type conv struct {
	k, klo   float64 // counts in a unit of the reading
	b, blo   float64 // counts of the offset
	u, ulo   float64 // units of the reading in a count
	o        float64 // of the offset
	flip     bool    // positive is the other way
	from     float64 // which way is 0, rad
	turn     turn
	circle   int64 // counts of a full circle, rounded up; 0 if it has more than 62 bits
	exact    bool  // circle is not rounded
	zero     int64 // the count of value 0
	halfFits bool  // the count of half a circle fits the field
}

// newConv prepares the conversion. The scale is not 0.
func newConv(u unit, scale, offset *big.Rat, flip bool, t turn) conv {
	c := conv{flip: flip, turn: t}
	s := new(big.Float).SetPrec(precision).SetRat(scale)
	o := new(big.Float).SetPrec(precision).SetRat(offset)
	per := new(big.Float).SetPrec(precision).Mul(s, u.factor())
	c.u, c.ulo = split(per)
	c.k, c.klo = split(new(big.Float).SetPrec(precision).Quo(big.NewFloat(1).SetPrec(precision), per))
	c.b, c.blo = split(new(big.Float).SetPrec(precision).Quo(o, s))
	c.o, _ = new(big.Float).SetPrec(precision).Mul(o, u.factor()).Float64()
	if t == straight {
		return c
	}
	c.zero = int64(math.Round(min(max(-c.b, -1<<62), 1<<62)))
	if u.pi {
		n := new(big.Rat).Quo(big.NewRat(2*u.den, u.num), new(big.Rat).Abs(scale))
		whole := new(big.Int).Quo(n.Num(), n.Denom())
		if c.exact = n.IsInt(); !c.exact {
			whole.Add(whole, big.NewInt(1))
		}
		if whole.BitLen() <= 62 {
			c.circle = whole.Int64()
		}
	} else if f := math.Ceil(2 * math.Pi * math.Abs(c.k)); f < 1<<62 {
		c.circle = int64(f)
	}
	return c
}

// window brings an angle to where fields have it.
func (c *conv) window(v float64) float64 {
	v -= c.from
	if c.flip {
		v = -v
	}
	switch c.turn {
	case whole:
		if v < 0 || v >= 2*math.Pi {
			if v -= 2 * math.Pi * math.Floor(v/(2*math.Pi)); v >= 2*math.Pi {
				v = 0
			}
		}
	case halves:
		if v <= -math.Pi || v > math.Pi {
			v -= 2 * math.Pi * math.Ceil(v/(2*math.Pi)-0.5)
		}
	}
	return v
}

// count rounds a value in the unit of readings to a count. It is false where the count has more than 64 bits or the value
// is no number.
func (c *conv) count(v float64) (num, bool) {
	v = c.window(v)
	p := float64(v * c.k)
	q := math.FMA(v, c.k, -p) + v*c.klo
	if c.b != 0 {
		s := p - c.b
		t := s - p
		q += (p - (s - t)) + (-c.b - t) - c.blo
		p = s
	}
	n, ok := round(p, q)
	if !ok || c.turn == straight || c.circle == 0 {
		return n, ok
	}
	return c.wrap(n), true
}

// round is the whole number nearest to p+q, q being small against p; see [conv].
func round(p, q float64) (num, bool) {
	neg := p < 0
	if neg {
		p, q = -p, -q
	}
	var n uint64
	switch {
	case p < 1<<42:
		n = uint64(int64(float64((p+q)*(1+0x1p-50)) + (0.5 + 0x1p-30)))
	case p < 1<<64:
		n = uint64(p)
		k := math.Floor((p - math.Floor(p)) + q + 0.5) // many counts, where doubles lie far apart
		if m := n + uint64(int64(k)); k < 0 == (m < n) {
			n = m
		} else {
			return num{}, false
		}
	default: // NaN too
		return num{}, false
	}
	return num{neg && n != 0, n}, true
}

// wrap brings a count that was rounded to the end of the circle to its beginning.
func (c *conv) wrap(n num) num {
	i, ok := n.small()
	if !ok {
		return n
	}
	at := i - c.zero // counts from value 0, in the direction of the scale
	sign := int64(1)
	if c.k < 0 {
		at, sign = -at, -1
	}
	switch {
	case c.turn == whole && at >= c.circle:
		if at -= c.circle; !c.exact {
			at = 0
		}
	case c.turn == halves && c.exact && c.circle%2 == 0 && at == -c.circle/2 && c.halfFits:
		at = c.circle / 2
	case c.turn == halves && c.exact && c.circle%2 == 0 && at == c.circle/2 && !c.halfFits:
		at = -c.circle / 2
	default:
		return n
	}
	return numOf(c.zero + sign*at)
}

// value is what a count stands for, in the unit of readings.
func (c *conv) value(n num) float64 { return c.floating(n.float()) }

// floating is what a number of a floating field stands for.
func (c *conv) floating(x float64) float64 {
	v := c.plain(x)
	if c.flip {
		v = -v
	}
	return v + c.from
}

// plain is the same without direction: the number as it is written, in the unit of readings.
func (c *conv) plain(x float64) float64 { return math.FMA(x, c.u, x*c.ulo) + c.o }

// number is what a floating field sends for a value.
func (c *conv) number(v float64) float64 {
	return c.window(v)*c.k - c.b
}

// normal brings an angle that was read to where readings have it.
func (t turn) normal(v float64) float64 {
	switch t {
	case whole:
		if v < 0 || v >= 2*math.Pi {
			if v -= 2 * math.Pi * math.Floor(v/(2*math.Pi)); v >= 2*math.Pi {
				v = 0
			}
		}
	case halves:
		if v <= -math.Pi || v > math.Pi {
			v -= 2 * math.Pi * math.Ceil(v/(2*math.Pi)-0.5)
		}
	}
	return v
}
