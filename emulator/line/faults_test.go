package line

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

const sentence = "$HEHDT,271.42,T*1D\r\n" // checksum worked by hand: exclusive or of the characters between $ and *

// burst makes n epochs of three kinds, a tenth of a second apart.
func burst(n int) []Message {
	var in []Message
	for k := range n {
		for _, kind := range []string{"GNGGA", "HEHDT", "GNHDT"} {
			in = append(in, Message{Due: float64(k) / 10, Kind: kind, Bytes: []byte(sentence)})
		}
	}
	return in
}

// hurt applies a fault and copies what comes out.
func hurt(t *testing.T, f Fault, in []Message, seed uint64) []Message {
	t.Helper()
	var out []Message
	for m, err := range f.Apply(seq(in, nil), seed) {
		if err != nil {
			t.Fatal(err)
		}
		m.Bytes = append([]byte(nil), m.Bytes...)
		out = append(out, m)
	}
	if len(out) != len(in) {
		t.Fatalf("%d messages came out, %d went in", len(out), len(in))
	}
	return out
}

func mustFault(t *testing.T, name string, p Params) Fault {
	t.Helper()
	f, err := NewFault(name, p)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestPickedMessages(t *testing.T) {
	for _, c := range []struct {
		name string
		p    Params
		want string // numbers of the hurt messages
	}{
		{"all", Params{}, "[0 1 2 3 4 5 6 7 8]"},
		{"one kind", Params{Message: "GGA"}, "[0 3 6]"},
		{"whole kind", Params{Message: "GNHDT"}, "[2 5 8]"},
		{"no kind", Params{Message: "ZDA"}, "[]"},
		{"every second", Params{Every: 2}, "[1 3 5 7]"},
		{"every second of a kind", Params{Message: "HDT", Every: 2}, "[2 5 8]"},
		{"from", Params{From: 0.1}, "[3 4 5 6 7 8]"},
		{"until", Params{Until: 0.2}, "[0 1 2 3 4 5]"},
		{"between", Params{From: 0.1, Until: 0.15, Every: 3}, "[5]"},
	} {
		hit := []int{}
		for i, m := range hurt(t, mustFault(t, "silence", c.p), burst(3), 1) {
			if m.Hurt != "" {
				hit = append(hit, i)
			}
		}
		if fmt.Sprint(hit) != c.want {
			t.Errorf("%s: hurt %v, want %s", c.name, hit, c.want)
		}
	}
}

// A digit before a decimal point is another digit, and the checksum is the one of the undamaged sentence; all else is as
// it was. Every such digit is hit, the time of day never.
func TestBadChecksum(t *testing.T) {
	const sentence = "$GNVTG,217.98,T,219.68,M,6.771,N,12.541,K,R*1B\r\n"
	in := make([]Message, 2000)
	for i := range in {
		in[i] = msg(float64(i), sentence)
	}
	hits := map[int]map[byte]bool{}
	for _, m := range hurt(t, mustFault(t, "bad-checksum", Params{}), in, 3) {
		at := -1
		for i := range sentence {
			if m.Bytes[i] == sentence[i] {
				continue
			}
			if at >= 0 || m.Bytes[i] < '0' || m.Bytes[i] > '9' || sentence[i+1] != '.' {
				t.Fatalf("got %q", m.Bytes)
			}
			at = i
		}
		if at < 0 || len(m.Bytes) != len(sentence) {
			t.Fatalf("got %q", m.Bytes)
		}
		if hits[at] == nil {
			hits[at] = map[byte]bool{}
		}
		hits[at][m.Bytes[at]] = true
	}
	if len(hits) != 4 {
		t.Errorf("hit %d of the 4 digits", len(hits))
	}
	for at, digits := range hits {
		if len(digits) != 9 { // some 500 draws among 9 values
			t.Errorf("the digit at %d became %d others, want 9", at, len(digits))
		}
	}
	// Without such a digit it is the checksum that is wrong.
	for _, in := range []string{"$GPZDA,120000.00,01,06,2026,00,00*64\r\n", "$HEHDT,,T*01\r\n"} {
		m := string(hurt(t, mustFault(t, "bad-checksum", Params{}), []Message{msg(0, in)}, 3)[0].Bytes)
		if star := strings.IndexByte(in, '*'); m[:star+1] != in[:star+1] || m[star+1:star+3] == in[star+1:star+3] || len(m) != len(in) {
			t.Errorf("%q became %q", in, m)
		}
	}
	for in, marked := range map[string]bool{
		"\\s:x*1B\\$HEHDT,271.42,T*1D\r\n": true,  // the sentence's checksum, not the tag block's
		"$HEHDT,271.42,T\r\n":              false, // has none
		"\xb5\x62*12":                      false, // no sentence
	} {
		m := hurt(t, mustFault(t, "bad-checksum", Params{}), []Message{msg(0, in)}, 3)[0]
		if (m.Hurt != "") != marked || (string(m.Bytes) != in) != marked || !strings.HasPrefix(string(m.Bytes), in[:4]) {
			t.Errorf("%q became %q, marked %q", in, m.Bytes, m.Hurt)
		}
	}
}

// Exactly one bit, and over many messages every bit of the message.
func TestFlippedBit(t *testing.T) {
	in := make([]Message, 5000)
	for i := range in {
		in[i] = msg(float64(i), sentence)
	}
	seen := map[int]bool{}
	for _, m := range hurt(t, mustFault(t, "flipped-bit", Params{}), in, 3) {
		var flipped []int
		for i := range len(sentence) {
			for bit := range 8 {
				if (m.Bytes[i]^sentence[i])>>bit&1 != 0 {
					flipped = append(flipped, 8*i+bit)
				}
			}
		}
		if len(flipped) != 1 {
			t.Fatalf("%q: bits %v flipped", m.Bytes, flipped)
		}
		seen[flipped[0]] = true
	}
	if len(seen) != 8*len(sentence) {
		t.Errorf("%d of %d bits were ever flipped", len(seen), 8*len(sentence))
	}
	a := hurt(t, mustFault(t, "flipped-bit", Params{}), in[:20], 1)
	b := hurt(t, mustFault(t, "flipped-bit", Params{}), in[:20], 2)
	if fmt.Sprint(a) == fmt.Sprint(b) {
		t.Error("two seeds, one outcome")
	}
}

func TestTwoFaults(t *testing.T) {
	f, g := mustFault(t, "flipped-bit", Params{Every: 2}), mustFault(t, "silence", Params{Every: 3})
	var marks []string
	for m := range g.Apply(f.Apply(seq(burst(2), nil), 1), 1) {
		marks = append(marks, m.Hurt)
	}
	if want := "[ flipped-bit silence flipped-bit  flipped-bit+silence]"; fmt.Sprint(marks) != want {
		t.Errorf("marks are %v, want %s", marks, want)
	}
}

func TestFaultErrors(t *testing.T) {
	_, err := NewFault("silense", Params{From: math.NaN(), Every: -1})
	want := `fault: no fault is called "silense", allowed: adapter-batching, babble, bad-checksum, break, doubled-byte, echo, extra-field, flipped-bit, hang-up, lost-byte, lower-case-checksum, merged-messages, mid-message-start, missing-checksum, missing-field, noise, non-ascii, out-of-order-epoch, over-long, pause, repeated-epoch, silence, slow-consumer, speed, truncated, wrong-line-end
fault: it begins at NaN s, allowed: a finite time
fault: every is -1, allowed: 1 (all), 2, 3, ... (0 is 1)`
	if err == nil || err.Error() != want {
		t.Errorf("error is\n%v\nwant\n%s", err, want)
	}
	_, err = NewFault("silence", Params{From: 55, Until: 40})
	want = "fault: it ends at 40 s and begins at 55 s, allowed: an end after the beginning, or 0 for the end of the run"
	if err == nil || err.Error() != want {
		t.Errorf("error is\n%v\nwant\n%s", err, want)
	}
}
