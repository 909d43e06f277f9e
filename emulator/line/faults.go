package line

import (
	"errors"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"
)

// A Fault hurts messages before they reach the line, and marks those it hurt. It reads no clock and draws only on seed.
type Fault interface {
	Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error]
}

// A FaultRow is one kind of fault.
type FaultRow struct {
	Name string             // as scenario files and the sent-log have it
	What string             // one line for a person: what arrives
	New  func(Params) Fault // params must be valid
}

// Faults is the table of faults.
var Faults = []FaultRow{
	{"bad-checksum", "a digit of a sentence is another one, so that its checksum no longer fits", newBadChecksum},
	{"flipped-bit", "one bit of the message, drawn from the seed, is inverted", newFlippedBit},
	{"silence", "the message is not sent at all", newSilence},
}

// NewFault makes the fault of that name; all that is wrong is reported at once.
func NewFault(name string, p Params) (Fault, error) {
	err := p.Validate()
	var names []string
	for _, r := range Faults {
		if r.Name == name {
			if err != nil {
				return nil, err
			}
			return r.New(p), nil
		}
		names = append(names, r.Name)
	}
	slices.Sort(names)
	return nil, errors.Join(fmt.Errorf("fault: no fault is called %q, allowed: %s", name, strings.Join(names, ", ")), err)
}

// Params is what every fault is told. The zero Params hurts every message.
type Params struct {
	From, Until float64 // hurts messages due in [From, Until), s of scenario time; Until 0 has no end
	Message     string  // only kinds that end so: "GGA" is GPGGA and GNGGA; "" is all
	Every       int     // of those each n-th: the n-th, the 2n-th, ...; 0 and 1 are all
}

// Validate reports all that is wrong with the parameters at once.
func (p Params) Validate() error {
	var errs []error
	finite := func(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
	if !finite(p.From) {
		errs = append(errs, fmt.Errorf("fault: it begins at %g s, allowed: a finite time", p.From))
	}
	if !finite(p.Until) {
		errs = append(errs, fmt.Errorf("fault: it ends at %g s, allowed: a finite time, or 0 for the end of the run", p.Until))
	}
	if p.Until != 0 && p.Until <= p.From {
		errs = append(errs, fmt.Errorf("fault: it ends at %g s and begins at %g s, allowed: an end after the beginning, or 0 for the end of the run",
			p.Until, p.From))
	}
	if p.Every < 0 {
		errs = append(errs, fmt.Errorf("fault: every is %d, allowed: 1 (all), 2, 3, ... (0 is 1)", p.Every))
	}
	return errors.Join(errs...)
}

// fits tells whether the fault is about this message, before counting.
func (p Params) fits(m Message) bool {
	return m.Due >= p.From && (p.Until == 0 || m.Due < p.Until) && strings.HasSuffix(m.Kind, p.Message)
}

// A hurter spoils one message. It gets a copy of the bytes to change, and the number k (0, 1, ...) of the message
// among those the fault picked. It returns the bytes to send, and false where this message cannot be hurt so.
type hurter func(b []byte, seed uint64, k int) ([]byte, bool)

// A picked fault hurts, by hurt, the messages that its params pick.
type picked struct {
	name   string
	params Params
	hurt   hurter
}

// Apply passes all messages on, the picked ones hurt and marked.
func (f picked) Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		var copied []byte
		fitting, k := 0, 0
		for m, err := range in {
			if err == nil && len(m.Bytes) > 0 && f.params.fits(m) {
				fitting++
				if fitting%max(f.params.Every, 1) == 0 {
					copied = append(copied[:0], m.Bytes...)
					if b, ok := f.hurt(copied, seed, k); ok {
						m.Bytes = b
						m.mark(f.name)
					}
					k++
				}
			}
			if !yield(m, err) {
				return
			}
		}
	}
}

// mark adds the name of a fault to those that hurt the message.
func (m *Message) mark(name string) {
	if m.Hurt != "" {
		name = m.Hurt + "+" + name
	}
	m.Hurt = name
}
