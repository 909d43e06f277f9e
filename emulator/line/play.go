package line

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"time"
)

// A Sink is what [Play] needs of a port.
type Sink interface {
	// Write takes what there is room for, at once: it never blocks. Where there is no room for all it returns what
	// it took and [ErrFull], and [ErrNoConsumer] where nobody listens. Any other error ends the run.
	Write(p []byte) (int, error)
	// Open tells whether a consumer listens. It is asked before each write and must be cheap.
	Open() bool
}

// Sinks may have more: what [Play] makes use of where it is there.
type (
	// A Listener is a Sink that knows how the consumer has set its side; what it cannot tell is taken from own. It is
	// false where no consumer has set anything.
	Listener interface {
		Settings(own Settings) (Settings, bool)
	}
	// A Hanger is a Sink that can go for d and come back by itself; HangUp does not wait for that.
	Hanger interface {
		HangUp(ctx context.Context, d time.Duration) error
	}
	// A Tuner is a Sink with a transmitter of its own, which is to send what comes next with other settings.
	Tuner interface{ SetLine(Settings) error }
	// A Breaker is a Sink with a transmitter of its own, which is to hold its line low now, for d. Without one, what a
	// receiver reads of a break is written.
	Breaker interface{ Break(d time.Duration) }
)

// What a [Sink] says of bytes it did not take.
var (
	ErrFull       = errors.New("the consumer does not read and its buffer is full")
	ErrNoConsumer = errors.New("no consumer has the port open")
)

// Options of [Play]; the zero value will do.
type Options struct {
	// Origin is the wall-clock instant of scenario time 0; several ports that share one stay in step. The zero Time
	// is the moment Play begins.
	Origin time.Time
	// Sent, if not nil, is called for each message as soon as it has left or been dropped, in order, on the
	// goroutine that plays. It must be quick. The message's bytes are valid during the call.
	Sent func(Sent)
	// Consumer, if not nil, tells how the consumer has set its side now, or false while it has not. Nil is what the
	// Sink says, where it is a [Listener]. It is asked at each hand-over.
	Consumer func() (Settings, bool)
	// Policy is what the consumer's driver hands on for bytes that arrive with errors because of that.
	Policy Policy
}

// A Loss counts what did not arrive for one reason.
type Loss struct {
	Messages int64 // messages that lost bytes, each counted once, under the first reason
	Bytes    int64 // bytes lost for this very reason
}

// A Summary says what a run has sent.
type Summary struct {
	Origin     time.Time // the instant of scenario time 0
	Messages   int64     // messages handed over whole, hurt ones included
	Bytes      int64     // bytes handed over
	Hurt       int64     // messages that a fault had hurt, handed over or not
	NoConsumer Loss
	QueueFull  Loss
	Overrun    Loss
	Stopped    Loss
	Mismatch   Loss // lost to the settings of the consumer's side: SpeedMismatch
	HungUp     Loss
	Late       Histogram // lateness of each hand-over against the schedule
}

// Play sends the messages in real time.
//
// A byte is handed to p when its last stop bit has ended, never before: at 9600 baud and below each byte on its
// own, above that what is due at each step of about a millisecond. All instants are counted from one origin, so
// that lateness never adds up; a host that comes late hands over at once all that is due by then. Nothing p does
// can stop the clock: bytes for a listener that is not there are lost, and where the listener does not read and its
// buffer is full, the rest of the message is. The message after the one being sent is pulled before it is due.
//
// Where the consumer's side of the line is set otherwise than the device's, and that can be known, it is handed what a
// UART set so would receive, and when it would: see [Receiver]. It may set it anew at any time.
//
// It returns when the messages have ended and left, promptly with ctx's cause when ctx ends, or at the first error
// of the settings, of msgs or of p; the summary is good in every case. A nil clock is [SystemClock].
func Play(ctx context.Context, clock Clock, s Settings, msgs iter.Seq2[Message, error], p Sink, o Options) (Summary, error) {
	if clock == nil {
		clock = SystemClock()
	}
	y := player{clock: clock, port: p, sent: o.Sent, own: s, table: newTimetable(s)}
	y.channel = newChannel(y.table, s, nil, o.Policy)
	if l, ok := p.(Listener); ok && o.Consumer == nil {
		o.Consumer = func() (Settings, bool) { return l.Settings(y.tx) }
	}
	if o.Consumer != nil {
		y.consumer = func(float64) (Settings, bool) { return o.Consumer() }
	}
	// An origin from outside may lack the monotonic reading; it is read off once, so that a step of the wall clock
	// during the run moves nothing.
	y.Origin = clock.Now()
	if !o.Origin.IsZero() {
		y.Origin = y.Origin.Add(o.Origin.Sub(y.Origin))
	}
	if err := s.Validate(); err != nil {
		return y.Summary, err
	}
	for m, err := range msgs {
		if err == nil && m.Idle {
			if err := y.settle(ctx, m.Due); err != nil {
				return y.Summary, err
			}
			continue
		}
		if err == nil {
			err = checkMessage(&m)
		}
		if err != nil {
			return y.Summary, fmt.Errorf("play: %w", err)
		}
		if err := y.play(ctx, m); err != nil {
			return y.Summary, err
		}
	}
	return y.Summary, y.settle(ctx, math.Inf(1))
}

