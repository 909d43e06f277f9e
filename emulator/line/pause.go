package line

import "iter"

// newPause begins a pause when a picked message is due: this one and all others, of whatever kind, that are due before its
// end are due at its end. What the device's queue has no room for then is dropped. The pause lasts For, or until Until; 2 s
// where nothing says how long.
func newPause(p Params) Fault { return pause{p} }

const pauseS = 2

type pause struct{ params Params }

// Apply passes all messages on, late ones marked.
func (f pause) Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		k := newPicker("pause", f.params, seed)
		end := negInf
		for m, err := range in {
			if err == nil {
				if m.Due >= end && k.fits(&m) && k.pick(&m) {
					switch {
					case f.params.For > 0:
						end = m.Due + f.params.For
					case f.params.Until > 0:
						end = f.params.Until
					default:
						end = m.Due + pauseS
					}
				}
				if m.Due < end {
					m.Due = end
					if len(m.Bytes) > 0 {
						m.mark("pause")
					}
				}
			}
			if !yield(m, err) {
				return
			}
		}
	}
}
