package line

import "iter"

// newRepeated sends the messages of an epoch Count times more, in their order, when the last of them has been due. Only the
// copies are marked. It is epochs that are counted, picked and drawn here, by the first message of each that fits.
func newRepeated(p Params) Fault { return repeated{p} }

type repeated struct{ params Params }

// Apply passes all messages on, and the copies behind those of their epoch.
func (f repeated) Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		k := newPicker("repeated-epoch", f.params, seed)
		var copies []Message
		again := func() bool {
			for range f.params.Count {
				for _, m := range copies {
					m.Due = copies[len(copies)-1].Due
					m.HangUpS = 0
					m.mark("repeated-epoch")
					if !yield(m, nil) {
						return false
					}
				}
			}
			copies = copies[:0]
			return true
		}
		epoch := epochs{}
		picked := false
		for m, err := range in {
			if err != nil {
				if again() {
					yield(m, err)
				}
				return
			}
			if epoch.next(&m) {
				if picked = false; !again() {
					return
				}
			}
			if k.fits(&m) {
				if epoch.first() {
					picked = k.pick(&m)
				}
				if picked {
					copies = append(copies, keep(&m))
				}
			}
			if !yield(m, nil) {
				return
			}
		}
		again()
	}
}

// epochs tells messages of one epoch from the next: they are valid at the same time and follow each other.
type epochs struct {
	valid   float64
	begun   bool
	fitting bool // a message of this epoch has fitted before
}

// next takes a message, and tells whether it begins another epoch.
func (e *epochs) next(m *Message) bool {
	if e.begun && m.Valid == e.valid {
		return false
	}
	e.valid, e.begun, e.fitting = m.Valid, true, false
	return true
}

// first tells, once an epoch, that this is its first message that fits.
func (e *epochs) first() bool {
	was := e.fitting
	e.fitting = true
	return !was
}
