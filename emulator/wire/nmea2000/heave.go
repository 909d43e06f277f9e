package nmea2000

import "swellbench/emulator/wire"

// 127252, Heave: metres, positive up. What one of the databases has after it, a delay and its source, is sent as ones,
// which is "not available" there and reserved in the other.
//
// Source: canboat PGN database; NMEA2000 C++ library; the sign from memory.
var (
	heaveUp = Field{Name: "heave", Bit: 8, Width: 16, Type: Signed, Decimals: 2, Unit: "m"}

	heaveFields = []Field{sid, heaveUp, reserved(24, 40)}
)

func packHeave(e *encoder, r *wire.Reading) (uint64, error) {
	up, ok := signed16(r.HeaveM, 100)
	if !ok {
		return 0, e.tooLarge(&heaveUp, r.HeaveM)
	}
	return e.sidOf(r) | up<<8 | 0xFFFFFFFFFF<<24, nil
}

func readHeave(p []byte, r *wire.Reading) { r.HeaveM = heaveUp.known(p) }

func heaveResolutions(*encoder) []wire.Resolution {
	return []wire.Resolution{heaveUp.resolution(wire.Heave)}
}
