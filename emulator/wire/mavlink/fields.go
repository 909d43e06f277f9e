package mavlink

import (
	"encoding/binary"
	"fmt"
	"math"
)

var le = binary.LittleEndian

func appendFloats(dst []byte, all ...float32) []byte {
	for _, x := range all {
		dst = le.AppendUint32(dst, math.Float32bits(x))
	}
	return dst
}

func getFloat(p []byte) float32 { return math.Float32frombits(le.Uint32(p)) }
func getInt16(p []byte) int16   { return int16(le.Uint16(p)) }
func getInt32(p []byte) int32   { return int32(le.Uint32(p)) }

func appendInt16s(dst []byte, all ...int16) []byte {
	for _, x := range all {
		dst = le.AppendUint16(dst, uint16(x))
	}
	return dst
}

func appendUint16s(dst []byte, all ...uint16) []byte {
	for _, x := range all {
		dst = le.AppendUint16(dst, x)
	}
	return dst
}

func appendInt32s(dst []byte, all ...int32) []byte {
	for _, x := range all {
		dst = le.AppendUint32(dst, uint32(x))
	}
	return dst
}

func appendUint32s(dst []byte, all ...uint32) []byte {
	for _, x := range all {
		dst = le.AppendUint32(dst, x)
	}
	return dst
}

// finite tells that all are numbers.
func finite(all ...float32) bool {
	for _, x := range all {
		if x-x != 0 {
			return false
		}
	}
	return true
}

// A ValueError reports a whole frame whose field holds what it may not.
type ValueError struct {
	Message, Field string
	Found          float64
	Allowed        string
}

// Error says what was found and what is allowed.
func (e *ValueError) Error() string {
	return fmt.Sprintf("decode %s: %s is %g, allowed: %s", e.Message, e.Field, e.Found, e.Allowed)
}

func notANumber(message string) error {
	return &ValueError{message, "one of the fields", math.NaN(), "finite numbers"}
}
