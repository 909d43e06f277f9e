package layout

import (
	"encoding/binary"
	"math"
	"math/bits"
	"slices"
)

// word gathers the bytes of a binary field, the lowest byte in the lowest place.
func (f *field) word(b []byte) (v uint64) {
	b = b[:f.nbytes]
	switch {
	case len(b) == 1:
		return uint64(b[0])
	case len(b) == 2 && f.little:
		return uint64(binary.LittleEndian.Uint16(b))
	case len(b) == 4 && f.little:
		return uint64(binary.LittleEndian.Uint32(b))
	case len(b) == 2:
		return uint64(binary.BigEndian.Uint16(b))
	case len(b) == 4:
		return uint64(binary.BigEndian.Uint32(b))
	case f.little:
		for i := len(b) - 1; i >= 0; i-- {
			v = v<<8 | uint64(b[i])
		}
		return v
	}
	for _, c := range b {
		v = v<<8 | uint64(c)
	}
	return v
}

// raw takes the bits of the field out of its bytes.
func (f *field) raw(b []byte) uint64 { return f.word(b) >> f.shift & f.mask }

// putRaw puts the bits of the field into its bytes and leaves the others there as they are.
func (f *field) putRaw(b []byte, v uint64) {
	if f.part {
		v = f.word(b)&^(f.mask<<f.shift) | v<<f.shift
	}
	b = b[:f.nbytes]
	switch {
	case len(b) == 1:
		b[0] = byte(v)
	case len(b) == 2 && f.little:
		binary.LittleEndian.PutUint16(b, uint16(v))
	case len(b) == 4 && f.little:
		binary.LittleEndian.PutUint32(b, uint32(v))
	case len(b) == 2:
		binary.BigEndian.PutUint16(b, uint16(v))
	case len(b) == 4:
		binary.BigEndian.PutUint32(b, uint32(v))
	case f.little:
		for i := range b {
			b[i] = byte(v)
			v >>= 8
		}
	default:
		for i := len(b) - 1; i >= 0; i-- {
			b[i] = byte(v)
			v >>= 8
		}
	}
}

// bitsOf writes a count in the field's manner of numbers below zero; the count fits.
func (f *field) bitsOf(n num) uint64 {
	if f.coding == codeBCD {
		raw := toBCD(n.mag)
		if n.neg {
			raw |= 1 << (f.nbits - 1)
		}
		return raw
	}
	v := n.mag
	switch f.negative {
	case onesComplement:
		if n.neg {
			v = ^v
		}
	case signBit:
		if n.neg {
			v |= 1 << (f.nbits - 1)
		}
	case twosComplement, halfRange:
		if n.neg {
			v = -v
		}
		if f.negative == halfRange {
			v += 1 << (f.nbits - 1)
		}
	}
	return v & f.mask
}

// numOf reads what bitsOf has written. It is false where a digit of BCD is none.
func (f *field) numOf(raw uint64) (num, bool) {
	if f.coding == codeBCD {
		neg := false
		if f.negative == signBit {
			top := uint64(1) << (f.nbits - 1)
			neg, raw = raw&top != 0, raw&^top
		}
		n, ok := fromBCD(raw)
		return num{neg && n != 0, n}, ok
	}
	top := uint64(1) << (f.nbits - 1)
	n := num{false, raw}
	switch f.negative {
	case halfRange:
		if n.mag = raw - top; raw < top {
			n = num{true, top - raw}
		}
	case twosComplement:
		if raw&top != 0 {
			n = num{true, -raw & f.mask}
		}
	case onesComplement:
		if raw&top != 0 {
			n = num{true, ^raw & f.mask}
		}
	case signBit:
		n = num{raw&top != 0, raw &^ top}
	}
	n.neg = n.neg && n.mag != 0
	return n, true
}

// limits are the least and the largest count of a binary or hexadecimal field.
func (f *field) limits() (lo, hi num) {
	if f.coding == codeBCD {
		m := pow10(f.digits) - 1
		if f.negative == signBit {
			m = 8*pow10(f.digits-1) - 1
			return num{true, m}, num{false, m}
		}
		return num{}, num{false, m}
	}
	top := uint64(1) << (f.nbits - 1)
	switch f.negative {
	case twosComplement, halfRange:
		return num{true, top}, num{false, top - 1}
	case onesComplement, signBit:
		return num{top > 1, top - 1}, num{false, top - 1}
	}
	return num{}, num{false, f.mask}
}

func toBCD(n uint64) (raw uint64) {
	for s := uint(0); n > 0; s += 4 {
		raw |= n % 10 << s
		n /= 10
	}
	return raw
}

func fromBCD(raw uint64) (n uint64, ok bool) {
	for s := 60; s >= 0; s -= 4 {
		d := raw >> s & 0xF
		if d > 9 {
			return 0, false
		}
		n = n*10 + d
	}
	return n, true
}

var powers = func() (p [20]uint64) {
	p[0] = 1
	for i := 1; i < len(p); i++ {
		p[i] = p[i-1] * 10
	}
	return p
}()

func pow10(n int) uint64 { return powers[min(max(n, 0), 19)] }

// decimalLength is the number of decimal digits of n; of 0 it is 1.
func decimalLength(n uint64) int {
	k := bits.Len64(n|1) * 1233 >> 12 // log10(2) is 1233/4096, a little less
	if n|1 >= powers[min(k, 19)] {
		k++
	}
	return k
}

