package nmea0183

import (
	"bytes"
	"errors"
	"reflect"
	"strings"
	"testing"

	"swellbench/emulator/wire"
)

// FuzzDecoder: events do not depend on how the stream is cut; every byte is in exactly one of them or ends a line; what
// is accepted is a sentence by itself; and a good sentence on a line of its own is found behind anything.
func FuzzDecoder(f *testing.F) {
	for _, v := range vectors(f, "nmea0183-stream.jsonl") {
		f.Add([]byte(v.Input), uint8(3))
	}
	for _, name := range []string{"nmea0183-query-tag.jsonl", "nmea0183-reject.jsonl"} {
		for _, v := range vectors(f, name) {
			f.Add([]byte(v.Input+"\r\n"), uint8(1))
		}
	}
	f.Fuzz(func(t *testing.T, stream []byte, size uint8) {
		stream = append(append(stream, "\r\n"...), good...)
		evs := decode(stream, int(size)+1)
		if whole := decode(stream, len(stream)); !reflect.DeepEqual(evs, whole) {
			t.Fatalf("cut by %d: %+v\nwhole: %+v", size, evs, whole)
		}
		total, at := int64(0), int64(0)
		for _, ev := range evs {
			if ev.Offset < at {
				t.Fatalf("event at %d after %d", ev.Offset, at)
			}
			at = ev.Offset
			switch ev.Kind {
			case Garbage:
				total += ev.Count
				if len(ev.Raw) != int(min(ev.Count, 64)) {
					t.Fatalf("%d bytes of %d garbage", len(ev.Raw), ev.Count)
				}
				continue
			case Accepted:
				if ev.Fields.Tag == nil {
					again, _ := ev.Fields.Append(nil, nil)
					if !bytes.EqualFold(bytes.TrimSpace(again), ev.Raw) {
						t.Fatalf("%q is written as %q", ev.Raw, again)
					}
				}
				if _, err := Parse(ev.Raw); errors.As(err, new(*RejectError)) {
					t.Fatalf("%q: %v", ev.Raw, err)
				}
			case Rejected:
				if ev.Reason == "" {
					t.Fatal("rejected without a reason")
				}
			}
			total += int64(len(ev.Raw))
			if len(ev.Raw) > Limit || !bytes.HasPrefix(stream[ev.Offset:], ev.Raw) {
				t.Fatalf("%q is not at %d", ev.Raw, ev.Offset)
			}
		}
		if n := len(stream) - bytes.Count(stream, []byte("\r")) - bytes.Count(stream, []byte("\n")); total != int64(n) {
			t.Fatalf("events account for %d bytes of %d", total, n)
		}
		if last := evs[len(evs)-1]; last.Kind != Accepted || string(last.Raw) != good {
			t.Fatalf("the good sentence is lost: %+v", last)
		}
	})
}

// FuzzParse: Parse and the decoder agree on a line; what Parse reads can be written, and is then read as the same, but
// for the few things that are read and never written.
func FuzzParse(f *testing.F) {
	for _, name := range []string{"nmea0183-sentences.jsonl", "nmea0183-edge.jsonl", "nmea0183-query-tag.jsonl", "nmea0183-reject.jsonl"} {
		for _, v := range vectors(f, name) {
			f.Add([]byte(v.Input))
		}
	}
	var format Format
	for g := range groups {
		format.Digits[g].Decimals = 3
	}
	format.Digits[Seconds].Decimals = 9 // no carry out of the last year there is
	f.Fuzz(func(t *testing.T, line []byte) {
		if bare := bytes.TrimRight(line, "\r\n"); len(bare) > 0 {
			_, err := Parse(bare)
			framed := !errors.As(err, new(*RejectError))
			evs := decode(line, len(line))
			if one := len(evs) == 1 && evs[0].Kind == Accepted && bytes.Equal(evs[0].Raw, bare); one != framed {
				t.Fatalf("Parse(%q): %v, but the decoder gives %+v", bare, err, evs)
			}
		}
		s, err := Parse(line)
		if err != nil {
			if s != nil || err.Error() == "" {
				t.Fatalf("%v with %v", s, err)
			}
			return
		}
		text, err := s.Append(nil, &format)
		if err != nil {
			var r *wire.RangeError
			var x *wire.TextError
			switch {
			case errors.As(err, &r) && r.Found == 360: // north, in writing that is not ours
			case errors.As(err, &x) && (x.Field == "talker" || strings.Contains(x.Field, "name")): // addresses and names we do not send
			default:
				t.Fatalf("%q is read and not written: %v", line, err)
			}
			return
		}
		s2, err := Parse(text)
		if err != nil {
			t.Fatalf("%q is written as %q: %v", line, text, err)
		}
		if again, err := s2.Append(nil, &format); err != nil || !bytes.Equal(text, again) {
			t.Fatalf("%q is written as %q, then %q, %v", line, text, again, err)
		}
	})
}
