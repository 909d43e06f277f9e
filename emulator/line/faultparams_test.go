package line

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
)

// The number of hits is what share and rate ask for, within five standard deviations, and differs by seed.
func TestHowOften(t *testing.T) {
	const n = 20000
	in := make([]Message, n)
	for i := range in {
		in[i] = msg(float64(i)/10, "x")
	}
	count := func(p Params, seed uint64) (hits int, which string) {
		for i, m := range hurtBy(t, mustFault(t, "silence", p), in, seed) {
			if m.Hurt != "" {
				hits++
				which += fmt.Sprint(i, " ")
			}
		}
		return hits, which
	}
	for _, c := range []struct {
		p    Params
		each float64 // probability of each message
	}{
		{Params{Share: 0.01}, 0.01},
		{Params{Share: 1}, 1},
		{Params{Rate: 0.1}, 1 - math.Exp(-0.01)}, // an instant of the Poisson process falls into the tenth of a second
		{Params{Rate: 5}, 1 - math.Exp(-0.5)},
	} {
		got, which := count(c.p, 1)
		want, sigma := n*c.each, math.Sqrt(n*c.each*(1-c.each))
		if math.Abs(float64(got)-want) > 5*sigma+1e-9 {
			t.Errorf("%+v: %d hits, want %.0f ± %.0f", c.p, got, want, sigma)
		}
		if _, other := count(c.p, 2); other == which && c.each < 1 {
			t.Errorf("%+v: two seeds, one outcome", c.p)
		}
	}
	if got, which := count(Params{Every: 3, Times: 2}, 1); got != 2 || which != "2 5 " {
		t.Errorf("hits are %s", which)
	}
	for _, r := range Faults {
		hits := 0
		for _, m := range hurtBy(t, mustFault(t, r.Name, required(r, Params{})), in[:100], 1) {
			if m.HangUpS > 0 || m.Break.S > 0 || m.Hurt == "mid-message-start" {
				hits++
			}
		}
		if want := map[string]int{"hang-up": 1, "break": 1, "mid-message-start": 1}[r.Name]; hits != want {
			t.Errorf("%s happens %d times by itself, want %d", r.Name, hits, want)
		}
	}
}

func TestParameters(t *testing.T) {
	for _, c := range []struct {
		fault string
		p     Params
		key   string
		want  string
	}{
		{"silence", Params{Share: 1.5}, "share", "fault: share is 1.5, allowed: 0 to 1, such as 0.01 for one message in a hundred (0 is all)"},
		{"silence", Params{Rate: math.Inf(1)}, "rate", "fault: rate is +Inf Hz, allowed: 0 to 1000 Hz (0 is all)"},
		{"silence", Params{Every: 2, Rate: 1}, "rate", "fault: of every, share and rate more than one is set, allowed: one of them"},
		{"silence", Params{Every: 2, Share: 1}, "share", "fault: of every, share and rate more than one is set, allowed: one of them"},
		{"silence", Params{Times: -1}, "times", "fault: times is -1, allowed: 1, 2, ... (0 is no limit)"},
		{"silence", Params{Count: 2}, "count", "fault: silence takes no count, allowed: from, until, message, every, share, rate, times"},
		{"noise", Params{For: 2}, "for", "fault: noise takes no for, allowed: from, until, message, every, share, rate, times, count"},
		{"noise", Params{Count: 1001}, "count", "fault: count of noise is 1001 bytes, allowed: 1 to 1000 bytes"},
		{"noise", Params{Count: -1}, "count", "fault: count of noise is -1 bytes, allowed: 1 to 1000 bytes"},
		{"break", Params{For: math.NaN()}, "for", "fault: for of break is NaN s, allowed: 1e-06 to 60 s"},
		{"speed", Params{}, "baud", "fault: speed needs baud: 1 to 100000000 bits a second"},
		{"speed", Params{Baud: -4800}, "baud", "fault: baud of speed is -4800 bits a second, allowed: 1 to 100000000 bits a second"},
		{"adapter-batching", Params{LatencyS: 2}, "latency", "fault: latency of adapter-batching is 2 s, allowed: 0.0001 to 1 s"},
		{"wrong-line-end", Params{Ending: "crlf"}, "ending", `fault: ending of wrong-line-end is "crlf", allowed: lf, cr, none`},
		{"noise", Params{Ending: "cr"}, "ending", "fault: noise takes no ending, allowed: from, until, message, every, share, rate, times, count"},
	} {
		_, err := NewFault(c.fault, c.p)
		if err == nil || err.Error() != c.want {
			t.Errorf("error is %v, want %s", err, c.want)
		}
		if p, ok := errors.AsType[*ParamError](err); !ok || p.Key != c.key {
			t.Errorf("%v is about %+v, want %s", err, p, c.key)
		}
	}
}

