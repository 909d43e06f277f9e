package line

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"iter"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// numbered is n messages, three an epoch of a rate, each saying whose it is; one of them has no bytes.
func numbered(who string, rate float64, n int) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		var buf []byte
		for k := range n {
			buf = fmt.Appendf(buf[:0], "%s %d\n", who, k)
			if k == 10 {
				buf = buf[:0]
			}
			t := float64(k/3) / rate
			if !yield(Message{Valid: t, Due: t, Kind: who, Bytes: buf}, nil) {
				return
			}
		}
	}
}

type memorySink struct {
	bytes.Buffer
	fail error
	shut bool
}

func (s *memorySink) Open() bool { return !s.shut }
func (s *memorySink) Write(p []byte) (int, error) {
	if s.fail != nil {
		return 0, s.fail
	}
	return s.Buffer.Write(p)
}

// Many streams side by side send what each would alone, with the same sent-log, and never early; one that fails takes none
// with it.
func TestPlayMany(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const streams = 40
		var jobs []Job
		sinks := make([]*memorySink, streams)
		logs := make([][]Sent, streams)
		start := time.Now()
		early := 0
		for i := range streams {
			sinks[i] = &memorySink{shut: i == 7}
			if i == 5 {
				sinks[i].fail = errors.New("the port is gone")
			}
			jobs = append(jobs, Job{Settings: Settings{Baud: 9600 + 100*i}, Messages: numbered(fmt.Sprint("s", i), 10+float64(i%3), 50), Port: sinks[i],
				Options: Options{Sent: func(s Sent) {
					if time.Since(start).Seconds() < s.Last-1e-12 {
						early++
					}
					s.Bytes = bytes.Clone(s.Bytes)
					logs[i] = append(logs[i], s)
				}}})
		}
		sums, err := PlayMany(t.Context(), Timers{}, jobs)
		if err == nil || !strings.Contains(err.Error(), "the port is gone") || strings.Count(err.Error(), "\n") != 0 || early > 0 {
			t.Errorf("%v; %d early", err, early)
		}
		for i := range streams {
			var alone bytes.Buffer
			var sent []Sent
			if err := Transmit(jobs[i].Settings, numbered(fmt.Sprint("s", i), 10+float64(i%3), 50), &alone, func(s Sent) {
				s.Bytes = bytes.Clone(s.Bytes)
				sent = append(sent, s)
			}); err != nil {
				t.Fatal(err)
			}
			switch i {
			case 5:
				if sums[i].Stopped.Messages != 3 || sums[i].Messages != 0 {
					t.Errorf("%+v", sums[i].Stopped)
				}
				continue
			case 7:
				if sums[i].NoConsumer.Messages != 49 || sinks[i].Len() != 0 {
					t.Errorf("%+v", sums[i].NoConsumer)
				}
				continue
			}
			if alone.String() != sinks[i].String() || len(sent) != len(logs[i]) || sums[i].Messages != 50 {
				t.Errorf("stream %d: %d bytes, want %d; %d messages", i, sinks[i].Len(), alone.Len(), sums[i].Messages)
				continue
			}
			for k := range sent {
				if a, b := sent[k], logs[i][k]; a.First != b.First || a.Last != b.Last || a.Dropped != b.Dropped || !bytes.Equal(a.Bytes, b.Bytes) {
					t.Fatalf("stream %d: %+v, want %+v", i, b, a)
				}
			}
		}
	})
}

func TestPlayManyEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 2*time.Second)
		defer cancel()
		sink := &memorySink{}
		sums, err := PlayMany(ctx, Timers{}, []Job{{Settings: Settings{Baud: 9600}, Messages: numbered("a", 10, 3000), Port: sink}, {Settings: Settings{Baud: -1}, Messages: numbered("b", 10, 10), Port: sink}})
		if !errors.Is(err, context.DeadlineExceeded) || !strings.Contains(err.Error(), "baud is -1") || sums[0].Messages != 60 {
			t.Errorf("%v, %d messages", err, sums[0].Messages)
		}
	})
}

// What the log says of hurt messages is whole for all messages of an epoch, which are handed over together.
func TestPlayManyKeepsEdits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log []Sent
		sink := &memorySink{}
		hurt := mustFault(t, "flipped-bit", Params{}).Apply(Numbered(numbered("a", 10, 60)), 1)
		_, err := PlayMany(t.Context(), Timers{}, []Job{{Settings: Settings{Baud: 115200}, Messages: hurt, Port: sink,
			Options: Options{Sent: func(s Sent) { log = append(log, s) }}}})
		if err != nil {
			t.Fatal(err)
		}
		var again bytes.Buffer
		for m, err := range Replay(numbered("a", 10, 60), func(yield func(Sent, error) bool) {
			for _, s := range log {
				if !yield(s, nil) {
					return
				}
			}
		}) {
			if err != nil {
				t.Fatal(err)
			}
			again.Write(m.Bytes)
		}
		if again.String() != sink.String() || len(log) != 60 {
			t.Errorf("replayed %q, sent %q", again.String(), sink.String())
		}
	})
}
