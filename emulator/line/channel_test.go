package line

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"pgregory.net/rapid"
)

// arrived is what TransmitTo says.
type arrived struct {
	bytes []byte
	at    []float64 // of each byte
	sizes []int
	sent  []Sent
}

func transmitTo(t interface{ Fatal(...any) }, s Settings, in []Message, o TransmitOptions) (a arrived) {
	err := TransmitTo(s, seq(in, nil), o, func(at float64, p []byte) error {
		a.bytes = append(a.bytes, p...)
		for range p {
			a.at = append(a.at, at)
		}
		a.sizes = append(a.sizes, len(p))
		return nil
	}, func(s Sent) { a.sent = append(a.sent, s) })
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// A consumer that is set as the device gets every byte, through the receiver or not, and nothing is marked.
func TestConsumerSetRight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, in := genSettings(t), genMessages(t)
		want, sent := transmit(t, s, in)
		got := transmitTo(t, s, in, TransmitOptions{Consumer: func(float64) (Settings, bool) { return s, true }})
		if string(got.bytes) != want || fmt.Sprint(got.sent) != fmt.Sprint(sent) {
			t.Fatalf("got %q, want %q", got.bytes, want)
		}
	})
}

// A consumer at another rate: what arrives is what a receiver of that rate makes of the same line, all of it, and every
// message is marked.
func TestConsumerSetWrong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, in := Settings{Baud: 9600}, genMessages(t)
		rx := Settings{Baud: rapid.SampledFrom([]int{1200, 4800, 19200, 38400, 115200}).Draw(t, "rate")}
		got := transmitTo(t, s, in, TransmitOptions{Consumer: func(float64) (Settings, bool) { return rx, true }})
		r, _ := NewReceiver(s, rx, KeepErrored)
		first := true
		var want []byte
		for _, x := range got.sent {
			for i, b := range x.Bytes {
				if x.Dropped == QueueFull {
					continue
				}
				start := x.First + float64(i)*s.ByteTime()
				if first {
					r.listen(rx, start+s.ByteTime()/2) // it opened the port in the middle of the first byte
					first = false
				}
				r.Byte(start, b)
			}
			if len(x.Bytes) > 0 && x.Dropped != SpeedMismatch && x.Dropped != QueueFull {
				t.Fatalf("message %q is marked %q", x.Bytes, x.Dropped)
			}
		}
		r.Idle(1e6)
		for _, x := range r.all() {
			want = append(want, byte(x.Value))
		}
		if !bytes.Equal(got.bytes, want) {
			t.Fatalf("got % x\nwant % x", got.bytes, want)
		}
	})
}

// A consumer that hunts for the rate reads rubbish until it is right, and every message from then on.
func TestHuntingConsumer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const text = "$HEHDT,271.42,T*1D\r\n"
		var in []Message
		for k := range 100 {
			in = append(in, msg(float64(k)/10, text))
		}
		w := &wire{}
		start := time.Now()
		tried := []int{4800, 9600, 19200, 57600, 115200, 38400}
		set := func() int { return tried[min(int(time.Since(start).Seconds()), len(tried)-1)] }
		var marks []string
		seen := 0
		heard := map[int][]byte{}
		_, err := Play(t.Context(), Timers{}, Settings{Baud: 38400}, seq(in, nil), w, Options{
			Consumer: func() (Settings, bool) { return Settings{Baud: set()}, true },
			Sent: func(s Sent) {
				marks = append(marks, s.Dropped)
				heard[set()] = append(heard[set()], w.got.Bytes()[seen:]...)
				seen = w.got.Len()
			}})
		if err != nil {
			t.Fatal(err)
		}
		for _, baud := range tried[:5] {
			if got := heard[baud]; len(got) == 0 || bytes.Contains(got, []byte("HDT")) {
				t.Errorf("at %d baud it reads %q", baud, got)
			}
		}
		if got, want := string(heard[38400]), strings.Repeat(text, 50); !strings.HasSuffix(got, want[len(text):]) {
			t.Errorf("at the right rate it reads %q", got)
		}
		for i, m := range marks {
			if (m == SpeedMismatch) != (i < 50) && i != 50 { // the 51st is cut by the change
				t.Errorf("message %d is marked %q", i, m)
			}
		}
		// At a quarter of the time a byte takes a fast receiver hears more bytes, a slow one fewer.
		if n, m := len(heard[4800]), len(heard[115200]); n >= 10*len(text)/4 || m <= 10*len(text) {
			t.Errorf("of %d bytes %d were heard at 4800 baud and %d at 115200", 10*len(text), n, m)
		}
	})
}

