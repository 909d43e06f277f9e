package nmea0183

import (
	"bytes"
	"runtime"
	"strings"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
)

// flood pushes megabytes of a piece over and over, and then a good sentence, which must be found.
func flood(t *testing.T, what string, megabytes int, piece []byte, push func([]byte), next func() (last string, more bool)) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	last := ""
	drain := func() {
		for {
			s, more := next()
			if !more {
				return
			}
			last = s
		}
	}
	for n := 0; n < megabytes<<20; n += len(piece) {
		push(piece)
		drain()
	}
	push([]byte("\r\n" + good + "\r\n"))
	drain()
	runtime.GC()
	runtime.ReadMemStats(&after)
	if last != good {
		t.Errorf("%s: the good sentence is lost; the last is %.100q", what, last)
	}
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > 1<<20 {
		t.Errorf("%s: %d bytes more are held", what, grown)
	}
	if all := after.TotalAlloc - before.TotalAlloc; all > 100<<20 { // the errors of what is refused are let go at once
		t.Errorf("%s: %d bytes were asked for", what, all)
	}
}

// TestHostileStreams: 100 MB without a line end, of starts alone, of TAG blocks never closed, of groups never finished.
func TestHostileStreams(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of megabytes")
	}
	pieces := map[string][]byte{
		"no line end":       bytes.Repeat([]byte("x"), 64<<10),
		"a sentence no end": append([]byte("$GPGGA,"), bytes.Repeat([]byte("1,"), 32<<10)...),
		"starts alone":      bytes.Repeat([]byte("$"), 64<<10),
		"TAG blocks open":   bytes.Repeat([]byte("\\s:x"), 16<<10),
		"255 parts":         []byte(strings.Repeat(sealed("GPGSV,255,1,99,01,10,100,30")+sealed("GPGSV,9,1,99,01,10,100,30")+sealed("TITXT,99,01,07,"+strings.Repeat("x", 61)), 500)),
	}
	for what, piece := range pieces {
		var d Decoder
		var p Parser
		var a Assembler
		megabytes := 100
		if what == "starts alone" || what == "TAG blocks open" { // an event for every byte or two
			megabytes = 20
		}
		flood(t, what, megabytes, piece, d.Push, func() (string, bool) {
			ev, ok := d.Next()
			if !ok {
				return "", false
			}
			if ev.Kind == Accepted {
				if s, err := p.Parse(&ev.Fields); err == nil {
					a.Add(s)
				}
			}
			return lastOf(ev), true
		})
	}
	for _, what := range []string{"no line end", "a sentence no end"} { // slower, for it is asked again for each byte
		s := mixed.New(Family)
		flood(t, what+", mixed", 20, pieces[what], s.Push, func() (string, bool) {
			e, ok := s.Next()
			if !ok {
				return "", false
			}
			if e.Kind == mixed.Message && len(e.Bytes) == len(good)+2 {
				return good, true
			}
			return "", true
		})
	}
}

// lastOf tells the good sentence without asking for memory.
func lastOf(ev *Event) string {
	if ev.Kind == Accepted && string(ev.Raw) == good {
		return good
	}
	return ""
}

// TestProbeIsBounded: with Longest bytes the family always decides.
func TestProbeIsBounded(t *testing.T) {
	for _, first := range []string{"$", "!", "\\"} {
		for _, c := range []byte{'x', '\\', ',', '*', 0, 0xff, '\r'} {
			b := append([]byte(first), bytes.Repeat([]byte{c}, Family.Longest-1)...)
			if p := Family.Probe(b, false); p.Verdict == wire.Partial {
				t.Errorf("%q and %q: still undecided", first, c)
			}
			b = append(b[:Limit], '\r')
			if p := Family.Probe(b, false); p.Verdict == wire.Partial && p.Len > Family.Longest {
				t.Errorf("%q and %q: wants %d", first, c, p.Len)
			}
		}
	}
}
