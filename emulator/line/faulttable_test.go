package line

import (
	"bytes"
	"errors"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swellbench/emulator/wire/nmea0183"
)

// checked appends the checksum by its definition (IEC 61162-1): the exclusive or of all between $ and *.
func checked(body string) string {
	sum := byte(0)
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, sum)
}

// clean is n epochs a tenth of a second apart: three kinds of sentence, no two alike, and a frame that is none.
func clean(n int) []Message {
	var in []Message
	for k := range n {
		t := float64(k) / 10
		put := func(kind, text string) {
			in = append(in, Message{Valid: t, Due: t + 0.01, Kind: kind, Bytes: []byte(text)})
		}
		put("GNGGA", checked(fmt.Sprintf("GNGGA,%02d%02d%04.1f,5012.3456,N,00412.3456,W,4,12,0.8,10.0,M,50.0,M,1.0,0001", k/36000%24, k/600%60, t-float64(k/600*60))))
		put("HEHDT", checked(fmt.Sprintf("HEHDT,%05.1f,T", float64(k%3600)/10)))
		put("BIN", fmt.Sprintf("\xb5\x62$A*%02X\r\x00\x01\n%c", k%256, k%256))
		put("GNHDT", checked(fmt.Sprintf("GNHDT,%05.2f,T", float64(k)/100)))
	}
	return in
}

// hurtBy applies a fault to numbered messages and keeps what comes out.
func hurtBy(t *testing.T, f Fault, in []Message, seed uint64) []Message {
	t.Helper()
	var out []Message
	for m, err := range f.Apply(Numbered(seq(in, nil)), seed) {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, keep(&m))
	}
	return out
}

// required gives a row what it cannot do without.
func required(r FaultRow, p Params) Params {
	for _, k := range r.Keys {
		if k.Required {
			p.Baud = 9600 // the only one so far
		}
	}
	return p
}

func text(m Message) bool { return m.Bytes[0] == '$' }

// without tells whether b is a with some bytes taken out.
func without(a, b []byte) bool {
	for _, c := range b {
		i := bytes.IndexByte(a, c)
		if i < 0 {
			return false
		}
		a = a[i+1:]
	}
	return true
}

// fits tells whether the checksum of a sentence fits its text.
func fits(b []byte) bool {
	b = bytes.TrimRight(b, "\r\n")
	star := bytes.LastIndexByte(b, '*')
	return star > 0 && checked(string(b[1:star])) == string(b)+"\r\n"
}

