package port

import "bytes"

// Telnet, RFC 854 and 855: commands and the options that are understood here.
const (
	iac  = 255
	dont = 254
	do   = 253
	wont = 252
	will = 251
	sb   = 250
	brk  = 243
	nop  = 241
	ayt  = 246
	se   = 240

	optBinary  = 0  // RFC 856
	optSGA     = 3  // suppress go-ahead, RFC 858
	optComPort = 44 // RFC 2217
)

// An agreement is how far the two sides have come about one option of one side.
type agreement int

const (
	off agreement = iota
	offered
	on
)

// A telnet is the device's end of one Telnet connection, without any input or output of its own: what comes in goes
// through receive, what goes out through escape.
//
// Negotiation is that of RFC 854 with the rule of RFC 1143 that a state already agreed is not answered, so that two
// programs cannot keep each other busy.
type telnet struct {
	// sub is told of a complete subnegotiation, option first. What it returns is sent.
	sub func(dst, p []byte) []byte
	// agreed is told of an option that is now in force, ours or theirs. What it returns is sent.
	agreed func(dst []byte, option byte) []byte

	ours, theirs [256]agreement
	state        func(t *telnet, dst *[]byte, data *[]byte, b byte)
	verb         byte   // of the negotiation just coming in
	par          []byte // the subnegotiation just coming in
	tooLong      bool
	wasCR        bool // the last byte in was a CR, not in binary
	sentCR       bool // the last byte out was a CR, not in binary
}

// longestSub bounds a subnegotiation: what is longer is passed over.
const longestSub = 1024

// supported tells which options may be in force on either side.
func supported(option byte) bool {
	return option == optBinary || option == optSGA || option == optComPort
}

// begin appends what is offered at the start: binary both ways, and COM port control.
func (t *telnet) begin(dst []byte) []byte {
	for _, o := range []byte{optBinary, optSGA} {
		t.ours[o], t.theirs[o] = offered, offered
		dst = append(dst, iac, will, o, iac, do, o)
	}
	t.theirs[optComPort] = offered
	return append(dst, iac, do, optComPort)
}

// receive takes what came in, appends the data in it to data and what is to be sent at once to dst. Any bytes will do;
// pieces may be cut anywhere.
func (t *telnet) receive(dst, data, p []byte) (_, _ []byte) {
	for _, b := range p {
		if t.state == nil {
			t.state = (*telnet).inData
		}
		t.state(t, &dst, &data, b)
	}
	return dst, data
}

func (t *telnet) inData(_, data *[]byte, b byte) {
	wasCR := t.wasCR
	t.wasCR = b == '\r' && t.theirs[optBinary] != on
	switch {
	case b == iac:
		t.state = (*telnet).inCommand
	case b == 0 && wasCR: // CR NUL is a bare CR
	default:
		*data = append(*data, b)
	}
}

func (t *telnet) inCommand(dst, data *[]byte, b byte) {
	t.state = (*telnet).inData
	switch b {
	case iac:
		*data = append(*data, b)
	case will, wont, do, dont:
		t.verb = b
		t.state = (*telnet).inOption
	case sb:
		t.par, t.tooLong = t.par[:0], false
		t.state = (*telnet).inSub
	case ayt: // an answer that is not taken for data
		*dst = append(*dst, iac, nop)
	}
}

func (t *telnet) inOption(dst, _ *[]byte, option byte) {
	t.state = (*telnet).inData
	side, yes, no := &t.ours[option], byte(will), byte(wont)
	if t.verb == will || t.verb == wont {
		side, yes, no = &t.theirs[option], do, dont
	}
	before := *side
	switch {
	case t.verb == wont || t.verb == dont:
		if *side == on {
			*dst = append(*dst, iac, no, option)
		}
		*side = off
	case !supported(option):
		*dst = append(*dst, iac, no, option)
	default:
		if *side == off {
			*dst = append(*dst, iac, yes, option)
		}
		*side = on
		if before != on && t.agreed != nil {
			*dst = t.agreed(*dst, option)
		}
	}
}

func (t *telnet) inSub(_, _ *[]byte, b byte) {
	if b == iac {
		t.state = (*telnet).inSubCommand
		return
	}
	t.addSub(b)
}

func (t *telnet) addSub(b byte) {
	if len(t.par) >= longestSub {
		t.tooLong = true
		return
	}
	t.par = append(t.par, b)
}

func (t *telnet) inSubCommand(dst, data *[]byte, b byte) {
	switch b {
	case iac:
		t.addSub(b)
		t.state = (*telnet).inSub
	case se:
		t.state = (*telnet).inData
		if len(t.par) > 0 && !t.tooLong && t.sub != nil {
			*dst = t.sub(*dst, t.par)
		}
	default: // it never ended: what comes is a command of its own
		t.inCommand(dst, data, b)
	}
}

// escape appends data as it goes over the wire, as much of it as needs no more than room bytes, and tells how much
// that was.
func (t *telnet) escape(dst, data []byte, room int) ([]byte, int) {
	for i, b := range data {
		need := 1
		pad := t.sentCR && b != '\n'
		if pad {
			need++
		}
		if b == iac {
			need++
		}
		if room -= need; room < 0 {
			return dst, i
		}
		if pad {
			dst = append(dst, 0)
		}
		if b == iac {
			dst = append(dst, iac)
		}
		dst = append(dst, b)
		t.sentCR = b == '\r' && t.ours[optBinary] != on
	}
	return dst, len(data)
}

// subnegotiation appends one, option first in p.
func subnegotiation(dst []byte, p ...byte) []byte {
	dst = append(dst, iac, sb)
	dst = append(dst, bytes.ReplaceAll(p, []byte{iac}, []byte{iac, iac})...)
	return append(dst, iac, se)
}
