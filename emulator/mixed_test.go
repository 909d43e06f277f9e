package emulator_test

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/wire/mixed"
)

const mixedStreams = `
streams:
  - format: nmea0183
    line: {baud: 115200}
    messages:
      - {type: GGA, rate: 5 Hz}
      - {format: mavlink, type: ATTITUDE, rate: 10 Hz}
      - {type: HDT, rate: 10 Hz}
      - {format: nmea2000, type: "127257", rate: 10 Hz}
      - {format: nmea2000, type: "129029", rate: 1 Hz}
      - {format: mavlink, type: GPS_RAW_INT, rate: 5 Hz}
`

// A stream of three families on one port is taken apart message by message, as it was sent; rubbish and damage between them
// cost what they hit and nothing else.
func TestMixedStream(t *testing.T) {
	d := device(t, head[:strings.Index(head, "streams:")]+mixedStreams[1:]+points)
	var clean bytes.Buffer
	var sent []line.Sent
	if err := emulator.Render(d, 0, &clean, func(s line.Sent) {
		s.Bytes = bytes.Clone(s.Bytes)
		sent = append(sent, s)
	}); err != nil {
		t.Fatal(err)
	}
	if len(sent) != 50+100+100+100+10+50 {
		t.Fatalf("%d messages", len(sent))
	}
	// What NMEA 2000 sends as one message of many frames comes out frame by frame.
	split := func(in []byte, n int) (messages [][]byte, broken int, garbage int64) {
		s := mixed.New(emulator.Families()...)
		for p := in; len(p) > 0 || n > 0; {
			k := min(n, len(p))
			s.Push(p[:k])
			if p = p[k:]; len(p) == 0 {
				s.Flush()
				n = 0
			}
			for e, ok := s.Next(); ok; e, ok = s.Next() {
				switch e.Kind {
				case mixed.Message:
					messages = append(messages, bytes.Clone(e.Bytes))
				case mixed.Broken:
					broken++
				default:
					garbage += e.Count
				}
			}
		}
		return messages, broken, garbage
	}
	want := bytes.Join(bytesOf(sent), nil)
	for _, n := range []int{1, 7, 64, 1 << 20} {
		got, broken, garbage := split(clean.Bytes(), n)
		if !bytes.Equal(bytes.Join(got, nil), want) || broken != 0 || garbage != 0 || len(got) < len(sent) {
			t.Errorf("in pieces of %d: %d messages, %d broken, %d bytes of garbage", n, len(got), broken, garbage)
		}
	}
	// Now with damage: each third message hurt, rubbish before each fifth.
	r := rand.New(rand.NewPCG(1, 5))
	var bad bytes.Buffer
	var whole [][]byte
	for i, m := range sent {
		if i%5 == 0 {
			for range r.IntN(40) {
				bad.WriteByte(byte(r.Uint32()))
			}
		}
		if i%3 == 0 {
			hurt := bytes.Clone(m.Bytes)
			hurt[r.IntN(len(hurt))] ^= 1 << r.IntN(8)
			bad.Write(hurt[:1+r.IntN(len(hurt))])
			continue
		}
		bad.Write(m.Bytes)
		whole = append(whole, m.Bytes)
	}
	got, _, _ := split(bad.Bytes(), 13)
	found := map[string]int{}
	for _, g := range got {
		found[string(g)]++
	}
	lost := 0
	for _, w := range whole {
		frames := [][]byte{w}
		if w[0] == 'T' { // SLCAN
			frames = bytes.SplitAfter(w, []byte("\r"))
			frames = frames[:len(frames)-1]
		}
		for _, f := range frames {
			if found[string(f)] == 0 {
				lost++
				t.Logf("lost %q", f)
			}
			found[string(f)]--
		}
	}
	// A random byte may be the start of a message of any length; only one whose checksum then fits by chance could swallow
	// what follows. A hurt SLCAN line whose end is gone takes the line behind it along: it has no checksum.
	if lost > len(whole)/50 {
		t.Errorf("%d of %d good messages were lost", lost, len(whole))
	}
}

func bytesOf(sent []line.Sent) (all [][]byte) {
	for _, s := range sent {
		all = append(all, s.Bytes)
	}
	return all
}

// A sentence behind a TAG block whose checksum is wrong goes with it, though it is whole by itself: whose it is, or when it
// was, is not known. Checksums worked by hand: 2C of the block, 35 and 1B of the sentences.
func TestHurtTagBlock(t *testing.T) {
	for in, want := range map[string]string{
		"\\s:SB,c:1748779200*2C\\$GPHDT,271.4,T*35\r\n$HEHDT,1.50,T*1B\r\n": "message message",
		"\\s:SB,c:1748779200*2D\\$GPHDT,271.4,T*35\r\n$HEHDT,1.50,T*1B\r\n": "broken message",
	} {
		s := mixed.New(emulator.Families()...)
		s.Push([]byte(in))
		s.Flush()
		var kinds []string
		for e, ok := s.Next(); ok; e, ok = s.Next() {
			kinds = append(kinds, e.Kind.String())
		}
		if strings.Join(kinds, " ") != want {
			t.Errorf("%q: %q, want %q", in, kinds, want)
		}
	}
}
