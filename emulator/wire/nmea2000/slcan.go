package nmea2000

import (
	"encoding/binary"
	"errors"
	"slices"
)

// A Frame is one CAN frame.
type Frame struct {
	ID       uint32 // 29 bits if Extended, else 11
	Extended bool
	Remote   bool  // it asks for a frame: Len counts, there is no data
	Len      uint8 // bytes of data, 0 to 8
	Data     [8]byte
}

// Bytes is the data; a remote frame has none.
func (f *Frame) Bytes() []byte {
	if f.Remote {
		return nil
	}
	return f.Data[:min(f.Len, 8)]
}

// A Line is a frame as a serial adapter reports it.
type Line struct {
	Frame
	Stamped bool
	StampMS uint16 // time of arrival, ms modulo 60000
}

// MaxLine is the longest line of a frame, its carriage return included: T, 8 digits of the identifier, the length, 16
// digits of data, 4 of the stamp. Source: Linux slcan driver.
const MaxLine = 1 + 8 + 1 + 16 + 4 + 1

// stampModulus is where the stamps begin again, in ms.
const stampModulus = 60000

// What is wrong with a line.
var (
	ErrNoFrame  = errors.New("slcan: no frame: it begins with none of t, T, r, R")
	ErrCut      = errors.New("slcan: the line is cut off")
	ErrHex      = errors.New("slcan: where a hexadecimal digit belongs there is none")
	ErrID       = errors.New("slcan: the identifier is too large: 11 bits with t and r, 29 with T and R")
	ErrLength   = errors.New("slcan: the length is over 8 bytes")
	ErrStamp    = errors.New("slcan: the time stamp is 60000 ms or more")
	ErrTrailing = errors.New("slcan: the line goes on after the frame")
)

const upper = "0123456789ABCDEF"

// AppendLine appends the frame as a line of SLCAN, with its carriage return and in upper-case digits, which is what
// writers use. Bits of the identifier that do not fit are cut off, and so is a length over 8.
//
// Source: SLCAN as the Linux driver slcan and slcanpty of can-utils read it.
func AppendLine(dst []byte, l *Line) []byte {
	c, digits, id := byte('t'), 3, l.ID&maxStandard
	if l.Remote {
		c = 'r'
	}
	if l.Extended {
		c, digits, id = c-'a'+'A', 8, l.ID&maxExtended
	}
	dst = append(dst, c)
	dst = appendHex(dst, id, digits)
	dst = append(dst, '0'+min(l.Len, 8))
	for _, b := range l.Bytes() {
		dst = append(dst, upper[b>>4], upper[b&15])
	}
	if l.Stamped {
		dst = appendHex(dst, uint32(l.StampMS), 4)
	}
	return append(dst, '\r')
}

func appendHex(dst []byte, v uint32, digits int) []byte {
	for shift := 4 * (digits - 1); shift >= 0; shift -= 4 {
		dst = append(dst, upper[v>>shift&15])
	}
	return dst
}

// headLength is the bytes of a line before the data: T, the identifier, the length 8.
const headLength = 10

// appendEight appends a line of a 29-bit frame with 8 bytes of data, given as a little-endian number, whose head is
// made already.
func appendEight(dst []byte, head *[headLength]byte, data uint64) []byte {
	const n = headLength + 16 + 1
	i := len(dst)
	dst = slices.Grow(dst, n)[:i+n]
	b := dst[i : i+n : i+n]
	copy(b, head[:])
	binary.LittleEndian.PutUint64(b[headLength:], eightDigits(uint32(data)))
	binary.LittleEndian.PutUint64(b[headLength+8:], eightDigits(uint32(data>>32)))
	b[n-1] = '\r'
	return dst
}

// eightDigits is the hexadecimal digits of four bytes, first byte lowest, as ASCII in the order of the line: each nibble
// is given a byte of its own, then '0' is added, and 7 more from ten on.
func eightDigits(v uint32) uint64 {
	x := uint64(v)
	x = (x | x<<16) & 0x0000FFFF0000FFFF
	x = (x | x<<8) & 0x00FF00FF00FF00FF
	x = x>>4&0x000F000F000F000F | x&0x000F000F000F000F<<8
	letters := (x + 0x0606060606060606) >> 4 & 0x0101010101010101
	return x + 0x3030303030303030 + letters*7
}

// nibbles holds the value of each hexadecimal digit, and 0xFF for all else.
var nibbles = func() (t [256]byte) {
	for i := range t {
		t[i] = 0xFF
	}
	for i, c := range upper {
		t[c] = byte(i)
		t[c|0x20] = byte(i)
	}
	return t
}()

// ParseLine reads one frame of SLCAN, with or without its carriage return; digits of either case.
func ParseLine(line []byte) (Line, error) {
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	var l Line
	n, err := l.parse(line)
	switch {
	case err != nil:
		return Line{}, err
	case n < len(line):
		return Line{}, ErrTrailing
	}
	return l, nil
}

// parse reads a line without its carriage return. It returns how many bytes it has understood, also with an error.
func (l *Line) parse(b []byte) (int, error) {
	if len(b) == 0 {
		return 0, ErrNoFrame
	}
	digits, limit := 3, uint32(maxStandard)
	switch b[0] {
	case 't', 'r':
	case 'T', 'R':
		l.Extended, digits, limit = true, 8, maxExtended
	default:
		return 0, ErrNoFrame
	}
	l.Remote = b[0]|0x20 == 'r'
	id, n, err := hexNumber(b, 1, digits)
	if err != nil {
		return n, err
	}
	if id > limit {
		return n, ErrID
	}
	l.ID = id
	if n == len(b) {
		return n, ErrCut
	}
	length := nibbles[b[n]]
	switch {
	case length == 0xFF:
		return n, ErrHex
	case length > 8:
		return n, ErrLength
	}
	l.Len = length
	n++
	if !l.Remote {
		for i := range length {
			var v uint32
			if v, n, err = hexNumber(b, n, 2); err != nil {
				return n, err
			}
			l.Data[i] = byte(v)
		}
	}
	if len(b) == n || nibbles[b[n]] == 0xFF {
		return n, nil
	}
	stamp, n, err := hexNumber(b, n, 4)
	switch {
	case err != nil:
		return n, err
	case stamp >= stampModulus:
		return n, ErrStamp
	}
	l.Stamped, l.StampMS = true, uint16(stamp)
	return n, nil
}

// hexNumber reads so many digits from i on. It returns where it came to.
func hexNumber(b []byte, i, digits int) (uint32, int, error) {
	var v uint32
	for range digits {
		if i == len(b) {
			return 0, i, ErrCut
		}
		d := nibbles[b[i]]
		if d == 0xFF {
			return 0, i, ErrHex
		}
		v = v<<4 | uint32(d)
		i++
	}
	return v, i, nil
}
