package nmea2000

import "swellbench/emulator/wire"

// 129539, GNSS DOPs: how the satellites stand. The mode in use is 3D, 2D with three satellites, and not available
// without a fix.
//
// Source: canboat PGN database; NMEA2000 C++ library.
var (
	dopsDesired = Field{Name: "desired mode", Bit: 8, Width: 3, Type: Lookup, Words: dopsModes}
	dopsActual  = Field{Name: "actual mode", Bit: 11, Width: 3, Type: Lookup, Words: dopsModes}
	dopsH       = Field{Name: "HDOP", Bit: 16, Width: 16, Type: Signed, Decimals: 2}
	dopsV       = Field{Name: "VDOP", Bit: 32, Width: 16, Type: Signed, Decimals: 2}
	dopsT       = Field{Name: "TDOP", Bit: 48, Width: 16, Type: Signed, Decimals: 2}

	dopsFields = []Field{sid, dopsDesired, dopsActual, reserved(14, 2), dopsH, dopsV, dopsT}
	dopsModes  = []string{"1D", "2D", "3D", "auto"}
)

// Codes of the modes.
const (
	dops2D   = 1
	dops3D   = 2
	dopsNone = 7
)

func packDOPs(e *encoder, r *wire.Reading) (uint64, error) {
	actual := uint64(dops3D)
	switch {
	case r.Fix == wire.FixNone || r.Fix == wire.FixEstimated:
		actual = dopsNone
	case r.Satellites.Or(4) == 3:
		actual = dops2D
	}
	h, ok := dilution16(r.HDOP)
	if !ok {
		return 0, e.tooLarge(&dopsH, r.HDOP)
	}
	v, ok := dilution16(r.VDOP)
	if !ok {
		return 0, e.tooLarge(&dopsV, r.VDOP)
	}
	t, ok := dilution16(r.TDOP)
	if !ok {
		return 0, e.tooLarge(&dopsT, r.TDOP)
	}
	return e.sidOf(r) | e.desired<<8 | actual<<11 | 0x3<<14 | h<<16 | v<<32 | t<<48, nil
}

func readDOPs(p []byte, r *wire.Reading) {
	r.HDOP, r.VDOP, r.TDOP = dopsH.known(p), dopsV.known(p), dopsT.known(p)
}