// The device changes its rate in the middle of the run: pacing follows, what is on its way leaves at the old rate, and a
// consumer that does not follow reads rubbish.
func TestMessageAtAnotherRate(t *testing.T) {
	in := []Message{msg(0, strings.Repeat("a", 48)), msg(0.05, strings.Repeat("b", 96)), msg(0.06, "cc"), msg(1, "dd")}
	in[1].Baud, in[2].Baud = 9600, 9600
	got := transmitTo(t, Settings{Baud: 4800}, in, TransmitOptions{Consumer: func(float64) (Settings, bool) { return Settings{Baud: 4800}, true }})
	for i, want := range []struct {
		first, last float64
		dropped     string
	}{{0, 0.1, ""}, {0.1, 0.2, SpeedMismatch}, {0.2, 0.2 + 20./9600, SpeedMismatch}, {1, 1 + 20./4800, ""}} {
		s := got.sent[i]
		if math.Abs(s.First-want.first) > 1e-12 || math.Abs(s.Last-want.last) > 1e-12 || s.Dropped != want.dropped {
			t.Errorf("message %d left from %g to %g, %q; want %+v", i, s.First, s.Last, s.Dropped, want)
		}
	}
	if s := string(got.bytes); !strings.HasPrefix(s, strings.Repeat("a", 48)) || !strings.HasSuffix(s, "dd") || strings.Contains(s, "b") {
		t.Errorf("got %q", s)
	}
	// The queue counts what waits at either rate: at 0.05 s 24 bytes of the first are left.
	in[1].Bytes = in[1].Bytes[:6]
	for queue, want := range map[int]string{30: "", 29: QueueFull} {
		_, sent := transmit(t, Settings{Baud: 4800, Queue: queue}, in[:2])
		if sent[1].Dropped != want {
			t.Errorf("queue of %d bytes: %q, want %q", queue, sent[1].Dropped, want)
		}
	}
}

// A FIFO of 4 bytes that is filled again 3 byte times after it has run empty: the byte on its way out covers one, two
// are idle. Times in byte times, worked by hand.
func TestFIFO(t *testing.T) {
	const bt = 1.0 / 480
	s := Settings{Baud: 4800, FIFO: 4, RefillS: 3 * bt}
	_, sent := transmit(t, s, []Message{msg(0, "abcdef"), msg(0, "gh"), msg(0, "ij"), msg(1, "klmn")})
	for i, want := range [][2]float64{{0, 8}, {8, 10}, {12, 14}, {480, 484}} {
		if got := sent[i]; math.Abs(got.First/bt-want[0]) > 1e-9 || math.Abs(got.Last/bt-want[1]) > 1e-9 {
			t.Errorf("message %d from %g to %g byte times, want %v", i, got.First/bt, got.Last/bt, want)
		}
	}
	s.RefillS = bt // covered
	if _, sent = transmit(t, s, []Message{msg(0, "abcdef")}); math.Abs(sent[0].Last/bt-6) > 1e-9 {
		t.Errorf("last byte after %g byte times, want 6", sent[0].Last/bt)
	}
	for _, c := range []struct {
		s    Settings
		want string
	}{
		{Settings{Baud: 1, FIFO: -1}, "line: FIFO is -1 bytes, allowed: 0 (none that matters) to 4096; 16 is usual"},
		{Settings{Baud: 1, FIFO: 1, RefillS: math.NaN()}, "line: the FIFO is refilled after NaN s, allowed: 0 s to 1 s"},
		{Settings{Baud: 1, RefillS: 0.1}, "line: the FIFO is refilled after 0.1 s, but there is none; give it a depth, such as 16 bytes"},
	} {
		if err := c.s.Validate(); err == nil || err.Error() != c.want {
			t.Errorf("error is %v, want %s", err, c.want)
		}
	}
}

// An adapter with a timer of 10 byte times and blocks of 4 bytes. Worked by hand: bytes come at 1, 2, 3, 4: a full block,
// the timer begins anew at 4; 5 and 6 wait for it until 14. The next message's come at 101 to 103: the timer has run
// out at 14, 24, ... 104.
func TestAdapter(t *testing.T) {
	const bt = 1.0 / 480
	in := []Message{msg(0, "abcdef"), msg(100*bt, "ghi"), msg(300*bt, "jk")}
	in[0].Adapter = Adapter{LatencyS: 10 * bt, Block: 4}
	in[1].Adapter = in[0].Adapter
	got := transmitTo(t, Settings{Baud: 4800}, in, TransmitOptions{})
	var at []float64
	for _, x := range got.at {
		at = append(at, math.Round(x/bt*1e6)/1e6)
	}
	if want := "[4 4 4 4 14 14 104 104 104 302 302]"; fmt.Sprint(at) != want || string(got.bytes) != "abcdefghijk" || fmt.Sprint(got.sizes) != "[4 2 3 2]" {
		t.Errorf("got %q at %v in %v, want at %s", got.bytes, at, got.sizes, want)
	}
	for i, want := range []float64{8, 1, 0} {
		if held := got.sent[i].HeldS / bt; math.Abs(held-want) > 1e-6 {
			t.Errorf("message %d held for %g byte times, want %g", i, held, want)
		}
	}
}

