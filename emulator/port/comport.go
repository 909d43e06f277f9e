package port

import (
	"encoding/binary"

	"swellbench/emulator/line"
)

// Commands of RFC 2217 as a client gives them; the answer's number is higher by answer.
const (
	cmdSignature   = 0
	cmdBaud        = 1
	cmdDataSize    = 2
	cmdParity      = 3
	cmdStopSize    = 4
	cmdControl     = 5
	cmdLineState   = 6
	cmdModemState  = 7
	cmdSuspend     = 8
	cmdResume      = 9
	cmdLineMask    = 10
	cmdModemMask   = 11
	cmdPurge       = 12
	comPortAnswer  = 100
	purgeReceived  = 1 // what has come from the device and not gone to the client
	purgeToDevice  = 2
	purgeBoth      = 3
	modemConnected = 0xB0 // carrier detect, data set ready, clear to send: a device is there
)

// Bits of a line state, RFC 2217 as the 16550 has them.
const (
	LineOverrun    = 2
	LineParity     = 4
	LineFraming    = 8
	LineBreak      = 16
	lineTxEmpty    = 64 | 32
	signature      = "swellbench"
	controlUnknown = 0
)

// parities is line.Parity by its number in RFC 2217, and stops the stop bits by theirs; index 0 is a question.
var (
	parities = [...]line.Parity{1: line.ParityNone, 2: line.ParityOdd, 3: line.ParityEven, 4: line.ParityMark, 5: line.ParitySpace}
	stops    = [...]float64{1: 1, 2: 2, 3: 1.5}
)

// A comPort is the device's end of a connection with COM port control: it answers for a serial port whose other side
// the client is, and knows how the client wants that port set.
type comPort struct {
	telnet
	set      line.Settings // in force
	chosen   bool          // the client has set any of them
	outFlow  byte          // the value of SET-CONTROL that is in force, 1 is none
	inFlow   byte
	breaking bool
	dtr, rts bool
	lineMask byte
	modMask  byte
	greeted  bool

	// What these say is done by the port.
	suspend func(bool)
	purge   func(received, toDevice bool)
}

// newComPort begins with the port set as given.
func newComPort(set line.Settings) *comPort {
	if set.Baud == 0 {
		set.Baud = 9600
	}
	if set.DataBits == 0 {
		set.DataBits = 8
	}
	if set.StopBits == 0 {
		set.StopBits = 1
	}
	c := &comPort{set: set, outFlow: 1, inFlow: 14, dtr: true, rts: true, modMask: 255,
		suspend: func(bool) {}, purge: func(bool, bool) {}}
	c.sub, c.agreed = c.command, c.greet
	return c
}

// greet tells the state of the modem lines, once the two sides have agreed on COM port control.
func (c *comPort) greet(dst []byte, option byte) []byte {
	if option != optComPort || c.greeted {
		return dst
	}
	c.greeted = true
	return c.modemState(dst)
}

func (c *comPort) modemState(dst []byte) []byte {
	return comPortReply(dst, cmdModemState, modemConnected&c.modMask)
}

// comPortReply appends an answer, or a notice.
func comPortReply(dst []byte, cmd byte, value ...byte) []byte {
	return subnegotiation(dst, append([]byte{optComPort, cmd + comPortAnswer}, value...)...)
}

// command does one command and appends the answer: the value in force then. One that makes no sense, or is longer or
// shorter than it should be, changes nothing and is not answered; a value that no port can have is answered with the
// one in force.
func (c *comPort) command(dst, p []byte) []byte {
	if len(p) < 2 || p[0] != optComPort {
		return dst
	}
	cmd, value := p[1], p[2:]
	switch cmd {
	case cmdSignature:
		if len(value) > 0 {
			return dst // theirs
		}
		return comPortReply(dst, cmd, []byte(signature)...)
	case cmdBaud:
		if len(value) != 4 {
			return dst
		}
		return c.setBaud(dst, binary.BigEndian.Uint32(value))
	case cmdSuspend, cmdResume:
		c.suspend(cmd == cmdSuspend)
		return dst
	}
	if len(value) != 1 {
		return dst
	}
	return c.oneByte(dst, cmd, value[0])
}

func (c *comPort) setBaud(dst []byte, baud uint32) []byte {
	if baud > 0 && baud <= line.MaxBaud {
		c.set.Baud, c.chosen = int(baud), true
	}
	return comPortReply(dst, cmdBaud, binary.BigEndian.AppendUint32(nil, uint32(c.set.Baud))...)
}

// oneByte does the commands whose value is one byte.
func (c *comPort) oneByte(dst []byte, cmd, v byte) []byte {
	switch cmd {
	case cmdDataSize:
		if v >= 5 && v <= 8 {
			c.set.DataBits, c.chosen = int(v), true
		}
		return comPortReply(dst, cmd, byte(c.set.DataBits))
	case cmdParity:
		if v > 0 && int(v) < len(parities) {
			c.set.Parity, c.chosen = parities[v], true
		}
		return comPortReply(dst, cmd, indexOf(parities[:], c.set.Parity))
	case cmdStopSize:
		if v > 0 && int(v) < len(stops) {
			c.set.StopBits, c.chosen = stops[v], true
		}
		return comPortReply(dst, cmd, indexOf(stops[:], c.set.StopBits))
	case cmdControl:
		if v = c.control(v); v != controlUnknown {
			return comPortReply(dst, cmd, v)
		}
	case cmdLineState:
		return comPortReply(dst, cmd, lineTxEmpty&c.lineMask)
	case cmdModemState:
		return c.modemState(dst)
	case cmdLineMask:
		c.lineMask = v
		return comPortReply(dst, cmd, v)
	case cmdModemMask:
		c.modMask = v
		return comPortReply(dst, cmd, v)
	case cmdPurge:
		if v >= purgeReceived && v <= purgeBoth {
			c.purge(v != purgeToDevice, v != purgeReceived)
			return comPortReply(dst, cmd, v)
		}
	}
	return dst
}

// indexOf is the number of a value; index 0 is no value.
func indexOf[T comparable](all []T, v T) byte {
	for i := 1; i < len(all); i++ {
		if all[i] == v {
			return byte(i)
		}
	}
	return 1
}

// control does a SET-CONTROL and returns the value in force; controlUnknown for one that RFC 2217 does not have. Flow
// control is noted and holds nothing up: the device has none. A break and the modem lines are noted.
func (c *comPort) control(v byte) byte {
	choose := func(yes bool, a, b byte) byte {
		if yes {
			return a
		}
		return b
	}
	switch v {
	case 1, 2, 3: // both ways
		c.outFlow, c.inFlow = v, v+13
	case 17, 19:
		c.outFlow = v
	case 14, 15, 16, 18:
		c.inFlow = v
	case 5, 6:
		c.breaking = v == 5
	case 8, 9:
		c.dtr = v == 8
	case 11, 12:
		c.rts = v == 11
	}
	switch {
	case v <= 3 || v == 17 || v == 19:
		return c.outFlow
	case v <= 6:
		return choose(c.breaking, 5, 6)
	case v <= 9:
		return choose(c.dtr, 8, 9)
	case v <= 12:
		return choose(c.rts, 11, 12)
	case v <= 18:
		return c.inFlow
	}
	return controlUnknown
}

// lineState appends a notice of what happened on the line, where the client wants to know of it.
func (c *comPort) lineState(dst []byte, bits byte) []byte {
	if bits &= c.lineMask; bits == 0 {
		return dst
	}
	return comPortReply(dst, cmdLineState, bits)
}
