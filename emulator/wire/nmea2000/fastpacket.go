package nmea2000

import (
	"errors"
	"fmt"
)

// Lengths of a fast packet: 6 bytes in frame 0 and 7 in each of at most 31 more.
const (
	MaxFastPacket = firstPart + maxFrames*nextPart // 223
	firstPart     = 6
	nextPart      = 7
	maxFrames     = 31
)

// fastFrames is how many frames a fast packet of n bytes has.
func fastFrames(n int) int {
	if n <= firstPart {
		return 1
	}
	return 1 + (n-firstPart+nextPart-1)/nextPart
}

// ErrTooLong reports a message too long for a fast packet.
var ErrTooLong = fmt.Errorf("nmea2000: a fast packet holds %d bytes at most", MaxFastPacket)

// AppendFastPacket appends the data of the frames that carry the payload, 8 bytes each. The sequence counter, of which
// three bits are sent, counts per PGN and source. The last frame is filled up with ones.
//
// Source: fast packet as the canboat documentation has it.
func AppendFastPacket(frames [][8]byte, sequence uint8, payload []byte) ([][8]byte, error) {
	if len(payload) > MaxFastPacket {
		return frames, ErrTooLong
	}
	for k := range fastFrames(len(payload)) {
		frames = append(frames, fastFrame(payload, sequence, k))
	}
	return frames, nil
}

// fastFrame is the data of frame k.
func fastFrame(payload []byte, sequence uint8, k int) [8]byte {
	f := [8]byte{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF}
	f[0] = sequence<<5 | byte(k)
	if k == 0 {
		f[1] = byte(len(payload))
		copy(f[2:], payload)
		return f
	}
	copy(f[1:], payload[firstPart+(k-1)*nextPart:])
	return f
}

// What is wrong with a frame of a fast packet; with each of them no message is delivered.
var (
	ErrNoFirst  = errors.New("nmea2000: a frame of a fast packet whose first frame was not seen")
	ErrGap      = errors.New("nmea2000: a frame of a fast packet is missing, or came out of order: the message is lost")
	ErrSequence = errors.New("nmea2000: a frame of another sequence within a fast packet: the message is lost")
	ErrFrame    = errors.New("nmea2000: a frame of a fast packet is empty or its length is over 223: it is not taken")
)

// maxPending is how many messages an Assembler has in the making at a time.
const maxPending = 32

// An Assembler puts fast packets together, each (source, PGN) for itself. The zero value is ready. Its memory is fixed:
// when more than 32 messages are in the making, that which has waited longest for a frame is given up. It is not for
// several goroutines.
//
// A frame 0 always starts anew. A frame out of order, a missing one and one of another sequence void the message, since
// nothing tells a stray frame from the first sign of a loss, and what two messages are put together from must not be
// taken for one.
type Assembler struct {
	pending [maxPending]assembly
	clock   uint64
}

type assembly struct {
	used     bool
	source   uint8
	sequence uint8
	next     uint8 // the frame that must come now
	pgn      uint32
	last     uint64 // when the last frame came, in frames
	size     int
	have     int
	data     [MaxFastPacket]byte
}

// Push takes the data of one frame. It returns the payload if that was the last, valid until the next call, and nil while
// frames are missing. An error tells why the message is lost, once.
func (a *Assembler) Push(source uint8, pgn uint32, frame []byte) ([]byte, error) {
	a.clock++
	p := a.find(source, pgn)
	if len(frame) < 2 {
		if p != nil {
			p.used = false
		}
		return nil, ErrFrame
	}
	sequence, k := frame[0]>>5, frame[0]&0x1F
	if k == 0 {
		size := int(frame[1])
		if size == 0 || size > MaxFastPacket {
			if p != nil {
				p.used = false
			}
			return nil, ErrFrame
		}
		if p == nil {
			p = a.free()
		}
		p.used, p.source, p.pgn, p.sequence, p.next, p.last = true, source, pgn, sequence, 1, a.clock
		p.size, p.have = size, 0
		return p.add(frame[2:min(len(frame), 8)], firstPart)
	}
	switch {
	case p == nil:
		return nil, ErrNoFirst
	case p.sequence != sequence:
		p.used = false
		return nil, ErrSequence
	case p.next != k:
		p.used = false
		return nil, ErrGap
	}
	p.next, p.last = k+1, a.clock
	return p.add(frame[1:min(len(frame), 8)], nextPart)
}

// add takes the data of a frame that should hold n bytes, or all that is missing.
func (p *assembly) add(data []byte, n int) ([]byte, error) {
	want := min(n, p.size-p.have)
	if len(data) < want {
		p.used = false
		return nil, ErrGap
	}
	p.have += copy(p.data[p.have:], data[:want])
	if p.have < p.size {
		return nil, nil
	}
	p.used = false
	return p.data[:p.size:p.size], nil
}

func (a *Assembler) find(source uint8, pgn uint32) *assembly {
	for i := range a.pending {
		if p := &a.pending[i]; p.used && p.source == source && p.pgn == pgn {
			return p
		}
	}
	return nil
}

// free is a place for one more message: an empty one, or that which has waited longest.
func (a *Assembler) free() *assembly {
	oldest := &a.pending[0]
	for i := range a.pending {
		p := &a.pending[i]
		if !p.used {
			return p
		}
		if p.last < oldest.last {
			oldest = p
		}
	}
	return oldest
}
