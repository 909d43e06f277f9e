package nmea0183

import (
	"bytes"
	"strings"
	"testing"

	"swellbench/emulator/wire"
)

// byProbe takes a stream apart as the family alone says: whole and broken messages where a decoder has accepted and
// rejected ones, one byte further where it is neither.
func byProbe(t *testing.T, stream []byte, size int) (found []Event) {
	at := 0
	for end := 0; at < len(stream); {
		if end == at || !begins[stream[at]] {
			end = min(max(end, at+1), len(stream))
			if !begins[stream[at]] {
				at++
				continue
			}
		}
		p := probe(stream[at:end], end == len(stream))
		switch p.Verdict {
		case wire.Partial:
			if end == len(stream) || p.Len <= end-at || end-at >= Family.Longest {
				t.Fatalf("at %d: %d bytes, ended %v, needs %d", at, end-at, end == len(stream), p.Len)
			}
			end = min(end+size, len(stream))
			continue
		case wire.Foreign:
			at++
			continue
		}
		if p.Len < 1 || p.Len > end-at {
			t.Fatalf("at %d: %d of %d bytes", at, p.Len, end-at)
		}
		ev := Event{Kind: Accepted, Raw: bytes.TrimRight(stream[at:at+p.Len], "\r\n"), Offset: int64(at), Reason: Reason(p.Why)}
		if p.Verdict == wire.Broken {
			ev.Kind = Rejected
		}
		found = append(found, ev)
		at += p.Len
	}
	return found
}

func sameAsDecoder(t *testing.T, stream []byte, size int) {
	t.Helper()
	var want []Event
	for _, ev := range decode(stream, max(len(stream), 1)) {
		if ev.Kind != Garbage {
			want = append(want, ev)
		}
	}
	got := byProbe(t, stream, size)
	if len(got) != len(want) {
		t.Fatalf("%q: %d messages by probe, %d by the decoder\n%+v\n%+v", stream, len(got), len(want), got, want)
	}
	for i := range got {
		if got[i].Kind != want[i].Kind || got[i].Offset != want[i].Offset || got[i].Reason != want[i].Reason || !bytes.Equal(got[i].Raw, want[i].Raw) {
			t.Fatalf("%q: message %d by probe %+v, by the decoder %+v", stream, i, got[i], want[i])
		}
	}
}

func TestProbeAgreesWithTheDecoder(t *testing.T) {
	for _, name := range []string{"nmea0183-sentences.jsonl", "nmea0183-reject.jsonl", "nmea0183-edge.jsonl", "nmea0183-query-tag.jsonl", "nmea0183-stream.jsonl"} {
		for _, v := range vectors(t, name) {
			for _, end := range []string{"\r\n", "\n", "\r", "", "\r\n$", "$GPHDT,0.00,T*05\r\n", "\r\r\n", "\\"} {
				for _, size := range []int{1, 7, 1 << 20} {
					sameAsDecoder(t, append(v.bytes(t), end...), size)
				}
			}
		}
	}
	for _, stream := range []string{"\\", "\\\\", "\\a\\$GPHDT,0.00,T*05\r\n", "\\s:x*00\\\\s:x*0C\\$GPHDT,0.00,T*05\r\n", "$" + strings.Repeat("x", Limit-1) + "\r\n",
		"$" + strings.Repeat("x", Limit) + "\r\n", "$" + strings.Repeat("x", Limit-1) + "$", "\\" + strings.Repeat("x", Limit+7), "$\x00\xff\r\n$GPHDT,0.00,T*05"} {
		for _, size := range []int{1, 7, 1 << 20} {
			sameAsDecoder(t, []byte(stream), size)
		}
	}
}

// FuzzProbe: the family finds what the decoder finds, however much it sees at a time, and says it again whatever follows.
func FuzzProbe(f *testing.F) {
	for _, name := range []string{"nmea0183-stream.jsonl", "nmea0183-query-tag.jsonl"} {
		for _, v := range vectors(f, name) {
			if v.Encoding != "hex" {
				f.Add([]byte(v.Input+"\r\n"), uint8(1))
			}
		}
	}
	f.Add([]byte("$GPHDT,0.00,T*05\r\n\\s:x*0C\\$GPHDT,0.00,T*05\r$GP\n"), uint8(3))
	f.Fuzz(func(t *testing.T, stream []byte, size uint8) {
		sameAsDecoder(t, stream, int(size)+1)
		if len(stream) == 0 {
			return
		}
		p := probe(stream, false)
		if p.Verdict == wire.Whole || p.Verdict == wire.Broken {
			if q := probe(append(bytes.Clone(stream[:p.Len]), "$more\r\n"...), false); q != p && p.Len < len(stream) && stream[p.Len] == '$' {
				t.Fatalf("%q: %+v, and followed by something %+v", stream, p, q)
			}
		}
		if n := testing.AllocsPerRun(1, func() { probe(stream, true) }); n != 0 {
			t.Fatalf("%v allocations", n)
		}
		if p.Verdict == wire.Whole {
			// Whatever it says, it is described and read without a panic, and what is wrong with a field leaves no half reading.
			describe(stream[:p.Len])
			r := *reading()
			r.Sky = nil
			if _, _, err := read(stream[:p.Len], &r); err != nil && err.Error() == "" {
				t.Fatal("an error without a text")
			}
		}
	})
}