// The ways a fault can be told to be.
func TestFaultParameters(t *testing.T) {
	in := []Message{msg(0, "$HEHDT,271.42,T*1D\r\n"), msg(1, "$HEHDT,271.43,T*1C\r\n")}
	for _, c := range []struct {
		fault string
		p     Params
		want  string
	}{
		{"wrong-line-end", Params{Ending: "cr"}, "$HEHDT,271.42,T*1D\r$HEHDT,271.43,T*1C\r"},
		{"wrong-line-end", Params{Ending: "none", Every: 2}, "$HEHDT,271.42,T*1D\r\n$HEHDT,271.43,T*1C"},
		{"missing-checksum", Params{Times: 1}, "$HEHDT,271.42,T\r\n$HEHDT,271.43,T*1C\r\n"},
		{"lower-case-checksum", Params{}, "$HEHDT,271.42,T*1d\r\n$HEHDT,271.43,T*1c\r\n"},
		{"repeated-epoch", Params{Count: 2, Times: 1}, strings.Repeat("$HEHDT,271.42,T*1D\r\n", 3) + "$HEHDT,271.43,T*1C\r\n"},
		{"out-of-order-epoch", Params{}, "$HEHDT,271.43,T*1C\r\n$HEHDT,271.42,T*1D\r\n"},
		{"lost-byte", Params{Count: 20, Times: 1}, "$HEHDT,271.43,T*1C\r\n"},
	} {
		var got []byte
		for _, m := range hurtBy(t, mustFault(t, c.fault, c.p), in, 1) {
			got = append(got, m.Bytes...)
		}
		if string(got) != c.want {
			t.Errorf("%s %+v: %q, want %q", c.fault, c.p, got, c.want)
		}
	}
	// A pause until it is over, or for so long.
	for _, c := range []struct {
		p    Params
		want string
	}{
		{Params{From: 0.1, Until: 0.35}, "0.01 0.35 0.35 0.35 0.41 0.51"},
		{Params{From: 0.1, For: 0.2}, "0.01 0.31 0.31 0.31 0.41 0.51"},
	} {
		var due []string
		for _, m := range hurtBy(t, mustFault(t, "pause", c.p), clean(6), 1) {
			if m.Kind == "HEHDT" {
				due = append(due, fmt.Sprintf("%.2f", m.Due))
			}
		}
		if got := strings.Join(due, " "); got != c.want {
			t.Errorf("pause %+v: due at %s, want %s", c.p, got, c.want)
		}
	}
	// A flood fills the line: at 4800 baud 480 bytes a second.
	n := 0
	for _, m := range hurtBy(t, mustFault(t, "babble", Params{From: 1, For: 2, Line: Settings{Baud: 4800}}), clean(60), 1) {
		if m.Number < 0 {
			n += len(m.Bytes)
			if m.Due < 1 || m.Due > 3.1 {
				t.Errorf("floods at %g s", m.Due)
			}
		}
	}
	if n < 2*480-64 || n > 2*480 {
		t.Errorf("%d bytes in 2 s at 4800 baud, want 960 or up to 64 fewer", n)
	}
}

func TestFaultsAllocateNothingPerMessage(t *testing.T) {
	for _, r := range Faults {
		if slices.Contains([]string{"repeated-epoch", "out-of-order-epoch"}, r.Name) {
			continue // they keep copies of what they hold back
		}
		run := func(n int) float64 {
			msgs := mustFault(t, r.Name, required(r, Params{Every: 1})).Apply(endless(n), 1)
			return testing.AllocsPerRun(2, func() {
				for range msgs {
				}
			})
		}
		if few, many := run(20), run(2000); many > few+3 {
			t.Errorf("%s: %g allocations for 2000 messages, %g for 20", r.Name, many, few)
		}
	}
}
