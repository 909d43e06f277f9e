package line

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"pgregory.net/rapid"
)

// A wire is a Sink that keeps what it gets, and when.
type wire struct {
	got    bytes.Buffer
	at     []time.Time         // of each byte
	sizes  []int               // of each write
	closed func() bool         // nil: open
	room   func() int          // bytes taken before it is full; nil: no bound
	err    error               // what Write fails with
	delay  func(n int)         // called at each write
	opened func(p []byte) bool // nil: as Open says
}

func (w *wire) Open() bool { return w.closed == nil || !w.closed() }

func (w *wire) Write(p []byte) (int, error) {
	if w.err != nil {
		return 0, w.err
	}
	if w.opened != nil && !w.opened(p) {
		return 0, ErrNoConsumer
	}
	n, err := len(p), error(nil)
	if w.room != nil && w.got.Len()+n > w.room() {
		n, err = w.room()-w.got.Len(), ErrFull
	}
	w.got.Write(p[:n])
	for range n {
		w.at = append(w.at, time.Now())
	}
	w.sizes = append(w.sizes, n)
	if w.delay != nil {
		w.delay(w.got.Len())
	}
	return n, err
}

// Virtual and real time give the same bytes and the same log, and the real one hands over no byte early and, on a
// host without lateness, none later than a step of a millisecond.
func TestPlayAgreesWithTransmit(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		// The wrapping hides the test's deadline, which cannot be asked for in a bubble.
		rapid.Check(struct{ rapid.TB }{t}, func(t *rapid.T) {
			s, in := genSettings(t), genMessages(t)
			out, want := transmit(t, s, in)
			w := &wire{}
			var sent []Sent
			origin := time.Now().Add(time.Second)
			sum, err := Play(context.Background(), Timers{}, s, seq(in, nil), w, Options{
				Origin: origin, Sent: func(s Sent) { sent = append(sent, s) }})
			if err != nil {
				t.Fatal(err)
			}
			if w.got.String() != out || fmt.Sprint(sent) != fmt.Sprint(want) {
				t.Fatalf("Play sent %q\n%v\nTransmit sent %q\n%v", w.got.String(), sent, out, want)
			}
			i := 0
			for _, x := range sent {
				for k := range len(x.Bytes) - x.Lost {
					due := x.First + float64(k+1)*s.ByteTime()
					late := w.at[i].Sub(origin).Seconds() - due
					if slack := max(0.001, s.ByteTime()) + 2e-9; late < -1e-10 || late > slack || s.Baud <= 9600 && late > 2e-9 {
						t.Fatalf("byte %d is %.9f s late, allowed: 0 to %g", i, late, slack)
					}
					i++
				}
			}
			if sum.Bytes != int64(len(out)) || sum.Late.Max() > 0 || !sum.Origin.Equal(origin) {
				t.Fatalf("summary says %d bytes, %v late, origin %v", sum.Bytes, sum.Late.Max(), sum.Origin)
			}
		})
	})
}

func TestStepSize(t *testing.T) {
	for baud, want := range map[int]int{300: 1, 9600: 1, 9601: 1, 19200: 1, 38400: 3, 115200: 11, 921600: 92} {
		synctest.Test(t, func(t *testing.T) {
			w := &wire{}
			if _, err := Play(t.Context(), Timers{}, Settings{Baud: baud}, seq([]Message{msg(0, strings.Repeat("x", 500))}, nil), w, Options{}); err != nil {
				t.Fatal(err)
			}
			if got := slices.Max(w.sizes); got != want {
				t.Errorf("%d baud: up to %d bytes at a time, want %d", baud, got, want)
			}
		})
	}
}

