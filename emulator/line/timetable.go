package line

import (
	"fmt"
	"math"
)

// A timetable says when each byte leaves. Virtual and real time use the same, and so agree.
//
// While the line is busy without a gap, all times are counted from the first start bit of that busy stretch: byte n
// of it has left at begin + n*bits/baud. Periods are never added up, so that errors do not either.
type timetable struct {
	bits, baud float64 // bit times a byte, bits a second
	queue      int     // room for bytes that wait, bytes

	begin float64 // the first start bit of the busy stretch, s
	count int64   // bytes of the stretch that the line has accepted
	clock float64 // the device's time: the latest due time seen, s; a message due before (a fault can do that) is due now
}

func newTimetable(s Settings) *timetable {
	s = s.withDefaults()
	return &timetable{bits: s.BitsPerByte(), baud: float64(s.Baud), queue: s.Queue, begin: math.Inf(-1), clock: math.Inf(-1)}
}

// end is when the n-th byte of the busy stretch has left, its last stop bit included; n = 0 is the stretch's begin.
func (t *timetable) end(n int64) float64 {
	// A quotient is no product: no compiler fuses it with the sum, and all processors give the same last bit.
	return t.begin + float64(n)*t.bits/t.baud
}

// admit puts a message of size bytes on the line, at the device's time. It returns how many bytes of the busy
// stretch go before it; ok is false where the queue has no room for it.
func (t *timetable) admit(size int) (before int64, ok bool) {
	if free := t.end(t.count); t.clock >= free {
		t.begin, t.count = t.clock, int64(size)
		return 0, true
	}
	if t.waiting()+int64(size) > int64(t.queue) {
		return 0, false
	}
	before = t.count
	t.count += int64(size)
	return before, true
}

// waiting is how many accepted bytes have not left at the device's time. Only for a busy line.
func (t *timetable) waiting() int64 {
	left := int64(math.Floor((t.clock - t.begin) * t.baud / t.bits))
	left = min(max(left, 0), t.count)
	// The division may round across a byte's end by one; the schedule itself decides.
	for left < t.count && t.end(left+1) <= t.clock {
		left++
	}
	for left > 0 && t.end(left) > t.clock {
		left--
	}
	return t.count - left
}

// maxTime bounds the scenario times accepted, s: 31 years, which leaves a float64 a resolution of 0.1 µs and keeps
// every instant within a time.Duration.
const maxTime = 1e9

// checkDue refuses a message without a sensible due time.
func checkDue(m *Message) error {
	if !(math.Abs(m.Due) <= maxTime) {
		return fmt.Errorf("line: message %s is due at %g s, allowed: a time within %g s of the scenario's start", m.Kind, m.Due, float64(maxTime))
	}
	return nil
}

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
