package line

import (
	"iter"

	"swellbench/scenarios/draws"
)

// newBabble floods the line for For, from when a picked message is due: random bytes in pieces of [babbleBytes], as fast as the
// line carries them, beside the device's own messages, which wait and find the queue full as on any overloaded line. The
// pieces are messages of kind [BabbleKind] in the sent-log, hurt and without a number; the others are not marked.
func newBabble(p Params) Fault { return babble{p} }

// BabbleKind is the kind of what a flood brings.
const BabbleKind = "BABBLE"

const babbleBytes = 64

type babble struct{ params Params }

// Apply passes all messages on, and the flood among them.
func (f babble) Apply(in iter.Seq2[Message, error], seed uint64) iter.Seq2[Message, error] {
	s := f.params.Line
	if s.Baud == 0 {
		s.Baud = 9600
	}
	interval := babbleBytes * s.ByteTime()
	return func(yield func(Message, error) bool) {
		k := newPicker("babble", f.params, seed)
		var buf [babbleBytes]byte
		var edit [1]Edit
		begin, pieces, total := 0.0, 0, 0 // of the flood; and of all before
		n := 0                            // pieces of this flood so far
		flood := func(until float64) bool {
			for ; n < pieces; n++ {
				due := begin + float64(n)*interval
				if !(due < until) {
					return true
				}
				src := draws.At(seed, k.part, total)
				total++
				for i := range buf {
					buf[i] = byte(src.IntN(256))
				}
				edit[0] = Edit{Fault: "babble", Put: buf[:]}
				if !yield(Message{Valid: due, Due: due, Kind: BabbleKind, Bytes: buf[:], Hurt: "babble", Number: -1, Edits: edit[:]}, nil) {
					return false
				}
			}
			return true
		}
		for m, err := range in {
			if err != nil {
				if flood(posInf) {
					yield(m, err)
				}
				return
			}
			if !flood(m.Due) {
				return
			}
			if n >= pieces && k.fits(&m) && k.pick(&m) {
				begin, n, pieces = m.Due, 0, max(int(f.params.For/interval), 1)
			}
			if !yield(m, nil) {
				return
			}
		}
		flood(posInf)
	}
}
