package line

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// seq yields the messages, and then err if there is one.
func seq(msgs []Message, err error) iter.Seq2[Message, error] {
	return func(yield func(Message, error) bool) {
		for _, m := range msgs {
			if !yield(m, nil) {
				return
			}
		}
		if err != nil {
			yield(Message{}, err)
		}
	}
}

// transmit collects what Transmit says.
func transmit(t interface{ Fatal(...any) }, s Settings, msgs []Message) (string, []Sent) {
	var out bytes.Buffer
	var sent []Sent
	err := Transmit(s, seq(msgs, nil), &out, func(s Sent) { sent = append(sent, s) })
	if err != nil {
		t.Fatal(err)
	}
	return out.String(), sent
}

func msg(due float64, text string) Message {
	return Message{Valid: due, Due: due, Kind: "TXT", Bytes: []byte(text)}
}

// An 82-character sentence takes 820 bit times: 170.8 ms at 4800 baud (worked by hand: 820/4800 s).
func TestTransmitTimes(t *testing.T) {
	full := strings.Repeat("x", 82)
	const long = 820.0 / 4800
	for _, c := range []struct {
		name        string
		in          []Message
		first, last []float64
	}{
		{"alone", []Message{msg(1, full)}, []float64{1}, []float64{1 + long}},
		{"one byte", []Message{msg(0, "a")}, []float64{0}, []float64{10.0 / 4800}},
		{"waits for the one before", []Message{msg(1, full), msg(1, full), msg(1.2, "a")},
			[]float64{1, 1 + long, 1 + 2*long}, []float64{1 + long, 1 + 2*long, 1 + 2*long + 10.0/4800}},
		{"after a gap", []Message{msg(1, full), msg(2, full)}, []float64{1, 2}, []float64{1 + long, 2 + long}},
		{"due before the one before", []Message{msg(1, full), msg(0.5, "a"), msg(0.5, "b")},
			[]float64{1, 1 + long, 1 + long + 10.0/4800}, []float64{1 + long, 1 + long + 10.0/4800, 1 + long + 20.0/4800}},
		{"without bytes", []Message{msg(1, full), msg(1.1, ""), msg(1.1, "a")},
			[]float64{1, 1.1, 1 + long}, []float64{1 + long, 1.1, 1 + long + 10.0/4800}},
		{"before the start", []Message{msg(-1, "a")}, []float64{-1}, []float64{-1 + 10.0/4800}},
	} {
		_, sent := transmit(t, Settings{Baud: 4800}, c.in)
		for i, s := range sent {
			if math.Abs(s.First-c.first[i]) > 1e-12 || math.Abs(s.Last-c.last[i]) > 1e-12 || s.Dropped != "" {
				t.Errorf("%s: message %d left %.6f to %.6f (%q), want %.6f to %.6f", c.name, i, s.First, s.Last, s.Dropped, c.first[i], c.last[i])
			}
		}
		if len(sent) != len(c.in) {
			t.Errorf("%s: %d messages told of, want %d", c.name, len(sent), len(c.in))
		}
	}
}

// The queue holds 30 bytes. At 4800 baud a byte takes 1/480 s: 48 bytes due at 0 end at 0.1 s, half of them at 0.05.
func TestQueueDropsWholeMessages(t *testing.T) {
	out, sent := transmit(t, Settings{Baud: 4800, Queue: 30}, []Message{
		msg(0, strings.Repeat("a", 48)), // longer than the queue, but the line is free
		msg(0.05, "bbbbbbb"),            // 24 wait: 31 do not fit
		msg(0.05, "cccccc"),             // 30 do
		msg(0.05, "d"),                  // full
		msg(0.075, "eeeeeeeeeeee"),      // 12 + 6 wait: 30 do
		msg(0.2, "f"),
	})
	var dropped []string
	for _, s := range sent {
		if s.Dropped != "" {
			dropped = append(dropped, fmt.Sprintf("%s %s %d %g %g", s.Bytes, s.Dropped, s.Lost, s.First, s.Last))
		}
	}
	if want := "[bbbbbbb queue full 7 0.05 0.05 d queue full 1 0.05 0.05]"; fmt.Sprint(dropped) != want {
		t.Errorf("dropped %v, want %s", dropped, want)
	}
	if want := strings.Repeat("a", 48) + "cccccc" + "eeeeeeeeeeee" + "f"; out != want {
		t.Errorf("sent %q, want %q", out, want)
	}
}

// A line asked for twice what it carries sends half, for ever, and nothing drifts.
func TestOverload(t *testing.T) {
	var in []Message
	for k := range 20000 {
		in = append(in, msg(float64(k)/10, strings.Repeat("x", 96))) // 960 bytes/s on 480
	}
	out, sent := transmit(t, Settings{Baud: 4800}, in)
	if got := float64(len(out)) / 2000; math.Abs(got-480) > 3 {
		t.Errorf("%.1f bytes/s, want 480", got)
	}
	last := sent[0]
	for _, s := range sent[1:] {
		if s.Dropped == "" {
			if s.First != last.Last {
				t.Fatalf("message due at %g begins at %.12f, want %.12f", s.Due, s.First, last.Last)
			}
			last = s
		}
	}
	if want := float64(len(out)) / 480; math.Abs(last.Last-want) > 1e-9 {
		t.Errorf("the last byte leaves at %.12f s, want %.12f", last.Last, want)
	}
}

