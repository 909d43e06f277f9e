package emulator

import (
	"io"
	"iter"

	"swellbench/emulator/line"
	"swellbench/scenarios/ahead"
)

// Render sends stream i of the device in virtual time: it writes the bytes that leave to w and says of each message
// when it left. Sent may be nil. Two runs of one scenario and seed write the same bytes.
func Render(d *Device, i int, w io.Writer, sent func(line.Sent)) error {
	return line.Transmit(d.Line(i), d.Messages(i), w, sent)
}

// RenderAhead is [Render] on all cores: readings are worked out in goroutines of its own, some hundred epochs ahead.
// Bytes and times are the same.
func RenderAhead(d *Device, i int, w io.Writer, sent func(line.Sent)) error {
	return line.Transmit(d.Line(i), d.faulty(i, d.clean(i, d.readingsAhead(i))), w, sent)
}

// readingsAhead is readings on all cores.
func (d *Device) readingsAhead(i int) iter.Seq[*instant] {
	const perBatch = 128
	type batch struct {
		all []instant
		n   int
	}
	fill := func(next func() *batch) {
		empty := func() *batch {
			b := next()
			if b != nil && b.all == nil {
				b.all = make([]instant, perBatch)
			}
			if b != nil {
				b.n = 0
			}
			return b
		}
		b := empty()
		for e := range d.instants(i) {
			if b == nil {
				return
			}
			b.all[b.n].Emission = e
			if b.n++; b.n == perBatch {
				b = empty()
			}
		}
	}
	work := func() func(*batch) {
		return func(b *batch) {
			for k := range b.all[:b.n] {
				d.report(i, &b.all[k])
			}
		}
	}
	return func(yield func(*instant) bool) {
		for b := range ahead.Batches(fill, work) {
			for k := range b.all[:b.n] {
				if !yield(&b.all[k]) {
					return
				}
			}
		}
	}
}
