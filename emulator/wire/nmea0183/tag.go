package nmea0183

import (
	"bytes"
	"iter"
	"strconv"
	"time"
)

// A Tag is what a TAG block says, without its checksum: s:GN0001,c:1803567600. Source: NMEA 0183 4.00 and IEC 61162-450
// as in "AIVDM/AIVDO protocol decoding".
type Tag []byte

// All gives keys and values in their order.
func (t Tag) All() iter.Seq2[string, []byte] {
	return func(yield func(string, []byte) bool) {
		for part := range bytes.SplitSeq(t, []byte{','}) {
			key, value, ok := bytes.Cut(part, []byte{':'})
			if ok && !yield(string(key), value) {
				return
			}
		}
	}
}

// Value is the first value of a key: c time, s source, d destination, n line count, g grouping, t text.
func (t Tag) Value(key string) ([]byte, bool) {
	for k, v := range t.All() {
		if k == key {
			return v, true
		}
	}
	return nil, false
}

// Time is the UNIX time of key c. It comes in seconds or in milliseconds; what has twelve digits or more is in
// milliseconds, since in seconds it would lie beyond the year 5000.
func (t Tag) Time() (time.Time, bool) {
	v, ok := t.Value("c")
	if !ok {
		return time.Time{}, false
	}
	n, err := strconv.ParseInt(string(v), 10, 64)
	switch {
	case err != nil || n < 0:
		return time.Time{}, false
	case n >= 1e11:
		return time.UnixMilli(n).UTC(), true
	}
	return time.Unix(n, 0).UTC(), true
}

// splitTag takes the TAG block off the front of a unit. The block must have its checksum, and the right one.
func splitTag(unit []byte) (tag Tag, sentence []byte, why Reason) {
	body, sentence, ok := bytes.Cut(unit[1:], []byte{'\\'})
	if !ok {
		return nil, nil, TagNotClosed
	}
	body, sum, ok := bytes.Cut(body, []byte{'*'})
	if !ok || len(sum) != 2 {
		return nil, nil, TagChecksum
	}
	hi, lo := hexDigit(sum[0]), hexDigit(sum[1])
	x, legal := plain(body)
	if !legal || hi < 0 || lo < 0 || byte(hi<<4|lo) != x {
		return nil, nil, TagChecksum
	}
	return Tag(body), sentence, ""
}
