package layout

import (
	"bytes"
	"testing"

	"swellbench/emulator/wire"
)

// FuzzFile: no file makes the reader panic, and what it takes can write, and read what it writes.
func FuzzFile(f *testing.F) {
	for _, n := range ExampleNames() {
		b, err := Examples.ReadFile("examples/" + n + ".yaml")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte(open2000))
	f.Add([]byte(goodHead + "  fields:\n  - {name: a, as: bits, bits: 3, first-bit: 7, bit-0: high, quantity: roll, unit: deg-min, scale: 2^-3, circle: halves}\n"))
	f.Add([]byte(goodHead + "  end: \"\\n\"\n  fields:\n  - {name: a, as: decimal, quantity: latitude, unit: deg-min-sec, magnitude: true}\n  - {name: s, before: \"\", sign-of: a, as: text, states: {plus: N, minus: S}}\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		l, err := Parse("x.yaml", b)
		if err != nil {
			return
		}
		fam := l.Family()
		r := Sample()
		if _, err := l.Sheet(&r); err != nil {
			_ = err
		}
		for _, k := range l.Kinds() {
			enc := encoder(t, l, k)
			for _, r := range []wire.Reading{Sample(), {}} {
				m, err := enc.Append([]byte("k"), &r)
				if err != nil && string(m) != "k" {
					t.Fatalf("after an error dst is %q", m)
				}
				if err != nil || len(m) == 1 {
					continue
				}
				m = m[1:]
				if len(m) > fam.Longest {
					t.Fatalf("%q is longer than the longest, %d", m, fam.Longest)
				}
				if !fam.Begins[m[0]] {
					t.Fatalf("%q begins with what no message begins with", m)
				}
				if p := fam.Probe(m, false); p.Verdict == wire.Foreign {
					t.Fatalf("%q is foreign", m)
				}
				got := r
				_, _, _ = fam.Read(m, &got)
				fam.Describe(m)
			}
		}
		h := l.Listener()
		h.Hear(b, func(Action) {})
	})
}

// FuzzRead: no bytes make the reader panic, the verdict does not change with what follows, and what is whole is read.
func FuzzRead(f *testing.F) {
	var all []*Layout
	for _, n := range ExampleNames() {
		l := example(f, n)
		all = append(all, l)
		r := Sample()
		for _, r := range []wire.Reading{r, {}} {
			b, err := encoder(f, l, l.Kinds()[0]).Append(nil, &r)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(b)
			f.Add(append(b[:len(b)/2:len(b)/2], b...))
		}
	}
	l, err := Parse("open.yaml", []byte(open2000))
	if err != nil {
		f.Fatal(err)
	}
	all = append(all, l)
	f.Add([]byte("\x01\x03\xda\xba\xff\x7f\xff\x7f\xfc"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) == 0 {
			return
		}
		for _, l := range all {
			fam := l.Family()
			p := fam.Probe(b, false)
			if p.Verdict != wire.Foreign && !fam.Begins[b[0]] {
				t.Fatalf("%q: %+v, but nothing begins so", b, p)
			}
			switch p.Verdict {
			case wire.Partial:
				if len(b) >= fam.Longest || p.Len <= len(b) || p.Len > fam.Longest {
					t.Fatalf("%q: %+v of %d bytes, longest %d", b, p, len(b), fam.Longest)
				}
				if q := fam.Probe(b, true); q.Verdict == wire.Partial {
					t.Fatalf("%q has ended and is partial", b)
				}
			case wire.Whole, wire.Broken:
				if p.Len < 1 || p.Len > len(b) {
					t.Fatalf("%q: %+v of %d bytes", b, p, len(b))
				}
				if q := fam.Probe(append(bytes.Clone(b), "@\xB5M,\r\n"...), false); q != p {
					t.Fatalf("%q: %+v, with more bytes behind %+v", b, p, q)
				}
			}
			if p.Verdict != wire.Whole {
				continue
			}
			r := Sample()
			if _, ok, err := fam.Read(b[:p.Len], &r); !ok || err != nil {
				t.Fatalf("%q is whole but %v", b[:p.Len], err)
			}
			if k, fs := fam.Describe(b[:p.Len]); k == "" || len(fs) == 0 {
				t.Fatalf("%q is whole but not described", b[:p.Len])
			}
		}
	})
}
