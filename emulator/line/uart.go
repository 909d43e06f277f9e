package line

import (
	"errors"
	"fmt"
	"math"
)

// A Policy is what the driver of a receiver hands on for a byte with a parity or framing error, and for a break.
//
// Source: termios(3) for what the flags mean. That a Linux driver looks at the errors only where INPCK is set, and hands
// the byte on as it was sampled where it is not, is from memory of its serial drivers and of the terminal layer's raw
// path; programs that open a port raw and without parity leave INPCK unset, so KeepErrored is the zero Policy.
type Policy int

// The policies.
const (
	KeepErrored Policy = iota // as sampled; a break is one 00 (raw mode: INPCK is not set)
	ZeroErrored               // as 00 (INPCK is set, IGNPAR and PARMRK are not)
	DropErrored               // not at all; a break is one 00 (INPCK and IGNPAR)
	MarkErrored               // after FF 00; a break is FF 00 00, a sound FF is FF FF (INPCK and PARMRK)
)

var policyNames = [...]string{"keep", "zero", "drop", "mark"}

// String gives the word for the policy.
func (p Policy) String() string {
	if p < 0 || int(p) >= len(policyNames) {
		return fmt.Sprintf("policy(%d)", int(p))
	}
	return policyNames[p]
}

// AppendByte appends what the driver hands on for a received byte. Of 9 data bits it hands on the low 8.
func (p Policy) AppendByte(dst []byte, x Received) []byte {
	bad := x.FramingError || x.ParityError
	switch {
	case p == MarkErrored && x.Break:
		return append(dst, 0xFF, 0, 0)
	case x.Break:
		return append(dst, 0)
	case p == MarkErrored && bad:
		return append(dst, 0xFF, 0, byte(x.Value))
	case p == MarkErrored && byte(x.Value) == 0xFF:
		return append(dst, 0xFF, 0xFF)
	case p == DropErrored && bad:
		return dst
	case p == ZeroErrored && bad:
		return append(dst, 0)
	}
	return append(dst, byte(x.Value))
}

// A Received is one byte as a receiver made it out.
type Received struct {
	Value        uint16  // 5 to 9 data bits
	Start        float64 // when its start bit's falling edge came, s
	Time         float64 // when the receiver had it: at its look at the stop bit, s
	FramingError bool    // no stop bit where one should be
	ParityError  bool
	Break        bool // low all the way, parity and stop bit too; FramingError is set as well
	FalseStarts  int  // low pulses shorter than half a bit that came before it
	Whole        bool // it is the byte that was sent: the same start bit, the same bits, no error
}

// edgeSlack is how near to an edge a look sees the level after the edge, in bit times of the receiver. See [Receiver].
const edgeSlack = 1.0 / 1024

var negInf, posInf = math.Inf(-1), math.Inf(1)

// A Receiver is a UART that listens to a transmitter of other settings: the waveform of what is sent, bit by bit, looked
// at when this receiver looks. Feed it what happens on the wire in order of time; take what it received with Next.
//
// The receiver is the ideal one: it waits for a falling edge, looks half a bit time later whether the line is still low
// (if not it was a false start), then at the middle of each data bit, of the parity bit and of the first stop bit,
// counted from that edge; then it waits for the next falling edge after the last look. Real chips take 16 samples a bit
// and see an edge up to 1/16 of a bit late, at a phase that nobody knows; the ideal one has no phase, so that one seed
// gives one stream of bytes, and it is what other decoders of recorded waveforms do.
//
// A look that falls on an edge, to within 1/1024 of a bit, sees the level after the edge, and the edge counts as before the
// look. So it is where the receiver runs at exactly 1/2, 1/4, 1/8 of the transmitter's rate; on a real wire either level may
// be seen, and nothing but "not the text that was sent" should be made of it.
//
// Nothing is allocated once its queue has grown to what one byte brings. It is not for several goroutines.
type Receiver struct {
	// Policy is what its driver hands on for bytes with errors.
	Policy Policy

	txBit         float64 // s
	txData        int
	txParity      Parity
	txStop        float64
	rxBit         float64
	rxData        int
	rxParity      Parity
	looks         int     // of a frame: start, data, parity, first stop bit
	from          float64 // it hears nothing before, s
	known         float64 // until then it knows the line, s
	low           bool    // the line is low there
	framing       bool    // within a frame
	edge          float64 // the falling edge of the frame, s
	look          int     // the look that comes next: 0 is the start bit
	bits          uint16  // data and parity bits so far
	one           bool    // any bit of the frame was high
	parityError   bool
	falseStarts   int
	sentAt        float64 // the byte that is being fed
	sent          uint16
	expect        uint16 // what the frame should bring
	expected      bool   // the frame began with the byte's own start bit
	received      []Received
	receivedTaken int
}

// NewReceiver makes a receiver of settings rx that listens to a transmitter of settings tx, from the beginning of time on.
func NewReceiver(tx, rx Settings, policy Policy) (*Receiver, error) {
	if err := errors.Join(tx.Validate(), rx.Validate()); err != nil {
		return nil, err
	}
	if policy < KeepErrored || policy > MarkErrored {
		return nil, fmt.Errorf("line: policy is number %d, allowed: 0 to %d (keep, zero, drop, mark)", int(policy), int(MarkErrored))
	}
	r := &Receiver{Policy: policy}
	r.setTransmitter(tx)
	r.listen(rx, negInf)
	return r, nil
}

