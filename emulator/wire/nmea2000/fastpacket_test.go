package nmea2000

import (
	"bytes"
	"errors"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestFastPacketRoundTrip: any payload, its frames among those of others.
func TestFastPacketRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type sender struct {
			payload []byte
			frames  [][8]byte
			source  uint8
			pgn     uint32
		}
		var senders []*sender
		n := rapid.IntRange(1, 6).Draw(t, "senders")
		for i := range n {
			s := &sender{payload: rapid.SliceOfN(rapid.Byte(), 1, MaxFastPacket).Draw(t, "payload"),
				source: uint8(i / 2), pgn: 129029 + uint32(i%2)} // each source with two PGNs
			var err error
			if s.frames, err = AppendFastPacket(nil, rapid.Byte().Draw(t, "sequence"), s.payload); err != nil {
				t.Fatal(err)
			}
			if len(s.frames) != fastFrames(len(s.payload)) {
				t.Fatalf("%d bytes in %d frames", len(s.payload), len(s.frames))
			}
			senders = append(senders, s)
		}
		var a Assembler
		for len(senders) > 0 {
			i := rapid.IntRange(0, len(senders)-1).Draw(t, "next")
			s := senders[i]
			p, err := a.Push(s.source, s.pgn, s.frames[0][:])
			s.frames = s.frames[1:]
			if err != nil || (p != nil) != (len(s.frames) == 0) || p != nil && !bytes.Equal(p, s.payload) {
				t.Fatalf("got %x, %v with %d frames to come; expected %x", p, err, len(s.frames), s.payload)
			}
			if p != nil {
				senders = slices.Delete(senders, i, i+1)
			}
		}
	})
	if _, err := AppendFastPacket(nil, 0, make([]byte, 224)); !errors.Is(err, ErrTooLong) {
		t.Errorf("error of 224 bytes is %v", err)
	}
}

// TestAssemblerFaults: what is not delivered, and why; a good message always follows.
func TestAssemblerFaults(t *testing.T) {
	payload := []byte("a message of 27 bytes, more")
	frames, _ := AppendFastPacket(nil, 3, payload)
	old, _ := AppendFastPacket(nil, 2, payload)
	f := func(k int) []byte { return frames[k][:] }
	for _, tt := range []struct {
		name   string
		frames [][]byte
		err    error
	}{
		{"out of order", [][]byte{f(0), f(2), f(1), f(3)}, ErrGap},
		{"one twice", [][]byte{f(0), f(1), f(1), f(2), f(3)}, ErrGap},
		{"one missing", [][]byte{f(0), f(1), f(3)}, ErrGap},
		{"the first missing", [][]byte{f(1), f(2), f(3)}, ErrNoFirst},
		{"of two messages", [][]byte{old[0][:], f(1), f(2), f(3)}, ErrSequence},
		{"empty frame", [][]byte{f(0), {}, f(1), f(2), f(3)}, ErrFrame},
		{"a short frame", [][]byte{f(0), f(1)[:7], f(2), f(3)}, ErrGap},
		{"a message of no bytes", [][]byte{{0x60, 0, 1, 2, 3, 4, 5, 6}, f(1)}, ErrFrame},
		{"a message of 224 bytes", [][]byte{{0x60, 224, 1, 2, 3, 4, 5, 6}, f(1)}, ErrFrame},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var a Assembler
			var first error
			for _, frame := range tt.frames {
				p, err := a.Push(7, 129029, frame)
				if p != nil {
					t.Errorf("delivered %q", p)
				}
				if first == nil {
					first = err
				}
			}
			if !errors.Is(first, tt.err) {
				t.Errorf("error is %v, expected %v", first, tt.err)
			}
			var got []byte
			for k := range frames {
				got, _ = a.Push(7, 129029, f(k))
			}
			if !bytes.Equal(got, payload) {
				t.Errorf("the message behind is %q", got)
			}
		})
	}
	// A last frame need not be filled up, and a frame 0 starts anew.
	var a Assembler
	var got []byte
	for _, frame := range [][]byte{f(0), f(1), f(0), f(1), f(2), f(3)} {
		got, _ = a.Push(7, 129029, frame[:min(len(frame), 8)])
	}
	if !bytes.Equal(got, payload) {
		t.Errorf("after a new start it is %q", got)
	}
	if got, err := a.Push(7, 129029, []byte{0, 3, 'a', 'b', 'c'}); string(got) != "abc" || err != nil {
		t.Errorf("a message of 3 bytes is %q, %v", got, err)
	}
}

// TestNeverFinished: of messages that are never finished 32 are kept, and those that got a frame lately outlast others.
func TestNeverFinished(t *testing.T) {
	payload := []byte("ten bytes!")
	frames, _ := AppendFastPacket(nil, 1, payload)
	var a Assembler
	for source := range 32 {
		a.Push(uint8(source), 129029, frames[0][:])
	}
	long, _ := AppendFastPacket(nil, 0, make([]byte, 223))
	a.Push(200, 129029, long[0][:]) // takes the place of source 0
	if p, err := a.Push(0, 129029, frames[1][:]); p != nil || !errors.Is(err, ErrNoFirst) {
		t.Errorf("the oldest is %q, %v; expected to be given up", p, err)
	}
	if p, err := a.Push(1, 129029, frames[1][:]); !bytes.Equal(p, payload) || err != nil {
		t.Errorf("the next is %q, %v", p, err)
	}
	for i := range 10_000 {
		a.Push(uint8(i), uint32(i), frames[0][:])
	}
	if p, _ := a.Push(uint8(9999&0xFF), 9999, frames[1][:]); !bytes.Equal(p, payload) {
		t.Errorf("the latest of a flood is %q", p)
	}
}