// 4800 baud, a byte each 1/480 s. The consumer opens when 4.5 byte times have passed, and is gone after 10.5.
func TestNobodyListens(t *testing.T) {
	const bt = 1.0 / 480
	for name, how := range map[string]func(w *wire, closed func() bool){
		"Open says so":  func(w *wire, closed func() bool) { w.closed = closed },
		"Write says so": func(w *wire, closed func() bool) { w.opened = func([]byte) bool { return !closed() } },
	} {
		synctest.Test(t, func(t *testing.T) {
			start := time.Now()
			w := &wire{}
			how(w, func() bool {
				now := time.Since(start).Seconds() / bt
				return now < 4.5 || now > 10.5
			})
			var log []string
			sum, err := Play(t.Context(), Timers{}, Settings{Baud: 4800}, seq([]Message{msg(0, "abcdef"), msg(0, "gh"), msg(0, "ijkl")}, nil), w,
				Options{Sent: func(s Sent) { log = append(log, fmt.Sprintf("%s %q %d", s.Bytes, s.Dropped, s.Lost)) }})
			if err != nil {
				t.Fatal(err)
			}
			if want := `[abcdef "no consumer" 4 gh "" 0 ijkl "no consumer" 2]`; fmt.Sprint(log) != want || w.got.String() != "efghij" {
				t.Errorf("%s: %v, got %q; want %s, \"efghij\"", name, log, w.got.String(), want)
			}
			if sum.Messages != 1 || sum.Bytes != 6 || sum.NoConsumer != (Loss{2, 6}) {
				t.Errorf("%s: summary %+v", name, sum)
			}
			if got := time.Since(start).Seconds(); got < 12*bt || got > 12*bt+1e-6 {
				t.Errorf("%s: took %g s, want %g: a missing listener must not change the time", name, got, 12*bt)
			}
		})
	}
}

func TestFullPortDropsTheRestOfTheMessage(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		w := &wire{room: func() int {
			if time.Since(start) < 14*time.Second/480 {
				return 8
			}
			return 100 // the consumer reads on after 14 byte times
		}}
		var log []string
		sum, err := Play(t.Context(), Timers{}, Settings{Baud: 4800}, seq([]Message{msg(0, "abcdef"), msg(0, "ghijkl"), msg(0, "mn"), msg(0, "op")}, nil), w,
			Options{Sent: func(s Sent) { log = append(log, fmt.Sprintf("%s %q %d %.4f", s.Bytes, s.Dropped, s.Lost, s.Last)) }})
		if err != nil {
			t.Fatal(err)
		}
		if want := `[abcdef "" 0 0.0125 ghijkl "overrun" 4 0.0250 mn "overrun" 2 0.0292 op "" 0 0.0333]`; fmt.Sprint(log) != want {
			t.Errorf("log  %v\nwant %s", log, want)
		}
		if w.got.String() != "abcdefghop" || sum.Messages != 2 || sum.Bytes != 10 || sum.Overrun != (Loss{2, 6}) {
			t.Errorf("got %q, summary %+v", w.got.String(), sum)
		}
	})
}

// The end of ctx is prompt, in the middle of a message and between messages, and the cause comes back.
func TestStop(t *testing.T) {
	cause := errors.New("enough")
	for _, c := range []struct {
		after time.Duration
		log   string
		sum   string
	}{
		{0, "[]", "0 0 {0 0}"},
		{5 * time.Second / 2 / 480, `[abcdef "stopped" 4]`, "0 2 {1 4}"},
		{time.Second, `[abcdef "" 0]`, "1 6 {0 0}"},
	} {
		synctest.Test(t, func(t *testing.T) {
			ctx, cancel := context.WithCancelCause(t.Context())
			time.AfterFunc(c.after, func() { cancel(cause) })
			if c.after == 0 {
				cancel(cause)
			}
			start := time.Now()
			w := &wire{}
			log := []string{}
			sum, err := Play(ctx, Timers{}, Settings{Baud: 4800}, seq([]Message{msg(0, "abcdef"), msg(3600, "gh")}, nil), w,
				Options{Sent: func(s Sent) { log = append(log, fmt.Sprintf("%s %q %d", s.Bytes, s.Dropped, s.Lost)) }})
			if err != cause || time.Since(start) != c.after {
				t.Errorf("ended after %v with %v, want %v with %v", time.Since(start), err, c.after, cause)
			}
			if got := fmt.Sprint(sum.Messages, sum.Bytes, sum.Stopped); fmt.Sprint(log) != c.log || got != c.sum {
				t.Errorf("stopped after %v: %v, %s; want %s, %s", c.after, log, got, c.log, c.sum)
			}
		})
	}
}

