package nmea0183

import (
	"math"
	"math/bits"
	"slices"
)

// MaxDecimals is the largest number of digits after the point that can be asked for.
const MaxDecimals = 9

var pow10 = [...]uint64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19}

var scales = [MaxDecimals + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9}

// pairs holds 00 to 99.
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

// round scales the size of x and rounds it to an integer, half away from zero; see the package comment. x must be
// finite and the product below 1e17: callers have checked the range of their field.
//
// The conversions to float64 keep compilers from fusing the operations, so that all machines write the same bytes.
func round(x, scale float64) uint64 {
	p := float64(math.Abs(x) * scale)
	if p < 1<<42 {
		return uint64(int64(float64(p*(1+0x1p-50)) + (0.5 + 0x1p-30))) // int64 is the conversion that processors have
	}
	return uint64(math.Round(p)) // so long a number has no digits left to tell a half from its neighbours
}

// appendFixed appends n·10^-decimals with at least whole digits before the point, and no point without decimals.
func appendFixed(dst []byte, n uint64, negative bool, d Digits) []byte {
	if n < 1e6 && d.Whole <= 1 && d.Decimals-1 < 3 {
		return appendShort(dst, uint32(n), negative, d.Decimals)
	}
	dec := int(d.Decimals)
	digits := max(decimalLength(n), dec+max(int(d.Whole), 1))
	size := digits
	if dec > 0 {
		size++
	}
	if negative && n != 0 {
		dst = append(dst, '-')
	}
	i := len(dst)
	dst = slices.Grow(dst, size)[:i+size]
	b := dst[i:]
	if dec > 0 {
		n = putDigits(b[digits-dec+1:], n, dec)
		b[digits-dec] = '.'
	}
	putDigits(b, n, digits-dec)
	return dst
}

// appendShort is appendFixed for what most fields hold: one to three decimals, up to six digits. It knows each case.
func appendShort(dst []byte, n uint32, negative bool, dec uint8) []byte {
	if negative && n != 0 {
		dst = append(dst, '-')
	}
	var whole, fraction uint32
	switch dec {
	case 1:
		whole, fraction = n/10, n%10
	case 2:
		whole, fraction = n/100, n%100
	default:
		whole, fraction = n/1000, n%1000
	}
	switch {
	case whole < 10:
		dst = append(dst, byte('0'+whole), '.')
	case whole < 100:
		dst = append(dst, pairs[whole*2], pairs[whole*2+1], '.')
	case whole < 1000:
		w := whole / 10
		dst = append(dst, pairs[w*2], pairs[w*2+1], byte('0'+whole%10), '.')
	case whole < 10000:
		a, b := whole/100, whole%100
		dst = append(dst, pairs[a*2], pairs[a*2+1], pairs[b*2], pairs[b*2+1], '.')
	default:
		w := whole / 10
		a, b := w/100, w%100
		dst = append(dst, pairs[a*2], pairs[a*2+1], pairs[b*2], pairs[b*2+1], byte('0'+whole%10), '.')
	}
	switch dec {
	case 1:
		return append(dst, byte('0'+fraction))
	case 2:
		return append(dst, pairs[fraction*2], pairs[fraction*2+1])
	}
	f := fraction / 10
	return append(dst, pairs[f*2], pairs[f*2+1], byte('0'+fraction%10))
}

// appendDigits appends the last width digits of n, with leading zeros.
func appendDigits(dst []byte, n uint64, width int) []byte {
	i := len(dst)
	dst = slices.Grow(dst, width)[:i+width]
	putDigits(dst[i:], n, width)
	return dst
}

// putDigits writes the last width digits of n into b, two at a time from the right, and returns what is left of n.
func putDigits(b []byte, n uint64, width int) uint64 {
	for width >= 2 {
		q := n / 100
		r := (n - q*100) * 2
		b[width-1] = pairs[r+1]
		b[width-2] = pairs[r]
		n = q
		width -= 2
	}
	if width == 1 {
		b[0] = byte('0' + n%10)
		n /= 10
	}
	return n
}

// decimalLength is the number of decimal digits of n; of 0 it is 1.
func decimalLength(n uint64) int {
	k := bits.Len64(n|1) * 1233 >> 12 // log10(2) is 1233/4096, a little less
	if n|1 >= pow10[k] {
		k++
	}
	return k
}
