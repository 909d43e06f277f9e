package mavlink

import (
	"errors"

	"swellbench/emulator/wire"
)

// Family is MAVLink to a mixed stream.
//
// A frame is proven by its checksum, which takes the CRC_EXTRA of its message: a frame whose id is in none of the open
// definitions minimal, standard and common cannot be proven, and what cannot be proven is [wire.Foreign]. The CRC_EXTRA
// could be worked out from the frame itself, but one in 256 random frames would then pass, and swallow good messages of
// others.
var Family = wire.Family{Name: "mavlink", Begins: &begins, Longest: Longest, Probe: probe, Describe: describe, Read: Read}

var begins = [256]bool{start1: true, start2: true}

// probe: a frame with a wrong checksum is broken if its header is one that its message can have; other bytes after
// a start byte are no frame.
func probe(b []byte, ended bool) wire.Probe {
	f, err := split(b)
	switch {
	case err == nil:
		return wire.Probe{Verdict: wire.Whole, Len: f.total}
	case errors.Is(err, ErrShort) && !ended:
		head := header1
		if f.Version == V2 {
			head = header2
		}
		return wire.Probe{Verdict: wire.Partial, Len: max(f.total, head)}
	case errors.Is(err, ErrShort) && f.total > 0:
		return wire.Probe{Verdict: wire.Broken, Len: len(b), Why: ErrShort.Error()}
	case errors.Is(err, ErrChecksum), errors.Is(err, ErrFlag):
		return wire.Probe{Verdict: wire.Broken, Len: f.total, Why: err.Error()}
	}
	return wire.Probe{}
}

// Read sets in r what a whole frame says; see [wire.Family]. What a message says in other words is set too: the course
// and speed with the velocity. Its error is a [*FrameError], or a [*ValueError] where a proven frame says what cannot be.
func Read(message []byte, r *wire.Reading) (kind string, carries bool, err error) {
	f, err := one(message)
	if err != nil || f.row == nil {
		return f.name(), false, err
	}
	carries, err = f.row.read(f.full(), r)
	return f.row.Type, carries, err
}
