package nmea2000

import "swellbench/emulator/wire"

// 127258, Magnetic Variation: positive to the east. Networks also carry a form of 6 bytes, without the last word.
//
// Source: canboat PGN database; NMEA2000 C++ library; the sign from memory.
var (
	variationSource = Field{Name: "source", Bit: 8, Width: 4, Type: Lookup, Words: []string{"manual", "chart", "table",
		"calculation", "WMM 2000", "WMM 2005", "WMM 2010", "WMM 2015", "WMM 2020", "WMM 2025"}}
	variationDay   = Field{Name: "age of service", Bit: 16, Width: 16, Unit: "d"}
	variationAngle = Field{Name: "variation", Bit: 32, Width: 16, Type: Signed, Decimals: 4, Unit: "rad"}

	variationFields = []Field{sid, variationSource, reserved(12, 4), variationDay, variationAngle, reserved(48, 16)}
)

func packVariation(e *encoder, r *wire.Reading) (uint64, error) {
	angle, ok := angle16(r.Variation)
	if !ok {
		return 0, e.tooLarge(&variationAngle, r.Variation)
	}
	return e.sidOf(r) | e.varSource<<8 | 0xF<<12 | e.varDay<<16 | angle<<32 | 0xFFFF<<48, nil
}

func readVariation(p []byte, r *wire.Reading) { r.Variation = variationAngle.known(p) }
