package nmea0183

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"runtime"
	"sync"
)

// Counts is what a log holds, line by line.
type Counts struct {
	Bytes int64
	Lines int64 // that end with a line feed, and a last one that does not
	Good  int64 // sentences with the right checksum
	Wrong int64 // with a wrong one
	Other int64 // lines with none, and empty ones
}

const maxLine = 64 << 10

// Scan counts the lines of a log and checks the checksum of those that end with one. It is a first look at a log of any
// length: it reads blocks, and looks at nothing else than the start, the checksum and the characters in between. A stream
// that is cut or mixed is for a [Decoder]. What is before the last $ or ! of a line, such as a time stamp or a TAG block, is
// passed over. A line longer than 64 KiB counts as one of Other, whatever it holds. Its error is that of the reader.
func Scan(r io.Reader) (Counts, error) {
	var c Counts
	buf := make([]byte, 256<<10)
	kept := 0
	skipping := false // in a line that is too long
	for {
		n, err := r.Read(buf[kept:])
		c.Bytes += int64(n)
		b := buf[:kept+n]
		if skipping && n > 0 {
			i := bytes.IndexByte(b, '\n')
			if i < 0 {
				b, i = b[:0], -1
			} else {
				skipping = false
			}
			b = b[i+1:]
		}
		rest := c.lines(b)
		if err != nil {
			if len(rest) > 0 {
				c.line(rest)
			}
			if err == io.EOF {
				err = nil
			}
			return c, err
		}
		if len(rest) > maxLine {
			c.Lines++
			c.Other++
			skipping = true
			rest = rest[:0]
		}
		kept = copy(buf, rest)
	}
}

// ScanBytes is [Scan] of what lies in memory. A last line needs no line end.
func ScanBytes(b []byte) Counts {
	c := Counts{Bytes: int64(len(b))}
	if rest := c.lines(b); len(rest) > 0 {
		c.line(rest)
	}
	return c
}

// lines counts the lines that end, and gives back the rest.
func (c *Counts) lines(b []byte) []byte {
	for {
		i := bytes.IndexByte(b, '\n')
		if i < 0 {
			return b
		}
		c.line(b[:i])
		b = b[i+1:]
	}
}

// line counts a line without its line feed.
func (c *Counts) line(b []byte) {
	c.Lines++
	n := len(b)
	if n > maxLine {
		c.Other++
		return
	}
	if n > 0 && b[n-1] == '\r' {
		n--
	}
	if n < 5 || b[n-3] != '*' {
		c.Other++
		return
	}
	want := hexValue[b[n-2]]<<4 | hexValue[b[n-1]]
	from := 1
	if b[0] != '$' && b[0] != '!' {
		from = max(bytes.LastIndexByte(b[:n], '$'), bytes.LastIndexByte(b[:n], '!')) + 1
	}
	switch {
	case from < 1 || from > n-3 || hexValue[b[n-2]]|hexValue[b[n-1]] > 15:
		c.Other++
	case xor(b[from:n-3]) == byte(want):
		c.Good++
	default:
		c.Wrong++
	}
}

// hexValue is the value of a hexadecimal digit of either case; of what is none, more than 15 bits tell.
var hexValue = func() (t [256]uint16) {
	for i := range t {
		t[i] = 0x100
		if d := hexDigit(byte(i)); d >= 0 {
			t[i] = uint16(d)
		}
	}
	return t
}()

// xor is the exclusive-or of all bytes, eight at a time in four strands, the last eight overlapping what went before: the
// bytes that are in twice are taken out again by a shift.
func xor(b []byte) byte {
	if len(b) < 8 {
		return checksum(b)
	}
	var x0, x1, x2, x3 uint64
	for len(b) >= 40 {
		x0 ^= binary.LittleEndian.Uint64(b)
		x1 ^= binary.LittleEndian.Uint64(b[8:])
		x2 ^= binary.LittleEndian.Uint64(b[16:])
		x3 ^= binary.LittleEndian.Uint64(b[24:])
		b = b[32:]
	}
	tail := binary.LittleEndian.Uint64(b[len(b)-8:])
	for len(b) >= 16 {
		x0 ^= binary.LittleEndian.Uint64(b)
		b = b[8:]
	}
	// 8 to 15 bytes are left: the first eight, and of the last eight those that are not among them.
	x0 ^= binary.LittleEndian.Uint64(b)
	x1 ^= tail >> (8 * (16 - len(b)) & 63) & -uint64(min(len(b)-8, 1))
	return fold(x0 ^ x1 ^ x2 ^ x3)
}

// ScanAt is [Scan] of a file or other thing that can be read anywhere, in as many parts at a time as there are processors.
func ScanAt(r io.ReaderAt, size int64) (Counts, error) {
	parts := min(int64(runtime.GOMAXPROCS(0)), max(size>>20, 1)) // below a MiB it is not worth it
	counts, errs := make([]Counts, parts), make([]error, parts)
	var wg sync.WaitGroup
	from := int64(0)
	for i := range parts {
		until := size
		if i+1 < parts {
			var err error
			if until, err = lineStart(r, max(size*(i+1)/parts, from), size); err != nil {
				errs[i] = err
				break
			}
		}
		section := io.NewSectionReader(r, from, until-from)
		wg.Go(func() { counts[i], errs[i] = Scan(section) })
		from = until
	}
	wg.Wait()
	var sum Counts
	for _, c := range counts {
		sum.Bytes += c.Bytes
		sum.Lines += c.Lines
		sum.Good += c.Good
		sum.Wrong += c.Wrong
		sum.Other += c.Other
	}
	return sum, errors.Join(errs...)
}

// lineStart is where the first line begins that begins at or after at; size if none does.
func lineStart(r io.ReaderAt, at, size int64) (int64, error) {
	if at == 0 {
		return 0, nil
	}
	var buf [4 << 10]byte
	for at--; at < size; { // one byte early, so that a line that begins right there is found
		n, err := r.ReadAt(buf[:min(int64(len(buf)), size-at)], at)
		if i := bytes.IndexByte(buf[:n], '\n'); i >= 0 {
			return at + int64(i) + 1, nil
		}
		if err != nil && err != io.EOF {
			return 0, err
		}
		if n == 0 {
			break // shorter than was said
		}
		at += int64(n)
	}
	return size, nil
}
