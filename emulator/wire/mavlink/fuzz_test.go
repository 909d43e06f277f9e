package mavlink

import (
	"bytes"
	"fmt"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
)

// FuzzProbe: the answer is the same however many bytes follow; what is whole is proven by its checksum and can be read,
// described and, where its message is known, written again; nothing longer than Longest is waited for.
func FuzzProbe(f *testing.F) {
	for _, name := range []string{"mavlink-frames.jsonl", "mavlink-stream.jsonl"} {
		for _, v := range vectors(f, name) {
			f.Add(v.bytes(f), []byte{0xFE, 0xFD})
		}
	}
	f.Add(frameOf(V2, 1, 126, 220, bytes.Repeat([]byte{1}, 255)...), []byte{})
	f.Add(frameOf(V1, 0, 24, 24, make([]byte, 52)...), []byte("x"))
	f.Fuzz(func(t *testing.T, b, more []byte) {
		p := probe(b, false)
		if p.Verdict == wire.Partial {
			if p.Len <= len(b) || p.Len > Longest {
				t.Fatalf("%x: %+v", b, p)
			}
			if q := probe(b, true); q.Verdict != wire.Foreign && (q.Verdict != wire.Broken || q.Len != len(b)) {
				t.Fatalf("%x, ended: %+v", b, q)
			}
			return
		}
		if q := probe(append(bytes.Clone(b), more...), false); q != p {
			t.Fatalf("%x: %+v, and with more %+v", b, p, q)
		}
		if p.Verdict == wire.Foreign {
			return
		}
		if p.Len < header1+checksumBytes || p.Len > len(b) || (p.Verdict == wire.Broken) == (p.Why == "") {
			t.Fatalf("%x: %+v", b, p)
		}
		var r wire.Reading
		kind, carries, err := Read(b[:p.Len], &r)
		if kind == "" || carries && err != nil || p.Verdict == wire.Broken && err == nil {
			t.Fatalf("%x: %s %v %v", b, kind, carries, err)
		}
		name, fields := describe(b[:p.Len])
		if name != kind || len(fields) == 0 {
			t.Fatalf("%x: described as %s", b, name)
		}
		h, m, err := Parse(b[:p.Len])
		if p.Verdict == wire.Broken || rowByID(knownID(kind)) == nil {
			if err == nil {
				t.Fatalf("%x: parsed", b)
			}
			return
		}
		if err != nil {
			t.Fatalf("%x: %v", b, err)
		}
		h.Incompatible = 0 // we sign nothing
		again, err := AppendFrame(nil, h, m)
		if err != nil {
			t.Fatal(err)
		}
		h2, m2, err := Parse(again)
		if err != nil || h2 != h || !bytes.Equal(payload(m2), payload(m)) {
			t.Fatalf("%x is written as %x: %+v %+v %v", b, again, m, m2, err)
		}
	})
}

func knownID(name string) uint32 {
	for i := range knowns {
		if knowns[i].name == name {
			return knowns[i].id
		}
	}
	return 1 << 24
}

// FuzzStream: what is found does not depend on the cuts, every byte is accounted for, and a good frame behind anything is
// found, unless what stands before it is a whole frame that ends within it.
func FuzzStream(f *testing.F) {
	for _, v := range vectors(f, "mavlink-stream.jsonl") {
		f.Add(v.bytes(f), uint8(3))
	}
	good, err := AppendFrame(nil, Header{Version: V2, System: 1, Component: 1}, &SystemTime{TimeBootMS: 5})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, in []byte, size uint8) {
		at := len(in)
		in = append(bytes.Clone(in), good...)
		events := func(piece int) (all []string) {
			s := mixed.New(Family)
			next := int64(0)
			found := false
			drain := func() {
				for e, ok := s.Next(); ok; e, ok = s.Next() {
					all = append(all, fmt.Sprint(e.Kind, e.Offset, e.Count, e.Why))
					if e.Offset < next {
						t.Fatalf("%x: an event at %d after %d", in, e.Offset, next)
					}
					next = e.Offset + e.Count
					if e.Kind == mixed.Message {
						found = found || int(e.Offset) == at || int(e.Offset) < at && int(next) > at
					}
				}
			}
			for p := in; len(p) > 0; p = p[min(piece, len(p)):] {
				s.Push(p[:min(piece, len(p))])
				drain()
			}
			s.Flush()
			drain()
			if !found {
				t.Fatalf("%x: the last frame is lost: %v", in, all)
			}
			return all
		}
		if a, b := events(len(in)), events(int(size)+1); fmt.Sprint(a) != fmt.Sprint(b) {
			t.Fatalf("%x:\n%v\nin pieces\n%v", in, a, b)
		}
	})
}
