package mixed

import (
	"bytes"

	"swellbench/emulator/wire"
)

// A Kind says what an event is about.
type Kind uint8

// The kinds.
const (
	Message Kind = iota + 1 // a whole message
	Broken                  // what began as a message and is hurt
	Garbage                 // bytes that no family knows
)

// String is the kind in one word.
func (k Kind) String() string {
	switch k {
	case Message:
		return "message"
	case Broken:
		return "broken"
	case Garbage:
		return "garbage"
	}
	return "unknown"
}

// An Event is what was found next. Its bytes are valid until the next call of Next or Push.
type Event struct {
	Kind   Kind
	Family *wire.Family // of a message, whole or broken
	Bytes  []byte       // of garbage the first [Sample]
	Count  int64        // how many bytes there were
	Why    string       // of a broken message: what is wrong
	Offset int64        // of the first byte in the stream
}

// Sample is how many bytes of garbage an event shows.
const Sample = 64

// A Splitter finds the messages in a stream of bytes. Push a piece, call Next until it has no more, push the next; Flush
// at the end, and Next again. What it finds does not depend on where the stream was cut.
//
// Wherever a message may begin, each family is asked in turn. The first that has a whole message has it. While one needs
// more bytes they are waited for, at most its Longest. A message that is hurt goes as far as its family says or to where
// a whole message begins inside of it: no good message is lost behind or within a bad one. Memory is bounded by the
// longest message of all families; no position is judged more than twice. It is not for several goroutines.
type Splitter struct {
	families []wire.Family
	begins   [256]bool

	buf    []byte
	at     int   // the first byte of buf not dealt with
	offset int64 // of buf[at] in the stream
	ended  bool
	need   int // how many bytes from at on are needed before asking again is of use

	garbage   int64
	garbageAt int64
	sample    []byte
	plain     bool // the garbage is line ends only

	ev Event
}

// New makes a splitter of these families, those asked first standing first.
func New(families ...wire.Family) *Splitter {
	s := &Splitter{families: families, sample: make([]byte, 0, Sample)}
	for _, f := range families {
		for c, begins := range f.Begins {
			s.begins[c] = s.begins[c] || begins
		}
	}
	return s
}

// Push hands over the next piece of the stream. It is copied.
func (s *Splitter) Push(p []byte) {
	if s.at > 0 {
		s.buf = s.buf[:copy(s.buf, s.buf[s.at:])]
		s.at = 0
	}
	s.buf = append(s.buf, p...)
}

// Flush says that the stream has ended: nothing is waited for any more. What is pushed afterwards is a new stream.
func (s *Splitter) Flush() { s.ended = true }

// Pending is how many bytes wait for more, because they may be the beginning of a message.
func (s *Splitter) Pending() int { return len(s.buf) - s.at }

// Next gives the next event, or false when all that was pushed is used up but for what more bytes are needed for.
func (s *Splitter) Next() (*Event, bool) {
	if !s.ended && len(s.buf)-s.at < s.need {
		return nil, false
	}
	s.need = 0
	for s.at < len(s.buf) {
		if !s.begins[s.buf[s.at]] {
			s.rubbish()
			continue
		}
		f, p := s.probe(s.at)
		switch {
		case p.Verdict == wire.Whole:
			if s.reportGarbage() {
				return &s.ev, true
			}
			s.report(Message, f, p.Len, "")
			return &s.ev, true
		case p.Verdict == wire.Partial:
			s.need = p.Len
			return nil, false
		case p.Verdict == wire.Broken:
			n, known := p.Len, true
			if !p.Sealed {
				n, known = s.within(p.Len)
			}
			if !known {
				return nil, false
			}
			if s.reportGarbage() {
				return &s.ev, true
			}
			s.report(Broken, f, n, p.Why)
			return &s.ev, true
		default:
			s.rubbish()
		}
	}
	if !s.ended {
		return nil, false
	}
	if s.reportGarbage() {
		return &s.ev, true
	}
	s.ended, s.offset = false, 0
	return nil, false
}

// probe asks the families about the bytes from i on: the first that has a whole message, else one that needs more, else
// the first that has a hurt one. An answer that makes no sense, such as a message of no bytes, counts as none.
func (s *Splitter) probe(i int) (*wire.Family, wire.Probe) {
	var best wire.Probe
	var family *wire.Family
	b := s.buf[i:]
	for k := range s.families {
		f := &s.families[k]
		if !f.Begins[b[0]] {
			continue
		}
		p := f.Probe(b, s.ended)
		switch {
		case p.Verdict == wire.Whole && p.Len > 0 && p.Len <= len(b):
			return f, p
		case p.Verdict == wire.Partial && !s.ended && len(b) < f.Longest:
			if best.Verdict == wire.Partial {
				p.Len = min(p.Len, best.Len)
			}
			best, family = p, f
		case p.Verdict == wire.Broken && p.Len > 0 && best.Verdict == wire.Foreign:
			p.Len = min(p.Len, len(b))
			best, family = p, f
		}
	}
	return family, best
}

// within says how far the hurt message at the next byte goes that is n bytes long at most: to the first whole message
// that begins in it. It is not known while something in it may yet become one.
func (s *Splitter) within(n int) (int, bool) {
	for k := 1; k < n; k++ {
		if !s.begins[s.buf[s.at+k]] {
			continue
		}
		switch _, p := s.probe(s.at + k); p.Verdict {
		case wire.Whole:
			return k, true
		case wire.Partial:
			s.need = k + p.Len
			return 0, false
		}
	}
	return n, true
}

func (s *Splitter) report(k Kind, f *wire.Family, n int, why string) {
	s.ev = Event{Kind: k, Family: f, Bytes: s.buf[s.at : s.at+n : s.at+n], Count: int64(n), Why: why, Offset: s.offset}
	s.at += n
	s.offset += int64(n)
}

// rubbish takes the next byte as garbage.
func (s *Splitter) rubbish() {
	c := s.buf[s.at]
	if s.garbage == 0 {
		s.garbageAt, s.sample, s.plain = s.offset, s.sample[:0], true
	}
	s.plain = s.plain && (c == '\r' || c == '\n')
	if len(s.sample) < Sample {
		s.sample = append(s.sample, c)
	}
	s.garbage++
	s.at++
	s.offset++
}

// reportGarbage makes an event of the garbage before the next message; line ends alone are none.
func (s *Splitter) reportGarbage() bool {
	if s.garbage == 0 {
		return false
	}
	n := s.garbage
	s.garbage = 0
	if s.plain {
		return false
	}
	s.ev = Event{Kind: Garbage, Bytes: bytes.TrimRight(s.sample, "\r\n"), Count: n, Offset: s.garbageAt}
	if n > Sample {
		s.ev.Bytes = s.sample
	}
	return true
}
