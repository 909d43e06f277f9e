package nmea0183

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"swellbench/emulator/wire"
)

// assemble pushes a stream through decoder, parser and assembler.
func assemble(stream string) (groups []string) {
	var d Decoder
	var p Parser
	var a Assembler
	inUse := func(end bool) {
		if all := a.InUse(end); len(all) > 0 {
			text := "GSA"
			for _, s := range all {
				text += fmt.Sprintf(" %v%v", s.Talker, s.Slots)
			}
			groups = append(groups, text)
		}
	}
	d.Push([]byte(stream))
	d.Flush()
	for ev, ok := d.Next(); ok; ev, ok = d.Next() {
		if ev.Kind != Accepted {
			continue
		}
		s, err := p.Parse(&ev.Fields)
		if err != nil {
			continue
		}
		whole := a.Add(s)
		inUse(false)
		switch s := whole.(type) {
		case *GSV:
			text := fmt.Sprintf("GSV %v %d:", s.Talker, s.InView)
			for _, x := range s.Satellites {
				text += fmt.Sprintf(" %d", x.ID)
			}
			groups = append(groups, text)
		case *TXT:
			groups = append(groups, fmt.Sprintf("TXT %v %d: %s", s.Talker, s.ID, s.Text))
		}
	}
	inUse(true)
	return groups
}

func lines(bodies ...string) string {
	var b strings.Builder
	for _, s := range bodies {
		b.WriteString(sealed(s))
	}
	return b.String()
}

func TestAssembler(t *testing.T) {
	for _, test := range []struct {
		name   string
		stream string
		want   []string
	}{
		{"one system after another", lines("GPGSV,2,1,05,01,10,100,30,02,20,200,31,03,30,300,32,04,40,010,33", "GPGSV,2,2,05,05,50,050,35", "GLGSV,1,1,01,65,45,000,"),
			[]string{"GSV GP 5: 1 2 3 4 5", "GSV GL 1: 65"}},
		{"two systems among each other", lines("GPGSV,2,1,05,01,10,100,30,02,20,200,31,03,30,300,32,04,40,010,33", "GLGSV,1,1,01,65,45,000,", "GPGSV,2,2,05,05,50,050,35"),
			[]string{"GSV GL 1: 65", "GSV GP 5: 1 2 3 4 5"}},
		{"two signals among each other", lines("GPGSV,2,1,05,01,10,100,30,02,20,200,31,03,30,300,32,04,40,010,33,1", "GPGSV,1,1,01,01,10,100,28,5", "GPGSV,2,2,05,05,50,050,35,1"),
			[]string{"GSV GP 1: 1", "GSV GP 5: 1 2 3 4 5"}},
		{"the second is missing", lines("GPGSV,3,1,09,01,10,100,30,02,20,200,31,03,30,300,32,04,40,010,33", "GPGSV,3,3,09,09,50,050,35", "GPGSV,1,1,01,07,50,050,35"), []string{"GSV GP 1: 7"}},
		{"the first is missing", lines("GPGSV,2,2,05,05,50,050,35"), nil},
		{"begun anew", lines("TITXT,02,01,07,old ", "TITXT,02,01,07,new ", "TITXT,02,02,07,end^2C"), []string{"TXT TI 7: new end,"}},
		{"of another count", lines("TITXT,03,01,07,a", "TITXT,02,02,07,b"), nil},
		{"of another number in view", lines("GPGSV,2,1,05,01,10,100,30,02,20,200,31,03,30,300,32,04,40,010,33", "GPGSV,2,2,06,05,50,050,35"), nil},
		{"texts of two ids", lines("TITXT,02,01,07,a", "TITXT,02,01,08,c", "TITXT,02,02,07,b", "TITXT,02,02,08,d"), []string{"TXT TI 7: ab", "TXT TI 8: cd"}},
		{"in use", lines("GNGSA,A,3,01,02,,,,,,,,,,,1.5,1.0,1.2,1", "GNGSA,A,3,65,,,,,,,,,,,,1.5,1.0,1.2,2", "GNHDT,1.0,T", "GNGSA,A,3,03,,,,,,,,,,,,1.5,1.0,1.2,1"),
			[]string{"GSA GN[1 2 0 0 0 0 0 0 0 0 0 0] GN[65 0 0 0 0 0 0 0 0 0 0 0]", "GSA GN[3 0 0 0 0 0 0 0 0 0 0 0]"}},
		{"255 parts", lines("GPGSV,255,1,99,01,10,100,30", "GPGSV,1,1,01,07,50,050,35"), []string{"GSV GP 1: 7"}},
		{"vectors", "$GPGSV,3,1,11,03,03,111,00,04,15,270,00,06,01,010,00,13,06,292,00*74\r\n" + lines("GPGSV,3,2,11,14,25,170,00,16,57,208,39,18,67,296,40,19,40,246,00") +
			"$GPGSV,3,3,11,22,42,067,42,24,14,311,43,27,05,244,00*4D\r\n", []string{"GSV GP 11: 3 4 6 13 14 16 18 19 22 24 27"}},
	} {
		if got := assemble(test.stream); !slices.Equal(got, test.want) {
			t.Errorf("%s: got %q, want %q", test.name, got, test.want)
		}
	}
}

