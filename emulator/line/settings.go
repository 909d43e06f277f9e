package line

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Parity is what the parity bit of a byte makes of the count of ones.
type Parity int

// The parities. Mark is always 1, space always 0.
const (
	ParityNone Parity = iota
	ParityOdd
	ParityEven
	ParityMark
	ParitySpace
)

var parityNames = [...]string{"none", "odd", "even", "mark", "space"}

// String gives the word used in files.
func (p Parity) String() string {
	if p < 0 || int(p) >= len(parityNames) {
		return fmt.Sprintf("parity(%d)", int(p))
	}
	return parityNames[p]
}

// ParseParity reads the word that [Parity.String] writes; "" is none.
func ParseParity(s string) (Parity, error) {
	if s == "" {
		return ParityNone, nil
	}
	for i, n := range parityNames {
		if n == s {
			return Parity(i), nil
		}
	}
	return ParityNone, fmt.Errorf("line: parity is %q, allowed: %s", s, strings.Join(parityNames[:], ", "))
}

// DefaultQueue is the room of a device's transmit queue where Settings says nothing: 4096 bytes, some fifty
// sentences of full length. Common practice, no source.
const DefaultQueue = 4096

// MaxBaud is the fastest rate accepted, far above what a serial line carries.
const MaxBaud = 100_000_000

// Settings is how the device's serial line is set up.
//
// What does not fit the baud rate waits in a queue of the device: a message that finds the line busy and the queue
// without room for the whole of it is dropped whole, never cut. The message being sent counts by the bytes of it
// that have not left yet.
type Settings struct {
	Baud     int     // bits a second: 300 to 921600 or any other positive rate
	DataBits int     // 5 to 9; 0 is 8
	Parity   Parity  // the zero Parity is none
	StopBits float64 // 1, 1.5 or 2; 0 is 1
	Queue    int     // room of the transmit queue, bytes; 0 is DefaultQueue

	// FIFO is the room of the transmitter's FIFO, bytes; 16 is usual. The processor fills it when it has run empty,
	// RefillS after that; the byte on its way out covers some of it, the rest is a gap on the line after every FIFO
	// bytes of a busy stretch. 0 is a processor that is never late.
	FIFO    int
	RefillS float64
}

// Validate reports all that is wrong with the settings at once.
func (s Settings) Validate() error {
	var errs []error
	if s.Baud <= 0 || s.Baud > MaxBaud {
		errs = append(errs, fmt.Errorf("line: baud is %d, allowed: a positive rate up to %d, such as 4800, 38400 or 115200",
			s.Baud, MaxBaud))
	}
	if s.DataBits != 0 && (s.DataBits < 5 || s.DataBits > 9) {
		errs = append(errs, fmt.Errorf("line: data bits are %d, allowed: 5 to 9 (0 is 8)", s.DataBits))
	}
	if s.Parity < ParityNone || s.Parity > ParitySpace {
		errs = append(errs, fmt.Errorf("line: parity is number %d, allowed: %s", int(s.Parity), strings.Join(parityNames[:], ", ")))
	}
	switch s.StopBits {
	case 0, 1, 1.5, 2:
	default:
		errs = append(errs, fmt.Errorf("line: stop bits are %g, allowed: 1, 1.5, 2 (0 is 1)", s.StopBits))
	}
	if s.Queue < 0 {
		errs = append(errs, fmt.Errorf("line: queue is %d bytes, allowed: 0 (the default, %d bytes) or more", s.Queue, DefaultQueue))
	}
	if s.FIFO < 0 || s.FIFO > maxFIFO {
		errs = append(errs, fmt.Errorf("line: FIFO is %d bytes, allowed: 0 (none that matters) to %d; 16 is usual", s.FIFO, maxFIFO))
	}
	if !(s.RefillS >= 0 && s.RefillS <= maxRefillS) {
		errs = append(errs, fmt.Errorf("line: the FIFO is refilled after %g s, allowed: 0 s to %g s", s.RefillS, float64(maxRefillS)))
	} else if s.RefillS > 0 && s.FIFO == 0 {
		errs = append(errs, fmt.Errorf("line: the FIFO is refilled after %g s, but there is none; give it a depth, such as 16 bytes", s.RefillS))
	}
	return errors.Join(errs...)
}

// Bounds of the FIFO: the largest ones made hold a few hundred bytes (from memory).
const (
	maxFIFO    = 4096
	maxRefillS = 1
)

// withDefaults returns the settings with nothing left at zero that has a default.
func (s Settings) withDefaults() Settings {
	if s.DataBits == 0 {
		s.DataBits = 8
	}
	if s.StopBits == 0 {
		s.StopBits = 1
	}
	if s.Queue == 0 {
		s.Queue = DefaultQueue
	}
	return s
}

// rateTolerance is by how much a receiver's rate may be off and still read every byte, with any format: the look at the
// stop bit of the longest frame, 11.5 bit times after the edge, then comes 0.23 of a bit too early or too late.
const rateTolerance = 0.02

// compatible tells whether a receiver of settings rx reads all that is sent as it was sent. Stop bits do not matter: a
// receiver looks at the first one only.
func (s Settings) compatible(rx Settings) bool {
	s, rx = s.withDefaults(), rx.withDefaults()
	return s.DataBits == rx.DataBits && s.Parity == rx.Parity &&
		math.Abs(float64(rx.Baud)-float64(s.Baud)) <= rateTolerance*float64(s.Baud)
}

// BitsPerByte is how many bit times one byte takes: start bit, data bits, parity bit if any, stop bits.
func (s Settings) BitsPerByte() float64 {
	s = s.withDefaults()
	bits := 1 + float64(s.DataBits) + s.StopBits
	if s.Parity != ParityNone {
		bits++
	}
	return bits
}

// ByteTime is how long one byte takes, s; +Inf where the baud rate is not positive.
func (s Settings) ByteTime() float64 {
	if s.Baud <= 0 {
		return math.Inf(1)
	}
	return s.BitsPerByte() / float64(s.Baud)
}

// String writes the settings as the trade does: "4800 8N1".
func (s Settings) String() string {
	s = s.withDefaults()
	letter := byte('?')
	if s.Parity >= ParityNone && s.Parity <= ParitySpace {
		letter = "NOEMS"[s.Parity]
	}
	return fmt.Sprintf("%d %d%c%g", s.Baud, s.DataBits, letter, s.StopBits)
}

// SettingsOf makes settings of what a file says, validated; all that is wrong is reported at once.
func SettingsOf(baud, dataBits int, parity string, stopBits float64) (Settings, error) {
	p, err := ParseParity(parity)
	s := Settings{Baud: baud, DataBits: dataBits, Parity: p, StopBits: stopBits}
	return s, errors.Join(err, s.Validate())
}

// QueueRoom is the room of the transmit queue, bytes.
func (s Settings) QueueRoom() int { return s.withDefaults().Queue }
