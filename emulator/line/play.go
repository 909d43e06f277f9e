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
// It returns when the messages have ended and left, promptly with ctx's cause when ctx ends, or at the first error
// of the settings, of msgs or of p; the summary is good in every case. A nil clock is [SystemClock].
func Play(ctx context.Context, clock Clock, s Settings, msgs iter.Seq2[Message, error], p Sink, o Options) (Summary, error) {
	if clock == nil {
		clock = SystemClock()
	}
	y := player{clock: clock, port: p, sent: o.Sent, table: newTimetable(s)}
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
		if err == nil {
			err = checkDue(&m)
		}
		if err != nil {
			return y.Summary, fmt.Errorf("play: %w", err)
		}
		if err := y.play(ctx, m); err != nil {
			return y.Summary, err
		}
	}
	return y.Summary, nil
}

// A player is one run of Play.
type player struct {
	Summary
	clock Clock
	port  Sink
	sent  func(Sent)
	table *timetable
}

// instant is when scenario time t is, rounded up: nothing leaves early.
func (y *player) instant(t float64) time.Time {
	return y.Origin.Add(time.Duration(math.Ceil(t * 1e9)))
}

// play sends one message, and tells of it whatever became of it. Its error ends the run.
func (y *player) play(ctx context.Context, m Message) error {
	out := y.table.place(m)
	var err error
	if out.Dropped == QueueFull {
		y.QueueFull.Bytes += int64(out.Lost)
	} else {
		// The message is the last on the table: its bytes end at table.end(before+1), ...
		before := y.table.count - int64(len(m.Bytes))
		first := m.Due // what happens first of it: its first byte has left, or it was due without any
		if len(m.Bytes) > 0 {
			first = y.table.end(before + min(y.table.step(), int64(len(m.Bytes))))
		}
		if err := y.clock.SleepUntil(ctx, y.instant(first)); err != nil {
			return err // nothing has become of it yet
		}
		err = y.handOver(ctx, &out, before)
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
	switch out.Dropped {
	case "":
		y.Messages++
	case NoConsumer:
		y.NoConsumer.Messages++
	case QueueFull:
		y.QueueFull.Messages++
	case Overrun:
		y.Overrun.Messages++
	case Stopped:
		y.Stopped.Messages++
	}
}

// handOver gives the bytes of a message to the port, each when it is due.
func (y *player) handOver(ctx context.Context, out *Sent, before int64) error {
	size := int64(len(out.Bytes))
	step := y.table.step()
	for done := int64(0); done < size; {
		next := min(done+step, size)
		if err := y.clock.SleepUntil(ctx, y.instant(y.table.end(before+next))); err != nil {
			out.lose(Stopped, &y.Stopped, size-done)
			return err
		}
		now := y.clock.Now()
		for next < size && !y.instant(y.table.end(before+next+1)).After(now) {
			next++
		}
		rest, err := y.write(out, out.Bytes[done:next], size-next)
		late := y.clock.Now().Sub(y.instant(y.table.end(before + next)))
		y.Late.Add(late)
		out.LateS = max(late, 0).Seconds()
		if err != nil {
			out.lose(Stopped, &y.Stopped, size-next)
			return fmt.Errorf("play: message %s due at %g s: %w", out.Kind, out.Due, err)
		}
		done = next
		if !rest {
			return nil
		}
	}
	return nil
}

// write offers bytes to the port and counts what became of them. It is false where the rest of the message, of which
// after bytes are to come, is not to be sent.
func (y *player) write(out *Sent, p []byte, after int64) (rest bool, err error) {
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

// lose counts n bytes of the message as lost.
func (s *Sent) lose(why string, loss *Loss, n int64) {
	if n <= 0 {
		return
	}
	if s.Dropped == "" {
		s.Dropped = why
	}
	s.Lost += int(n)
	loss.Bytes += n
}