// A break of 2.05 byte times takes three; a receiver set as the device reads 00 and all the rest.
func TestBreakWithinMessage(t *testing.T) {
	const bt = 1.0 / 480
	m := msg(0, "ab\x00cd")
	m.Break = Break{At: 2, S: 2.05 * bt}
	in := []Message{m, msg(0, "ef")}
	_, sent := transmit(t, Settings{Baud: 4800}, in)
	if math.Abs(sent[0].Last/bt-7) > 1e-9 || math.Abs(sent[1].First/bt-7) > 1e-9 {
		t.Errorf("the message ends after %g byte times, the next begins after %g; want 7", sent[0].Last/bt, sent[1].First/bt)
	}
	for _, c := range []struct {
		rx     Settings
		policy Policy
		want   string
	}{
		{Settings{Baud: 4800}, KeepErrored, "ab\x00cdef"},
		{Settings{Baud: 4900}, MarkErrored, "ab\xff\x00\x00cdef"}, // 2.1 % off: through the receiver
	} {
		in := append([]Message{msg(-1, "x")}, in...) // it has been listening for a while
		got := transmitTo(t, Settings{Baud: 4800}, in, TransmitOptions{Policy: c.policy, Consumer: func(float64) (Settings, bool) { return c.rx, true }})
		if !strings.HasSuffix(string(got.bytes), c.want) {
			t.Errorf("%v reads %q, want %q", c.rx, got.bytes, c.want)
		}
	}
}

type hangingWire struct {
	wire
	hung  []time.Duration
	tuned []int
	err   error
}

func (w *hangingWire) HangUp(_ context.Context, d time.Duration) error {
	w.hung = append(w.hung, d)
	return w.err
}

func (w *hangingWire) SetLine(s Settings) error {
	w.tuned = append(w.tuned, s.Baud)
	return w.err
}

func TestHangUpAndTune(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in := []Message{msg(0, "aaaa"), msg(1, "bbbb"), msg(1.5, "cc"), msg(2.9999, "dd"), msg(3.1, "ee")}
		in[1].HangUpS, in[4].Baud = 2, 9600
		w := &hangingWire{}
		var log []string
		sum, err := Play(t.Context(), Timers{}, Settings{Baud: 4800}, seq(in, nil), w, Options{Sent: func(s Sent) {
			log = append(log, fmt.Sprintf("%s %q %d", s.Bytes, s.Dropped, s.Lost))
		}})
		if want := `[aaaa "" 0 bbbb "hung up" 4 cc "hung up" 2 dd "hung up" 1 ee "" 0]`; err != nil || fmt.Sprint(log) != want {
			t.Errorf("log %v, %v; want %s", log, err, want)
		}
		if w.got.String() != "aaaadee" || fmt.Sprint(w.hung, w.tuned) != "[2s] [9600]" || sum.HungUp != (Loss{3, 7}) {
			t.Errorf("got %q, hung up for %v, tuned to %v, summary %+v", w.got.String(), w.hung, w.tuned, sum.HungUp)
		}
		w.err = errors.New("stuck")
		if _, err = Play(t.Context(), Timers{}, Settings{Baud: 4800}, seq(in, nil), w, Options{}); err == nil || err.Error() != "play: message TXT due at 1 s: stuck" {
			t.Errorf("error is %v", err)
		}
	})
}

func TestMessagesThatCannotBeSent(t *testing.T) {
	for want, m := range map[string]Message{
		"transmit: line: message A is to be sent at -1 baud, allowed: 1 to 100000000, or 0 for the line's own rate":                           {Baud: -1},
		"transmit: line: message A of 1 bytes has a break of 1 s at byte 1, allowed: 0 s to 3600 s, at one of its bytes":                      {Break: Break{1, 1}},
		"transmit: line: message A goes through an adapter with blocks of 0 bytes and a timer of NaN s, allowed: 0 bytes or more, 0 s to 1 s": {Adapter: Adapter{LatencyS: math.NaN()}},
		"transmit: line: message A hangs up for 3601 s, allowed: 0 s to 3600 s":                                                               {HangUpS: 3601},
		"transmit: line: message A is due at +Inf s, allowed: a time within 1e+09 s of the scenario's start":                                  {Due: math.Inf(1)},
	} {
		m.Kind, m.Bytes = "A", []byte("x")
		if err := Transmit(Settings{Baud: 4800}, seq([]Message{m}, nil), &bytes.Buffer{}, nil); err == nil || err.Error() != want {
			t.Errorf("error is %v, want %s", err, want)
		}
	}
}

func TestMismatchAllocatesNothingPerMessage(t *testing.T) {
	run := func(n int) float64 {
		msgs := endless(n)
		return testing.AllocsPerRun(3, func() {
			_ = TransmitTo(Settings{Baud: 4800}, msgs, TransmitOptions{Consumer: func(float64) (Settings, bool) { return Settings{Baud: 38400}, true }},
				func(float64, []byte) error { return nil }, func(Sent) {})
		})
	}
	if few, many := run(30), run(3000); many > few+3 {
		t.Errorf("%g allocations for 3000 messages, %g for 30", many, few)
	}
}