// A host that is late once hands over at once what is due by then, and is on time again: lateness never adds up.
func TestLateHost(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		w := &wire{}
		w.delay = func(n int) {
			if n == 10 {
				time.Sleep(20 * time.Second / 480) // 20 byte times
			}
		}
		var late []float64
		sum, err := Play(t.Context(), Timers{}, Settings{Baud: 4800}, seq([]Message{msg(0, strings.Repeat("a", 15)), msg(0, strings.Repeat("b", 25))}, nil), w,
			Options{Sent: func(s Sent) { late = append(late, s.LateS*480) }})
		if err != nil {
			t.Fatal(err)
		}
		for i, at := range w.at {
			due := float64(i + 1)
			if i >= 10 && i < 30 {
				due = 30 // held up
			}
			if got := at.Sub(start).Seconds() * 480; got < due-1e-6 || got > due+1e-3 {
				t.Errorf("byte %d after %.4f byte times, want %g", i, got, due)
			}
		}
		// The first message's last byte was the 15th; the host came back at the 30th.
		if len(late) != 2 || late[0] < 14.99 || late[0] > 15.01 || late[1] > 0.001 {
			t.Errorf("late by %v byte times, want 15 and 0", late)
		}
		if got := sum.Late.Max().Seconds() * 480; got < 19.99 || got > 20.01 {
			t.Errorf("worst lateness %g byte times, want 20", got)
		}
	})
}

// Scenario second 0 is where the caller says, also as a bare wall-clock instant, and ports that share it are in step.
func TestOrigin(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		origin := time.Now().Add(1500 * time.Millisecond).Round(0).UTC()
		var a, b wire
		go func() {
			_, _ = Play(t.Context(), Timers{}, Settings{Baud: 4800}, seq([]Message{msg(2, "a")}, nil), &a, Options{Origin: origin})
		}()
		go func() {
			time.Sleep(time.Second)
			_, _ = Play(t.Context(), Timers{}, Settings{Baud: 4800}, seq([]Message{msg(-5, "x"), msg(2, "a")}, nil), &b, Options{Origin: origin})
		}()
		time.Sleep(time.Minute)
		synctest.Wait()
		want := origin.Add(2*time.Second + time.Second/480 + 1)
		if a.got.String() != "a" || b.got.String() != "xa" || !a.at[0].Equal(want) || !b.at[1].Equal(want) {
			t.Errorf("sent %q at %v and %q at %v, want both at %v", a.got.String(), a.at, b.got.String(), b.at, want)
		}
	})
}

func TestPlayErrors(t *testing.T) {
	bad := errors.New("the port is gone")
	one := []Message{msg(0, "abc"), msg(0, "def")}
	for _, c := range []struct {
		name string
		s    Settings
		end  error
		w    Sink
		want string
		sum  string
	}{
		{"settings", Settings{Baud: 4800, Queue: -1}, nil, &wire{}, "line: queue is -1 bytes, allowed: 0 (the default, 4096 bytes) or more", "0 0"},
		{"message", Settings{Baud: 4800}, bad, &wire{}, "play: the port is gone", "2 6"},
		{"port", Settings{Baud: 4800}, nil, &wire{err: bad}, "play: message TXT due at 0 s: the port is gone", "0 0"},
		{"port that says too little", Settings{Baud: 4800}, nil, shy{}, "play: message TXT due at 0 s: short write", "0 0"},
	} {
		synctest.Test(t, func(t *testing.T) {
			n := 0
			sum, err := Play(t.Context(), Timers{}, c.s, seq(one, c.end), c.w, Options{Sent: func(Sent) { n++ }})
			if err == nil || err.Error() != c.want {
				t.Errorf("%s: error is %v, want %s", c.name, err, c.want)
			}
			if got := fmt.Sprint(sum.Messages, sum.Bytes); got != c.sum || c.name == "port" && sum.Stopped != (Loss{1, 3}) {
				t.Errorf("%s: summary %+v, want %s", c.name, sum, c.sum)
			}
		})
	}
}

// shy takes nothing and gives no reason.
type shy struct{}

func (shy) Write([]byte) (int, error) { return 0, nil }
func (shy) Open() bool                { return true }

type discard struct{}

func (discard) Write(p []byte) (int, error) { return io.Discard.Write(p) }
func (discard) Open() bool                  { return true }

func TestPlayAllocatesNothingPerMessage(t *testing.T) {
	run := func(n int) float64 {
		msgs := endless(n)
		return testing.AllocsPerRun(5, func() {
			// All due in the past: no waiting.
			_, _ = Play(context.Background(), Timers{}, Settings{Baud: 115200}, msgs, discard{}, Options{Origin: time.Now().Add(-24 * time.Hour)})
		})
	}
	if few, many := run(10), run(10000); many > few {
		t.Errorf("%g allocations for 10000 messages, %g for 10", many, few)
	}
}
