package nmea0183

import "bytes"

// Limit is how many bytes a TAG block and its sentence may have together. The standard's 82 are often knowingly
// broken; what is longer than this is no sentence. A [Decoder] keeps no more than this.
const Limit = 1024

// A Decoder finds sentences in a stream of bytes cut anywhere.
//
// Push a piece, call Next until it has no more, push the next; Flush at the end, and Next again. $ and ! always begin a
// new sentence, and so does the \ of a TAG block, so that no good sentence is lost behind a broken one. A sentence ends
// with CR, LF or both, with the start of the next one, or at the end of the stream. What it finds does not depend on
// where the stream was cut. The zero Decoder is ready. It is not safe for several goroutines at once.
type Decoder struct {
	in     []byte // not looked at yet
	offset int64  // of in[0] in the stream
	ended  bool

	state state
	unit  []byte // TAG block and sentence as far as they came, if state is not outside

	garbage   int64 // bytes outside of sentences, not reported yet
	garbageAt int64
	sample    [64]byte
	sampled   int

	ev Event
}

// An EventKind says what an event is about.
type EventKind int

// The kinds of events.
const (
	Accepted EventKind = iota + 1 // a sentence: Fields
	Rejected                      // something that began as a sentence: Reason
	Garbage                       // bytes outside of sentences: Count
)

// String is the kind in one word.
func (k EventKind) String() string {
	switch k {
	case Accepted:
		return "accepted"
	case Rejected:
		return "rejected"
	case Garbage:
		return "garbage"
	}
	return "unknown"
}

// An Event is what the decoder found next.
type Event struct {
	Kind   EventKind
	Fields Fields // of an accepted sentence
	Reason Reason // of a rejected one
	Raw    []byte // TAG block and sentence without line end; of garbage the first 64 bytes
	Count  int64  // bytes of garbage, line ends not counted
	Offset int64  // of the first byte in the stream
}

// A state is where in a unit, which is a sentence with the TAG block it may have, the decoder stands.
type state uint8

const (
	outside state = iota
	inTag
	afterTag
	inSentence
)

// Push hands over the next piece of the stream. The decoder reads from p until Next has no more events.
func (d *Decoder) Push(p []byte) {
	if len(d.in) > 0 { // the caller has not drained it
		p = append(bytes.Clone(d.in), p...)
	}
	d.in = p
}

// Flush says that the stream has ended, which Next then deals with: a sentence that lacks only its line end counts.
// What is pushed afterwards is a new stream.
func (d *Decoder) Flush() { d.ended = true }

// Next gives the next event, or false when all that was pushed is used up. The event and its slices are valid until
// the next call of Next or Push.
func (d *Decoder) Next() (*Event, bool) {
	for len(d.in) > 0 {
		if d.state != outside {
			if d.gather() {
				return &d.ev, true
			}
			continue
		}
		if !d.seek() {
			break
		}
		if d.garbage > 0 {
			d.reportGarbage()
			return &d.ev, true
		}
		if d.wholeLine() {
			return &d.ev, true
		}
		d.state = inSentence
		if d.in[0] == '\\' {
			d.state = inTag
		}
		d.unit = append(d.unit[:0], d.in[0])
		d.skip(1)
	}
	if !d.ended {
		return nil, false
	}
	if d.state != outside && d.finish(endOfStream) {
		return &d.ev, true
	}
	if d.garbage > 0 {
		d.reportGarbage()
		return &d.ev, true
	}
	d.ended, d.offset = false, 0
	return nil, false
}

func (d *Decoder) skip(n int) {
	d.in = d.in[n:]
	d.offset += int64(n)
}

// seek goes to the next byte that begins a unit.
func (d *Decoder) seek() bool {
	for i, c := range d.in {
		switch class[c] {
		case starts:
			d.skip(i)
			return true
		case lineEnd:
		default:
			d.addGarbage(c, d.offset+int64(i))
		}
	}
	d.skip(len(d.in))
	return false
}

func (d *Decoder) addGarbage(c byte, at int64) {
	if d.garbage == 0 {
		d.garbageAt, d.sampled = at, 0
	}
	if d.sampled < len(d.sample) {
		d.sample[d.sampled] = c
		d.sampled++
	}
	d.garbage++
}

func (d *Decoder) reportGarbage() {
	d.ev = Event{Kind: Garbage, Raw: d.sample[:d.sampled], Count: d.garbage, Offset: d.garbageAt}
	d.garbage = 0
}

// wholeLine takes a good sentence that lies in the piece with its line end, where it is: the usual case, and all that
// is in it gather would find as well.
func (d *Decoder) wholeLine() bool {
	end := bytes.IndexByte(d.in[:min(len(d.in), Limit+2)], '\n')
	if end < 0 {
		return false
	}
	n := end
	if d.in[n-1] == '\r' {
		n--
	}
	if n > Limit || d.in[0] == '\\' {
		return false
	}
	if !d.ev.Fields.frame(d.in[:n]) {
		return false
	}
	d.ev.Kind, d.ev.Reason, d.ev.Raw, d.ev.Count, d.ev.Offset = Accepted, "", d.in[:n:n], 0, d.offset
	d.skip(end + 1)
	return true
}

// gather adds bytes to the unit until it ends, and tells whether that made an event.
func (d *Decoder) gather() bool {
	for i, c := range d.in {
		k := class[c]
		switch {
		case d.state == inTag && c == '\\' && len(d.unit) < Limit:
			d.state = afterTag
		case d.state == afterTag && (c == '$' || c == '!') && len(d.unit) < Limit:
			d.state = inSentence
		case d.state == afterTag, k == starts, k == lineEnd, len(d.unit) == Limit:
			why := atLineEnd
			if k == starts {
				why = atStart
			} else if k != lineEnd && d.state != afterTag {
				why = atLimit
			}
			d.skip(i)
			return d.finish(why)
		}
		d.unit = append(d.unit, c)
	}
	d.skip(len(d.in))
	return false
}

// An ending is what ended a unit.
type ending uint8

const (
	atLineEnd ending = iota
	atStart
	atLimit
	endOfStream
)

// finish judges the unit, which ends before in[0], and tells whether that made an event.
func (d *Decoder) finish(why ending) bool {
	d.state = outside
	at := d.offset - int64(len(d.unit))
	if len(d.unit) == 1 && d.unit[0] == '\\' { // the end of a TAG block whose beginning was missed
		d.addGarbage('\\', at)
		return false
	}
	d.ev = Event{Raw: d.unit, Offset: at}
	switch d.ev.Reason = judge(d.unit, why, &d.ev.Fields); d.ev.Reason {
	case "":
		d.ev.Kind = Accepted
	default:
		d.ev.Kind = Rejected
		d.ev.Fields = Fields{}
	}
	return true
}

// class sorts bytes into those that begin a unit, those that end a line, and the rest.
var class = [256]byte{'$': starts, '!': starts, '\\': starts, '\r': lineEnd, '\n': lineEnd}

const (
	starts  = 1
	lineEnd = 2
)
