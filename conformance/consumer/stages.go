package consumer

import (
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// A Stage names a step of the consumer's program: where a seeded defect sits.
type Stage string

// The stages, in the order in which data passes them.
const (
	Receive  Stage = "receive"  // the bytes of the port, on their way to the decoder
	Frame    Stage = "frame"    // the bytes of a whole message that is not text
	Since    Stage = "since"    // from the time since switch-on to UTC
	Sentence Stage = "sentence" // what begins and ends like a sentence: is it one?
	Say      Stage = "say"      // the fields of one sentence
	Read     Stage = "read"     // the values of one message
	Gather   Stage = "gather"   // the values of one epoch
	Stamp    Stage = "stamp"    // the time of the epoch
	Attitude Stage = "attitude" // from the attitude on the wire to the vessel's
	Heading  Stage = "heading"  // from the heading or azimuth on the wire to the vessel's heading
	Turn     Stage = "turn"     // a lever arm, from vessel axes to east, north, up
	Place    Stage = "place"    // from the position on the wire to that of the output point
	Heave    Stage = "heave"    // from the heave on the wire to that of the output point
	Publish  Stage = "publish"  // the observation, on its way out
)

// stages are the steps of the program, one function each. A seeded defect replaces or wraps one of them; the rest of
// the program does not know.
type stages struct {
	receive  func(b []byte, at time.Time) []byte
	frame    func(family string, b []byte) []byte
	since    func(c *sinceStart, s float64) (time.Time, bool)
	sentence func(text []byte, wrong nmea0183.Reason) []byte // what is to be read; nil if nothing is
	say      func(*message, nmea0183.Sentence)
	read     func(*message)
	gather   func(*epoch)
	stamp    func(*epoch, time.Time) time.Time
	attitude func(reported frame.Attitude, rest frame.Rotation) frame.Attitude
	heading  func(s *stages, g *geometry, reported, tilt frame.Attitude) float64
	turn     func(vessel frame.Rotation, arm r3.Vec) r3.Vec
	place    func(s *stages, g *geometry, p geo.Position, believed, vessel frame.Rotation) geo.Position
	heave    func(g *geometry, h float64, reported, vessel frame.Attitude) float64
	publish  func(o *observation, emit func(*observation))
}

// correct is the program without a defect.
func correct() *stages {
	return &stages{
		receive:  func(b []byte, _ time.Time) []byte { return b },
		frame:    func(_ string, b []byte) []byte { return b },
		since:    (*sinceStart).utc,
		sentence: fit,
		say:      say,
		read:     withdraw,
		gather:   func(*epoch) {},
		stamp:    func(_ *epoch, valid time.Time) time.Time { return valid },
		attitude: attitudeOf,
		heading:  headingOf,
		turn:     turnOf,
		place:    placeOf,
		heave:    heaveOf,
		publish:  func(o *observation, emit func(*observation)) { emit(o) },
	}
}
