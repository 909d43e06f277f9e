package nmea0183

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"
)

// decode pushes a stream in pieces of the size and keeps copies of all events.
func decode(stream []byte, size int) []Event {
	var d Decoder
	var all []Event
	drain := func() {
		for ev, ok := d.Next(); ok; ev, ok = d.Next() {
			all = append(all, keep(ev))
		}
	}
	for piece := range slices.Chunk(stream, size) {
		piece = bytes.Clone(piece)
		d.Push(piece)
		drain()
		clear(piece) // what the decoder kept must be its own
	}
	d.Flush()
	drain()
	return all
}

func keep(ev *Event) Event {
	e := *ev
	e.Raw = bytes.Clone(ev.Raw)
	_ = e.Fields.Parse(&ev.Fields)
	return e
}

func accepted(evs []Event) []string {
	got := []string{}
	for _, ev := range evs {
		if ev.Kind == Accepted {
			got = append(got, string(ev.Raw))
		}
	}
	return got
}

func TestStreamVectors(t *testing.T) {
	for _, v := range vectors(t, "nmea0183-stream.jsonl") {
		want := expect[struct{ Accepted []string }](t, v).Accepted
		t.Run(v.ID, func(t *testing.T) {
			stream := v.bytes(t)
			for _, size := range []int{1, 2, 3, 7, 16, 1 << 20} {
				var d Decoder
				got := []string{}
				for piece := range slices.Chunk(stream, size) {
					d.Push(piece)
					for ev, ok := d.Next(); ok; ev, ok = d.Next() {
						if ev.Kind == Accepted {
							got = append(got, string(ev.Raw))
						}
					}
				}
				if !slices.Equal(got, want) {
					t.Errorf("in pieces of %d: got %q, want %q", size, got, want)
				}
			}
			// At the end of the stream a sentence that lacks nothing but its line end counts as well.
			if v.ID == "nmea-stream-no-terminator-yet" {
				want = append(slices.Clone(want), "$GPHDT,0.00,T*05")
			}
			for name, r := range map[string]io.Reader{"whole": bytes.NewReader(stream), "one byte": iotest.OneByteReader(bytes.NewReader(stream)),
				"half": iotest.HalfReader(bytes.NewReader(stream)), "data with EOF": iotest.DataErrReader(bytes.NewReader(stream))} {
				if got := accepted(readAll(t, r)); !slices.Equal(got, want) {
					t.Errorf("%s: got %q, want %q", name, got, want)
				}
			}
		})
	}
}

func readAll(t *testing.T, from io.Reader) []Event {
	t.Helper()
	var all []Event
	r := NewReader(from)
	for {
		ev, err := r.Next()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, keep(ev))
	}
}

func TestReaderPassesErrorsOn(t *testing.T) {
	broken := errors.New("unplugged")
	r := NewReader(io.MultiReader(strings.NewReader("$GPHDT,0.00,T*05"), iotest.ErrReader(broken)))
	if ev, err := r.Next(); err != nil || ev.Kind != Accepted {
		t.Errorf("got %v, %v", ev, err)
	}
	for range 2 {
		if ev, err := r.Next(); ev != nil || err != broken {
			t.Errorf("got %v, %v", ev, err)
		}
	}
}

const good = "$GPHDT,0.00,T*05"