// did says of each row what a hurt message must look like: clean message, hurt one.
var did = map[string]func(c, h Message) bool{
	"bad-checksum": func(c, h Message) bool { return len(c.Bytes) == len(h.Bytes) && !fits(h.Bytes) },
	"break": func(c, h Message) bool {
		return h.Break.S == 0.25 && h.Bytes[h.Break.At] == 0 && string(remove(bytes.Clone(h.Bytes), h.Break.At, 1)) == string(c.Bytes)
	},
	"doubled-byte": func(c, h Message) bool { return len(h.Bytes) == len(c.Bytes)+1 && without(h.Bytes, c.Bytes) },
	"extra-field": func(c, h Message) bool {
		return fits(h.Bytes) && bytes.Count(h.Bytes, []byte{','}) == bytes.Count(c.Bytes, []byte{','})+1
	},
	"flipped-bit": func(c, h Message) bool { return len(c.Bytes) == len(h.Bytes) },
	"lost-byte":   func(c, h Message) bool { return len(h.Bytes) == len(c.Bytes)-1 && without(c.Bytes, h.Bytes) },
	"lower-case-checksum": func(c, h Message) bool {
		return strings.EqualFold(string(c.Bytes), string(h.Bytes)) && h.Bytes[3] < 'a'
	},
	"merged-messages":   func(c, h Message) bool { return string(h.Bytes)+"\r\n" == string(c.Bytes) },
	"mid-message-start": func(c, h Message) bool { return len(h.Bytes) > 0 && bytes.HasSuffix(c.Bytes, h.Bytes) },
	"missing-checksum": func(c, h Message) bool {
		return without(c.Bytes, h.Bytes) && !bytes.ContainsRune(h.Bytes, '*') && bytes.HasSuffix(h.Bytes, []byte("\r\n"))
	},
	"missing-field": func(c, h Message) bool {
		return fits(h.Bytes) && bytes.Count(h.Bytes, []byte{','}) == bytes.Count(c.Bytes, []byte{','})-1
	},
	"noise": func(c, h Message) bool { return len(c.Bytes) == len(h.Bytes) && h.Edits[0].Cut == min(8, len(c.Bytes)) },
	"non-ascii": func(c, h Message) bool {
		return fits(h.Bytes) && slices.ContainsFunc(h.Bytes, func(b byte) bool { return b > 0x7F })
	},
	"out-of-order-epoch": func(c, h Message) bool { return string(c.Bytes) == string(h.Bytes) && h.Due > c.Due },
	"over-long":          func(c, h Message) bool { return fits(h.Bytes) && len(h.Bytes) == 200 },
	"pause":              func(c, h Message) bool { return string(c.Bytes) == string(h.Bytes) && h.Due > c.Due },
	"repeated-epoch":     func(c, h Message) bool { return string(c.Bytes) == string(h.Bytes) },
	"silence":            func(c, h Message) bool { return len(h.Bytes) == 0 },
	"slow-consumer":      func(c, h Message) bool { return bytes.HasPrefix(c.Bytes, h.Bytes) && len(h.Bytes) < len(c.Bytes) },
	"truncated": func(c, h Message) bool {
		return len(h.Bytes) > 0 && bytes.HasPrefix(c.Bytes, h.Bytes) && len(h.Bytes) < len(bytes.TrimRight(c.Bytes, "\r\n"))
	},
	"wrong-line-end": func(c, h Message) bool { return strings.ReplaceAll(string(c.Bytes), "\r\n", "\n") == string(h.Bytes) },
}

// changed says of the rows that leave messages whole what they do.
var changed = map[string]func(m Message) bool{
	"adapter-batching": func(m Message) bool { return m.Adapter == Adapter{0.016, 62} },
	"echo":             func(m Message) bool { return false },
	"hang-up":          func(m Message) bool { return m.HangUpS == 2 },
	"speed":            func(m Message) bool { return m.Baud == 9600 },
}

// Every row, under every way to pick: it hurts what it says and marks it, leaves everything else as it was and in its
// place, is the same for the same seed, can be had again from the log, and leaves every message that it did not hurt to be
// found by a decoder.
func TestFaultTable(t *testing.T) {
	in := clean(60)
	seen := map[string]bool{}
	for _, r := range Faults {
		if seen[r.Name] || r.Name == "" || r.What == "" {
			t.Errorf("row %+v: the name must be new, name and description given", r)
		}
		seen[r.Name] = true
		if (did[r.Name] == nil) == (changed[r.Name] == nil) && r.Name != "babble" || r.Whole != (changed[r.Name] != nil) {
			t.Errorf("%s: the test does not say what it does", r.Name)
			continue
		}
		for name, p := range map[string]Params{
			"default":     {},
			"each third":  {Every: 3, From: 1, Until: 4, Message: "HDT"},
			"a share":     {Share: 0.25, From: 0.5},
			"at a rate":   {Rate: 2},
			"three times": {Times: 3, Every: 1},
		} {
			t.Run(r.Name+"/"+name, func(t *testing.T) {
				f := mustFault(t, r.Name, required(r, p))
				out := hurtBy(t, f, in, 7)
				if again := hurtBy(t, f, in, 7); fmt.Sprint(out) != fmt.Sprint(again) {
					t.Error("one seed, two outcomes")
				}
				if fmt.Sprint(in) != fmt.Sprint(clean(60)) {
					t.Fatal("the producer's bytes were changed")
				}
				checkHurt(t, r, p, in, out)
				checkReplay(t, in, out)
				checkFound(t, out)
			})
		}
		f := mustFault(t, r.Name, required(r, Params{}))
		bad := errors.New("cannot encode")
		var got error
		for _, err := range f.Apply(seq(in[:4], bad), 7) {
			got = err
		}
		if got != bad {
			t.Errorf("%s: error %v came out, %v went in", r.Name, got, bad)
		}
		for n := range 9 {
			i := 0
			for range mustFault(t, r.Name, required(r, Params{Every: 1})).Apply(seq(in, nil), 7) {
				if i++; i > n {
					break // must stop pulling
				}
			}
		}
		for _, b := range []string{"", "x", "*", "$*", "$*4", "*41$", "\xff\xff\xff", "$", "$,*00", "$*00", "!*00\r\n\r\n\r\n\r\n", "\\$*00\n", "\r\n"} {
			for seed := range uint64(20) { // must not panic
				hurtBy(t, mustFault(t, r.Name, required(r, Params{Every: 1})), []Message{msg(0, b), msg(1, b), msg(2, b)}, seed)
			}
		}
	}
	for name := range did {
		if !seen[name] {
			t.Errorf("there is no fault %s", name)
		}
	}
}

