package mixed

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"swellbench/emulator/wire"
)

// Two invented families: text is <...!> with a digit that counts its letters modulo ten, binary is 0xFB, a length, so many
// bytes and their sum.
func begins(c byte) *[256]bool { b := new([256]bool); b[c] = true; return b }

var text = wire.Family{Name: "text", Begins: begins('<'), Longest: 40, Probe: func(b []byte, ended bool) wire.Probe {
	for i := 1; i < min(len(b), 40); i++ {
		switch {
		case b[i] == '<':
			return wire.Probe{Verdict: wire.Broken, Len: i, Why: "no end"}
		case b[i] == '!' && i >= 2 && int(b[i-1]-'0') == (i-2)%10:
			return wire.Probe{Verdict: wire.Whole, Len: i + 1}
		case b[i] == '!':
			return wire.Probe{Verdict: wire.Broken, Len: i + 1, Why: "count"}
		}
	}
	if len(b) >= 40 || ended {
		return wire.Probe{Verdict: wire.Broken, Len: min(len(b), 40), Why: "no end"}
	}
	return wire.Probe{Verdict: wire.Partial, Len: len(b) + 1}
}}

var binary = wire.Family{Name: "binary", Begins: begins(0xFB), Longest: 258, Probe: func(b []byte, ended bool) wire.Probe {
	if len(b) < 2 || len(b) < int(b[1])+3 {
		if ended {
			return wire.Probe{Verdict: wire.Broken, Len: len(b), Why: "cut off"}
		}
		n := 2
		if len(b) >= 2 {
			n = int(b[1]) + 3
		}
		return wire.Probe{Verdict: wire.Partial, Len: n}
	}
	var sum byte
	for _, c := range b[2 : 2+int(b[1])] {
		sum += c
	}
	if sum != b[2+int(b[1])] {
		return wire.Probe{Verdict: wire.Broken, Len: int(b[1]) + 3, Why: "sum"}
	}
	return wire.Probe{Verdict: wire.Whole, Len: int(b[1]) + 3}
}}

func letters(s string) []byte { return fmt.Appendf(nil, "<%s%d!", s, len(s)%10) }

func block(p ...byte) []byte {
	var sum byte
	for _, c := range p {
		sum += c
	}
	return append(append([]byte{0xFB, byte(len(p))}, p...), sum)
}

// events writes down what is found in pieces of at most n bytes.
func events(t testing.TB, in []byte, n int) (out []string) {
	t.Helper()
	s := New(binary, text)
	drain := func() {
		for e, ok := s.Next(); ok; e, ok = s.Next() {
			name := ""
			if e.Family != nil {
				name = e.Family.Name + " "
			}
			out = append(out, fmt.Sprintf("%d %s%v %d %q%s", e.Offset, name, e.Kind, e.Count, e.Bytes, e.Why))
		}
	}
	for p := in; len(p) > 0; {
		k := min(n, len(p))
		s.Push(p[:k])
		p = p[k:]
		drain()
		if len(s.buf)-s.at > 2*258+n {
			t.Fatalf("keeps %d bytes", len(s.buf)-s.at)
		}
	}
	s.Flush()
	drain()
	return out
}

