package nmea2000

import "fmt"

// An ID is what a 29-bit CAN identifier says of a message.
//
// Source: ISO 11783-3 and SAE J1939-21, the identifier.
type ID struct {
	Priority    uint8  // 0, the highest, to 7
	PGN         uint32 // parameter group number, 18 bits; below PDU format 240 its low byte is 0
	Source      uint8  // address of the sender; 254: it has none
	Destination uint8  // address of the receiver; 255: all, which it is from PDU format 240 on
}

// Addresses with a meaning of their own.
const (
	MaxAddress = 251 // the highest that a device may have
	NoAddress  = 254
	Global     = 255
)

const (
	maxPriority = 7
	maxPGN      = 0x3FFFF
	maxExtended = 0x1FFFFFFF // 29 bits
	maxStandard = 0x7FF      // 11 bits
)

// addressed tells whether the PGN is of a kind that goes to one address: its PDU format is below 240.
func addressed(pgn uint32) bool { return pgn>>8&0xFF < 240 }

// Validate says what no identifier can hold.
func (id ID) Validate() error {
	switch {
	case id.Priority > maxPriority:
		return fmt.Errorf("nmea2000: priority is %d, allowed: 0, the highest, to 7", id.Priority)
	case id.PGN > maxPGN:
		return fmt.Errorf("nmea2000: PGN is %d, allowed: 0 to %d", id.PGN, maxPGN)
	case addressed(id.PGN) && id.PGN&0xFF != 0:
		return fmt.Errorf("nmea2000: PGN is %d, whose PDU format %d is below 240, allowed: a low byte of 0, in whose place the destination stands", id.PGN, id.PGN>>8&0xFF)
	case !addressed(id.PGN) && id.Destination != Global:
		return fmt.Errorf("nmea2000: PGN %d goes to address %d, allowed: 255, to all, from PDU format 240 on", id.PGN, id.Destination)
	}
	return nil
}

// CAN is the 29-bit identifier. What does not fit, which Validate tells, is cut off.
func (id ID) CAN() uint32 {
	v := uint32(id.Priority&maxPriority)<<26 | id.PGN&maxPGN<<8 | uint32(id.Source)
	if addressed(id.PGN) {
		v = v&^0xFF00 | uint32(id.Destination)<<8
	}
	return v
}

// ParseID reads a 29-bit identifier; bits above are not looked at.
func ParseID(can uint32) ID {
	id := ID{Priority: uint8(can >> 26 & maxPriority), PGN: can >> 8 & maxPGN, Source: uint8(can), Destination: Global}
	if addressed(id.PGN) {
		id.Destination, id.PGN = uint8(id.PGN), id.PGN&^0xFF
	}
	return id
}
