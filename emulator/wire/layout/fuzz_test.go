package layout

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

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
	f.Fuzz(func(t *testing.T, b []byte) { tryFile(t, b) })
}

// tryFile reads a layout file, and if it is one uses it. It tells whether it is.
func tryFile(t interface {
	Fatalf(string, ...any)
	Helper()
}, b []byte) bool {
	t.Helper()
	l, err := Parse("x.yaml", b)
	if err != nil {
		return false
	}
	fam := l.Family()
	r := Sample()
	_, _ = l.Sheet(&r)
	for _, k := range l.Kinds() {
		enc, err := l.New(k)
		if err != nil {
			t.Fatalf("%v", err)
		}
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
				t.Fatalf("%s\n%q is longer than the longest, %d", b, m, fam.Longest)
			}
			if !fam.Begins[m[0]] {
				t.Fatalf("%s\n%q begins with what no message begins with", b, m)
			}
			if p := fam.Probe(m, true); p.Verdict != wire.Whole {
				t.Fatalf("%s\n%q is %+v", b, m, p)
			}
			got := r
			if _, _, err := fam.Read(m, &got); err != nil && len(l.Kinds()) == 1 {
				t.Fatalf("%s\n%q: %v", b, m, err)
			}
			fam.Describe(m)
		}
	}
	l.Listener().Hear(b, func(Action) {})
	return true
}

// Files of keys and values thrown together: what is taken works.
func TestWildFiles(t *testing.T) {
	taken := 0
	rapid.Check(t, func(t *rapid.T) {
		for range 8 {
			if wildFile(t) {
				taken++
			}
		}
	})
	if !testing.Short() && taken < 10 { // of 800 some 60 are
		t.Errorf("only %d files were taken", taken)
	}
}

func wildFile(t *rapid.T) bool {
	pick := func(name string, of ...string) string { return rapid.SampledFrom(of).Draw(t, name) }
	var fs strings.Builder
	for i := range rapid.IntRange(1, 4).Draw(t, "fields") {
		fmt.Fprintf(&fs, "  - {name: f%d, as: %s", i, pick("as", codings()...))
		keys := map[string]bool{}
		put := func(key string, values ...string) {
			if !keys[key] {
				keys[key] = true
				fmt.Fprintf(&fs, ", %s: %s", key, pick(key, values...))
			}
		}
		switch pick("what", "number", "number", "time", "fixed", "sum", "length", "state", "sign", "count") {
		case "number":
			q := pick("quantity", numbersOnly...)
			put("quantity", q)
			put("unit", findQuantity(q).dim.symbols()...)
		case "time":
			put("quantity", times[rapid.IntRange(0, len(times)-1).Draw(t, "time")].name)
			put("unit", duration.symbols()...)
		case "fixed":
			put("fixed", "1", "-1", "0xFF", "abc", "\"12\"", "\"\"")
		case "sum":
			put("checksum", methods...)
		case "length":
			put("counts-bytes", "{from: start, to: end}", "{from: f0, to: f0}", "{from: after-start, to: before-separator}")
		case "state":
			put("quantity", statuses[rapid.IntRange(0, len(statuses)-1).Draw(t, "status")].name)
			put("states", "{other: 1}", "{yes: 1, no: 0}", "{none: \"\", other: xx}")
		case "sign":
			put("sign-of", "f0", "f1")
			put("states", "{plus: N, minus: S}", "{plus: 0, minus: 1}", "{plus: \"\", minus: \"-\"}")
		default:
			put("quantity", "count", "series")
		}
		for range rapid.IntRange(0, 4).Draw(t, "more") {
			switch pick("key", "at", "before", "bits", "first-bit", "bit-0", "bytes", "negative", "width", "width", "decimals", "plus", "pad", "scale", "offset", "circle", "magnitude", "modulo", "beyond", "absent", "byte-order") {
			case "at":
				put("at", "0", "1", "2", "5", "30")
			case "before":
				put("before", "\"*\"", "\"\"", "{hex: 00}", "\"-\"")
			case "bits":
				put("bits", "1", "7", "12", "33", "64")
			case "first-bit":
				put("first-bit", "0", "3", "9")
			case "bit-0":
				put("bit-0", "low", "high")
			case "bytes":
				put("bytes", "1", "2", "5", "8")
			case "negative":
				put("negative", Negative("").SchemaEnum()...)
			case "width":
				put("width", "1", "2", "5", "8", "16", "20", "256")
			case "decimals":
				put("decimals", "0", "1", "3", "9", "15")
			case "plus":
				put("plus", "none", "plus", "space")
			case "pad":
				put("pad", "zeros", "spaces", "spaces-after")
			case "scale":
				put("scale", "1e-30", "1e30", "0.1", "-3", "2^-64", "1/3", "0")
			case "offset":
				put("offset", "1", "-1e30", "1/7", "360", "-180")
			case "circle":
				put("circle", "whole", "halves")
			case "magnitude":
				put("magnitude", "true", "false")
			case "modulo":
				put("modulo", "2", "100", "65536", "18446744073709551615", "0")
			case "beyond":
				put("beyond", "refuse", "limit", "absent")
			case "absent":
				put("absent", "0", "-1", "0x7F", "nan", "\"\"", "\"99\"", "\"-----\"", "\",\"")
			default:
				put("byte-order", "big", "little")
			}
		}
		fs.WriteString("}\n")
	}
	head := "name: x\nmessages:\n- name: M\n"
	for _, k := range []string{"start", "end", "separator"} {
		if v := pick(k, "", "\"$\"", "{hex: 00}", "\",\"", "\"\\r\\n\"", "\"1\""); v != "" {
			head += "  " + k + ": " + v + "\n"
		}
	}
	if rapid.IntRange(0, 3).Draw(t, "length") == 0 {
		head += "  length: 24\n  fill: 255\n"
	}
	return tryFile(t, []byte(head+"  fields:\n"+fs.String()))
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