func TestDecoder(t *testing.T) {
	long := "$GPTXT," + strings.Repeat("x", 5000)
	longer := strings.TrimSpace(sealed("GPTXT," + strings.Repeat("x", Limit-9)))
	fits := sealed("GPTXT," + strings.Repeat("x", Limit-10))
	tests := []struct {
		name, stream string
		want         []string // kind, then reason or count, then the bytes
	}{
		{"nothing", "", nil},
		{"line ends alone", "\r\n\n\r\r\n", nil},
		{"CR alone", good + "\r" + good + "\r", []string{"accepted " + good, "accepted " + good}},
		{"CR CR LF", good + "\r\r\n" + good + "\r\r\n", []string{"accepted " + good, "accepted " + good}},
		{"LF CR", good + "\n\r" + good + "\n\r", []string{"accepted " + good, "accepted " + good}},
		{"no line end at all", good + good, []string{"accepted " + good, "accepted " + good}},
		{"no line end before an encapsulated one", good + "!AIVDM,1*4A\r\n", []string{"accepted " + good, "accepted !AIVDM,1*4A"}},
		{"no line end before a TAG block", good + `\s:r1*0A\` + good, []string{"accepted " + good, `accepted \s:r1*0A\` + good}},
		{"junk between", "\x00\xff" + good + "\r\n\x80\x00\x00" + good + "\r\nabc", []string{"garbage 2 \x00\xff", "accepted " + good, "garbage 3 \x80\x00\x00", "accepted " + good, "garbage 3 abc"}},
		{"NUL inside", "$GPHDT,0\x00.00,T*05\r\n" + good + "\r\n", []string{"rejected bad character $GPHDT,0\x00.00,T*05", "accepted " + good}},
		{"8-bit inside", "$GPHDT,0.0\xb0,T*85\r\n", []string{"rejected bad character $GPHDT,0.0\xb0,T*85"}},
		{"DEL and tilde are reserved", "$GPHDT,~*20\n$GPHDT,\x7f*21\n", []string{"rejected bad character $GPHDT,~*20", "rejected bad character $GPHDT,\x7f*21"}},
		{"cut by the next", "$GPHDT,0.0" + good + "\n", []string{"rejected cut short $GPHDT,0.0", "accepted " + good}},
		{"cut in the checksum", "$GPHDT,0.00,T*0" + good + "\n", []string{"rejected cut short $GPHDT,0.00,T*0", "accepted " + good}},
		{"cut by the end", "$GPHDT,0.0", []string{"rejected checksum missing $GPHDT,0.0"}},
		{"only a start", "$", []string{"rejected checksum missing $"}},
		{"starts in a row", "$$!$" + good, []string{"rejected cut short $", "rejected cut short $", "rejected cut short !", "rejected cut short $", "accepted " + good}},
		{"mismatch", "$GPHDT,0.00,T*04\r\n" + good, []string{"rejected checksum mismatch $GPHDT,0.00,T*04", "accepted " + good}},
		{"lower case", "$GPHDT,12.38,T*3d\r\n", []string{"accepted $GPHDT,12.38,T*3d"}},
		{"no hex", "$GPHDT,0.00,T*0G\r\n$GPHDT,0.00,T*G5\r\n", []string{"rejected checksum not two hexadecimal digits $GPHDT,0.00,T*0G", "rejected checksum not two hexadecimal digits $GPHDT,0.00,T*G5"}},
		{"second star", "$GPHDT,0.00*T*2F\r\n", []string{"rejected checksum not two hexadecimal digits $GPHDT,0.00*T*2F"}},
		{"text after", good + " \r\n", []string{"rejected text after the checksum " + good + " "}},
		{"no checksum", "$GPHDT,0.00,T\r\n", []string{"rejected checksum missing $GPHDT,0.00,T"}},
		{"address short", "$GP,1*0A\r\n$*00\r\n", []string{"rejected address too short $GP,1*0A", "rejected address too short $*00"}},
		{"address odd", "$gpHDT,0.00,T*05\r\n$GPH T,0.00,T*61\r\n", []string{"rejected address not of up to 15 capital letters and digits $gpHDT,0.00,T*05", "rejected address not of up to 15 capital letters and digits $GPH T,0.00,T*61"}},
		{"address odd at its end", "$GPHDTx,0.00,T*7D\r\n", []string{"rejected address not of up to 15 capital letters and digits $GPHDTx,0.00,T*7D"}},
		{"address too long", "$GPHDTHDTHDTHDTHD,1*06\r\n", []string{"rejected address not of up to 15 capital letters and digits $GPHDTHDTHDTHDTHD,1*06"}},
		{"too long", long + "\r\n" + good, []string{"rejected too long " + long[:Limit], fmt.Sprintf("garbage %d %s", len(long)-Limit, strings.Repeat("x", 64)), "accepted " + good}},
		{"too long without end", long + good, []string{"rejected too long " + long[:Limit], fmt.Sprintf("garbage %d %s", len(long)-Limit, strings.Repeat("x", 64)), "accepted " + good}},
		{"as long as may be", fits + good, []string{"accepted " + strings.TrimSpace(fits), "accepted " + good}},
		{"one longer", "$GPTXT," + strings.Repeat("x", Limit-6) + "\r\n", []string{"rejected too long $GPTXT," + strings.Repeat("x", Limit-7), "garbage 1 x"}},
		{"one longer, all else right", longer + "\n", []string{"rejected too long " + longer[:Limit], "garbage 1 " + longer[Limit:]}},
		{"text behind the longest", strings.TrimSpace(fits) + "x" + good, []string{"rejected too long " + strings.TrimSpace(fits), "garbage 1 x", "accepted " + good}},
		{"TAG block", `\s:r1*0A\` + good + "\r\n", []string{`accepted \s:r1*0A\` + good}},
		{"TAG mismatch voids both", `\s:r1*0B\` + good + "\r\n" + good, []string{`rejected TAG block checksum missing or wrong \s:r1*0B\` + good, "accepted " + good}},
		{"TAG with a bad character", `\s:~*37\` + good, []string{`rejected TAG block checksum missing or wrong \s:~*37\` + good}},
		{"TAG without checksum", `\s:r1\` + good + "\r\n" + good, []string{`rejected TAG block checksum missing or wrong \s:r1\` + good, "accepted " + good}},
		{"TAG cut", `\s:r1` + good + "\r\n", []string{`rejected TAG block not closed \s:r1`, "accepted " + good}},
		{"TAG alone", "\\s:r1*0A\\\r\n" + good, []string{`rejected TAG block without a sentence \s:r1*0A\`, "accepted " + good}},
		{"tail of a TAG block", `:r1*19\` + good + "\n", []string{`garbage 6 :r1*19`, `garbage 1 \`, "accepted " + good}},
		{"two TAG blocks", `\s:r1*0A\\s:r1*0A\` + good, []string{`rejected TAG block without a sentence \s:r1*0A\`, `accepted \s:r1*0A\` + good}},
		{"text behind a TAG block", `\s:r1*0A\xx` + good, []string{`rejected TAG block without a sentence \s:r1*0A\`, "garbage 2 xx", "accepted " + good}},
		{"TAG too long", `\` + strings.Repeat("x", 2000) + `\` + good, []string{`rejected too long \` + strings.Repeat("x", Limit-1), fmt.Sprintf("garbage %d %s", 2000-Limit+1, strings.Repeat("x", 64)), `garbage 1 \`, "accepted " + good}},
		{"private", "$PABC*10\r\n", []string{"accepted $PABC*10"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			for _, size := range []int{1, 2, 5, 64, 1 << 20} {
				var got []string
				for _, ev := range decode([]byte(test.stream), size) {
					switch ev.Kind {
					case Accepted:
						got = append(got, fmt.Sprintf("%v %s", ev.Kind, ev.Raw))
					case Rejected:
						got = append(got, fmt.Sprintf("%v %s %s", ev.Kind, ev.Reason, ev.Raw))
					case Garbage:
						got = append(got, fmt.Sprintf("%v %d %s", ev.Kind, ev.Count, ev.Raw))
					}
				}
				if !slices.Equal(got, test.want) {
					t.Errorf("in pieces of %d:\n got  %q\n want %q", size, got, test.want)
				}
			}
		})
	}
}

// TestLimit: round the limit a TAG block and its sentence together are never longer than it.
func TestLimit(t *testing.T) {
	for n := Limit - 20; n < Limit+3; n++ {
		x := strings.Repeat("x", n-5)
		block := fmt.Sprintf(`\%s*%02X\`, x, checksum([]byte(x))) // n bytes
		for _, size := range []int{1, 7, 4096} {
			evs := decode([]byte(block+good+"\r\n"), size)
			first, last := evs[0], evs[len(evs)-1]
			if (first.Kind == Accepted) != (n+len(good) <= Limit) || len(first.Raw) > Limit {
				t.Errorf("block of %d in pieces of %d: %v %s, %d bytes", n, size, first.Kind, first.Reason, len(first.Raw))
			}
			if n >= Limit && (last.Kind != Accepted || string(last.Raw) != good) { // the block was given up before the sentence began
				t.Errorf("block of %d in pieces of %d: last is %v %q", n, size, last.Kind, last.Raw)
			}
		}
	}
}

func TestEventOffsets(t *testing.T) {
	stream := "ab\r\n" + good + "\r\n$x\r\n" + good + "\r\nc"
	want := []int64{0, 4, 22, 26, 44}
	for _, size := range []int{1, 3, 100} {
		evs := decode([]byte(stream), size)
		for i, ev := range evs {
			if len(evs) != len(want) || ev.Offset != want[i] || !strings.HasPrefix(stream[ev.Offset:], string(ev.Raw)) {
				t.Errorf("in pieces of %d, event %d: %+v, want offset %v", size, i, ev, want)
			}
		}
	}
}

func TestDecoderAfterFlushAndUndrained(t *testing.T) {
	var d Decoder
	d.Push([]byte(good[:9]))
	d.Push([]byte(good[9:])) // without a call of Next between
	d.Flush()
	ev, ok := d.Next()
	if !ok || string(ev.Raw) != good {
		t.Fatalf("got %+v", ev)
	}
	if ev, ok = d.Next(); ok {
		t.Fatalf("got %+v", ev)
	}
	d.Push([]byte(good + "\n")) // a new stream
	if ev, ok = d.Next(); !ok || ev.Offset != 0 || string(ev.Raw) != good {
		t.Fatalf("got %+v", ev)
	}
	d.Flush()
	if ev, ok = d.Next(); ok {
		t.Fatalf("got %+v", ev)
	}
}

// TestBoundedMemory: neither a stream without a line end nor one without a start makes the decoder grow.
func TestBoundedMemory(t *testing.T) {
	for _, piece := range []string{"$GPTXT,xxxxxxx", "xxxxxxxxxxxxxxx", `\\s:`, "$", strings.Repeat("$AAAAA,", 1) + strings.Repeat("y", 9000)} {
		var d Decoder
		p := bytes.Repeat([]byte(piece), 1+64<<10/len(piece))
		push := func() {
			d.Push(p)
			for _, ok := d.Next(); ok; _, ok = d.Next() {
			}
		}
		push()
		if n := testing.AllocsPerRun(20, push); n != 0 {
			t.Errorf("%.15q: %v allocations a piece", piece, n)
		}
		if cap(d.unit) > 2*Limit || len(d.in) != 0 {
			t.Errorf("%.15q: keeps %d and %d bytes", piece, cap(d.unit), len(d.in))
		}
	}
}

// TestNeverLosesAGoodOne: however the stream before it is broken, and however it is cut, a good sentence is found.
// Bytes are flipped, dropped and put in, but only in front.
func TestNeverLosesAGoodOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		alphabet := rapid.SampledFrom([]byte("$!\\*,\r\n\x00\xffG5:s^~ "))
		var stream []byte
		want := 0
		for range rapid.IntRange(1, 6).Draw(t, "sentences") {
			if rapid.Bool().Draw(t, "good before") {
				stream = append(stream, good+"\r\n"...)
			}
			broken := []byte(good + "\r\n")
			at := rapid.IntRange(0, len(broken)).Draw(t, "at")
			junk := rapid.SliceOfN(alphabet, 0, 12).Draw(t, "junk")
			stream = append(append(append(stream, broken[:at]...), junk...), broken[at:]...)
			if at == len(broken) {
				stream = append(stream, '\n') // else junk could be a broken TAG block of the good one, and void it
			}
			stream = append(stream, good+"\r\n"...)
			want++
		}
		evs := decode(stream, rapid.IntRange(1, 40).Draw(t, "size"))
		n := 0
		for _, ev := range evs {
			if ev.Kind == Accepted && strings.HasSuffix(string(ev.Raw), good) {
				n++
			}
		}
		if n < want {
			t.Fatalf("%d of at least %d good ones in %q", n, want, stream)
		}
		whole := decode(stream, len(stream))
		if !reflect.DeepEqual(evs, whole) {
			t.Fatalf("cut:   %+v\nwhole: %+v", evs, whole)
		}
	})
}

// TestChecksums holds the fast checksum and character test against the plain rule.
func TestChecksums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "bytes")
		if rapid.Bool().Draw(t, "mostly good") {
			for i := range b {
				if i%17 != 3 {
					b[i] = 'A' + b[i]%26
				}
			}
		}
		var sum byte
		legal := true
		for _, c := range b {
			sum ^= c
			legal = legal && c >= 0x20 && c <= 0x7d && !strings.ContainsRune("$!\\*", rune(c))
		}
		if got := checksum(b); got != sum {
			t.Fatalf("checksum %02X, want %02X", got, sum)
		}
		got, ok := plain(b)
		if ok != legal || got != sum {
			t.Fatalf("plain gives %02X, %v; want %02X, %v", got, ok, sum, legal)
		}
	})
	for c := range 256 { // every byte at every place of a word
		for i := range 16 {
			b := []byte("ABCDEFGHIJKLMNOP")
			b[i] = byte(c)
			legal := c >= 0x20 && c <= 0x7d && c != '$' && c != '!' && c != '\\' && c != '*'
			if _, ok := plain(b); ok != legal {
				t.Errorf("byte %#x at %d: %v", c, i, ok)
			}
			if _, ok := plain(b[:i+1]); ok != legal {
				t.Errorf("byte %#x last of %d: %v", c, i+1, ok)
			}
		}
	}
}

func TestFields(t *testing.T) {
	f := Fields{Address: []byte("GPXXX"), Body: []byte("a,,c,"), Comma: true}
	for i, want := range []string{"", "a", "", "c", "", ""} {
		if got := f.Field(i); string(got) != want || (got == nil) != (i == 0 || i == 5) {
			t.Errorf("field %d is %q", i, got)
		}
	}
	if f.Len() != 4 || f.Private() || !f.Is("XXX") || f.Field(-3) != nil {
		t.Errorf("%+v", f)
	}
	p := Fields{Address: []byte("PABCQ"), Start: '$', Comma: true, Body: []byte("GGA")}
	if !p.Private() || p.Type() != "PABCQ" || p.Talker() != (Talker{}) {
		t.Errorf("%+v", p)
	}
	if _, ok := p.Query(); ok {
		t.Error("a private sentence is taken for a query")
	}
}

func TestParser(t *testing.T) {
	var p Parser
	stream := sealed("GPHDT,1.5,T") + sealed("GPZZZ,1") + sealed("GPHDT,400,T") + sealed("!PHDT,1,T") + sealed("TIROT,2.0,A")
	var got []string
	var d Decoder
	d.Push([]byte(stream))
	for ev, ok := d.Next(); ok; ev, ok = d.Next() {
		if ev.Kind != Accepted {
			continue
		}
		switch s, err := p.Parse(&ev.Fields); s := s.(type) {
		case *HDT:
			got = append(got, fmt.Sprint("HDT ", s.HeadingDeg.Or(-1)))
		case *ROT:
			got = append(got, fmt.Sprint("ROT ", s.RateDegMin.Or(-1)))
		case *Fields:
			got = append(got, "raw "+s.Type())
		default:
			got = append(got, err.Error())
		}
	}
	want := []string{"HDT 1.5", "raw ZZZ", `decode HDT: heading is "400", allowed: 0° ≤ heading ≤ 360°`, "ROT 2"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
}

func TestRejectErrorText(t *testing.T) {
	for line, want := range map[string]Reason{`\s:r1*0A\xx`: TagAlone, `\s:r1*0A\`: TagAlone, `\s:r1`: TagNotClosed, "\r\n": Empty, "\n\n": NoStart,
		good + "\n\n": StartInside, good + good: StartInside, " " + good: NoStart, "$GPTXT," + strings.Repeat("x", Limit): TooLong} {
		var e *RejectError
		if s, err := Parse([]byte(line)); s != nil || !errors.As(err, &e) || e.Reason != want {
			t.Errorf("%q: %v, want %q", line, err, want)
		}
	}
	_, err := Parse([]byte("$HEHDT,274.07,T*18\r\n"))
	want := `decode sentence: checksum mismatch (its characters give 19): "$HEHDT,274.07,T*18"; allowed: $, address, fields, *, two hexadecimal digits`
	if err == nil || err.Error() != want {
		t.Errorf("got %v", err)
	}
}
