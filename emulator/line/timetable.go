package line

import (
	"fmt"
	"math"
)

// A timetable says when each byte leaves. Virtual and real time use the same, and so agree.
//
// While the line is busy without a gap, all times are counted from the first start bit of that busy stretch: byte n
// of it has left at begin + n*bits/baud. Periods are never added up, so that errors do not either. The gaps that a slow
// processor leaves when the FIFO has run empty are counted the same way.
type timetable struct {
	bits, baud float64 // bit times a byte, bits a second
	own        float64 // the line's own rate; a message may have another
	queue      int     // room for bytes that wait, bytes
	depth      int64   // of the FIFO, bytes; 0: never empty while there is something to send
	refill     float64 // from when it is empty to the next byte in it, s

	begin   float64 // the first start bit of the busy stretch, s
	count   int64   // bytes of the stretch that the line has accepted
	clock   float64 // the device's time: the latest due time seen, s; a message due before (a fault can do that) is due now
	earlier float64 // bit rate before begin, where the rate changed then

	// Of the message put on the line last:
	before   int64 // bytes of the stretch before it
	breakAt  int64 // the byte that is a break, -1 if none
	breakFor int64 // how many byte times more than one it takes

	noBytes [2]int64 // the byte times of the stretch's latest break that are no bytes: from, until
}

func newTimetable(s Settings) *timetable {
	s = s.withDefaults()
	return &timetable{bits: s.BitsPerByte(), baud: float64(s.Baud), own: float64(s.Baud), queue: s.Queue,
		depth: int64(s.FIFO), refill: s.RefillS, begin: math.Inf(-1), clock: math.Inf(-1), breakAt: -1}
}

// gap is how long the line is idle whenever the FIFO has run empty: a byte is still on its way out then.
func (t *timetable) gap() float64 { return max(t.refill-t.bits/t.baud, 0) }

// start is when byte n (0, 1, ...) of the busy stretch begins.
func (t *timetable) start(n int64) float64 {
	// A quotient is no product: no compiler fuses it with the sum, and all processors give the same last bit.
	at := t.begin + float64(n)*t.bits/t.baud
	if t.depth > 0 {
		at += float64(float64(n/t.depth) * t.gap())
	}
	return at
}

// end is when the n-th byte (1, 2, ...) of the busy stretch has left, its last stop bit included; n = 0 is the stretch's
// begin.
func (t *timetable) end(n int64) float64 {
	at := t.begin + float64(n)*t.bits/t.baud
	if t.depth > 0 && n > 0 {
		at += float64(float64((n-1)/t.depth) * t.gap())
	}
	return at
}

// byteStart is when byte i (0, 1, ...) of the message put on the line last begins, and byteEnd when it has left; of a
// break it is when a receiver has read it.
func (t *timetable) byteStart(i int64) float64 { return t.start(t.slot(i)) }
func (t *timetable) byteEnd(i int64) float64   { return t.end(t.slot(i) + 1) }

// slot is the byte time of the busy stretch in which byte i of the message put on the line last is sent.
func (t *timetable) slot(i int64) int64 {
	if t.breakAt >= 0 && i > t.breakAt {
		i += t.breakFor
	}
	return t.before + i
}

// admit puts a message of size byte times on the line, at the device's time. It returns how many bytes of the busy
// stretch go before it; ok is false where the queue has no room for it.
func (t *timetable) admit(size int64) (before int64, ok bool) {
	if free := t.end(t.count); t.clock >= free {
		t.begin, t.count, t.noBytes = t.clock, 0, [2]int64{}
	} else if t.waiting()+size-t.breakFor > int64(t.queue) {
		return 0, false
	}
	before = t.count
	t.count += size
	if t.breakFor > 0 {
		t.noBytes = [2]int64{before + t.breakAt + 1, before + t.breakAt + 1 + t.breakFor}
	}
	return before, true
}

// waiting is how many accepted bytes have not left at the device's time. Only for a busy line.
func (t *timetable) waiting() int64 {
	if t.clock < t.begin { // the stretch has not begun: the line is still busy at the rate before
		return t.count + int64(math.Ceil((t.begin-t.clock)*t.earlier/t.bits-1e-6))
	}
	passed := t.clock - t.begin
	var left int64
	if t.depth > 0 {
		block := float64(t.depth)*t.bits/t.baud + t.gap()
		blocks := math.Floor(passed / block)
		left = int64(blocks)*t.depth + min(int64((passed-blocks*block)*t.baud/t.bits), t.depth)
	} else {
		left = int64(math.Floor(passed * t.baud / t.bits))
	}
	left = min(max(left, 0), t.count)
	// The division may round across a byte's end by one; the schedule itself decides.
	for left < t.count && t.end(left+1) <= t.clock {
		left++
	}
	for left > 0 && t.end(left) > t.clock {
		left--
	}
	return t.count - left - max(t.noBytes[1]-max(t.noBytes[0], left), 0)
}

