package emulator

import (
	"bytes"
	"context"
	"iter"
	"math"
	"slices"
	"time"

	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios"
)

// A Responder is what a stream makes of the bytes that its consumer sends. It is not for several goroutines.
type Responder interface {
	// Hear takes the next bytes, cut anywhere.
	Hear(p []byte)
	// Next gives the next answer to what was heard, or false.
	Next() (Answer, bool)
	// Streaming tells whether the stream sends of itself now.
	Streaming() bool
}

// A Dresser is a [Responder] by which the consumer may also choose how messages look.
type Dresser interface {
	// Dress appends a message as the consumer wants it; t is when it is due, s of scenario time.
	Dress(dst, message []byte, t float64) []byte
}

// An Answer is what a request brings: bytes as they are, or a message with the reading of the moment.
type Answer struct {
	Kind    string
	Bytes   []byte
	Encoder wire.Encoder // in place of Bytes
	Rate    float64      // of the epochs whose latest the reading is of, Hz; 0 is 1 Hz
}

// hears makes the responders of stream i, one for each format it uses, in the order of the formats; none where nothing
// that a consumer sends could make a difference.
func (d *Device) hears(i int) (all responders) {
	st := &d.streams[i]
	for _, name := range Formats() {
		if f := formats[name].responder; f != nil && st.spec.Uses(name) {
			if r := f(st, d.scenario.Device.StartUp.Streaming != scenarios.WhenAsked); r != nil {
				all = append(all, formatResponder{name, r})
			}
		}
	}
	return all
}

type formatResponder struct {
	format string
	Responder
}

// responders all hear what the consumer sends; each answers to what is of its format, and rules the messages of it.
type responders []formatResponder

// of is the responder that rules messages of a kind of the stream; nil where none does.
func (rs responders) of(st *stream, kind string) Responder {
	for j, k := range st.kinds {
		if k != kind {
			continue
		}
		for _, r := range rs {
			if r.format == st.spec.FormatOf(st.spec.Messages[j]) {
				return r.Responder
			}
		}
	}
	return nil
}

// lead is how long before a message is due the device stops listening and leaves the waiting to the line, which is more
// punctual.
const lead = 3 * time.Millisecond

// live is the messages of stream i in real time, with answers to what is heard among them. The device listens until a
// message is nearly due, so an answer never holds one up by more than its own length on the line.
func (d *Device) live(ctx context.Context, i int, rs responders, heard <-chan []byte, clock line.Clock, origin time.Time) iter.Seq2[line.Message, error] {
	replyAfter := float64(d.scenario.Device.StartUp.ReplyAfter)
	type pending struct {
		Answer
		due float64
	}
	var queue []pending
	// A microsecond more than the clock says: instants are cut to nanoseconds, and none is to be waited for twice.
	now := func() float64 { return clock.Now().Sub(origin).Seconds() + 1e-6 }
	listen := func(p []byte) {
		at := now()
		for _, r := range rs {
			r.Hear(p)
			for a, ok := r.Next(); ok; a, ok = r.Next() {
				if len(queue) < maxAnswers { // what a flood asks for beyond that is not answered
					queue = append(queue, pending{a, at + replyAfter})
				}
			}
		}
	}
	return func(yield func(line.Message, error) bool) {
		var buf, dressed []byte
		for m, err := range d.Messages(i) {
			if err != nil {
				yield(m, err)
				return
			}
			if !yield(line.Message{Idle: true, Due: m.Due - lead.Seconds()}, nil) {
				return
			}
			for early := true; early; {
				until := origin.Add(time.Duration(m.Due * 1e9)).Add(-lead)
				if len(queue) > 0 {
					if first := origin.Add(time.Duration(queue[0].due * 1e9)); first.Before(until) {
						until = first
					}
				}
				p, err := wait(ctx, time.Duration(float64(until.Sub(clock.Now()))/line.Rate(clock)), heard)
				if err != nil {
					yield(line.Message{}, err)
					return
				}
				if p != nil {
					listen(p)
				}
				early = p != nil || now() < m.Due-lead.Seconds()
				for len(queue) > 0 && queue[0].due <= min(now(), m.Due) {
					a := queue[0]
					queue = queue[1:]
					if buf, err = d.answer(a.Answer, a.due, buf); err != nil {
						yield(line.Message{}, err)
						return
					}
					edits := []line.Edit{{Fault: "answer", Put: buf}}
					if !yield(line.Message{Valid: a.due, Due: a.due, Kind: a.Kind, Bytes: buf, Number: -1, Edits: edits}, nil) {
						return
					}
				}
			}
			r := rs.of(&d.streams[i], m.Kind)
			if r != nil && !r.Streaming() || r == nil && d.scenario.Device.StartUp.Streaming == scenarios.WhenAsked {
				continue
			}
			if dresser, ok := r.(Dresser); ok {
				dressed = dresser.Dress(dressed[:0], m.Bytes, m.Due)
				if !bytes.Equal(dressed, m.Bytes) {
					m.Edits = append(slices.Clip(m.Edits), line.Edit{Fault: "dressed", Cut: len(m.Bytes), Put: dressed})
				}
				m.Bytes = dressed
			}
			if !yield(m, nil) {
				return
			}
		}
	}
}

