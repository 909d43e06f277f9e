package mavlink

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
)

// The bytes of a frame. Source: MAVLink developer guide, packet serialization.
const (
	start1, start2   = 0xFE, 0xFD
	header1, header2 = 6, 10 // bytes before the payload
	checksumBytes    = 2
	signatureBytes   = 13 // link id, time stamp, signature
	flagSigned       = 0x01

	// Longest is the most bytes that a frame can have: version 2, signed.
	Longest = header2 + 255 + checksumBytes + signatureBytes
)

// A Version is that of the frame.
type Version uint8

// The versions.
const (
	V1 Version = 1
	V2 Version = 2
)

// A Header is what a frame says beside its message.
type Header struct {
	Version           Version
	Sequence          uint8
	System, Component uint8 // who speaks; 1 to 255
	Incompatible      uint8 // flags of version 2 that a reader must know: 1 is a signed frame, others are not known here
	Compatible        uint8 // flags of version 2 that a reader may leave aside
}

// A Message is one of the structs of this package, such as [*Attitude]: its fields are those of the wire, in their
// units, in the order of the open definitions.
type Message interface {
	Definition() *Definition
	// putPayload writes all fields in wire order, extension fields too; p has the full length.
	putPayload(p []byte)
	// parsePayload reads them; p has the full length.
	parsePayload(p []byte)
}

// AppendFrame writes a whole frame. It signs nothing: flag 1 of h.Incompatible is refused, as is any other, and an id
// above 255 in version 1.
//
// Version 1 sends no extension fields. Version 2 removes the zero bytes from the end of the payload, but for the first.
func AppendFrame(dst []byte, h Header, m Message) ([]byte, error) {
	d := m.Definition()
	switch {
	case h.Version != V1 && h.Version != V2:
		return dst, fmt.Errorf("mavlink: version is %d, allowed: 1 or 2", h.Version)
	case h.Version == V1 && d.ID > 0xFF:
		return dst, fmt.Errorf("mavlink: %s has the id %d, which version 1 cannot carry; use version 2", d.Name, d.ID)
	case h.Incompatible != 0 || h.Version == V1 && h.Compatible != 0:
		return dst, fmt.Errorf("mavlink: flags are 0x%02x and 0x%02x, allowed: none that change the frame, and none in version 1", h.Incompatible, h.Compatible)
	}
	from := len(dst)
	dst, p := room(dst, h.Version, d)
	m.putPayload(p)
	return finish(dst, from, &h, d), nil
}

// room makes dst longer by header and full payload, and gives the place of the payload.
func room(dst []byte, v Version, d *Definition) (_, payload []byte) {
	head := header2
	if v == V1 {
		head = header1
	}
	from := len(dst)
	dst = slices.Grow(dst, head+d.Full+checksumBytes)[:from+head+d.Full]
	return dst, dst[from+head:]
}

// finish writes the header of the frame that begins at from, cuts its payload and adds the checksum.
func finish(dst []byte, from int, h *Header, d *Definition) []byte {
	f := dst[from:]
	if h.Version == V1 {
		f = f[:header1+d.Base]
		f[0], f[1], f[2], f[3], f[4], f[5] = start1, byte(d.Base), h.Sequence, h.System, h.Component, byte(d.ID)
	} else {
		n := len(f)
		for n > header2+1 && f[n-1] == 0 {
			n--
		}
		f = f[:n]
		f[0], f[1], f[2], f[3], f[4] = start2, byte(n-header2), 0, h.Compatible, h.Sequence
		f[5], f[6], f[7], f[8], f[9] = h.System, h.Component, byte(d.ID), byte(d.ID>>8), byte(d.ID>>16)
	}
	c := crc(crcStart, f[1:])
	c = c>>8 ^ crcTables[0][byte(c)^d.CRCExtra]
	return append(dst[:from+len(f)], byte(c), byte(c>>8))
}

// Errors that a [FrameError] wraps.
var (
	ErrShort    = errors.New("cut off")
	ErrStart    = errors.New("no start byte")
	ErrUnknown  = errors.New("unknown message id: its checksum cannot be proven")
	ErrLength   = errors.New("length")
	ErrFlag     = errors.New("unknown incompatibility flag")
	ErrChecksum = errors.New("checksum")
)

