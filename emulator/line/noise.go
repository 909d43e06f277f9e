package line

import "swellbench/scenarios/draws"

// newNoise replaces a run of Count bytes, or all of a shorter message, by random ones; each is another than before. Where
// the run begins is drawn from the seed. It may hit the line end.
func newNoise(p Params) Fault {
	return picked{"noise", p, func(_ *Message, b []byte, src *draws.Source) ([]byte, bool) {
		n := min(p.Count, len(b))
		from := src.IntN(len(b) - n + 1)
		for i := from; i < from+n; i++ {
			b[i] += byte(1 + src.IntN(255))
		}
		return b, true
	}}
}