// together writes degrees, minutes and seconds one after the other: the last two digits before the point stand for the
// smallest, the two before them for the next. It is false where the result has too many digits.
func (f *field) together(n uint64) (uint64, bool) {
	if f.runs == 0 {
		return n, true
	}
	d := pow10(f.decimals)
	over := n % (60 * d)
	n /= 60 * d
	place := 100 * d
	if f.runs == 2 {
		over += n % 60 * place
		n /= 60
		place *= 100
	}
	hi, lo := bits.Mul64(n, place)
	sum, carry := bits.Add64(lo, over, 0)
	return sum, hi == 0 && carry == 0
}

// apart undoes together. It is false where there are 60 minutes or more.
func (f *field) apart(p uint64) (uint64, bool) {
	if f.runs == 0 {
		return p, true
	}
	d := pow10(f.decimals)
	over := p % (100 * d)
	p /= 100 * d
	ok := over < 60*d
	n := p
	if f.runs == 2 {
		ok = ok && p%100 < 60
		n = p/100*60 + p%100
	}
	hi, lo := bits.Mul64(n, 60*d)
	sum, carry := bits.Add64(lo, over, 0)
	return sum, ok && hi == 0 && carry == 0
}

const pairs = "00010203040506070809" +
	"10111213141516171819" +
	"20212223242526272829" +
	"30313233343536373839" +
	"40414243444546474849" +
	"50515253545556575859" +
	"60616263646566676869" +
	"70717273747576777879" +
	"80818283848586878889" +
	"90919293949596979899"

// putDigits writes the last len(b) digits of n into b and returns what is left of n.
func putDigits(b []byte, n uint64) uint64 {
	w := len(b)
	for w >= 2 {
		q := n / 100
		r := (n - q*100) * 2
		b[w-1], b[w-2] = pairs[r+1], pairs[r]
		n, w = q, w-2
	}
	if w == 1 {
		b[0] = byte('0' + n%10)
		n /= 10
	}
	return n
}

// appendDecimal appends n·10^-decimals. It is false where that does not fit the width; then dst is as it was.
func (f *field) appendDecimal(dst []byte, n num) ([]byte, bool) {
	p, ok := f.together(n.mag)
	if !ok {
		return dst, false
	}
	sign := f.plus
	if n.neg {
		sign = '-'
	}
	dec := f.decimals
	digits := max(decimalLength(p), dec+1)
	size := digits
	if dec > 0 {
		size++
	}
	if sign != 0 {
		size++
	}
	spaces, after := 0, 0
	if room := f.width - size; f.width > 0 {
		switch {
		case room < 0:
			return dst, false
		case f.pad == 'z':
			digits += room
		case f.pad == 's':
			spaces = room
		default:
			after = room
		}
		size = f.width
	}
	i := len(dst)
	dst = slices.Grow(dst, size)[:i+size]
	b := dst[i:]
	for range spaces {
		b[0] = ' '
		b = b[1:]
	}
	if sign != 0 {
		b[0] = sign
		b = b[1:]
	}
	whole := digits - dec
	if dec > 0 {
		p = putDigits(b[whole+1:whole+1+dec], p)
		b[whole] = '.'
	}
	putDigits(b[:whole], p)
	for b = b[len(b)-after:]; len(b) > 0; b = b[1:] {
		b[0] = ' '
	}
	return dst, true
}

// parseDecimal reads what appendDecimal writes, and forgives other padding and signs; the decimals it does not forgive.
func (f *field) parseDecimal(b []byte) (num, bool) {
	for len(b) > 0 && b[0] == ' ' && (f.width > 0 || f.plus == ' ') {
		b = b[1:]
	}
	for len(b) > 0 && b[len(b)-1] == ' ' && f.width > 0 {
		b = b[:len(b)-1]
	}
	neg := false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		neg, b = b[0] == '-', b[1:]
	}
	whole := len(b)
	if f.decimals > 0 {
		if whole -= f.decimals + 1; whole < 1 || b[whole] != '.' {
			return num{}, false
		}
	}
	if whole < 1 {
		return num{}, false
	}
	var n uint64
	for i, c := range b {
		if i == whole {
			continue
		}
		if c -= '0'; c > 9 {
			return num{}, false
		}
		hi, lo := bits.Mul64(n, 10)
		var carry uint64
		if n, carry = bits.Add64(lo, uint64(c), 0); hi != 0 || carry != 0 {
			return num{}, false
		}
	}
	n, ok := f.apart(n)
	return num{neg && n != 0, n}, ok
}

const (
	capitals = "0123456789ABCDEF"
	smalls   = "0123456789abcdef"
)

func (f *field) appendHex(dst []byte, raw uint64) []byte {
	letters := capitals
	if f.lower {
		letters = smalls
	}
	for s := 4 * (f.width - 1); s >= 0; s -= 4 {
		dst = append(dst, letters[raw>>s&0xF])
	}
	return dst
}

// parseHex reads hexadecimal digits, capital or small.
func parseHex(b []byte) (v uint64, ok bool) {
	for _, c := range b {
		switch {
		case c >= '0' && c <= '9':
			c -= '0'
		case c >= 'A' && c <= 'F':
			c -= 'A' - 10
		case c >= 'a' && c <= 'f':
			c -= 'a' - 10
		default:
			return 0, false
		}
		v = v<<4 | uint64(c)
	}
	return v, len(b) > 0
}

// putFloat writes a floating number.
func (f *field) putFloat(b []byte, v float64) {
	if f.nbytes == 4 {
		f.putRaw(b, uint64(math.Float32bits(float32(v))))
		return
	}
	f.putRaw(b, math.Float64bits(v))
}

func (f *field) float(b []byte) float64 {
	if f.nbytes == 4 {
		return float64(math.Float32frombits(uint32(f.word(b))))
	}
	return math.Float64frombits(f.word(b))
}