// A FrameError says why bytes are no frame, or none that this package has the message of.
type FrameError struct {
	Message string // its name, if that is known
	Err     error
}

// Error says what is wrong.
func (e *FrameError) Error() string {
	if e.Message == "" {
		return "mavlink: frame: " + e.Err.Error()
	}
	return "mavlink: frame of " + e.Message + ": " + e.Err.Error()
}

// Unwrap gives one of the errors above.
func (e *FrameError) Unwrap() error { return e.Err }

// Parse reads one frame that fills b. Its error is a [*FrameError]. A signature is passed over, not checked.
//
// A payload of version 2 that is shorter than the message is filled up with zeros, one that is longer is of a later
// edition of the definitions: what is over is passed over. In version 1 extension fields should not be there: they are
// not read.
func Parse(b []byte) (Header, Message, error) {
	f, err := one(b)
	switch {
	case err != nil:
		return f.Header, nil, err
	case f.row == nil:
		return f.Header, nil, &FrameError{f.name(), errors.New("a message of which only the name is known")}
	}
	m := f.row.New()
	p := f.full()
	m.parsePayload(p[:])
	return f.Header, m, nil
}

// A packet is a frame taken apart.
type packet struct {
	Header
	id      uint32
	known   *known // nil: the id is not known
	row     *Row   // nil: only the known is known
	payload []byte // as sent
	total   int    // of bytes, signature included; 0 until the length is known
}

func (f *packet) name() string {
	if f.known == nil {
		return ""
	}
	return f.known.name
}

// A fullPayload holds the payload of any message of this package. It is an array, so that it stays where it is made.
type fullPayload [64]byte

// full gives the payload in full length, filled up with zeros. In version 1 there are no extension fields.
func (f *packet) full() (p fullPayload) {
	sent := f.payload
	if f.Version == V1 {
		sent = sent[:min(len(sent), f.row.Base)]
	}
	copy(p[:f.row.Full], sent)
	return p
}

// one takes apart the frame that fills b.
func one(b []byte) (packet, error) {
	f, why := split(b)
	if why == nil && f.total != len(b) {
		why = fmt.Errorf("%w: the frame has %d bytes of %d", ErrLength, f.total, len(b))
	}
	if why != nil {
		return f, &FrameError{f.name(), why}
	}
	return f, nil
}

// split takes apart the frame that begins at b, which may go on behind it. ErrShort: more bytes are needed, f.total of
// them as far as is known. With any other error the frame is not one; f.total is its length if it was proven to be meant
// as one or at least looks like it, else 0.
func split(b []byte) (f packet, err error) {
	if len(b) == 0 {
		return f, ErrShort
	}
	head, signed := header1, 0
	switch b[0] {
	case start1:
		f.Version = V1
		if len(b) < header1 {
			return f, ErrShort
		}
		f.Sequence, f.System, f.Component, f.id = b[2], b[3], b[4], uint32(b[5])
	case start2:
		f.Version, head = V2, header2
		if len(b) < header2 {
			return f, ErrShort
		}
		f.Incompatible, f.Compatible, f.Sequence, f.System, f.Component = b[2], b[3], b[4], b[5], b[6]
		f.id = uint32(b[7]) | uint32(b[8])<<8 | uint32(b[9])<<16
		if f.Incompatible&flagSigned != 0 {
			signed = signatureBytes
		}
	default:
		return f, ErrStart
	}
	n := int(b[1])
	if f.known = knownByID(f.id); f.known == nil {
		return f, ErrUnknown
	}
	f.row = rowByID(f.id)
	if f.Version == V1 && (n < int(f.known.base) || n > int(f.known.full)) {
		return f, ErrLength
	}
	end := head + n
	f.total = end + checksumBytes + signed
	if len(b) < f.total {
		return f, ErrShort
	}
	f.payload = b[head:end]
	c := crc(crcStart, b[1:end])
	c = c>>8 ^ crcTables[0][byte(c)^f.known.crcExtra]
	if c != binary.LittleEndian.Uint16(b[end:]) {
		return f, ErrChecksum
	}
	if f.Incompatible&^flagSigned != 0 {
		return f, ErrFlag
	}
	return f, nil
}
