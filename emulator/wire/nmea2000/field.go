package nmea2000

import (
	"fmt"
	"math"
)

// A Type is how the bits of a field are read.
type Type uint8

// The types.
const (
	Unsigned Type = iota
	Signed        // two's complement
	Lookup        // a code with words
	Reserved      // sent as ones, not looked at
	Spare         // sent as zeros, not looked at
)

// A Field is one field of a message. Its value is the raw integer times Factor·10^-Decimals, in Unit.
type Field struct {
	Name     string
	Bit      int // of the payload: little endian, the low bits of a byte first
	Width    int // bits
	Type     Type
	Decimals int
	Factor   int64 // 0 is 1
	Unit     string
	Words    []string // of a lookup, by code
	// Full: all codes are in use, and none says that there is nothing.
	Full bool
}

// A State is what the code of a field says of its value.
type State uint8

// The states.
const (
	Known        State = iota
	NotAvailable       // the sender does not know it, or the message ends before it
	OutOfRange         // the sender says that it is in error
	ReservedCode       // a code that has no meaning yet
)

// String is the state in words.
func (s State) String() string {
	switch s {
	case Known:
		return "known"
	case NotAvailable:
		return "not available"
	case OutOfRange:
		return "error"
	case ReservedCode:
		return "reserved code"
	}
	return "unknown"
}

// special is how many codes at the top of the range are no values: "not available", and in numbers of four bits and more
// "error" and "reserved".
//
// Source: canboat documentation, "special values"; for short fields and lookups see the field tables.
func (f *Field) special() int64 {
	switch {
	case f.Full || f.Width < 2 || f.Type == Reserved || f.Type == Spare:
		return 0
	case f.Type == Lookup || f.Width < 4:
		return 1
	}
	return 3
}

// top is the largest integer that the bits can hold.
func (f *Field) top() int64 {
	if f.Type == Signed {
		return math.MaxInt64 >> (64 - f.Width)
	}
	return int64(1)<<f.Width - 1 // fields of 64 bits are signed
}

// Limits are the smallest and the largest raw integer that is a value.
func (f *Field) Limits() (lo, hi int64) {
	if f.Type == Signed {
		lo = -f.top() - 1
	}
	return lo, f.top() - f.special()
}

// Null is the raw integer for "not available": all ones, in signed fields all but the sign. Where all codes are in use
// it is false.
func (f *Field) Null() (int64, bool) { return f.top(), f.special() > 0 }

// Raw is the integer in the field of the payload, and what it says. A field that the payload ends before, or within, is
// not available.
func (f *Field) Raw(payload []byte) (int64, State) {
	if f.Bit+f.Width > 8*len(payload) {
		null, _ := f.Null()
		return null, NotAvailable
	}
	var v uint64
	at := f.Bit >> 3
	shift := f.Bit & 7
	for i, n := 0, (shift+f.Width+7)>>3; i < n; i++ { // at most 8 bytes: fields of 64 bits begin with a byte
		v |= uint64(payload[at+i]) << (8 * i)
	}
	v = v >> shift << (64 - f.Width)
	raw := int64(v >> (64 - f.Width))
	if f.Type == Signed {
		raw = int64(v) >> (64 - f.Width)
	}
	return raw, f.state(raw)
}

func (f *Field) state(raw int64) State {
	if s := f.special(); s > 0 {
		switch f.top() - raw {
		case 0:
			return NotAvailable
		case 1:
			if s > 1 {
				return OutOfRange
			}
		case 2:
			if s > 1 {
				return ReservedCode
			}
		}
	}
	return Known
}

// Put writes the integer into the field of the payload, which reaches so far; bits that do not fit are cut off. Spare
// bits become zeros and reserved ones ones whatever raw is.
func (f *Field) Put(payload []byte, raw int64) {
	switch f.Type {
	case Spare:
		raw = 0
	case Reserved:
		raw = -1
	}
	for i := range f.Width {
		bit := f.Bit + i
		mask := byte(1) << (bit & 7)
		if raw>>i&1 == 0 {
			payload[bit>>3] &^= mask
		} else {
			payload[bit>>3] |= mask
		}
	}
}

var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16}

// value is the raw integer in the unit of the field.
func (f *Field) value(raw int64) float64 { return float64(raw*max(f.Factor, 1)) / pow10[f.Decimals] }

// perUnit is how many steps of the raw integer a unit has.
func (f *Field) perUnit() float64 { return pow10[f.Decimals] / float64(max(f.Factor, 1)) }

// half is how far a value in the field may be off by rounding, in its unit.
func (f *Field) half() float64 { return 0.5 / f.perUnit() }

// Value is the value in the payload, in the unit of the field, or what stands in its place.
func (f *Field) Value(payload []byte) (float64, State) {
	raw, s := f.Raw(payload)
	if s != Known {
		return 0, s
	}
	return f.value(raw), s
}

// allowed is the limits in words.
func (f *Field) allowed() string {
	lo, hi := f.Limits()
	text := fmt.Sprintf("%s to %s", f.decimal(lo), f.decimal(hi))
	if f.Unit != "" {
		text += " " + f.Unit
	}
	return text
}
