package nmea2000

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
)

func TestProbe(t *testing.T) {
	const whole = "T09F11223803DABAFF7FFF7FFC\r"
	for _, tt := range []struct {
		in    string
		ended bool
		want  wire.Probe
	}{
		{whole, false, wire.Probe{Verdict: wire.Whole, Len: 27}},
		{strings.ToLower(whole[1:]), false, wire.Probe{}},
		{"t1230\rmore", false, wire.Probe{Verdict: wire.Whole, Len: 6}},
		{"R09F112238\r", true, wire.Probe{Verdict: wire.Whole, Len: 11}},
		{"T", false, wire.Probe{Verdict: wire.Partial, Len: 11}},
		{whole[:10], false, wire.Probe{Verdict: wire.Partial, Len: 27}},
		{whole[:26], false, wire.Probe{Verdict: wire.Partial, Len: 27}},
		{whole[:26] + "12", false, wire.Probe{Verdict: wire.Partial, Len: 29}},
		{whole[:26], true, wire.Probe{Verdict: wire.Broken, Len: 26, Why: "cut off"}},
		{whole[:12] + "\r", false, wire.Probe{Verdict: wire.Broken, Len: 13, Why: "not hexadecimal"}},
		{whole[:12] + "$GPGGA", false, wire.Probe{Verdict: wire.Partial, Len: 19}},
		{whole[:12] + whole, false, wire.Probe{Verdict: wire.Broken, Len: 12, Why: "not hexadecimal"}},
		{whole[:12] + "\x7f", false, wire.Probe{Verdict: wire.Broken, Len: 12, Why: "not hexadecimal"}},
		{whole[:12] + "x" + whole[13:], false, wire.Probe{Verdict: wire.Broken, Len: 27, Why: "not hexadecimal"}},
		{"T29F112230\r", false, wire.Probe{Verdict: wire.Broken, Len: 11, Why: "identifier too large"}},
		{"T09F112239\r", false, wire.Probe{Verdict: wire.Broken, Len: 11, Why: "length over 8"}},
		{"T09F112230EA60\r", false, wire.Probe{Verdict: wire.Broken, Len: 15, Why: "time stamp over 59999"}},
		{"T09F112230 \r", false, wire.Probe{Verdict: wire.Broken, Len: 12, Why: "longer than its length says"}},
		{"T09F112230" + strings.Repeat("x", 40), false, wire.Probe{Verdict: wire.Broken, Len: 31, Why: "longer than its length says"}},
		{"The text", false, wire.Probe{}},
		{"t8000\r", false, wire.Probe{}},
		{"$GPGGA", false, wire.Probe{}},
		{"", false, wire.Probe{}},
	} {
		if got := probe([]byte(tt.in), tt.ended); got != tt.want {
			t.Errorf("%q: %+v, expected %+v", tt.in, got, tt.want)
		}
	}
}

// TestMixedStream: hurt lines and text among the frames; no good line is lost, in whatever pieces the stream comes.
func TestMixedStream(t *testing.T) {
	r := sampleReading()
	rng := rand.New(rand.NewPCG(1, 2))
	var stream []byte
	var good []string
	for i := range 300 {
		r.Count = uint32(i)
		lines, err := encoderOf(t, Kinds()[i%len(Kinds())], Options{}).Append(nil, &r)
		if err != nil {
			t.Fatal(err)
		}
		for line := range bytes.SplitAfterSeq(lines, []byte{'\r'}) {
			switch {
			case len(line) == 0:
				continue
			case rng.IntN(7) == 0:
				stream = append(stream, line[:1+rng.IntN(len(line)-1)]...) // cut off
			case rng.IntN(9) == 0:
				stream = append(stream, []string{"\a", "V1013\r", "Tt rR", "$GPTXT,Trt*00\r\n", "\x00\xff"}[rng.IntN(5)]...)
			}
			stream = append(stream, line...)
			good = append(good, string(line))
		}
	}
	for _, piece := range []int{1, 7, 1000, len(stream)} {
		s := mixed.New(NewFamily())
		var got []string
		take := func() {
			for ev, ok := s.Next(); ok; ev, ok = s.Next() {
				if ev.Kind == mixed.Message {
					got = append(got, string(ev.Bytes))
				}
			}
		}
		for rest := stream; len(rest) > 0; {
			n := min(piece, len(rest))
			s.Push(rest[:n])
			rest = rest[n:]
			take()
		}
		s.Flush()
		take()
		k := 0
		for _, line := range got { // a line cut off may by chance be whole: only good ones are counted
			if k < len(good) && line == good[k] {
				k++
			}
		}
		if k != len(good) {
			t.Errorf("in pieces of %d: %d of %d good lines found", piece, k, len(good))
		}
	}
}

// TestFamilyReads: the message comes with the last line of a fast packet, and Read and Describe do not disturb each other.
func TestFamilyReads(t *testing.T) {
	sent := sampleReading()
	lines, err := encoderOf(t, "129029", Options{}).Append(nil, &sent)
	if err != nil {
		t.Fatal(err)
	}
	f := NewFamily()
	var r wire.Reading
	for k := range 7 {
		line := lines[27*k : 27*(k+1)]
		kind, fields := f.Describe(line)
		if long := len(fields) > 7; kind != "129029" || long != (k == 6) {
			t.Errorf("line %d is described as %s with %d fields", k, kind, len(fields))
		}
		kind, carries, err := f.Read(line, &r)
		if kind != "129029" || carries != (k == 6) || err != nil || r.Position.Has() != carries {
			t.Errorf("line %d is read as %s, carries %v, error %v", k, kind, carries, err)
		}
	}
	if _, _, err := f.Read(lines[27:54], &r); err == nil || err.Error() != "PGN 129029: "+ErrNoFirst.Error() {
		t.Errorf("error of a frame without its first is %v", err)
	}
	if kind, carries, err := f.Read([]byte("T19F214010\r"), &r); kind != "127508" || carries || err != nil {
		t.Errorf("another PGN is read as %q, carries %v, error %v", kind, carries, err)
	}
	if kind, carries, err := f.Read([]byte("t1230\r"), &r); kind != "can" || carries || err != nil {
		t.Errorf("an 11-bit frame is read as %q, carries %v, error %v", kind, carries, err)
	}
}

func TestDescribe(t *testing.T) {
	var text strings.Builder
	d := NewFamily()
	for _, line := range []string{
		"T0DF1142380D71FFFFFFFFFFFFEA5F\r", // down, stamped
		"T0DF11314800" + "1A8EFFFF" + "2702FF\r",
		"T0DF11923811" + "FE7F" + "FD7F" + "FF7F" + "FF\r",
		"T1DF11A076FFF51139CEF5\r",
		"T0DF0102380AF8B04300987F33\r",
		"T18EEFF23887D612FF118C78C3\r",
		"T0DF805238202F1B5351000000\r",
		"T0DF8052382200B00B47220C82\r",
		"R09F112238\r", "t1232ABCD\r", "T09F112239\r",
	} {
		kind, fields := d.Describe([]byte(line))
		fmt.Fprintln(&text, strings.TrimSpace(line), kind)
		for _, f := range fields {
			fmt.Fprintf(&text, "  %s|%s|%s|%s|%s\n", f.Name, f.Raw, f.Value, f.Unit, f.Note)
		}
	}
	const golden = "testdata/describe.txt"
	if *update {
		if err := os.WriteFile(golden, []byte(text.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if text.String() != string(want) {
		t.Errorf("described:\n%s\nexpected:\n%s", text.String(), want)
	}
}

var update = flag.Bool("update", false, "rewrite golden files")