func TestTransmitErrors(t *testing.T) {
	bad := errors.New("cannot encode")
	one := []Message{msg(0, "a")}
	for _, c := range []struct {
		name string
		s    Settings
		in   iter.Seq2[Message, error]
		w    io.Writer
		want string
	}{
		{"settings", Settings{}, seq(one, nil), io.Discard, "line: baud is 0, allowed: a positive rate up to 100000000, such as 4800, 38400 or 115200"},
		{"message", Settings{Baud: 1}, seq(one, bad), io.Discard, "transmit: cannot encode"},
		{"due", Settings{Baud: 1}, seq([]Message{{Kind: "GPGGA", Due: math.NaN(), Bytes: []byte("a")}}, nil), io.Discard,
			"transmit: line: message GPGGA is due at NaN s, allowed: a time within 1e+09 s of the scenario's start"},
		{"writer", Settings{Baud: 1}, seq(one, nil), failing{bad}, "transmit: message TXT due at 0 s: cannot encode"},
	} {
		if err := Transmit(c.s, c.in, c.w, nil); err == nil || err.Error() != c.want {
			t.Errorf("%s: error is %v, want %s", c.name, err, c.want)
		}
	}
	if err := Transmit(Settings{Baud: 1}, seq(one, bad), failing{nil}, nil); !errors.Is(err, bad) {
		t.Errorf("the cause is lost: %v", err)
	}
}

type failing struct{ err error }

func (f failing) Write(p []byte) (int, error) { return len(p), f.err }

// genMessages draws messages with bursts, gaps and now and then a due time that goes back.
func genMessages(t *rapid.T) []Message {
	n := rapid.IntRange(1, 40).Draw(t, "n")
	due := 0.0
	var in []Message
	for range n {
		due += rapid.SampledFrom([]float64{0, 0, 0.001, 0.01, 0.05, 0.3, -0.02}).Draw(t, "gap")
		size := rapid.SampledFrom([]int{0, 1, 2, 17, 60, 82}).Draw(t, "size")
		in = append(in, msg(due, strings.Repeat("y", size)))
	}
	return in
}

func genSettings(t *rapid.T) Settings {
	return Settings{
		Baud:     rapid.SampledFrom([]int{300, 4800, 9600, 31250, 38400, 115200, 921600}).Draw(t, "baud"),
		Parity:   rapid.SampledFrom([]Parity{ParityNone, ParityEven}).Draw(t, "parity"),
		StopBits: rapid.SampledFrom([]float64{1, 1.5, 2}).Draw(t, "stop"),
		Queue:    rapid.SampledFrom([]int{0, 10, 100}).Draw(t, "queue"),
	}
}

// Whatever the messages: none leaves before it is due or before the one before it has left, each takes its bytes'
// time, and each is either sent whole or dropped whole.
func TestTransmitInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, in := genSettings(t), genMessages(t)
		out, sent := transmit(t, s, in)
		free, clock, total := math.Inf(-1), math.Inf(-1), 0
		for i, x := range sent {
			clock = max(clock, in[i].Due)
			if len(x.Bytes) == 0 {
				continue
			}
			if x.Dropped != "" {
				wait := int(math.Ceil((free - clock) / s.ByteTime()))
				room := s.withDefaults().Queue
				if x.Dropped != QueueFull || wait+1+len(x.Bytes) <= room {
					t.Fatalf("message %d of %d bytes dropped (%s) with %d of %d bytes waiting", i, len(x.Bytes), x.Dropped, wait, room)
				}
				continue
			}
			total += len(x.Bytes)
			if x.First < in[i].Due || x.First < free {
				t.Fatalf("message %d left at %g, due %g, line free at %g", i, x.First, in[i].Due, free)
			}
			if x.First > max(clock, free) {
				t.Fatalf("message %d left at %g, could at %g", i, x.First, max(clock, free))
			}
			if got, want := x.Last-x.First, float64(len(x.Bytes))*s.ByteTime(); math.Abs(got-want) > 1e-10 {
				t.Fatalf("message %d took %.12f s, want %.12f", i, got, want)
			}
			free = x.Last
		}
		if total != len(out) {
			t.Fatalf("%d bytes written, %d told of", len(out), total)
		}
	})
}

// endless yields n messages out of one buffer.
func endless(n int) iter.Seq2[Message, error] {
	buf := []byte("$HEHDT,271.42,T*1D\r\n")
	return func(yield func(Message, error) bool) {
		for k := range n {
			if !yield(Message{Due: float64(k) / 10, Kind: "HEHDT", Bytes: buf}, nil) {
				return
			}
		}
	}
}

func TestTransmitAllocatesNothingPerMessage(t *testing.T) {
	run := func(n int) float64 {
		msgs := endless(n)
		var last float64
		return testing.AllocsPerRun(5, func() {
			_ = Transmit(Settings{Baud: 4800}, msgs, io.Discard, func(s Sent) { last = max(last, s.Last) })
		})
	}
	if few, many := run(10), run(10000); many > few {
		t.Errorf("%g allocations for 10000 messages, %g for 10", many, few)
	}
}

func BenchmarkTransmit(b *testing.B) {
	b.ReportAllocs()
	if err := Transmit(Settings{Baud: 115200}, endless(b.N), io.Discard, func(Sent) {}); err != nil {
		b.Fatal(err)
	}
}
