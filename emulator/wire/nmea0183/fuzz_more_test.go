package nmea0183

import (
	"bytes"
	"encoding/hex"
	"io"
	"testing"
	"testing/iotest"

	"swellbench/emulator/wire"
)

// FuzzQuery: what is understood is written as a query that is understood as the same.
func FuzzQuery(f *testing.F) {
	for _, v := range vectors(f, "nmea0183-query-tag.jsonl") {
		f.Add([]byte(v.Input))
	}
	f.Add([]byte("$ccGPQ,GGA*2B"))
	f.Fuzz(func(t *testing.T, line []byte) {
		q, err := ParseQuery(line)
		if err != nil {
			if q != (Query{}) || err.Error() == "" {
				t.Fatalf("%+v with %v", q, err)
			}
			return
		}
		if again, err := ParseQuery(q.Append(nil)); err != nil || again != q {
			t.Fatalf("%q is %+v, written and read again %+v, %v", line, q, again, err)
		}
	})
}

// FuzzScan: the counts do not depend on how the log is read, and every line is counted once.
func FuzzScan(f *testing.F) {
	for _, v := range vectors(f, "nmea0183-stream.jsonl") {
		b, err := hex.DecodeString(v.Input)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, log []byte) {
		want := ScanBytes(log)
		lines := int64(bytes.Count(log, []byte("\n")))
		if len(log) > 0 && log[len(log)-1] != '\n' {
			lines++
		}
		if want.Lines != lines || want.Good+want.Wrong+want.Other != lines || want.Bytes != int64(len(log)) {
			t.Fatalf("%q: %+v", log, want)
		}
		for _, r := range []io.Reader{bytes.NewReader(log), iotest.OneByteReader(bytes.NewReader(log))} {
			if got, err := Scan(r); err != nil || got != want {
				t.Fatalf("%q: %+v, %v, want %+v", log, got, err, want)
			}
		}
		for at := range int64(len(log)) + 1 {
			a, err := lineStart(bytes.NewReader(log), at, int64(len(log)))
			if err != nil || a < at || a != 0 && a != int64(len(log)) && log[a-1] != '\n' {
				t.Fatalf("%q: the line from %d begins at %d, %v", log, at, a, err)
			}
		}
		// What a decoder accepts on a line of its own, the scan finds good.
		for line := range bytes.Lines(log) {
			if s := bytes.TrimRight(line, "\r\n"); len(s) > 0 && split(line, new(Fields)) == "" {
				if c := ScanBytes(line); c.Good != 1 {
					t.Fatalf("%q is a sentence, and is counted as %+v", line, c)
				}
			}
		}
	})
}

// FuzzGroups: whatever sentences come, in whatever order, groups and sky stay bounded, and a whole group afterwards is
// found.
func FuzzGroups(f *testing.F) {
	f.Add([]byte(lines("GPGSV,2,1,05,01,10,100,30,02,20,200,31,03,30,300,32,04,40,010,33", "GPGSV,2,2,05,05,50,050,35", "TITXT,02,01,07,a", "TITXT,02,02,07,b", "GNGSA,A,3,05,,,,,,,,,,,,,,,1")))
	f.Add([]byte(lines("GPGSV,9,1,99,01,10,100,30", "GPGSV,9,9,99,01,10,100,30", "GLGSV,1,1,00,1", "TITXT,99,98,07,a")))
	f.Fuzz(func(t *testing.T, stream []byte) {
		var p Parser
		var a Assembler
		var r wire.Reading
		for _, ev := range decode(append(stream, "\r\n"+lines("GIGSV,1,1,01,05,50,050,35,1")...), 1<<20) {
			if ev.Kind != Accepted {
				continue
			}
			_, _, _ = read(ev.Raw, &r)
			if s, err := p.Parse(&ev.Fields); err == nil {
				switch g := a.Add(s).(type) {
				case *GSV:
					if len(g.Satellites) > maxSatellite {
						t.Fatalf("%d satellites", len(g.Satellites))
					}
					if string(ev.Raw[:6]) == "$GIGSV" && ev.Offset >= int64(len(stream)) && (len(g.Satellites) != 1 || g.InView != 1) {
						t.Fatalf("the whole group is %+v", g)
					}
				case *TXT:
					if len(g.Text) > 2*maxTextBytes {
						t.Fatalf("%d bytes of text", len(g.Text))
					}
				}
			}
			if len(a.open) > MaxGroups || len(a.gsa) > maxGSAs || len(r.Sky) > maxSatellite*int(wire.Systems) {
				t.Fatalf("%d groups, %d GSA, %d satellites", len(a.open), len(a.gsa), len(r.Sky))
			}
		}
	})
}
