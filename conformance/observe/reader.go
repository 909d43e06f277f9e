package observe

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"time"
)

// Options says how a reader works. The zero value reads a live consumer.
type Options struct {
	// Now is the clock for arrival stamps; nil is time.Now.
	Now func() time.Time
	// File leaves the arrival stamps out: the input was written some time before.
	File bool
	// Map says how lines become observations; nil, or one of json-lines, is the form of a consumer's own.
	Map *Map
	// MaxLine bounds the length of a line in bytes; 0 is DefaultMaxLine.
	MaxLine int
}

// DefaultMaxLine is many times what an observation needs.
const DefaultMaxLine = 64 << 10

// A Reader reads observations, one a line. It is not for several goroutines.
type Reader struct {
	r     io.Reader
	o     Options
	buf   []byte
	start int // of the unread part of buf
	scan  int // of what has not been searched for a line end
	skip  bool
	line  int64
	at    time.Time
	err   error // what the input ended with
	stats Stats
	p     lineParser
}

// NewReader reads from r.
func NewReader(r io.Reader, o Options) *Reader {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.MaxLine <= 0 {
		o.MaxLine = DefaultMaxLine
	}
	var p lineParser = &parser{}
	switch {
	case o.Map == nil || o.Map.Format == JSONLines:
	case o.Map.Format == NMEA0183:
		p = newNMEAParser(o.Map)
	default:
		p = newCSVParser(o.Map)
	}
	return &Reader{r: r, o: o, p: p, buf: make([]byte, 0, min(o.MaxLine+1, 32<<10))}
}

// Next returns the next observation. At the end of the input the error is io.EOF; any other error is the input's.
// Lines that are no observations are counted and passed over.
func (r *Reader) Next() (Observation, error) {
	for {
		line, err := r.nextLine()
		if line == nil {
			return Observation{}, err
		}
		if r.line == 1 {
			line = bytes.TrimPrefix(line, []byte("\xef\xbb\xbf"))
		}
		if line = bytes.TrimRight(line, "\r"); len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		o, skip, refusal := r.p.parse(line, &r.stats, r.line)
		if skip {
			continue
		}
		r.stats.Lines++
		if refusal != nil {
			if err == io.EOF && refusal.Reason == NotJSON {
				refusal = &Refusal{CutOff, "the last line has no end"}
			}
			r.stats.refuse(refusal, r.line, line)
			continue
		}
		r.stats.Observations++
		o.Line = r.line
		if !r.o.File {
			o.Arrival = r.at
		}
		return o, nil
	}
}

// nextLine returns the next line without its end, nil at the end of the input. It is valid until the next call. With
// the last line, if it has no end, comes io.EOF.
func (r *Reader) nextLine() ([]byte, error) {
	for {
		if i := bytes.IndexByte(r.buf[r.scan:], '\n'); i >= 0 {
			line := r.buf[r.start : r.scan+i]
			r.scan += i + 1
			r.start = r.scan
			if r.skip {
				r.skip = false
				continue
			}
			r.line++
			if len(line) > r.o.MaxLine {
				r.tooLong(line)
				continue
			}
			return line, nil
		}
		r.scan = len(r.buf)
		if r.err != nil {
			line := r.buf[r.start:]
			r.start = len(r.buf)
			if len(line) == 0 || r.skip {
				return nil, r.err
			}
			r.line++
			if len(line) > r.o.MaxLine {
				r.tooLong(line)
				return nil, r.err
			}
			return line, io.EOF
		}
		if r.skip {
			r.buf, r.start, r.scan = r.buf[:0], 0, 0
		} else if len(r.buf)-r.start > r.o.MaxLine {
			r.line++
			r.tooLong(r.buf[r.start:])
			r.skip = true
			r.buf, r.start, r.scan = r.buf[:0], 0, 0
		}
		r.fill()
	}
}

func (r *Reader) tooLong(line []byte) {
	r.stats.Lines++
	r.stats.refuse(&Refusal{TooLong, fmt.Sprintf("a line may have up to %d bytes", r.o.MaxLine)}, r.line, line)
}

// fill reads more of the input, making room first.
func (r *Reader) fill() {
	if len(r.buf) == cap(r.buf) {
		if r.start > 0 {
			n := copy(r.buf, r.buf[r.start:])
			r.buf = r.buf[:n]
		} else {
			r.buf = append(make([]byte, 0, min(2*cap(r.buf), r.o.MaxLine+1+cap(r.buf)/2)+1), r.buf...)
		}
		r.scan -= r.start
		r.start = 0
	}
	const patience = 100 // reads in a row that bring nothing
	for range patience {
		n, err := r.r.Read(r.buf[len(r.buf):cap(r.buf)])
		if n > 0 {
			r.buf = r.buf[:len(r.buf)+n]
			r.stats.Bytes += int64(n)
			if !r.o.File {
				r.at = r.o.Now()
			}
		}
		if err != nil {
			r.err = err
		}
		if n > 0 || err != nil {
			return
		}
	}
	r.err = io.ErrNoProgress
}

// All yields the observations to the end of the input. Ask Err for what ended it.
func (r *Reader) All() iter.Seq[Observation] {
	return func(yield func(Observation) bool) {
		for {
			o, err := r.Next()
			if err != nil || !yield(o) {
				return
			}
		}
	}
}

// Err is what ended the input, nil for its end.
func (r *Reader) Err() error {
	if errors.Is(r.err, io.EOF) {
		return nil
	}
	return r.err
}

// Stats returns what was counted so far.
func (r *Reader) Stats() Stats { return r.stats.clone() }