// checkHurt holds each message that came out against the one that went in.
func checkHurt(t *testing.T, r FaultRow, p Params, in, out []Message) {
	t.Helper()
	hurt, own := 0, map[int]int{}
	last, lastDue := -1, math.Inf(-1)
	for i, m := range out {
		if m.Due < lastDue {
			t.Errorf("message %d is due at %g, after one due at %g", i, m.Due, lastDue)
		}
		lastDue = m.Due
		if r.Name == "babble" && m.Number < 0 {
			if m.Hurt != "babble" || len(m.Bytes) == 0 {
				t.Errorf("message %d is %+v", i, m)
			}
			hurt++
			continue
		}
		c := in[m.Number]
		if m.Hurt == "" || r.Name != "repeated-epoch" {
			own[m.Number]++
		}
		if m.Valid != c.Valid || m.Kind != c.Kind {
			t.Errorf("message %d became %s of %g s, was %s of %g s", i, m.Kind, m.Valid, c.Kind, c.Valid)
		}
		picked := p.fits(&c)
		if m.Hurt == "" {
			if string(m.Bytes) != string(c.Bytes) || m.Due != c.Due || len(m.Edits) > 0 {
				t.Errorf("message %d became %q due %g, was %q due %g, and is not marked", i, m.Bytes, m.Due, c.Bytes, c.Due)
			}
			if m.Number <= last {
				t.Errorf("message %d comes after message %d", m.Number, last)
			}
			last = m.Number
			if is := changed[r.Name]; is != nil && is(m) {
				hurt++
				if !picked {
					t.Errorf("message %d was not to be changed", i)
				}
			}
			continue
		}
		hurt++
		if m.Hurt != r.Name || !did[r.Name](c, m) {
			t.Errorf("message %d became %q, was %q; marked %q", i, m.Bytes, c.Bytes, m.Hurt)
		}
		if r.Text && !text(c) {
			t.Errorf("message %d is not text, and became %q", i, m.Bytes)
		}
		if r.Name != "pause" && r.Name != "slow-consumer" && !picked {
			t.Errorf("message %d, %s due at %g s, was not to be hurt", i, c.Kind, c.Due)
		}
	}
	if len(own) != len(in) {
		t.Errorf("%d of %d messages came out", len(own), len(in))
	}
	for n, k := range own {
		if k != 1 {
			t.Errorf("message %d came out %d times", n, k)
		}
	}
	if hurt == 0 && r.Name != "echo" {
		t.Errorf("nothing was hurt")
	}
}

// checkReplay has the log give the messages again.
func checkReplay(t rapid.TB, in, out []Message) {
	t.Helper()
	log := func(yield func(Sent, error) bool) {
		for _, m := range out {
			m.Bytes = nil
			if !yield(Sent{Message: m}, nil) {
				return
			}
		}
	}
	i := 0
	for m, err := range Replay(seq(in, nil), log) {
		if err != nil {
			t.Fatal(err)
		}
		if fmt.Sprint(m) != fmt.Sprint(out[i]) {
			t.Fatalf("replayed %+v, was %+v", m, out[i])
		}
		i++
	}
	if i != len(out) {
		t.Errorf("replayed %d messages of %d", i, len(out))
	}
}

