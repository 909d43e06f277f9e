package layout

import (
	"math/bits"
	"slices"
)

// together writes degrees, minutes and seconds one after the other: the last two digits before the point stand for the
// smallest, the two before them for the next. It is false where the result has too many digits.
func (f *field) together(n uint64) (uint64, bool) {
	if f.runs == 0 {
		return n, true
	}
	d := pow10(f.decimals)
	if f.role == roleTime && n >= 86400*d { // in a leap second
		return 235960*d + n - 86400*d, true
	}
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
	if f.role == roleTime && p >= 235960*d {
		return 86400*d + p - 235960*d, p < 235961*d
	}
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
