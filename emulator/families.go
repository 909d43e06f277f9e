package emulator

import (
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mavlink"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/emulator/wire/nmea2000"
)

// Families are all message families that streams are made of, as package mixed takes one apart: described ones first,
// because they are the more particular. Each call makes those anew that remember something of their stream.
func Families(described ...wire.Family) []wire.Family {
	return append(described, mavlink.Family, nmea2000.NewFamily(), nmea0183.Family)
}
