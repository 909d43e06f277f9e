package line

import (
	"iter"

	"swellbench/scenarios/draws"
)

// newSlowConsumer is a consumer that stops reading, as far as the line sees it: its buffer is full from within a picked message
// on, for For. The rest of that message is lost, from a byte drawn from the seed on, and all messages due before it reads
// again. The device keeps its time. Where a consumer really does not read, [Play] says [Overrun] of itself.
func newSlowConsumer(p Params) Fault { return slowConsumer{p} }

type slowConsumer struct{ params Params }

// Apply passes all messages on, the lost ones without bytes.
func (f slowConsumer) Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error] {
	const name = "slow-consumer"
	return func(yield func(Message, error) bool) {
		k := newPicker(name, f.params, seed)
		end := negInf
		var edits []Edit
		for m, err := range in {
			if err == nil && len(m.Bytes) > 0 {
				left := 0
				hurt := m.Due < end
				if !hurt && k.fits(&m) && k.pick(&m) {
					end = m.Due + f.params.For
					src := draws.At(seed, k.part, k.hits-1)
					left, hurt = src.IntN(len(m.Bytes)), true
				}
				if hurt {
					edits = append(append(edits[:0], m.Edits...), Edit{Fault: name, At: left, Cut: len(m.Bytes) - left})
					m.Edits = edits
					m.moveBreak(edits[len(edits)-1])
					m.Bytes = m.Bytes[:left]
					m.mark(name)
				}
			}
			if !yield(m, err) {
				return
			}
		}
	}
}
