package emulator

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"slices"
	"time"

	"swellbench/emulator/line"
)

// PlayOptions are the options of [Play]; the zero value will do.
type PlayOptions struct {
	// Origin is the wall-clock instant of scenario time 0; streams that share one stay in step. The zero Time is
	// the moment Play begins.
	Origin time.Time
	// Sent, if not nil, is called for each message as soon as it has left or been dropped, in order, on the
	// goroutine that plays.
	Sent func(line.Sent)
	// Clock paces the bytes; nil is [line.SystemClock], on a thread that is like any other. One that is given gets a thread
	// that the host wakes early. A clock of [line.Faster] plays faster, and so does the line.
	Clock line.Clock
	// Logger is told when the stream begins and ends; nil is silence.
	Logger *slog.Logger
}

// Play sends stream i of the device through p in real time, until the scenario ends, ctx ends or the port fails. The
// summary is good in every case. Where the format has requests and p is an [io.Reader], they are answered; p is then read
// until its Read fails, which a port's does when it is closed.
func Play(ctx context.Context, d *Device, i int, p line.Sink, o PlayOptions) (line.Summary, error) {
	log := o.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	if m, ok := p.(interface{ ByMessage() (end func()) }); ok { // a port of datagrams: one a message
		end, sent := m.ByMessage(), o.Sent
		o.Sent = func(s line.Sent) {
			end()
			if sent != nil {
				sent(s)
			}
		}
	}
	log = log.With("stream", d.StreamName(i), "seed", d.scenario.Seed)
	log.Info("stream begins", "baud", d.Line(i).Baud, "duration_s", float64(d.scenario.Duration))
	msgs := d.Messages(i)
	// A clock that was asked for gets a thread that the host favours. Where none was, a judge may be at work, and then the
	// device must be as late as the host makes everyone, or its lateness would not tell how busy the host is.
	favoured := o.Clock != nil
	if o.Clock == nil {
		o.Clock = line.SystemClock()
	}
	if rs := d.hears(i); len(rs)+len(d.streams[i].echoes) > 0 {
		if in, ok := p.(io.Reader); ok {
			origin := o.Clock.Now()
			if !o.Origin.IsZero() { // without a monotonic reading it is read off once, as the line does
				origin = origin.Add(o.Origin.Sub(origin))
			}
			o.Origin = origin
			if spans := d.streams[i].echoes; len(spans) > 0 {
				clock := o.Clock
				now := func() float64 { return clock.Now().Sub(origin).Seconds() }
				rs = slices.Insert(rs, 0, formatResponder{Responder: &echo{spans: spans, now: now}}) // at once, before any answer
			}
			msgs = d.live(ctx, i, rs, listen(in), o.Clock, origin)
		}
	}
	play := func() (sum line.Summary, err error) {
		return line.Play(ctx, o.Clock, d.Line(i), msgs, p, line.Options{Origin: o.Origin, Sent: o.Sent})
	}
	var sum line.Summary
	var err error
	if _, virtual := o.Clock.(line.Timers); virtual || !favoured {
		sum, err = play()
	} else {
		line.OnThread(func() { sum, err = play() })
	}
	log.Info("stream ended", "messages", sum.Messages, "bytes", sum.Bytes, "late_max_s", sum.Late.Max().Seconds())
	return sum, err
}

// listen reads what a consumer sends. What comes while nobody takes it is lost, but for a few reads.
func listen(in io.Reader) <-chan []byte {
	heard := make(chan []byte, 16)
	go func() {
		buf := make([]byte, 512)
		for {
			n, err := in.Read(buf)
			if n > 0 {
				select {
				case heard <- bytes.Clone(buf[:n]):
				default:
				}
			}
			if err != nil {
				return
			}
		}
	}()
	return heard
}
