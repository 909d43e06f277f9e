package line

import (
	"iter"
	"math"
	"strings"

	"swellbench/scenarios/draws"
)

// fits tells whether the fault is about this message, before counting.
func (p Params) fits(m *Message) bool {
	return len(m.Bytes) > 0 && m.Due >= p.From && (p.Until == 0 || m.Due < p.Until) && strings.HasSuffix(m.Kind, p.Message)
}

// A picker picks the messages that a fault hurts, for one run.
type picker struct {
	Params
	part    string // of the draws
	seed    uint64
	fitting int
	hits    int     // so far
	next    float64 // with a rate: the instant that comes next
	instant int     // its number
}

func newPicker(name string, p Params, seed uint64) *picker {
	k := &picker{Params: p, part: "fault/" + name, seed: seed, next: p.From}
	if p.Rate > 0 {
		k.nextInstant()
	}
	return k
}

// pick tells whether this message, which fits, is to be hurt.
func (k *picker) pick(m *Message) bool {
	if k.Times > 0 && k.hits >= k.Times {
		return false
	}
	k.fitting++
	switch {
	case k.Rate > 0:
		if m.Due < k.next {
			return false
		}
		for k.next <= m.Due {
			k.nextInstant()
		}
	case k.Share > 0:
		src := draws.At(k.seed, k.part+"/share", k.fitting)
		if src.Uniform() >= k.Share {
			return false
		}
	case k.fitting%max(k.Every, 1) != 0:
		return false
	}
	k.hits++
	return true
}

// nextInstant draws the next instant of a Poisson process of mean rate Rate: the intervals are exponential.
func (k *picker) nextInstant() {
	src := draws.At(k.seed, k.part+"/rate", k.instant)
	k.next -= math.Log(1-src.Uniform()) / k.Rate
	k.instant++
}

// source are the random numbers of the hit that was picked last.
func (k *picker) source() draws.Source { return draws.At(k.seed, k.part, k.hits-1) }

// A hurter spoils one message. It gets a copy of the bytes to change, with room to grow. It returns the bytes to send,
// and false where this message cannot be hurt so.
type hurter func(m *Message, b []byte, src *draws.Source) ([]byte, bool)

// A picked fault hurts, by hurt, the messages that its params pick.
type picked struct {
	name   string
	params Params
	hurt   hurter
}

// Apply passes all messages on, the picked ones hurt and marked.
func (f picked) Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		k := newPicker(f.name, f.params, seed)
		var copied []byte
		var edits []Edit
		var hurt Message // these two here, so that nothing is allocated for each
		var src draws.Source
		for m, err := range in {
			if err == nil && k.fits(&m) && k.pick(&m) {
				copied = append(copied[:0], m.Bytes...)
				hurt, src = m, k.source()
				if b, ok := f.hurt(&hurt, copied, &src); ok {
					m = hurt
					edits = append(append(edits[:0], m.Edits...), editOf(f.name, m.Bytes, b))
					m.Edits = edits
					m.moveBreak(edits[len(edits)-1])
					m.Bytes = b
					m.mark(f.name)
					if cap(b) > cap(copied) {
						copied = b
					}
				}
			}
			if !yield(m, err) {
				return
			}
		}
	}
}

// A sending is a fault that changes how the messages are sent that its params pick, not what they say.
type sending struct {
	name   string
	params Params
	change func(m *Message)
}

// Apply passes all messages on.
func (f sending) Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		k := newPicker(f.name, f.params, seed)
		var changed Message // here, so that nothing is allocated for each
		for m, err := range in {
			if err == nil && k.fits(&m) && k.pick(&m) {
				changed = m
				f.change(&changed)
				m = changed
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
