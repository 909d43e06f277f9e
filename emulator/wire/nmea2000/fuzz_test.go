package nmea2000

import (
	"bytes"
	"errors"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
)

// FuzzLine: what is read as a frame is written as the same line, but for the case of its digits; Probe agrees with the
// parser, and nothing that comes behind the message changes its mind.
func FuzzLine(f *testing.F) {
	for _, s := range []string{"T09F11223803DABAFF7FFF7FFC\r", "t1230\r", "r1238\r", "R09F112230EA5F\r", "T09F112238", "T2FFFFFFF0\r", "t12391\r", "T09f1122310a\r"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		l, err := ParseLine(in)
		p := probe(in, true)
		if err == nil {
			line := bytes.TrimSuffix(in, []byte{'\r'})
			if got := AppendLine(nil, &l); !bytes.Equal(bytes.ToUpper(got[1:len(got)-1]), bytes.ToUpper(line[1:])) || got[0] != line[0] {
				t.Fatalf("%q is written as %q", in, got)
			}
			if len(line) < len(in) && (p.Verdict != wire.Whole || p.Len != len(in)) {
				t.Fatalf("%q is read, but probed as %+v", in, p)
			}
			if len(line) < len(in) && probe(append(bytes.Clone(in), 'T', '0'), false) != p {
				t.Fatalf("%q is probed otherwise when more follows", in)
			}
		}
		if p.Verdict != wire.Foreign && (p.Len < 1 || p.Len > min(len(in), MaxLine)) || p.Verdict == wire.Partial {
			t.Fatalf("%q is probed as %+v", in, p)
		}
		if p.Verdict == wire.Whole {
			if _, err := ParseLine(in[:p.Len]); err != nil {
				t.Fatalf("%q is whole, but %v", in[:p.Len], err)
			}
		}
		if q := probe(in, false); q.Verdict == wire.Partial && (q.Len <= len(in) || q.Len > MaxLine) || q.Verdict != wire.Partial && q != p {
			t.Fatalf("%q is probed as %+v, at the end as %+v", in, q, p)
		}
	})
}

// FuzzStream: whatever comes, frames and messages included, the reader goes on, and what it reads it can write again.
func FuzzStream(f *testing.F) {
	r := sampleReading()
	var all []byte
	for _, kind := range Kinds() {
		all, _ = encoderOf(f, kind, Options{}).Append(all, &r)
	}
	f.Add(all, uint8(5))
	f.Add(bytes.Repeat([]byte("T0DF805238202F1B5351000000\r"), 3), uint8(1))
	f.Add([]byte("T0DF80523820FF1B5351000000\rT0DF805238FFFF1B5351000000\rT0DF805230\rT0DF80523100\r"), uint8(200))
	f.Add([]byte("T09F112230\rT0DF1192300\rT1DF11A076FFF51139CEF5\r"), uint8(31))
	f.Fuzz(func(t *testing.T, stream []byte, piece uint8) {
		s := mixed.New(NewFamily())
		var r wire.Reading
		total := int64(0)
		take := func() {
			for ev, ok := s.Next(); ok; ev, ok = s.Next() {
				total += ev.Count
				if ev.Kind != mixed.Message {
					continue
				}
				kind, fields := ev.Family.Describe(ev.Bytes)
				if kind == "" || len(fields) == 0 {
					t.Fatalf("%q is described as nothing", ev.Bytes)
				}
				read, carries, _ := ev.Family.Read(ev.Bytes, &r)
				if read != kind {
					t.Fatalf("%q is read as %q and described as %q", ev.Bytes, read, kind)
				}
				if !carries {
					continue
				}
				e := encoderOf(t, kind, Options{})
				out, err := e.Append(nil, &r)
				var outside *wire.RangeError
				if errors.As(err, &outside) && outside.Field == "altitude" {
					continue // the last 512 µm of nine billion kilometres are too fine for a double
				}
				if err != nil {
					t.Fatalf("%q is read as what cannot be written: %v", ev.Bytes, err)
				}
				if len(out)%27 != 0 {
					t.Fatalf("written as %q", out)
				}
			}
		}
		for rest := stream; len(rest) > 0; {
			n := min(int(piece)+1, len(rest))
			s.Push(rest[:n])
			rest = rest[n:]
			take()
		}
		s.Flush()
		take()
		if total > int64(len(stream)) {
			t.Fatalf("%d bytes were reported of %d", total, len(stream))
		}
	})
}

// FuzzAssembler: frames in any order; what comes out has the length that its first frame said.
func FuzzAssembler(f *testing.F) {
	f.Add([]byte("\x23\x00\x2f123456\x23\x011234567\x23\x021234567"))
	f.Add(bytes.Repeat([]byte{1, 0, 223, 1, 2, 3, 4, 5, 6}, 40))
	f.Add([]byte{1, 0, 3, 1, 2, 3, 4, 5, 6, 1, 0x20, 7, 1, 2, 3, 4, 5, 6, 1, 0x21, 9, 9, 9, 9, 9, 9, 9})
	f.Fuzz(func(t *testing.T, in []byte) {
		var a Assembler
		sizes := map[byte]int{}
		for len(in) > 1 {
			n := min(9, len(in))
			source, frame := in[0], in[1:n]
			in = in[n:]
			if frame[0]&0x1F == 0 && len(frame) > 1 {
				sizes[source] = int(frame[1])
			}
			p, err := a.Push(source, 129029, frame)
			if p != nil && (err != nil || len(p) != sizes[source] || len(p) > MaxFastPacket) {
				t.Fatalf("delivered %d bytes, error %v; the first frame said %d", len(p), err, sizes[source])
			}
		}
	})
}

// FuzzAdapter: what the adapter answers does not depend on where the bytes are cut, and is no longer than the questions
// allow.
func FuzzAdapter(f *testing.F) {
	f.Add([]byte("C\rS5\rO\rV\rN\rF\rT09F11223803DABAFF7FFF7FFC\r"), uint8(3))
	f.Add([]byte("X1\rZ1\rL\rM00000000\rs031C\r\r\n\a"), uint8(0))
	f.Add(bytes.Repeat([]byte("T"), 100), uint8(7))
	f.Fuzz(func(t *testing.T, in []byte, piece uint8) {
		var whole, cut Adapter
		want := whole.Handle(in, nil)
		if len(want) > 6*(1+bytes.Count(in, []byte{'\r'})) {
			t.Fatalf("%q is answered by %q", in, want)
		}
		var got []byte
		for len(in) > 0 {
			n := min(int(piece)+1, len(in))
			got = cut.Handle(in[:n], got)
			in = in[n:]
		}
		if !bytes.Equal(got, want) {
			t.Fatalf("in pieces it answers %q, at once %q", got, want)
		}
	})
}