// setTransmitter says how the bytes fed from now on are sent.
func (r *Receiver) setTransmitter(tx Settings) {
	tx = tx.withDefaults()
	r.txBit, r.txData, r.txParity, r.txStop = 1/float64(tx.Baud), tx.DataBits, tx.Parity, tx.StopBits
}

// listen makes it a receiver of settings rx that hears nothing before from and has received nothing.
func (r *Receiver) listen(rx Settings, from float64) {
	rx = rx.withDefaults()
	r.rxBit, r.rxData, r.rxParity = 1/float64(rx.Baud), rx.DataBits, rx.Parity
	r.looks = rx.DataBits + 2
	if rx.Parity != ParityNone {
		r.looks++
	}
	r.from, r.known = from, from
	r.low, r.framing, r.falseStarts, r.expected = false, false, 0, false
	r.received, r.receivedTaken = r.received[:0], 0
}

// Byte feeds one byte whose start bit begins at start, s, not before what was fed last has ended; the line was idle
// between.
func (r *Receiver) Byte(start float64, b byte) {
	r.Idle(start)
	value := uint16(b) & (1<<r.txData - 1)
	r.sentAt, r.sent = start, value
	// Bit times are multiplied, not added up.
	n := 0
	bit := func(high bool) {
		r.level(start+float64(n)*r.txBit, start+float64(n+1)*r.txBit, !high)
		n++
	}
	bit(false)
	for i := range r.txData {
		bit(value>>i&1 != 0)
	}
	if r.txParity != ParityNone {
		bit(parityBit(r.txParity, value))
	}
	at := start + float64(n)*r.txBit
	r.level(at, at+r.txStop*r.txBit, false)
}

// Low feeds a low level of that length, s: a break, or a disturbance.
func (r *Receiver) Low(start, length float64) {
	r.Idle(start)
	r.sentAt = negInf
	r.level(start, start+length, true)
}

// Idle says that nothing is on the line until then.
func (r *Receiver) Idle(until float64) {
	if until > r.known {
		r.level(r.known, until, false)
	}
}

// Waiting is until when the line must be known for the frame that is being received to be complete, s; false between
// frames.
func (r *Receiver) Waiting() (float64, bool) {
	return r.lookTime(r.looks-1) + 2*edgeSlack*r.rxBit, r.framing
}

// Next gives what was received next, or false where more must be fed first.
func (r *Receiver) Next() (Received, bool) {
	if r.receivedTaken == len(r.received) {
		r.received, r.receivedTaken = r.received[:0], 0
		return Received{}, false
	}
	r.receivedTaken++
	return r.received[r.receivedTaken-1], true
}

// lookTime is when the receiver looks at bit n of the frame.
func (r *Receiver) lookTime(n int) float64 { return r.edge + (float64(n)+0.5)*r.rxBit }

// level takes the line from a to b at one level.
func (r *Receiver) level(a, b float64, low bool) {
	if b <= a {
		return
	}
	r.known = b
	if a < r.from { // what was before the receiver listened shows no edge
		r.low = low
		if b <= r.from {
			return
		}
	}
	if !r.framing && low && !r.low {
		r.begin(a)
	}
	r.low = low
	for r.framing && r.lookTime(r.look) < b-edgeSlack*r.rxBit {
		r.see(low)
	}
}

// begin begins a frame at a falling edge.
func (r *Receiver) begin(edge float64) {
	r.framing, r.edge, r.look = true, edge, 0
	r.bits, r.one, r.parityError = 0, false, false
	r.expect, r.expected = r.sent, edge == r.sentAt
}

// see is one look at the line.
func (r *Receiver) see(low bool) {
	n := r.look
	r.look++
	r.one = r.one || !low
	switch {
	case n == 0:
		if !low {
			r.framing = false
			r.falseStarts++
		}
	case n <= r.rxData:
		if !low {
			r.bits |= 1 << (n - 1)
		}
	case n < r.looks-1:
		r.parityError = parityBit(r.rxParity, r.bits) == low
	default:
		x := Received{Value: r.bits, Start: r.edge, Time: r.lookTime(n), FramingError: low, ParityError: r.parityError,
			Break: !r.one, FalseStarts: r.falseStarts}
		if x.Break {
			x.ParityError = false // nothing was sent whose parity could be wrong
		}
		x.Whole = r.expected && x.Value == r.expect && !x.FramingError && !x.ParityError
		r.received = append(r.received, x)
		r.framing, r.falseStarts = false, 0
	}
}

// parityBit is the parity bit of a value; true is high.
func parityBit(p Parity, value uint16) bool {
	odd := false
	for ; value != 0; value &= value - 1 {
		odd = !odd
	}
	switch p {
	case ParityEven:
		return odd
	case ParityOdd:
		return !odd
	default:
		return p == ParityMark
	}
}