// checkFound has a decoder look for all sentences that were not hurt.
func checkFound(t rapid.TB, out []Message) {
	t.Helper()
	line, sent := transmit(t, Settings{Baud: 921600, Queue: 1 << 20}, out)
	var d nmea0183.Decoder
	var found []string
	take := func() {
		for e, ok := d.Next(); ok; e, ok = d.Next() {
			if e.Kind == nmea0183.Accepted {
				found = append(found, string(e.Raw))
			}
		}
	}
	d.Push([]byte(line))
	take()
	d.Flush()
	take()
	for _, s := range sent {
		if s.Hurt != "" || s.Dropped != "" || !text(s.Message) {
			continue
		}
		want := strings.TrimRight(string(s.Bytes), "\r\n")
		i := slices.Index(found, want)
		if i < 0 {
			t.Fatalf("%q was not hurt and not found in %q", want, line)
		}
		found = found[i+1:]
	}
}

// Any faults one after the other: one seed, one stream of bytes, the log has all of it, and what no fault has hurt is found.
func TestFaultsTogether(t *testing.T) {
	in := clean(30)
	rapid.Check(t, func(rt *rapid.T) {
		var seq iter.Seq2[Message, error] = Numbered(seq(in, nil))
		var chain []Fault
		for range rapid.IntRange(1, 5).Draw(rt, "faults") {
			r := rapid.SampledFrom(Faults).Draw(rt, "fault")
			p := required(r, Params{From: rapid.SampledFrom([]float64{0, 1, 2.5}).Draw(rt, "from"), Message: rapid.SampledFrom([]string{"", "HDT", "BIN"}).Draw(rt, "message")})
			switch rapid.IntRange(0, 3).Draw(rt, "how often") {
			case 0:
				p.Every = rapid.IntRange(1, 4).Draw(rt, "every")
			case 1:
				p.Share = 0.3
			case 2:
				p.Rate = 3
			}
			chain = append(chain, mustFault(t, r.Name, p))
		}
		run := func() (out []Message) {
			s := seq
			for i, f := range chain {
				s = f.Apply(s, uint64(i))
			}
			for m, err := range s {
				if err != nil {
					rt.Fatal(err)
				}
				out = append(out, keep(&m))
			}
			return out
		}
		out := run()
		if fmt.Sprint(out) != fmt.Sprint(run()) {
			rt.Fatal("one seed, two outcomes")
		}
		for _, m := range out {
			if m.Break.S > 0 && m.Bytes[m.Break.At] != 0 && !strings.Contains(m.Hurt, "break+") {
				rt.Fatalf("the break of %+v is not at its byte", m)
			}
		}
		checkReplay(rt, in, out)
		checkFound(rt, out)
	})
}

func TestReplayErrors(t *testing.T) {
	in := []Message{msg(0, "abc"), msg(1, "def")}
	for want, m := range map[string]Message{
		"replay: message 2, TXT due at 5 s: the device made 2 messages":                                        {Number: 2},
		"replay: message 1, TXT due at 5 s: lost-byte cuts 2 bytes at 2 of a message of 3 bytes":               {Number: 1, Edits: []Edit{{"lost-byte", 2, 2, nil}}},
		"replay: message -1, TXT due at 5 s: babble cuts 0 bytes at 1 of a message of 0 bytes":                 {Number: -1, Edits: []Edit{{"babble", 1, 0, []byte("x")}}},
		"replay: message 0, TXT due at 5 s: noise cuts -1 bytes at 0 of a message of 3 bytes":                  {Number: 0, Edits: []Edit{{"noise", 0, -1, nil}}},
		"replay: message 0, TXT due at 5 s: noise cuts 9223372036854775807 bytes at 1 of a message of 3 bytes": {Number: 0, Edits: []Edit{{"noise", 1, math.MaxInt, nil}}},
	} {
		m.Kind, m.Due = "TXT", 5
		var got error
		for _, err := range Replay(seq(in, nil), func(yield func(Sent, error) bool) { yield(Sent{Message: m}, nil) }) {
			got = err
		}
		if got == nil || got.Error() != want {
			t.Errorf("error is %v, want %s", got, want)
		}
	}
}
