package nmea2000

import (
	"strings"

	"swellbench/emulator/wire"
)

// A Row is one message of the table.
type Row struct {
	Type     string // the PGN in digits, as a stream names it
	PGN      uint32
	Title    string
	Source   string
	Priority uint8 // usual, of its CAN identifier
	Fast     bool  // a fast packet; else one frame
	Length   int   // bytes of the payload but for repeated fields
	Fields   []Field
	// Repeat are the fields that follow as often as the field named Times says. The bits count on from Length.
	Repeat []Field
	Times  string

	pack        func(e *encoder, r *wire.Reading) (uint64, error)
	packLong    func(e *encoder, r *wire.Reading) (long, int, error)
	read        func(payload []byte, r *wire.Reading)
	resolutions func(e *encoder) []wire.Resolution
}

const (
	canboat = "canboat PGN database 6.2.0"
	library = "NMEA2000 C++ library 4.24.1"
)

// Messages is the table of the messages, in the order of their numbers.
var Messages = []Row{
	{Type: "60928", PGN: 60928, Title: "ISO Address Claim", Source: "ISO 11783-5; " + canboat, Priority: 6, Length: 8,
		Fields: claimFields, pack: packClaim},
	{Type: "126992", PGN: 126992, Title: "System Time", Source: canboat + "; " + library, Priority: 3, Length: 8,
		Fields: timeFields, pack: packTime, read: readTime, resolutions: timeResolutions},
	{Type: "127250", PGN: 127250, Title: "Vessel Heading", Source: canboat + "; " + library, Priority: 2, Length: 8,
		Fields: headingFields, pack: packHeading, read: readHeading, resolutions: headingResolutions},
	{Type: "127251", PGN: 127251, Title: "Rate of Turn", Source: canboat + "; " + library, Priority: 2, Length: 8,
		Fields: turnFields, pack: packTurn, read: readTurn, resolutions: turnResolutions},
	{Type: "127252", PGN: 127252, Title: "Heave", Source: canboat + "; " + library, Priority: 3, Length: 8,
		Fields: heaveFields, pack: packHeave, read: readHeave, resolutions: heaveResolutions},
	{Type: "127257", PGN: 127257, Title: "Attitude", Source: canboat + "; " + library, Priority: 3, Length: 8,
		Fields: attitudeFields, pack: packAttitude, read: readAttitude, resolutions: attitudeResolutions},
	{Type: "127258", PGN: 127258, Title: "Magnetic Variation", Source: canboat + "; " + library, Priority: 7, Length: 8,
		Fields: variationFields, pack: packVariation, read: readVariation},
	{Type: "129025", PGN: 129025, Title: "Position, Rapid Update", Source: canboat + "; " + library, Priority: 2, Length: 8,
		Fields: positionFields, pack: packPosition, read: readPosition, resolutions: positionResolutions},
	{Type: "129026", PGN: 129026, Title: "COG & SOG, Rapid Update", Source: canboat + "; " + library, Priority: 2, Length: 8,
		Fields: courseFields, pack: packCourse, read: readCourse, resolutions: courseResolutions},
	{Type: "129029", PGN: 129029, Title: "GNSS Position Data", Source: canboat + "; " + library, Priority: 3, Fast: true, Length: 43,
		Fields: gnssFields, Repeat: stationFields, Times: "reference stations", packLong: packGNSS, read: readGNSS, resolutions: gnssResolutions},
	{Type: "129539", PGN: 129539, Title: "GNSS DOPs", Source: canboat + "; " + library, Priority: 6, Length: 8,
		Fields: dopsFields, pack: packDOPs, read: readDOPs},
}

// Kinds are the types in the table, in its order.
func Kinds() []string {
	all := make([]string, len(Messages))
	for i, r := range Messages {
		all[i] = r.Type
	}
	return all
}

func kinds() string { return strings.Join(Kinds(), ", ") }

// RowOf is the row of a type.
func RowOf(kind string) (*Row, bool) {
	for i := range Messages {
		if Messages[i].Type == kind {
			return &Messages[i], true
		}
	}
	return nil, false
}

// rowOfPGN is the row of a number, nil if there is none.
func rowOfPGN(pgn uint32) *Row {
	for i := range Messages {
		if Messages[i].PGN == pgn {
			return &Messages[i]
		}
	}
	return nil
}

// Read sets in r what the payload of the message says: its kind's part of [wire.Family].
func (w *Row) Read(payload []byte, r *wire.Reading) (carries bool) {
	if w.read == nil {
		return false
	}
	w.read(payload, r)
	return true
}

// sid is the field that most messages begin with.
var sid = Field{Name: "SID", Width: 8}

// reserved is bits that are sent as ones.
func reserved(bit, width int) Field {
	return Field{Name: "reserved", Bit: bit, Width: width, Type: Reserved}
}

// references are the words of what a direction is counted from.
var references = []string{"true", "magnetic", "error"}

// Codes of them.
const (
	fromTrue     = 0
	fromMagnetic = 1
)
