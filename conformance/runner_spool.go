package conformance

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"iter"
	"math"
	"os"
	"sync"

	"swellbench/emulator/line"
)

// A spool is the sent-log of one case, in a file: a case may last a day and memory must not grow with it. Adding may
// be done by several goroutines; reading starts when all has been added.
type spool struct {
	file *os.File

	mu    sync.Mutex
	w     *bufio.Writer
	buf   []byte
	n     int
	err   error // the first that writing or reading met
	stats sentStats
}

// sentStats is what the runner needs to know of the sent-log while it grows.
type sentStats struct {
	unheard      int     // messages that met no consumer
	unheardAtEnd int     // of these, the last ones in a row
	lastValidS   float64 // validity of the latest message that arrived, scenario time
}

func newSpool(path string) (*spool, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, fmt.Errorf("sent-log: %w", err)
	}
	return &spool{file: f, w: bufio.NewWriterSize(f, 64<<10)}, nil
}

// add appends one message.
func (s *spool) add(m line.Sent) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.n++
	switch m.Dropped {
	case line.NoConsumer:
		s.stats.unheard++
		s.stats.unheardAtEnd++
	case "":
		s.stats.lastValidS = max(s.stats.lastValidS, m.Valid)
		s.stats.unheardAtEnd = 0
	}
	if s.err != nil {
		return
	}
	b := s.buf[:0]
	for _, v := range [...]float64{m.Valid, m.Due, m.First, m.Last, m.LateS, m.HeldS} {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	for _, t := range [...]string{m.Kind, m.Hurt, m.Dropped} {
		b = binary.AppendUvarint(b, uint64(len(t)))
		b = append(b, t...)
	}
	b = binary.AppendUvarint(b, uint64(m.Lost))
	b = binary.AppendUvarint(b, uint64(len(m.Bytes)))
	b = append(b, m.Bytes...)
	s.buf = b
	_, s.err = s.w.Write(b)
}

// seal ends the adding.
func (s *spool) seal() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.w.Flush(); s.err == nil {
		s.err = err
	}
}

// failed returns the first error that writing or reading met: then the log is not complete.
func (s *spool) failed() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil {
		return fmt.Errorf("sent-log: %w", s.err)
	}
	return nil
}

func (s *spool) summary() (n int, st sentStats) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.n, s.stats
}

// all returns the messages in the order they were added. The bytes of each are its own.
func (s *spool) all() iter.Seq[line.Sent] {
	return func(yield func(line.Sent) bool) {
		r := bufio.NewReaderSize(io.NewSectionReader(s.file, 0, math.MaxInt64), 64<<10)
		words := map[string]string{}
		for {
			m, err := readSent(r, words)
			if err == io.EOF {
				return
			}
			if err != nil {
				s.mu.Lock()
				s.err = err
				s.mu.Unlock()
				return
			}
			if !yield(m) {
				return
			}
		}
	}
}

// readSent reads what add wrote; io.EOF at the end. The few words that recur are shared through words.
func readSent(r *bufio.Reader, words map[string]string) (line.Sent, error) {
	var m line.Sent
	var eight [8]byte
	for i, v := range [...]*float64{&m.Valid, &m.Due, &m.First, &m.Last, &m.LateS, &m.HeldS} {
		if _, err := io.ReadFull(r, eight[:]); err != nil {
			if i > 0 && err == io.EOF {
				err = io.ErrUnexpectedEOF
			}
			return m, err
		}
		*v = math.Float64frombits(binary.LittleEndian.Uint64(eight[:]))
	}
	for _, t := range [...]*string{&m.Kind, &m.Hurt, &m.Dropped} {
		b, err := readBytes(r)
		if err != nil {
			return m, err
		}
		w, ok := words[string(b)]
		if !ok {
			w = string(b)
			words[w] = w
		}
		*t = w
	}
	lost, err := binary.ReadUvarint(r)
	if err != nil {
		return m, noEOF(err)
	}
	m.Lost = int(lost)
	m.Bytes, err = readBytes(r)
	return m, err
}

func readBytes(r *bufio.Reader) ([]byte, error) {
	n, err := binary.ReadUvarint(r)
	if err == nil && n > math.MaxInt32 {
		err = fmt.Errorf("length %d is not one of ours", n)
	}
	if err != nil {
		return nil, noEOF(err)
	}
	b := make([]byte, n)
	_, err = io.ReadFull(r, b)
	return b, noEOF(err)
}

func noEOF(err error) error {
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

func (s *spool) close() error { return s.file.Close() }
