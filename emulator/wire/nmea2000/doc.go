// Package nmea2000 writes and reads messages of NMEA 2000, carried over a serial line as SLCAN: CAN frames as text.
//
// It is for two kinds of callers. The emulator asks [New] for the encoder of a PGN and gives it readings; its [Adapter]
// answers what a consumer asks of a serial CAN adapter. Who listens gives lines to a [Reader], or the [NewFamily] to
// the splitter of a mixed stream.
//
// Read messages.go first: [Messages] is the table of the PGNs there are. Then heave.go, the shortest of them. field.go
// is how fields lie in the data and which codes mean "not available", id.go the CAN identifier, fastpacket.go messages
// of more than 8 bytes, slcan.go the lines and adapter.go the commands.
//
// To add a PGN: a file with its fields, the function that packs a [wire.Reading] and the one that reads it; one row in
// [Messages]; vectors from outside in testdata, which the tests of the table run.
//
// # Traps
//
//   - A signed field says "not available" with its largest positive value, 0x7FFF; 0xFFFF is -1. An unsigned one says
//     it with all ones. The two codes below are "error" and "reserved": no value is ever sent as one of the three. What does not fit is a [wire.RangeError]; only a dilution of
//     precision that is too large is sent as "error", which is how a receiver says that the geometry is poor.
//   - Reserved bits are sent as ones and not looked at when read: networks carry arbitrary bytes there.
//   - Rate of turn is rad/s; in NMEA 0183 it is degrees per minute.
//   - The altitude of 129029 is above the ellipsoid; the geoidal separation is a field of its own.
//   - Yaw is signed, so that a heading of 200° is -160°; the heading of 127250 and the course of 129026 are not.
//   - A message may be shorter than the table, from an older edition: what is missing is not available. It may be
//     longer: what is beyond is not looked at.
//
// # Rounding
//
// A value is rounded once, from the reading to the integer of the message, half away from zero, as the exact product
// of the double and the scale has it, which the product in double arithmetic does not always tell. Degrees, which are
// made from radians and so are never exact, count as half within some units in the last place of the double. Wraps come
// after rounding: a heading of 6.28316 rad is 0.
//
// # Sources
//
// The standard costs money. The facts here are those of the open canboat database of PGNs, of the open NMEA2000 C++
// library, and of ISO 11783-3 for the identifier; where it says so, from memory.
package nmea2000
