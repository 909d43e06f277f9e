package emulator

import (
	"fmt"
	"iter"
	"math"

	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/draws"
	"swellbench/scenarios/gnss"
	"swellbench/scenarios/receiver"
)

// Messages yields the messages of stream i in order of their due time, faults of the scenario applied. Messages of
// one epoch go out in the order in which the scenario lists them. The bytes are valid until the next is pulled; a
// message that cannot be encoded ends the sequence with its error.
//
// The k-th epoch of a message of rate f is at k/f, computed from k. A message is due when the device's latency has
// passed: the constant part, plus a part drawn for each epoch; an epoch never overtakes an earlier one.
func (d *Device) Messages(i int) iter.Seq2[line.Message, error] {
	return d.faulty(i, d.clean(i, d.readings(i)))
}

// faulty applies the faults of the scenario to what the device makes without any.
func (d *Device) faulty(i int, clean iter.Seq2[line.Message, error]) iter.Seq2[line.Message, error] {
	seq := line.Numbered(clean)
	for _, f := range d.streams[i].faults {
		seq = f.Apply(seq, d.scenario.Seed+uint64(f.place)<<32+uint64(i))
	}
	return seq
}

// Replay yields the messages of stream i again as a sent-log tells of them, in its order: what the device makes without
// any fault, changed as the log says. Records of other streams are passed over.
func (d *Device) Replay(i int, log iter.Seq2[SentRecord, error]) iter.Seq2[line.Message, error] {
	return line.Replay(d.clean(i, d.readings(i)), func(yield func(line.Sent, error) bool) {
		for r, err := range log {
			if err == nil && r.Stream != i {
				continue
			}
			if !yield(r.Sent(), err) {
				return
			}
		}
	})
}

// An instant is one epoch of a stream: when it is due, and what the device reports.
type instant struct {
	receiver.Emission
	reading wire.Reading
	sats    []gnss.Sat // room for what goes into the reading
	sky     []wire.Satellite
}

// instants yields when the messages of a stream are valid and due.
func (d *Device) instants(i int) iter.Seq[receiver.Emission] {
	silence := float64(d.scenario.Device.StartUp.Silence)
	return func(yield func(receiver.Emission) bool) {
		for e := range d.clock.Emissions(d.streams[i].epochs(float64(d.scenario.Duration)), d.latency) {
			if e.Valid >= silence && !yield(e) {
				return
			}
		}
	}
}

// readings yields the epochs of a stream with their readings, each valid until the next.
func (d *Device) readings(i int) iter.Seq[*instant] {
	return func(yield func(*instant) bool) {
		var at instant
		for at.Emission = range d.instants(i) {
			d.report(i, &at)
			if !yield(&at) {
				return
			}
		}
	}
}

// report fills in the reading of an epoch.
func (d *Device) report(i int, at *instant) {
	st := &d.streams[i]
	var body scenarios.Body
	if st.forces {
		body = scenarios.BodyAt(d.truth, at.Valid)
	} else {
		body = scenarios.MotionAt(d.truth, at.Valid)
	}
	d.read(&at.reading, &body, true, st.forces)
	if st.sky {
		at.sats, at.sky = d.sky(&at.reading, at.sats, at.sky)
	}
}

func (d *Device) clean(i int, readings iter.Seq[*instant]) iter.Seq2[line.Message, error] {
	st := &d.streams[i]
	return func(yield func(line.Message, error) bool) {
		buf := make([]byte, 0, 256)
		counts, series := make([]uint32, len(st.encoders)), make([]uint32, len(st.encoders))
		for e := range readings {
			reading := &e.reading
			for j, enc := range st.encoders {
				if !isEpoch(e.Valid, float64(st.spec.Messages[j].Rate)) {
					continue
				}
				reading.Count, reading.Series = counts[j], series[st.series[j]]
				var err error
				if buf, err = enc.Append(buf[:0], reading); err != nil {
					yield(line.Message{}, fmt.Errorf("stream %d, %s at %.3f s: %w", i, st.kinds[j], e.Valid, err))
					return
				}
				if len(buf) == 0 { // it cannot say what is not known: it is not sent
					continue
				}
				counts[j]++
				series[st.series[j]]++
				if !yield(line.Message{Valid: e.Valid, Due: e.Due, Kind: st.kinds[j], Bytes: buf}, nil) {
					return
				}
			}
		}
	}
}

// epochs yields the instants of the stream's messages, in order, each once.
func (st *stream) epochs(end float64) iter.Seq[float64] {
	return func(yield func(float64) bool) {
		next := make([]int, len(st.encoders)) // the epoch of each message that comes next
		for {
			t := math.Inf(1)
			for j := range next {
				t = min(t, float64(next[j])/float64(st.spec.Messages[j].Rate))
			}
			if t >= end || !yield(t) {
				return
			}
			for j := range next {
				if float64(next[j])/float64(st.spec.Messages[j].Rate) <= t+epochSlack {
					next[j]++
				}
			}
		}
	}
}

// isEpoch tells whether a message of that rate, in Hz, is valid at t.
func isEpoch(t, rate float64) bool {
	return math.Abs(math.Round(t*rate)/rate-t) <= epochSlack
}

// epochSlack, in s, joins epochs of different rates that differ by rounding only (3/30 and 1/10).
const epochSlack = 1e-9

func (d *Device) latency(t float64) float64 {
	l := d.scenario.Device.Latency
	if l.Random == 0 {
		return float64(l.Constant)
	}
	src := draws.At(d.scenario.Seed, "device latency", int(math.Round(t*1e6)))
	return float64(l.Constant) + float64(l.Random)*src.Uniform()
}