// A player is one run of Play.
type player struct {
	Summary
	channel
	clock Clock
	port  Sink
	sent  func(Sent)
	own   Settings
	table *timetable
}

// instant is when scenario time t is, rounded up: nothing leaves early.
func (y *player) instant(t float64) time.Time {
	return y.Origin.Add(time.Duration(math.Ceil(t * 1e9)))
}

// play sends one message, and tells of it whatever became of it. Its error ends the run.
func (y *player) play(ctx context.Context, m Message) error {
	rate := y.table.baud
	out := y.table.place(m)
	var err error
	if out.Dropped == QueueFull {
		y.QueueFull.Bytes += int64(out.Lost)
	} else {
		if err := y.settle(ctx, out.First); err != nil {
			return err
		}
		first := m.Due // what happens first of it: its first byte has left, or it was due without any
		if m.HangUpS > 0 || y.table.baud != rate {
			first = out.First
		} else if len(m.Bytes) > 0 {
			first = y.table.byteEnd(y.table.stepTo(0, int64(len(m.Bytes))) - 1)
		}
		if err := y.clock.SleepUntil(ctx, y.instant(first)); err != nil {
			return err // nothing has become of it yet
		}
		err = y.handOver(ctx, &out, rate)
	}
	y.count(&out)
	if y.sent != nil {
		y.sent(out)
	}
	return err
}

// count adds a message to the summary.
func (y *player) count(out *Sent) {
	if out.Hurt != "" {
		y.Hurt++
	}
	if loss := y.loss(out.Dropped); loss != nil {
		loss.Messages++
	} else {
		y.Messages++
	}
}

// loss is where what is lost for a reason is counted; nil for none.
func (y *player) loss(why string) *Loss {
	switch why {
	case NoConsumer:
		return &y.NoConsumer
	case QueueFull:
		return &y.QueueFull
	case Overrun:
		return &y.Overrun
	case Stopped:
		return &y.Stopped
	case SpeedMismatch:
		return &y.Mismatch
	case HungUp:
		return &y.HungUp
	}
	return nil
}

