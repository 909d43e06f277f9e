package crc

import (
	"bufio"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash/adler32"
	"hash/crc32"
	"hash/crc64"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// TestVectors runs all of testdata/crc.jsonl, which names its sources.
func TestVectors(t *testing.T) {
	f, err := os.Open("testdata/crc.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	n, used := 0, map[string]bool{}
	for sc := bufio.NewScanner(f); sc.Scan(); n++ {
		var v struct {
			ID, Kind, Input string
			Expected        struct {
				Algorithm, Poly, Init, XorOut, Value string
				Width                                int
				RefIn, RefOut                        bool
			}
		}
		if err := json.Unmarshal(sc.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		in, err := hex.DecodeString(v.Input)
		if err != nil {
			t.Fatal(err)
		}
		h := func(s string) uint64 {
			x, err := strconv.ParseUint(s, 16, 64)
			if err != nil {
				t.Fatalf("%s: %v", v.ID, err)
			}
			return x
		}
		named, err := Lookup(v.Expected.Algorithm)
		if err != nil {
			t.Errorf("%s: %v", v.ID, err)
			continue
		}
		used[v.Expected.Algorithm] = true
		sums := []*Sum{named}
		if v.Kind == "crc" {
			s, err := New(Params{v.Expected.Width, h(v.Expected.Poly), h(v.Expected.Init), v.Expected.RefIn, v.Expected.RefOut, h(v.Expected.XorOut)})
			if err != nil {
				t.Errorf("%s: %v", v.ID, err)
				continue
			}
			sums = append(sums, s)
		}
		for _, s := range sums {
			if got := s.Of(in); got != h(v.Expected.Value) {
				t.Errorf("%s: %X, want %s", v.ID, got, v.Expected.Value)
			}
		}
	}
	if n < 138 || len(used) < 26 {
		t.Errorf("%d vectors of %d sums", n, len(used))
	}
}

func TestTable(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range Named {
		if seen[r.Name] {
			t.Errorf("%s is there twice", r.Name)
		}
		seen[r.Name] = true
		s := r.Sum()
		if got := s.Of([]byte("123456789")); got != r.Check {
			t.Errorf("%s: check %X, want %X", r.Name, got, r.Check)
		}
		if s.Bytes()*8 < s.Width() || s.Width() < 8 {
			t.Errorf("%s: %d bits in %d bytes", r.Name, s.Width(), s.Bytes())
		}
	}
	if _, err := Lookup("crc-16/arc"); err != nil {
		t.Error(err)
	}
	if _, err := Lookup("CRC-CCITT"); err == nil {
		t.Error("CRC-CCITT is found; which of the four?")
	}
}

// slow is a CRC bit by bit, straight from the description of the model: the message as a polynomial, divided.
func slow(p Params, in []byte) uint64 {
	reg := p.Init
	for _, c := range in {
		for i := range 8 {
			bit := uint64(c >> (7 - i) & 1)
			if p.RefIn {
				bit = uint64(c >> i & 1)
			}
			top := reg >> (p.Width - 1) & 1
			reg = reg << 1 & mask(p.Width)
			if top != bit {
				reg ^= p.Poly
			}
		}
	}
	if p.RefOut {
		var r uint64
		for i := range p.Width {
			r |= reg >> i & 1 << (p.Width - 1 - i)
		}
		reg = r
	}
	return reg ^ p.XorOut
}

// Any width, any parameters, cut anywhere: as bit by bit.
func TestAnyParameters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.IntRange(MinWidth, MaxWidth).Draw(t, "width")
		v := func(name string) uint64 { return rapid.Uint64().Draw(t, name) & mask(w) }
		p := Params{w, v("poly") | 1, v("init"), rapid.Bool().Draw(t, "refin"), rapid.Bool().Draw(t, "refout"), v("xorout")}
		s, err := New(p)
		if err != nil {
			t.Fatal(err)
		}
		in := rapid.SliceOfN(rapid.Byte(), 0, 100).Draw(t, "in")
		cut := rapid.IntRange(0, len(in)).Draw(t, "cut")
		want := slow(p, in)
		if got := s.Finish(s.Update(s.Update(s.Start(), in[:cut]), in[cut:])); got != want {
			t.Fatalf("%+v of %x cut at %d: %X, want %X", p, in, cut, got, want)
		}
	})
}