// TestAssembledIsWhatWasSent: the sky and the text of a stream come together again.
func TestAssembledIsWhatWasSent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := randomReading(t)
		want := ""
		for sys := range wire.Systems {
			n := 0
			text := ""
			for _, s := range r.Sky {
				if s.System == sys {
					n++
					text += fmt.Sprintf(" %d", s.Number+systems[sys].own)
				}
			}
			if n > 0 {
				want += fmt.Sprintf("GSV %v %d:%s|", systems[sys].talker, n, text)
			}
		}
		if want == "" {
			want = "GSV GP 0:|"
		}
		text := rapid.StringMatching(`[ -~éþ]{1,300}`).Draw(t, "text")
		want += "TXT GN 1: " + text + "|"
		var stream []byte
		for _, kind := range []string{"GSV", "TXT"} {
			o := Options{}
			if kind == "TXT" {
				o.Text = text
			}
			e, err := New(kind, o)
			if err != nil {
				t.Fatal(err)
			}
			if stream, err = e.Append(stream, &r); err != nil {
				t.Fatal(err)
			}
		}
		for l := range strings.Lines(string(stream)) {
			if len(l) > MaxLength {
				t.Fatalf("%d characters: %q", len(l), l)
			}
		}
		if got := strings.Join(assemble(string(stream)), "|") + "|"; got != want {
			t.Fatalf("got  %q\nwant %q", got, want)
		}
	})
}

// TestAssemblerIsBounded: groups that never end, of ever-new ids, talkers and signals.
func TestAssemblerIsBounded(t *testing.T) {
	var a Assembler
	add := func(n int) {
		long := strings.Repeat("x", 900)
		for i := range n {
			talker := Talker{'A' + byte(i%15), '0' + byte(i%10)}
			a.Add(&TXT{Talker: talker, Total: 99, Number: 1 + i/3%98, ID: i % 100, Text: long})
			a.Add(&TXT{Talker: Talker{'T', 'I'}, Total: 99, Number: 1 + i%98, ID: 1, Text: long})
			a.Add(&GSV{Talker: talker, Total: 9, Number: 1 + i/2%8, InView: 99, Satellites: make([]SatelliteInView, 4)})
			a.Add(&GSA{Talker: talker})
			if len(a.open) > MaxGroups {
				t.Fatalf("%d groups are open", len(a.open))
			}
		}
	}
	held := func() (n int) {
		for _, p := range a.open[:cap(a.open)] {
			n += cap(p.text) + cap(p.satellites)*56
		}
		return n + (cap(a.gsa)+cap(a.ended))*200
	}
	add(20000)
	if n := held(); n > 1<<20 {
		t.Errorf("%d bytes are held", n)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	add(20000)
	runtime.ReadMemStats(&after)
	if n := held(); n > 1<<20 || after.HeapAlloc > before.HeapAlloc+64<<20 {
		t.Errorf("%d bytes are held", n)
	}
}

func TestAssemblerAllocatesNothing(t *testing.T) {
	var stream []byte
	for _, kind := range []string{"GSV", "GSA", "TXT", "HDT"} {
		stream = append(stream, encode(t, kind, Options{}, reading())...)
	}
	var d Decoder
	var p Parser
	var a Assembler
	groups := 0
	run := func() {
		d.Push(stream)
		for ev, ok := d.Next(); ok; ev, ok = d.Next() {
			s, err := p.Parse(&ev.Fields)
			if err != nil {
				t.Fatal(err)
			}
			if a.Add(s) != nil || len(a.InUse(false)) > 0 {
				groups++
			}
		}
	}
	run()
	if groups != 3 {
		t.Errorf("%d groups, want 3", groups)
	}
	if n := testing.AllocsPerRun(100, run); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