func TestSplitter(t *testing.T) {
	cat := func(p ...[]byte) []byte { return bytes.Join(p, nil) }
	for name, c := range map[string]struct {
		in   []byte
		want []string
	}{
		"one of each": {cat(letters("abc"), block(1, 2)), []string{`0 text message 6 "<abc3!"`, `6 binary message 5 "\xfb\x02\x01\x02\x03"`}},
		"a message inside a message is part of it": {block(letters("x")...), []string{`0 binary message 7 "\xfb\x04<x1!\x06"`}},
		"a good one within a false start":          {cat([]byte{0xFB, 9}, letters("ok"), []byte("rest of it")), []string{`0 binary broken 2 "\xfb\t"sum`, `2 text message 5 "<ok2!"`, `7 garbage 10 "rest of it"`}},
		"a false start at the end":                 {cat([]byte{0xFB, 200}, letters("ok")), []string{`0 binary broken 2 "\xfb\xc8"cut off`, `2 text message 5 "<ok2!"`}},
		"cut by the next":                          {cat([]byte("<half"), letters("ok")), []string{`0 text broken 5 "<half"no end`, `5 text message 5 "<ok2!"`}},
		"garbage":                                  {cat([]byte("\r\n"), letters("a"), []byte("\r\n??\r\n"), letters("b"), []byte("\n")), []string{`2 text message 4 "<a1!"`, `6 garbage 6 "\r\n??"`, `12 text message 4 "<b1!"`}},
		"nothing":                                  {nil, nil},
	} {
		for n := 1; n <= len(c.in)+1; n++ {
			if got := events(t, c.in, n); strings.Join(got, "\n") != strings.Join(c.want, "\n") {
				t.Errorf("%s, in pieces of %d:\n got %s\nwant %s", name, n, strings.Join(got, "\n     "), strings.Join(c.want, "\n     "))
			}
		}
	}
}

// However messages are hurt, cut and mixed with rubbish, each that is whole is found, every byte is accounted for once,
// and the cuts of the stream make no difference. The rubbish holds no byte that begins a message, so that it cannot make
// part of one.
func TestNoGoodMessageIsLost(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	lost := 0
	for range 3000 {
		var in []byte
		var good []string
		for range 1 + r.IntN(12) {
			m := letters(strings.Repeat("k", r.IntN(20)))
			if r.IntN(2) == 0 {
				p := make([]byte, r.IntN(30))
				for i := range p {
					p[i] = byte(r.IntN(60)) // neither < nor 0xFB
				}
				m = block(p...)
			}
			switch r.IntN(5) {
			case 0: // cut short
				in = append(in, m[:r.IntN(len(m))]...)
			case 1: // rubbish
				for range r.IntN(100) {
					in = append(in, byte('A'+r.IntN(26)))
				}
			default:
				good = append(good, fmt.Sprintf("%d %q", len(in), m))
				in = append(in, m...)
			}
		}
		all := events(t, in, len(in)+1)
		if cut := events(t, in, 1+r.IntN(9)); strings.Join(all, "\n") != strings.Join(cut, "\n") {
			t.Fatalf("%q\nwhole:\n%s\ncut:\n%s", in, strings.Join(all, "\n"), strings.Join(cut, "\n"))
		}
		for _, g := range good {
			at, what, _ := strings.Cut(g, " ")
			found := false
			for _, e := range all {
				found = found || strings.HasPrefix(e, at+" ") && strings.Contains(e, " message ") && strings.Contains(e, what)
			}
			if !found {
				lost++ // a hurt block may swallow what follows only if its sum fits by chance
			}
		}
	}
	if lost > 30 { // of some 12,000; by chance 1 in 256 of the hurt blocks
		t.Errorf("%d good messages were lost", lost)
	}
}

func TestSplitterAllocates(t *testing.T) {
	s := New(binary, text)
	in := bytes.Repeat(append(append(letters("abc"), block(1, 2, 3)...), "noise"...), 20)
	if n := testing.AllocsPerRun(100, func() {
		s.Push(in)
		for _, ok := s.Next(); ok; _, ok = s.Next() {
		}
	}); n > 0 {
		t.Errorf("%g allocations", n)
	}
}

func FuzzSplitter(f *testing.F) {
	f.Add([]byte("<abc3!??\xfb\x02\x01\x02\x03<<"), 3)
	f.Fuzz(func(t *testing.T, in []byte, n int) {
		n = 1 + max(n, -n)%64
		if n < 1 {
			n = 1
		}
		all, cut := events(t, in, len(in)+1), events(t, in, n)
		if strings.Join(all, "\n") != strings.Join(cut, "\n") {
			t.Errorf("whole:\n%s\ncut:\n%s", strings.Join(all, "\n"), strings.Join(cut, "\n"))
		}
	})
}