// handOver gives the bytes of a message to the port, each when it is due. The rate before it was rate.
func (y *player) handOver(ctx context.Context, out *Sent, rate float64) error {
	size := int64(len(out.Bytes))
	if size > 0 || out.HangUpS > 0 {
		y.begin(out)
		var before Sent // what was sent before has been told of
		if _, err := y.writeAll(&before, out.First, 0); err != nil {
			out.lose(Stopped, &y.Stopped, size)
			return failed("play", &out.Message, err)
		}
	}
	if t, ok := y.port.(Tuner); ok && y.table.baud != rate {
		s := y.own
		s.Baud = int(y.table.baud)
		if err := t.SetLine(s); err != nil {
			out.lose(Stopped, &y.Stopped, size)
			return failed("play", &out.Message, err)
		}
	}
	if h, ok := y.port.(Hanger); ok && out.HangUpS > 0 {
		if err := h.HangUp(ctx, realTime(y.clock, time.Duration(out.HangUpS*1e9))); err != nil {
			out.lose(Stopped, &y.Stopped, size)
			return failed("play", &out.Message, err)
		}
	}
	direct := y.direct(out)
	breaker, _ := y.port.(Breaker)
	for done := int64(0); done < size; {
		if !direct {
			if err := y.settle(ctx, y.table.byteStart(done)); err != nil {
				out.lose(Stopped, &y.Stopped, size-done)
				return err
			}
		}
		next := y.table.stepTo(done, size)
		if err := y.clock.SleepUntil(ctx, y.instant(y.table.byteEnd(next-1))); err != nil {
			out.lose(Stopped, &y.Stopped, size-done)
			return err
		}
		now := y.clock.Now()
		for next < size && !y.instant(y.table.byteEnd(next)).After(now) {
			next++
		}
		end := y.table.byteEnd(next - 1)
		var rest bool
		var err error
		switch at := y.table.breakAt; {
		case direct && breaker != nil && at >= done && at < next:
			if rest, err = y.write(out, out.Bytes[done:at], size-at); err == nil {
				breaker.Break(realTime(y.clock, time.Duration(out.Break.S*1e9)))
				rest, err = y.write(out, out.Bytes[at+1:next], size-next)
			}
		case direct:
			rest, err = y.write(out, out.Bytes[done:next], size-next)
		default:
			out.lose(HungUp, &y.HungUp, y.carry(out, done, next))
			rest, err = y.writeAll(out, end, size-next)
		}
		late := y.clock.Now().Sub(y.instant(end))
		y.Late.Add(late)
		out.LateS = max(late, 0).Seconds()
		if err != nil {
			out.lose(Stopped, &y.Stopped, size-next)
			return failed("play", &out.Message, err)
		}
		done = next
		if !rest {
			return nil
		}
	}
	if !direct && size > 0 {
		out.lose(SpeedMismatch, &y.Mismatch, y.end(out))
	}
	return nil
}

// settle hands over what arrives before the next start bit, at until, of what was sent before.
func (y *player) settle(ctx context.Context, until float64) error {
	for at, ok := y.settling(until); ok; at, ok = y.settling(until) {
		if err := y.clock.SleepUntil(ctx, y.instant(at)); err != nil {
			return err
		}
		y.channel.settle(at)
		var before Sent // what was sent before has been told of
		if _, err := y.writeAll(&before, at, 0); err != nil {
			return fmt.Errorf("play: what was sent before %g s: %w", at, err)
		}
	}
	return nil
}

// writeAll offers the port all that has arrived until then. After the port was full the rest is lost.
func (y *player) writeAll(out *Sent, until float64, after int64) (rest bool, err error) {
	rest = true
	for p, _, ok := y.next(until); ok; p, _, ok = y.next(until) {
		if rest && err == nil {
			rest, err = y.write(out, p, after)
		}
	}
	return rest, err
}

// write offers bytes to the port and counts what became of them. It is false where the rest of the message, of which
// after bytes are to come, is not to be sent.
func (y *player) write(out *Sent, p []byte, after int64) (rest bool, err error) {
	if len(p) == 0 {
		return true, nil
	}
	if !y.port.Open() {
		out.lose(NoConsumer, &y.NoConsumer, int64(len(p)))
		return true, nil
	}
	n, err := y.port.Write(p)
	n = min(max(n, 0), len(p))
	y.Bytes += int64(n)
	lost := int64(len(p) - n)
	switch {
	case lost == 0 && (err == nil || errors.Is(err, ErrFull) || errors.Is(err, ErrNoConsumer)):
		return true, nil
	case errors.Is(err, ErrNoConsumer):
		out.lose(NoConsumer, &y.NoConsumer, lost)
		return true, nil
	case errors.Is(err, ErrFull):
		out.lose(Overrun, &y.Overrun, lost+after)
		return false, nil
	case err == nil:
		err = io.ErrShortWrite
	}
	out.lose(Stopped, &y.Stopped, lost)
	return false, err
}

// lose counts n bytes of the message as lost; loss may be nil. Of a message no more is lost than it has: of what a
// faster receiver makes of it there may be more.
func (s *Sent) lose(why string, loss *Loss, n int64) {
	if n <= 0 {
		return
	}
	if s.Dropped == "" {
		s.Dropped = why
	}
	s.Lost = min(s.Lost+int(n), len(s.Bytes))
	if loss != nil {
		loss.Bytes += n
	}
}