// tune sets the rate for the next message; 0 is the line's own. What is on its way leaves at the rate before: a stretch
// ends with it.
func (t *timetable) tune(baud int) {
	rate := t.own
	if baud > 0 {
		rate = float64(baud)
	}
	if rate == t.baud {
		return
	}
	t.begin, t.count, t.noBytes, t.earlier, t.baud = t.end(t.count), 0, [2]int64{}, t.baud, rate
}

// place puts a message on the line and says when it leaves, or that it does not.
func (t *timetable) place(m Message) Sent {
	t.clock = max(t.clock, m.Due)
	t.breakAt, t.breakFor = -1, 0
	out := Sent{Message: m, First: m.Due, Last: m.Due}
	if len(m.Bytes) == 0 {
		if m.HangUpS > 0 { // in its turn
			out.First = max(t.clock, t.end(t.count))
			out.Last = out.First
		}
		return out
	}
	t.tune(m.Baud)
	if m.Break.S > 0 {
		// In whole byte times, with at least one bit of idle line after it.
		times := math.Ceil((m.Break.S*t.baud + 1) / t.bits)
		t.breakAt, t.breakFor = int64(m.Break.At), max(int64(times)-1, 1)
	}
	size := int64(len(m.Bytes)) + t.breakFor
	before, ok := t.admit(size)
	if !ok {
		out.Dropped, out.Lost = QueueFull, len(m.Bytes)
		return out
	}
	t.before = before
	out.First, out.Last = t.start(before), t.end(before+size)
	return out
}

// maxTime bounds the scenario times accepted, s: 31 years, which leaves a float64 a resolution of 0.1 µs and keeps
// every instant within a time.Duration.
const maxTime = 1e9

// checkMessage refuses a message without a sensible due time, and one that cannot be sent as it asks.
func checkMessage(m *Message) error {
	if !(math.Abs(m.Due) <= maxTime) {
		return fmt.Errorf("line: message %s is due at %g s, allowed: a time within %g s of the scenario's start", m.Kind, m.Due, float64(maxTime))
	}
	switch {
	case m.Baud < 0 || m.Baud > MaxBaud:
		return fmt.Errorf("line: message %s is to be sent at %d baud, allowed: 1 to %d, or 0 for the line's own rate", m.Kind, m.Baud, MaxBaud)
	case !(m.Break.S >= 0 && m.Break.S <= maxWaitS) || m.Break.S > 0 && (m.Break.At < 0 || m.Break.At >= len(m.Bytes)):
		return fmt.Errorf("line: message %s of %d bytes has a break of %g s at byte %d, allowed: 0 s to %d s, at one of its bytes",
			m.Kind, len(m.Bytes), m.Break.S, m.Break.At, maxWaitS)
	case !(m.Adapter.LatencyS >= 0 && m.Adapter.LatencyS <= 1) || m.Adapter.Block < 0:
		return fmt.Errorf("line: message %s goes through an adapter with blocks of %d bytes and a timer of %g s, allowed: 0 bytes or more, 0 s to 1 s",
			m.Kind, m.Adapter.Block, m.Adapter.LatencyS)
	case !(m.HangUpS >= 0 && m.HangUpS <= maxWaitS):
		return fmt.Errorf("line: message %s hangs up for %g s, allowed: 0 s to %d s", m.Kind, m.HangUpS, maxWaitS)
	}
	return nil
}

// maxWaitS bounds breaks and absences, s: an hour.
const maxWaitS = 3600

// step is how many bytes are handed over at a time: single bytes up to 9600 baud, above that what is due in a
// millisecond.
//
// A step costs a wake-up of the host: single bytes at 115200 baud would cost eight times as much as millisecond
// steps, and the reader gets several of them merged anyway.
func (t *timetable) step() int64 {
	if t.baud <= 9600 {
		return 1
	}
	return max(int64(t.baud/t.bits/1000), 1)
}

// stepTo is how far the step goes that begins with byte done of a message of that size: not across a gap on the line.
func (t *timetable) stepTo(done, size int64) int64 {
	next := min(done+t.step(), size)
	if done <= t.breakAt {
		next = min(next, t.breakAt+1)
	}
	if t.depth > 0 {
		next = min(next, done+t.depth-t.slot(done)%t.depth)
	}
	return next
}
