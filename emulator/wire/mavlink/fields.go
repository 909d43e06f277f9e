package mavlink

import (
	"encoding/binary"
	"fmt"
	"math"
)

var le = binary.LittleEndian

func putFloat(p []byte, x float32) { le.PutUint32(p, math.Float32bits(x)) }

func getFloat(p []byte) float32 { return math.Float32frombits(le.Uint32(p)) }
func getInt16(p []byte) int16   { return int16(le.Uint16(p)) }
func getInt32(p []byte) int32   { return int32(le.Uint32(p)) }

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
