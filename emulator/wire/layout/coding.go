package layout

import (
	"encoding/binary"
	"math"
	"math/bits"
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
