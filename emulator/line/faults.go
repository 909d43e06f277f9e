package line

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"
)

// A Fault hurts messages before they reach the line, and marks those it hurt. It reads no clock and draws only on seed.
type Fault interface {
	Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error]
}

// A FaultRow is one kind of fault.
type FaultRow struct {
	Name string             // as scenario files and the sent-log have it
	What string             // one line for a person: what arrives
	New  func(Params) Fault // params must be valid and have their defaults

	Keys []Key // what it is told beside what picks the messages
	Once bool  // it happens once where nothing says how often
	// Text is about sentences of printable characters with a checksum after *: other messages are left alone and not
	// marked. Of a message of several sentences the last is hurt.
	Text bool
	// Whole leaves what the messages say and does not mark them: only how they are sent, or whether, is another.
	Whole bool
}

// Faults is the table of faults.
var Faults = []FaultRow{
	{Name: "adapter-batching", What: "an adapter in front of the consumer hands bytes on in blocks, when a block is full or its timer has run out",
		New: newBatching, Keys: []Key{latencyKey(0.016), blockKey(DefaultBlock)}, Whole: true},
	{Name: "babble", What: "the device floods the line with bytes that mean nothing", New: newBabble, Keys: []Key{forKey(1, 600)}, Once: true},
	{Name: "bad-checksum", What: "a digit of a sentence is another one, so that its checksum no longer fits", New: newBadChecksum, Text: true},
	{Name: "break", What: "the line is held low within the message", New: newBreak, Keys: []Key{forKey(0.25, 60)}, Once: true},
	{Name: "doubled-byte", What: "a byte of the message, drawn from the seed, comes twice", New: newDoubledByte, Keys: []Key{countKey(1, 1, 1000, "bytes")}},
	{Name: EchoName, What: "what the consumer sends comes back to it among the messages", New: newEcho, Whole: true},
	{Name: "extra-field", What: "a sentence has an empty field too many; its checksum fits", New: newExtraField, Text: true},
	{Name: "flipped-bit", What: "one bit of the message, drawn from the seed, is inverted", New: newFlippedBit},
	{Name: "hang-up", What: "the port goes, and comes back under the same path", New: newHangUp, Keys: []Key{forKey(2, 3600)}, Once: true, Whole: true},
	{Name: "lost-byte", What: "a byte of the message, drawn from the seed, is missing", New: newLostByte, Keys: []Key{countKey(1, 1, 1000, "bytes")}},
	{Name: "lower-case-checksum", What: "the letters of a sentence's checksum are small", New: newLowerCaseChecksum, Text: true},
	{Name: "merged-messages", What: "the line end is missing, so that the next message follows on the same line", New: newMerged, Text: true},
	{Name: "mid-message-start", What: "the beginning of the message is missing, as of a device that was sending already", New: newMidMessageStart, Once: true},
	{Name: "missing-checksum", What: "a sentence ends before the * of its checksum", New: newMissingChecksum, Text: true},
	{Name: "missing-field", What: "a sentence lacks a field and the comma before it; its checksum fits", New: newMissingField, Text: true},
	{Name: "noise", What: "a run of bytes of the message is replaced by random ones", New: newNoise, Keys: []Key{countKey(8, 1, 1000, "bytes")}},
	{Name: "non-ascii", What: "a character of a sentence is a byte above 7F; its checksum fits", New: newNonASCII, Text: true},
	{Name: "out-of-order-epoch", What: "the messages of an epoch come after those of the next one", New: newOutOfOrder},
	{Name: "over-long", What: "a sentence is longer than the 82 characters that are allowed; its checksum fits", New: newOverLong,
		Keys: []Key{countKey(200, 83, 4096, "characters, line end included")}, Text: true},
	{Name: "pause", What: "nothing is sent for a while, then all of it at once", New: newPause, Keys: []Key{forKey(0, 3600)}, Once: true},
	{Name: "repeated-epoch", What: "the messages of an epoch come again", New: newRepeated, Keys: []Key{countKey(1, 1, 100, "times")}},
	{Name: "silence", What: "the message is not sent at all", New: newSilence},
	{Name: "slow-consumer", What: "the consumer does not read and its buffer is full: the rest of a message is lost, and those after it", New: newSlowConsumer,
		Keys: []Key{forKey(1, 3600)}, Once: true},
	{Name: "speed", What: "the device sends at another rate", New: newSpeed, Keys: []Key{baudKey}, Whole: true},
	{Name: "truncated", What: "the end of the message is missing", New: newTruncated},
	{Name: "wrong-line-end", What: "a sentence ends with LF alone, with CR alone, or not at all", New: newWrongLineEnd, Keys: []Key{endingKey}, Text: true},
}

// NewFault makes the fault of that name; all that is wrong is reported at once.
func NewFault(name string, p Params) (Fault, error) {
	i := slices.IndexFunc(Faults, func(r FaultRow) bool { return r.Name == name })
	if i < 0 {
		var names []string
		for _, r := range Faults {
			names = append(names, r.Name)
		}
		slices.Sort(names)
		return nil, errors.Join(&ParamError{"fault", fmt.Sprintf("no fault is called %q, allowed: %s", name, strings.Join(names, ", "))}, p.Validate())
	}
	r := &Faults[i]
	if err := errors.Join(p.Validate(), r.settle(&p)); err != nil {
		return nil, err
	}
	return r.New(p), nil
}

// Params is what a fault is told. The zero Params hurts every message, or once where the fault happens once.
type Params struct {
	From, Until float64 // hurts messages due in [From, Until), s of scenario time; Until 0 has no end
	Message     string  // only kinds that end so: "GGA" is GPGGA and GNGGA; "" is all

	// How often, at most one of these; all zero is every time, or once for the faults that happen once.
	Every int     // of those each n-th: the n-th, the 2n-th, ...; 0 and 1 are all
	Share float64 // of those this share, drawn for each from the seed: 0 to 1
	Rate  float64 // at instants drawn from the seed, so many a second in the mean, Hz; the next of those messages is hurt

	Times int // no more than so many times; 0 is no limit

	// What only some faults take; see their Keys.
	For      float64 // s
	Count    int
	Baud     int // bits a second
	LatencyS float64
	Block    int    // bytes
	Ending   string // lf, cr, none

	Line Settings // of the device's line, for faults that fill it; Baud 0 is 9600 8N1
}
