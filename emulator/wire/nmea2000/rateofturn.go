package nmea2000

import "swellbench/emulator/wire"

// 127251, Rate of Turn: rad/s, not degrees per minute as in NMEA 0183; positive to starboard. A step is 1/32 µrad/s.
//
// Source: canboat PGN database; NMEA2000 C++ library; the sign from memory.
var (
	turnRate = Field{Name: "rate", Bit: 8, Width: 32, Type: Signed, Decimals: 11, Factor: 3125, Unit: "rad/s"}

	turnFields = []Field{sid, turnRate, reserved(40, 24)}
)

func packTurn(e *encoder, r *wire.Reading) (uint64, error) {
	rate, ok := signed32(r.RateOfTurn, 32e6)
	if !ok {
		return 0, e.tooLarge(&turnRate, r.RateOfTurn)
	}
	return e.sidOf(r) | rate<<8 | 0xFFFFFF<<40, nil
}

func readTurn(p []byte, r *wire.Reading) { r.RateOfTurn = turnRate.known(p) }

func turnResolutions(*encoder) []wire.Resolution {
	return []wire.Resolution{turnRate.resolution(wire.RateOfTurn)}
}
