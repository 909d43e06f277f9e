package nmea2000

import "swellbench/emulator/wire"

// 60928, ISO Address Claim: who the device is, sent to all. It says nothing of a reading.
//
// Source: ISO 11783-5, the name; canboat PGN database.
var (
	claimUnique       = Field{Name: "unique number", Width: 21}
	claimManufacturer = Field{Name: "manufacturer code", Bit: 21, Width: 11, Type: Lookup}
	claimLower        = Field{Name: "device instance lower", Bit: 32, Width: 3, Full: true}
	claimUpper        = Field{Name: "device instance upper", Bit: 35, Width: 5, Full: true}
	claimFunction     = Field{Name: "device function", Bit: 40, Width: 8, Type: Lookup}
	claimSpare        = Field{Name: "spare", Bit: 48, Width: 1, Type: Spare}
	claimClass        = Field{Name: "device class", Bit: 49, Width: 7, Type: Lookup, Words: sparse(map[int]string{
		25: "internetwork", 40: "steering", 60: "navigation", 80: "instrumentation", 120: "display"})}
	claimSystem   = Field{Name: "system instance", Bit: 56, Width: 4}
	claimIndustry = Field{Name: "industry group", Bit: 60, Width: 3, Type: Lookup,
		Words: []string{"global", "highway", "agriculture", "construction", "marine", "industrial"}}
	claimArbitrary = Field{Name: "arbitrary address capable", Bit: 63, Width: 1, Full: true}

	claimFields = []Field{claimUnique, claimManufacturer, claimLower, claimUpper, claimFunction, claimSpare, claimClass,
		claimSystem, claimIndustry, claimArbitrary}
)

func packClaim(e *encoder, _ *wire.Reading) (uint64, error) { return e.claim, nil }

// isoRequest is the PGN by which a device is asked for one of its messages. Source: ISO 11783-3.
const isoRequest = 59904

// Requested is the PGN that a frame of the consumer asks the device with that address for, if that is what it does.
//
// Source: ISO 11783-3, PGN 59904: three bytes, little endian, to one address or to all.
func Requested(f Frame, address uint8) (pgn uint32, ok bool) {
	id := ParseID(f.ID)
	if !f.Extended || f.Remote || f.Len < 3 || id.PGN != isoRequest || id.Destination != address && id.Destination != Global {
		return 0, false
	}
	return uint32(f.Data[0]) | uint32(f.Data[1])<<8 | uint32(f.Data[2])<<16, true
}

// sparse is the words of a lookup of which few codes have one.
func sparse(words map[int]string) []string {
	var all []string
	for code, w := range words {
		for len(all) <= code {
			all = append(all, "")
		}
		all[code] = w
	}
	return all
}