func TestDescribe(t *testing.T) {
	show := func(message string) string {
		kind, fields := describe([]byte(message))
		var b strings.Builder
		b.WriteString(kind)
		for _, f := range fields {
			b.WriteString("\n" + strings.Join([]string{f.Name, f.Raw, f.Value, f.Unit, f.Note}, "|"))
		}
		return b.String()
	}
	for _, test := range []struct{ message, want string }{
		{"$HEHDT,274.07,T*19\r\n", `HEHDT
sentence|HEHDT|HDT||heading from true north
true heading|274.07|274.07|°|
unit|T|T||
checksum|19|19||`},
		{"\\g:1-2-34,s:GN1,c:1803567601250*" + tagSum("g:1-2-34,s:GN1,c:1803567601250") + "\\$GNGLL,5403.49613,S,00319.00079,W,081502.20,A,F*7d", `GNGLL
tag group|1-2-34|sentence 1 of 2, group 34||
tag source|GN1|GN1||
tag time|1803567601250|2027-02-25T15:00:01.25|UTC|
sentence|GNGLL|GLL||position and time
latitude|5403.49613|-54.0582688|°|
north or south|S|S||
longitude|00319.00079|-3.3166798|°|
east or west|W|W||
time|081502.20|08:15:02.20|UTC|
status|A|valid||
mode|F|RTK float||
checksum|7d|7d||the rule is capital letters`},
		{"$GPGLL,4860.0000,N,01131.0000,E,123519.00,A,A*6C", `GPGLL
sentence|GPGLL|GLL||position and time
latitude|4860.0000|||allowed: degrees in 2 digits and minutes below 60 in two, -90° ≤ latitude ≤ 90°
north or south|N|N||
longitude|01131.0000|11.516667|°|
east or west|E|E||
time|123519.00|12:35:19.00|UTC|
status|A|valid||
mode|A|autonomous||
checksum|6C|6C||`},
		{"$IIZZZ,1,2,3*46", `IIZZZ
sentence|IIZZZ|ZZZ||a type that is not known here
field 1|1|1||
field 2|2|2||
field 3|3|3||
checksum|46|46||`},
		{"$IIZZZ,1,2,3*47", "\nsentence|$IIZZZ,1,2,3*47|||checksum mismatch"},
		{"$CCGPQ,GGA*2B", `CCGPQ
sentence|CCGPQ|query||CC asks GP for GGA
field 1|GGA|GGA||
checksum|2B|2B||`},
		{sealed("GAGSV,1,1,01,02,35,100,,7"), `GAGSV
sentence|GAGSV|GSV||satellites in view
number of sentences|1|1||
sentence|1|1||
satellites in view|01|1||
satellite 1 number|02|2||
satellite 1 elevation|35|35|°|
satellite 1 azimuth|100|100|°|
satellite 1 SNR||||
signal|7|7||
checksum|47|47||`},
		{sealed("YXXDR,A,-1.5,D,PITCH"), `YXXDR
sentence|YXXDR|XDR||transducers: pitch, roll and heave
transducer 1 type|A|angular displacement||
transducer 1 value|-1.5|-1.5|°|
transducer 1 unit|D|D||
transducer 1 name|PITCH|PITCH||
checksum|0B|0B||`},
	} {
		got := show(test.message)
		if got != test.want {
			t.Errorf("%s\ngot\n%s\nwant\n%s", test.message, got, test.want)
		}
	}
	for _, row := range Messages {
		if cols := columnsOf[row.Type]; len(cols) == 0 && row.Type != "GSV" && row.Type != "XDR" {
			t.Errorf("%s has no columns", row.Type)
		}
		// Of what we encode each field has a name and, where it is not null, a value.
		_, fields := describe([]byte(encode(t, row.Type, Options{}, reading())))
		for _, f := range fields {
			if f.Name == "" || strings.HasPrefix(f.Name, "field ") || (f.Raw != "") != (f.Value != "") {
				t.Errorf("%s: %+v", row.Type, f)
			}
		}
	}
	// All vectors are described, without a note but where something is odd.
	for _, v := range vectors(t, "nmea0183-sentences.jsonl") {
		_, fields := describe([]byte(v.Input))
		for i, f := range fields {
			if i > 0 && f.Note != "" && f.Note != "leap second" && f.Name != "length" || f.Name == "" {
				t.Errorf("%s: %+v", v.ID, f)
			}
		}
	}
}

func tagSum(s string) string {
	const hex = "0123456789ABCDEF"
	x := checksum([]byte(s))
	return string([]byte{hex[x>>4], hex[x&15]})
}