// wait listens for so long, or until something is heard.
func wait(ctx context.Context, d time.Duration, heard <-chan []byte) ([]byte, error) {
	if d <= 0 {
		select {
		case p := <-heard:
			return p, nil
		case <-ctx.Done():
			return nil, context.Cause(ctx)
		default:
			return nil, nil
		}
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case p := <-heard:
		return p, nil
	case <-timer.C:
		return nil, nil
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
}

// answer makes the bytes of an answer at scenario time t: of the latest epoch.
func (d *Device) answer(a Answer, t float64, buf []byte) ([]byte, error) {
	if a.Encoder == nil {
		return append(buf[:0], a.Bytes...), nil
	}
	rate := a.Rate
	if rate == 0 {
		rate = 1
	}
	r := d.Reading(max(math.Floor(t*rate+epochSlack)/rate, 0))
	_, r.Sky = d.sky(&r, nil, nil)
	return a.Encoder.Append(buf[:0], &r)
}

// A nmeaResponder answers queries, such as $CCGPQ,GGA, for any sentence that it knows: as the stream sends it, else in
// its usual dress. Source: query form of NMEA 0183, as in NMEA Revealed. Whom the query calls upon, which are the two
// letters before the Q, tells only between several that the stream sends: there is one device on the line. Queries in small
// letters are understood. What it does not know it does not answer.
type nmeaResponder struct {
	st        *stream
	streaming bool
	decoder   nmea0183.Decoder
	answers   []Answer
}

func newNMEAResponder(st *stream, streaming bool) Responder {
	return &nmeaResponder{st: st, streaming: streaming}
}

func (n *nmeaResponder) Streaming() bool { return n.streaming }

// maxAnswers bounds what a flood of requests can ask for at a time.
const maxAnswers = 64

func (n *nmeaResponder) Hear(p []byte) {
	n.decoder.Push(p)
	for e, ok := n.decoder.Next(); ok; e, ok = n.decoder.Next() {
		if e.Kind == nmea0183.Garbage || len(n.answers) >= maxAnswers {
			continue
		}
		if q, err := nmea0183.ParseQuery(e.Raw); err == nil {
			n.ask(q)
		}
	}
}

func (n *nmeaResponder) ask(q nmea0183.Query) {
	if j, ok := q.Answering(n.st.encoders); ok {
		n.answers = append(n.answers, Answer{Kind: n.st.kinds[j], Encoder: n.st.encoders[j], Rate: float64(n.st.spec.Messages[j].Rate)})
		return
	}
	o, err := nmea0183Options(n.st.spec)
	if err != nil {
		return
	}
	if enc, err := nmea0183.New(q.Wanted, o); err == nil {
		n.answers = append(n.answers, Answer{Kind: enc.Kind(), Encoder: enc})
	}
}

func (n *nmeaResponder) Next() (Answer, bool) {
	if len(n.answers) == 0 {
		return Answer{}, false
	}
	a := n.answers[0]
	n.answers = n.answers[1:]
	return a, true
}
