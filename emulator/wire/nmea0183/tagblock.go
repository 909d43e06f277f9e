package nmea0183

import (
	"bytes"
	"slices"
	"strconv"
	"time"

	"swellbench/emulator/wire"
)

// A TagBlock is what the TAG block in front of a sentence is to say. The zero TagBlock is none.
//
// Source: NMEA 0183 4.00 and IEC 61162-450 as in "AIVDM/AIVDO protocol decoding".
type TagBlock struct {
	Source      string  // key s; "" leaves it out
	Destination string  // key d; "" leaves it out
	Time        TagTime // key c
	// Count has key n count the messages of the stream, from 1 to 999 and over again: who misses one can tell.
	Count bool
	// Group has key g bind the sentences of one message: 1-2-1234 is the first of two of group 1234. The others of them
	// have no other key. A message of one sentence has none.
	Group bool
}

// TagTime is how a TAG block tells the time of validity, in UNIX time.
type TagTime uint8

// The ways.
const (
	NoTagTime TagTime = iota
	TagSeconds
	TagMilliseconds
)

func (t *TagBlock) any() bool { return *t != TagBlock{} }

const tagNameAllowed = "up to 15 printable characters but $ ! \\ * ~ ^ , :"

func (t *TagBlock) check(v Version, bad func(option, found, allowed string)) {
	if !t.any() {
		return
	}
	if !v.hasTags() {
		bad("tag-block", "set", "with version 4.10 and later; it came with 4.00")
	}
	for _, x := range []struct{ key, name string }{{"source", t.Source}, {"destination", t.Destination}} {
		if _, ok := plain([]byte(x.name)); !ok || len(x.name) > 15 || bytes.ContainsAny([]byte(x.name), ",:^") {
			bad("tag-block."+x.key, x.name, tagNameAllowed)
		}
	}
	if t.Time > TagMilliseconds {
		bad("tag-block.time", strconv.Itoa(int(t.Time)), "the choices of this package")
	}
}

// insert puts TAG blocks before each of the sentences that dst has from start on. Memory it needs only where dst does not
// have the room for both.
func (t *TagBlock) insert(dst []byte, start int, r *wire.Reading) []byte {
	end := len(dst)
	total := bytes.Count(dst[start:], []byte{'\n'})
	at := start
	for k := 1; k <= total; k++ {
		n := bytes.IndexByte(dst[at:end], '\n') + 1
		dst = t.append(dst, k, total, r)
		dst = append(dst, dst[at:at+n]...)
		at += n
	}
	n := copy(dst[start:], dst[end:])
	return dst[:start+n]
}

// append adds the block of sentence k of total; nothing where it would say nothing.
func (t *TagBlock) append(dst []byte, k, total int, r *wire.Reading) []byte {
	start := len(dst)
	dst = append(dst, '\\')
	if t.Group && total > 1 {
		dst = append(dst, "g:"...)
		dst = strconv.AppendInt(dst, int64(k), 10)
		dst = append(dst, '-')
		dst = strconv.AppendInt(dst, int64(total), 10)
		dst = append(dst, '-')
		dst = strconv.AppendInt(dst, int64(r.Series%9999)+1, 10)
		dst = append(dst, ',')
	}
	if k == 1 || !t.Group {
		dst = t.appendRest(dst, r)
	}
	if len(dst) == start+1 {
		return dst[:start]
	}
	return closeTag(dst[:len(dst)-1], start)
}

func (t *TagBlock) appendRest(dst []byte, r *wire.Reading) []byte {
	if t.Source != "" {
		dst = append(append(append(dst, "s:"...), t.Source...), ',')
	}
	if t.Destination != "" {
		dst = append(append(append(dst, "d:"...), t.Destination...), ',')
	}
	if t.Count {
		dst = append(strconv.AppendInt(append(dst, "n:"...), int64(r.Series%999)+1, 10), ',')
	}
	if at, ok := r.UTC.Value(); ok && t.Time != NoTagTime {
		dst = append(strconv.AppendInt(append(dst, "c:"...), t.Time.of(at), 10), ',')
	}
	return dst
}

// of is the UNIX time, rounded to the nearest second or millisecond.
func (t TagTime) of(at time.Time) int64 {
	if t == TagSeconds {
		n := at.Unix()
		if at.Nanosecond() >= 5e8 {
			n++
		}
		return n
	}
	return at.Unix()*1e3 + (int64(at.Nanosecond())+5e5)/1e6
}

// closeTag ends the block that begins at start with its checksum.
func closeTag(dst []byte, start int) []byte {
	const hex = "0123456789ABCDEF"
	sum := checksum(dst[start+1:])
	return append(dst, '*', hex[sum>>4], hex[sum&15], '\\')
}

// Append adds the tag as a block with its checksum, to stand before a sentence.
func (t Tag) Append(dst []byte) []byte {
	start := len(dst)
	dst = append(slices.Grow(dst, len(t)+5), '\\')
	return closeTag(append(dst, t...), start)
}
