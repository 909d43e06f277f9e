package conformance

import (
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"time"
	"unicode/utf8"
)

// Limits of what a consumer may write. An observation line has some 250 bytes: even 1000 lines a second of them stay
// under a fifth of the rate.
const (
	floodRate  = 2 << 20 // bytes a second
	floodBurst = 4 << 20 // bytes on top, at any time
	tailBytes  = 4 << 10 // kept of the end of standard error
)

// errFlood ends the reading of a consumer that writes faster than anybody could judge.
var errFlood = errors.New("more output than a consumer may write")

// A meter counts what a consumer writes, and tells a flood. It may be shared between goroutines.
type meter struct {
	begun time.Time

	mu    sync.Mutex
	bytes int64
	last  time.Time
	flood string // what the flood was, "" if there was none
}

// add counts n more bytes of the output named what, and returns errFlood if they are too many.
func (m *meter) add(n int, what string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	now := time.Now()
	m.bytes += int64(n)
	m.last = now
	since := now.Sub(m.begun).Seconds()
	if float64(m.bytes) > floodBurst+floodRate*since {
		if m.flood == "" {
			m.flood = fmt.Sprintf("wrote %.1f MB on %s within %.1f s, more than %.0f MB a second", float64(m.bytes)/1e6, what, since, floodRate/1e6)
		}
		return errFlood
	}
	return nil
}

// seen returns the number of bytes so far and the time of the latest of them.
func (m *meter) seen() (n int64, last time.Time) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.bytes, m.last
}

// flooded describes the flood, "" if there was none.
func (m *meter) flooded() string {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.flood
}

// A recorder is a reader that keeps what it has read in a file and counts it.
type recorder struct {
	from  io.Reader
	to    *os.File // nil: not kept
	meter *meter
	what  string
	flood func() // called once the meter tells a flood
}

// Read reads from the consumer; after a flood it returns errFlood.
func (r *recorder) Read(p []byte) (int, error) {
	n, err := r.from.Read(p)
	if n > 0 {
		if ferr := r.meter.add(n, r.what); ferr != nil {
			r.flood()
			return 0, ferr // what is beyond the limit is not kept either
		}
		if r.to != nil {
			if _, werr := r.to.Write(p[:n]); werr != nil {
				return n, fmt.Errorf("keep the output of the consumer: %w", werr)
			}
		}
	}
	return n, err
}

// A tail keeps the end of what is written to it.
type tail struct {
	mu  sync.Mutex
	buf []byte
	cut bool
}

// Write keeps the last bytes of p and of what was before it; it never fails.
func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.buf = append(t.buf, p...)
	if over := len(t.buf) - tailBytes; over > 0 {
		t.buf = append(t.buf[:0], t.buf[over:]...)
		t.cut = true
	}
	return len(p), nil
}

// String returns the tail, from the start of a line where something before it is missing.
func (t *tail) String() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	b := t.buf
	if t.cut {
		for i := range min(len(b), tailBytes/2) {
			if b[i] == '\n' {
				b = b[i+1:]
				break
			}
		}
		for len(b) > 0 && !utf8.RuneStart(b[0]) {
			b = b[1:]
		}
	}
	return string(b)
}
