package nmea2000

import (
	"encoding/binary"
	"math"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// maxPayload is the longest message there is to write: 129029 with one reference station.
const maxPayload = 47

// A long is the payload of a fast packet, and ones behind it as far as frames may read.
type long [maxPayload + 8]byte

// An encoder is one row with the choices of a stream.
type encoder struct {
	row  *Row
	kind string
	head [headLength]byte // of each of its lines: T, the identifier, the length 8
	choices
}

// Kind is the PGN in digits.
func (e *encoder) Kind() string { return e.kind }

// Resolutions says how finely the message carries what it carries.
func (e *encoder) Resolutions() []wire.Resolution {
	if e.row.resolutions == nil {
		return nil
	}
	return e.row.resolutions(e)
}

// Append writes the message: one line, or the lines of a fast packet.
func (e *encoder) Append(dst []byte, r *wire.Reading) ([]byte, error) {
	if e.row.pack != nil {
		data, err := e.row.pack(e, r)
		if err != nil {
			return dst, err
		}
		return appendEight(dst, &e.head, data), nil
	}
	payload, n, err := e.row.packLong(e, r)
	if err != nil {
		return dst, err
	}
	counter := uint64(uint8(r.Count) << 5)
	dst = appendEight(dst, &e.head, binary.LittleEndian.Uint64(payload[:])<<16|uint64(n)<<8|counter)
	for at := firstPart; at < n; at += nextPart {
		counter++
		dst = appendEight(dst, &e.head, binary.LittleEndian.Uint64(payload[at:])<<8|counter)
	}
	return dst, nil
}

// sidCodes is how many sequence identifiers there are.
const sidCodes = 253

// sidOf is the byte that ties the messages of one moment together.
func (e *encoder) sidOf(r *wire.Reading) uint64 {
	switch e.sid {
	case sidByMoment:
		n, ok := scale(r.T, e.momentHz)
		if !ok {
			return 0xFF
		}
		n %= sidCodes
		if n < 0 {
			n += sidCodes
		}
		return uint64(n)
	case sidByCount:
		return uint64(r.Count % sidCodes)
	}
	return uint64(e.sid)
}

// signed16 is the bits of a signed field of 16 bits. false: the value does not fit.
func signed16(o opt.Opt[float64], by float64) (uint64, bool) {
	x, ok := o.Value()
	if !ok {
		return 0x7FFF, true
	}
	n, ok := scale(x, by)
	return uint64(uint16(n)), ok && n >= -0x8000 && n <= 0x7FFC
}

// dilution16 is the bits of a dilution of precision. One too large for the field, which poor geometry brings about, is
// sent as "error": the code that the format has for what is out of range.
func dilution16(o opt.Opt[float64]) (uint64, bool) {
	if x, ok := o.Value(); ok && x > 327.64 {
		return 0x7FFE, true
	}
	return signed16(o, 100)
}

// unsigned16 is the bits of an unsigned field of 16 bits.
func unsigned16(o opt.Opt[float64], by float64) (uint64, bool) {
	x, ok := o.Value()
	if !ok {
		return 0xFFFF, true
	}
	n, ok := scale(x, by)
	return uint64(uint16(n)), ok && n >= 0 && n <= 0xFFFC
}

// signed32 is the bits of a signed field of 32 bits.
func signed32(o opt.Opt[float64], by float64) (uint64, bool) {
	x, ok := o.Value()
	if !ok {
		return 0x7FFFFFFF, true
	}
	n, ok := scale(x, by)
	return uint64(uint32(n)), ok && n >= -0x80000000 && n <= 0x7FFFFFFC
}

// fullTurn is a turn in units of 0.0001 rad, rounded up: what is rounded to it is past the turn, and is sent as 0.
const fullTurn = 62832

// direction16 is the bits of an unsigned angle of the circle.
func direction16(o opt.Opt[float64]) (uint64, bool) {
	x, ok := o.Value()
	if !ok {
		return 0xFFFF, true
	}
	n, ok := scale(frame.Wrap2Pi(x), 1e4)
	if n >= fullTurn {
		n = 0
	}
	return uint64(n), ok
}

// angle16 is the bits of a signed angle of the circle.
func angle16(o opt.Opt[float64]) (uint64, bool) {
	x, ok := o.Value()
	if !ok {
		return 0x7FFF, true
	}
	if x > math.Pi && x <= 3*math.Pi { // what WrapPi gives, and faster: this difference is exact
		x -= 2 * math.Pi
	} else {
		x = frame.WrapPi(x)
	}
	n, ok := scale(x, 1e4)
	return uint64(uint16(n)), ok
}

// tooLarge makes the error for a value that does not fit its field.
func (e *encoder) tooLarge(f *Field, o opt.Opt[float64]) error {
	return &wire.RangeError{Message: e.kind, Field: f.Name, Found: o.Or(0), Allowed: f.allowed()}
}

// resolution is how finely a field carries a quantity of the same unit.
func (f *Field) resolution(q wire.Quantity) wire.Resolution {
	return wire.Resolution{Quantity: q, Half: f.half()}
}

// reader gets values out of a payload.

// known is the value of a field, absent for all codes that are none.
func (f *Field) known(payload []byte) opt.Opt[float64] {
	if x, s := f.Value(payload); s == Known {
		return opt.Of(x)
	}
	return opt.None[float64]()
}

func (f *Field) code(payload []byte) (int, bool) {
	raw, s := f.Raw(payload)
	return int(raw), s == Known
}