// The simple sums, cut anywhere, are as whole; and what the Go library has too is the same.
func TestStreaming(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.SliceOfN(rapid.Byte(), 0, 100).Draw(t, "in")
		cut := rapid.IntRange(0, len(in)).Draw(t, "cut")
		for _, r := range Named {
			s := r.Sum()
			if got := s.Finish(s.Update(s.Update(s.Start(), in[:cut]), in[cut:])); got != s.Of(in) || got&^mask(s.Width()) != 0 {
				t.Fatalf("%s of %x cut at %d: %X, whole %X", r.Name, in, cut, got, s.Of(in))
			}
		}
		crc64ISO, _ := New(Params{64, 0x1B, ^uint64(0), true, true, ^uint64(0)})
		for name, c := range map[string][2]uint64{
			"CRC-32/ISO-HDLC": {must("CRC-32/ISO-HDLC").Of(in), uint64(crc32.ChecksumIEEE(in))},
			"CRC-32/ISCSI":    {must("CRC-32/ISCSI").Of(in), uint64(crc32.Checksum(in, crc32.MakeTable(crc32.Castagnoli)))},
			"ADLER-32":        {must("ADLER-32").Of(in), uint64(adler32.Checksum(in))},
			"CRC-64/GO-ISO":   {crc64ISO.Of(in), crc64.Checksum(in, crc64.MakeTable(crc64.ISO))},
		} {
			if c[0] != c[1] {
				t.Fatalf("%s of %x is %X, the Go library has %X", name, in, c[0], c[1])
			}
		}
	})
}

func must(name string) *Sum {
	s, err := Lookup(name)
	if err != nil {
		panic(err)
	}
	return s
}

// Long runs do not overflow.
func TestLong(t *testing.T) {
	in := make([]byte, 1<<20)
	for i := range in {
		in[i] = 0xFF
	}
	if got := must("ADLER-32").Of(in); got != uint64(adler32.Checksum(in)) {
		t.Errorf("%X", got)
	}
	if got := must("SUM-16").Of(in); got != 0xFF<<20&0xFFFF {
		t.Errorf("%X", got)
	}
}

func TestValidate(t *testing.T) {
	for _, c := range []struct {
		p    Params
		want string
	}{
		{Params{Width: 7, Poly: 1}, "crc: width is 7, allowed: 8 to 64"},
		{Params{Width: 65, Poly: 1}, "crc: width is 65, allowed: 8 to 64"},
		{Params{Width: 16, Poly: 0x11021, Init: 0x10000}, "crc: poly is 0x11021, allowed: at most 0xFFFF, which are 16 bits\ncrc: init is 0x10000, allowed: at most 0xFFFF, which are 16 bits"},
		{Params{Width: 16, Poly: 0x1020}, "crc: poly is 0x1020, allowed: an odd number, without the term x^16"},
	} {
		if _, err := New(c.p); err == nil || err.Error() != c.want {
			t.Errorf("%+v: %v, want %s", c.p, err, c.want)
		}
	}
}

func TestAllocates(t *testing.T) {
	in := make([]byte, 61)
	for _, r := range Named {
		s := r.Sum()
		if n := testing.AllocsPerRun(10, func() { s.Of(in) }); n > 0 {
			t.Errorf("%s: %g allocations", r.Name, n)
		}
	}
}

func ExampleNew() {
	s, err := New(Params{Width: 16, Poly: 0x1021, Init: 0xFFFF})
	if err != nil {
		fmt.Println(err)
		return
	}
	st := s.Update(s.Start(), []byte("12345"))
	fmt.Printf("%04X\n", s.Finish(s.Update(st, []byte("6789"))))
	// Output: 29B1
}

func BenchmarkCRC(b *testing.B) {
	in := make([]byte, 1024)
	s := must("CRC-16/IBM-3740")
	b.SetBytes(int64(len(in)))
	for b.Loop() {
		s.Of(in)
	}
}

// BenchmarkBitByBit is the alternative written straight from the model.
func BenchmarkBitByBit(b *testing.B) {
	in := make([]byte, 1024)
	p := must("CRC-16/IBM-3740").params
	b.SetBytes(int64(len(in)))
	for b.Loop() {
		slow(p, in)
	}
}
