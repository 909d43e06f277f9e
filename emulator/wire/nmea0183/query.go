package nmea0183

import (
	"bytes"
	"slices"

	"swellbench/emulator/wire"
)

// A Query asks another device for a sentence: $CCGPQ,GGA asks, as CC, the device GP for its GGA.
//
// Source: query form of NMEA 0183, as in NMEA Revealed.
type Query struct {
	Requester, Target Talker
	Wanted            string // a type, such as GGA
}

// ParseQuery reads one line as a query, with or without its line end. Letters may be small: people type queries by hand,
// and what is meant is in no doubt. Its error is a [*RejectError], or a [*FieldError] if the line is another sentence.
func ParseQuery(sentence []byte) (Query, error) {
	line := bytes.ToUpper(bytes.TrimRight(sentence, "\r\n"))
	var f Fields
	if r := split(line, &f); r != "" {
		// Small letters change the checksum: it may be that of what was typed or, which is the same for an even number of
		// them, of what was meant.
		upper := r == ChecksumMismatch && len(line) > 3 && split(resealed(sentence, line), &f) == ""
		if !upper {
			return Query{}, &RejectError{Reason: r, Line: excerpt(sentence)}
		}
	}
	if q, ok := f.Query(); ok {
		return q, nil
	}
	return Query{}, &FieldError{Sentence: f.Type(), Field: "query", Found: string(line), Allowed: "$, two talkers, Q, comma, a type, such as $CCGPQ,GGA"}
}

// resealed is the line with the checksum of its own if the sentence had its own right; else the line.
func resealed(sentence, line []byte) []byte {
	body, sum, ok := bytes.Cut(bytes.TrimRight(sentence, "\r\n"), []byte{'*'})
	if !ok || len(sum) != 2 || len(body) < 1 || hexDigit(sum[0])<<4|hexDigit(sum[1]) != int(checksum(body[1:])) {
		return line
	}
	const hex = "0123456789ABCDEF"
	x := checksum(line[1 : len(line)-3])
	return append(slices.Clone(line[:len(line)-2]), hex[x>>4], hex[x&15])
}

// Query reads a sentence as a query; it is one if its address ends in Q and it names a type.
func (f *Fields) Query() (Query, bool) {
	a, wanted := f.Address, f.Field(1)
	if f.Start != '$' || len(a) != 5 || a[4] != 'Q' || f.Private() || len(wanted) < 3 {
		return Query{}, false
	}
	return Query{Requester: Talker{a[0], a[1]}, Target: Talker{a[2], a[3]}, Wanted: string(wanted)}, true
}

// Append adds the query as a sentence.
func (q Query) Append(dst []byte) []byte {
	f := Fields{Start: '$', Address: []byte{q.Requester[0], q.Requester[1], q.Target[0], q.Target[1], 'Q'},
		Body: []byte(q.Wanted), Comma: true}
	dst, _ = f.Append(dst, nil)
	return dst
}

// Answering tells which of the encoders answers the query: of the type that is wanted the one with the talker that is
// asked, else the first. There is no negative answer: where it is false the device is silent.
func (q Query) Answering(encoders []wire.Encoder) (int, bool) {
	best := -1
	for i, e := range encoders {
		kind := e.Kind()
		if len(kind) != 2+len(q.Wanted) || kind[2:] != q.Wanted {
			continue
		}
		if kind[:2] == q.Target.String() {
			return i, true
		}
		if best < 0 {
			best = i
		}
	}
	return best, best >= 0
}
