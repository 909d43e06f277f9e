package nmea2000

import "bytes"

// An Adapter is the device side of a serial CAN adapter: what it answers to the commands of its consumer, and whether
// and how frames flow. The zero value is closed, at the 250 kbit/s of NMEA 2000, without time stamps. It is not for
// several goroutines.
//
// Source: slcanpty of can-utils and the Linux slcan driver. Where those leave it open the adapter is lenient: closing
// what is closed and opening what is open is accepted, and empty lines are passed over. It refuses a change of the speed
// while open, and what it does not know. An adapter set to another speed than that of the bus hears nothing, as a
// real one would, and its status says so.
type Adapter struct {
	Version string // four characters; "" is 1013, as slcanpty has it
	Serial  string // four characters; "" is 4242, as slcanpty has it
	// Heard is told each frame that the consumer puts on the bus; nil: nobody listens.
	Heard func(Frame)

	open, listen bool
	stamps, poll bool
	foreign      bool // not the speed of NMEA 2000
	missed       bool // frames were missed because of that, since the status was last asked for
	line         [MaxLine]byte
	n            int
	tooLong      bool
}

// Answers of the adapter.
const (
	accepted = '\r'
	refused  = '\a'
)

// speed250k is the digit behind S for 250 kbit/s. Source: Linux slcan driver.
const speed250k = '5'

// statusBusError is the bit of the status flags for errors on the bus. Source: from memory.
const statusBusError = 0x80

// Open tells whether the channel is open.
func (a *Adapter) Open() bool { return a.open }

// Flowing tells whether frames reach the consumer: the channel is open, at the speed of the bus.
func (a *Adapter) Flowing() bool { return a.open && !a.foreign }

// Handle takes the next bytes from the consumer, cut anywhere, and appends what the adapter answers to out.
func (a *Adapter) Handle(in []byte, out []byte) []byte {
	for _, c := range in {
		switch {
		case c == '\r':
			out = a.end(out)
		case c == '\n' && a.n == 0: // of a terminal that ends its lines with both
		case a.n == len(a.line):
			a.tooLong = true
		default:
			a.line[a.n] = c
			a.n++
		}
	}
	return out
}

// end answers the line that is whole now.
func (a *Adapter) end(out []byte) []byte {
	line, tooLong := a.line[:a.n], a.tooLong
	a.n, a.tooLong = 0, false
	switch {
	case tooLong:
		return append(out, refused)
	case len(line) == 0:
		return out
	}
	switch c := line[0]; c {
	case 't', 'T', 'r', 'R':
		return a.transmit(line, out)
	case 'V', 'N', 'F':
		if len(line) == 1 {
			return a.tell(c, out)
		}
	default:
		if a.command(line) {
			return append(out, accepted)
		}
	}
	return append(out, refused)
}

// command does what a line asks for that is answered with yes or no.
func (a *Adapter) command(line []byte) bool {
	c, rest := line[0], line[1:]
	switch c {
	case 'O', 'L':
		if len(rest) > 0 {
			return false
		}
		a.open, a.listen = true, c == 'L'
		return true
	case 'C':
		if len(rest) > 0 {
			return false
		}
		a.open = false
		return true
	case 'S':
		if a.open || len(rest) != 1 || rest[0] < '0' || rest[0] > '8' {
			return false
		}
		a.foreign = rest[0] != speed250k
		return true
	case 's': // the registers of a clock that nobody named: the consumer knows what it does
		if a.open || (len(rest) != 4 && len(rest) != 6) || !allHex(rest) {
			return false
		}
		a.foreign = false
		return true
	case 'M', 'm': // taken note of; all frames pass
		return !a.open && len(rest) == 8 && allHex(rest)
	case 'Z', 'X':
		if len(rest) != 1 || rest[0] != '0' && rest[0] != '1' {
			return false
		}
		if c == 'Z' {
			a.stamps = rest[0] == '1'
		} else {
			a.poll = rest[0] == '1'
		}
		return true
	}
	return false
}

// tell answers a question.
func (a *Adapter) tell(c byte, out []byte) []byte {
	out = append(out, c)
	switch c {
	case 'V':
		out = appendFour(out, a.Version, "1013")
	case 'N':
		out = appendFour(out, a.Serial, "4242")
	case 'F':
		var flags byte
		if a.missed {
			flags |= statusBusError
		}
		a.missed = false // asking clears them
		out = append(out, upper[flags>>4], upper[flags&15])
	}
	return append(out, accepted)
}

// appendFour appends the first four characters of s, or def in its place if it is empty.
func appendFour(out []byte, s, def string) []byte {
	if s == "" {
		s = def
	}
	return append(out, s[:min(len(s), 4)]...)
}

// transmit puts a frame of the consumer on the bus.
func (a *Adapter) transmit(line, out []byte) []byte {
	l, err := ParseLine(line)
	if err != nil || l.Stamped || !a.open || a.listen {
		return append(out, refused)
	}
	if a.foreign {
		a.missed = true // nobody acknowledges it
	} else if a.Heard != nil {
		a.Heard(l.Frame)
	}
	if a.poll {
		if l.Extended {
			out = append(out, 'Z')
		} else {
			out = append(out, 'z')
		}
	}
	return append(out, accepted)
}

// Send appends the lines of frames as the consumer gets them now: not at all while the channel is closed, with the time
// stamp, which is of ms, if it asked for those. Lines that are no frame, which a fault may have made of one, go as
// they are.
func (a *Adapter) Send(dst, lines []byte, ms uint64) []byte {
	if !a.Flowing() {
		a.missed = a.missed || a.open && len(lines) > 0
		return dst
	}
	if !a.stamps {
		return append(dst, lines...)
	}
	for len(lines) > 0 {
		i := bytes.IndexByte(lines, '\r')
		if i < 0 {
			return append(dst, lines...)
		}
		dst = append(dst, lines[:i]...)
		if l, err := ParseLine(lines[:i]); err == nil && !l.Stamped {
			dst = appendHex(dst, uint32(ms%stampModulus), 4)
		}
		dst = append(dst, '\r')
		lines = lines[i+1:]
	}
	return dst
}

func allHex(b []byte) bool {
	for _, c := range b {
		if nibbles[c] == 0xFF {
			return false
		}
	}
	return true
}
