package line

import "iter"

// newOutOfOrder sends those messages of an epoch that fit behind the next epoch. It is epochs that are counted, picked and
// drawn here, by the first message of each that fits; the one that goes before is not picked. The last epoch of a run has
// none to go before it and stays as it is.
func newOutOfOrder(p Params) Fault { return outOfOrder{p} }

type outOfOrder struct{ params Params }

// Apply passes all messages on, the picked epochs behind the one that follows them.
func (f outOfOrder) Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		k := newPicker("out-of-order-epoch", f.params, seed)
		var held []Message
		due := 0.0
		overtaken := false // by the epoch that is passing
		release := func() bool {
			for _, m := range held {
				if overtaken {
					m.Due = due
					m.mark("out-of-order-epoch")
				}
				if !yield(m, nil) {
					return false
				}
			}
			held, overtaken = held[:0], false
			return true
		}
		epoch := epochs{}
		picked := false
		for m, err := range in {
			if err != nil {
				if release() {
					yield(m, err)
				}
				return
			}
			if epoch.next(&m) {
				picked = false
				if overtaken && !release() {
					return
				}
				overtaken = len(held) > 0
			}
			due = m.Due
			if k.fits(&m) && !overtaken {
				if epoch.first() {
					picked = k.pick(&m)
				}
				if picked {
					held = append(held, keep(&m))
					continue
				}
			}
			if !yield(m, nil) {
				return
			}
		}
		release()
	}
}
