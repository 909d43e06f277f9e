package conformance

import (
	"bufio"
	"encoding/binary"
	"errors"
	"io"
	"iter"
	"os"
	"sync"
	"time"

	"swellbench/conformance/observe"
)

// An intake takes what a consumer writes: observations from its standard output, or from the file it was told to write
// them to. What it takes stays in files; memory does not grow with it.
type intake struct {
	meter *meter
	path  string         // the file the consumer writes its observations to; "" is its standard output, or source
	form  *observe.Map   // how lines become observations; nil: as a consumer prints them
	from  source         // where observations come from, if from neither; nil else
	fed   sync.WaitGroup // from it
	flood chan struct{}  // closed when the consumer writes too much

	kept     *os.File // standard output, where that has the observations
	arrivals *os.File // when each observation on it arrived, int64 ns
	signal   func()   // closes flood, once

	mu     sync.Mutex
	latest time.Time // the latest time any observation has had
	err    error     // of keeping what came

	stop    chan struct{} // ends the watching of path
	watcher sync.WaitGroup
}

// newIntake makes the intake of a case; base is the start of the names of its files. Observations are expected in the
// file path, or on standard output if path is "".
func newIntake(base, path string, form *observe.Map, from source) (*intake, error) {
	in := &intake{meter: &meter{begun: time.Now()}, path: path, form: form, from: from, flood: make(chan struct{}), stop: make(chan struct{})}
	in.signal = sync.OnceFunc(func() { close(in.flood) })
	if path != "" {
		in.watcher.Go(in.watch)
		return in, nil
	}
	var err error
	if in.kept, err = os.OpenFile(base, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600); err != nil {
		return nil, err
	}
	if in.arrivals, err = os.OpenFile(base+"-arrivals", os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600); err != nil {
		in.kept.Close()
		return nil, err
	}
	if from != nil {
		in.fed.Go(func() { in.takeObservations(from, from.Address()) })
	}
	return in, nil
}

// finish says that the consumer has ended.
func (in *intake) finish() {
	if in.from != nil {
		in.from.Finish()
		in.fed.Wait()
	}
}

// take reads r to its end, or to a flood, and copies it to w.
func (in *intake) take(r io.Reader, w io.Writer, what string) {
	io.Copy(w, &recorder{from: r, meter: in.meter, what: what, flood: in.signal})
}

// takeStdout reads the standard output of the consumer.
func (in *intake) takeStdout(r io.Reader) {
	if in.path != "" || in.from != nil {
		in.take(r, io.Discard, "standard output")
		return
	}
	in.takeObservations(r, "standard output")
}

// takeObservations reads observations as they come, and keeps them.
func (in *intake) takeObservations(r io.Reader, what string) {
	rec := &recorder{from: r, to: in.kept, meter: in.meter, what: what, flood: in.signal}
	stamps := bufio.NewWriter(in.arrivals)
	reader := observe.NewReader(rec, observe.Options{Map: in.form})
	for o := range reader.All() {
		stamps.Write(binary.LittleEndian.AppendUint64(nil, uint64(o.Arrival.UnixNano())))
		in.mu.Lock()
		if o.Time.After(in.latest) {
			in.latest = o.Time
		}
		in.mu.Unlock()
	}
	err := stamps.Flush()
	if rerr := reader.Err(); rerr != nil && !errors.Is(rerr, errFlood) && !errors.Is(rerr, os.ErrClosed) {
		err = errors.Join(err, rerr)
	}
	in.mu.Lock()
	in.err = errors.Join(in.err, err)
	in.mu.Unlock()
	io.Copy(io.Discard, rec)
}

// watch counts the growth of the observations file.
func (in *intake) watch() {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	var size int64
	for {
		select {
		case <-in.stop:
			return
		case <-tick.C:
		}
		st, err := os.Stat(in.path)
		if err != nil || st.Size() == size {
			continue
		}
		grown := st.Size() - size
		if grown < 0 { // written anew
			grown = st.Size()
		}
		size = st.Size()
		if in.meter.add(int(grown), "the observations file") != nil {
			in.signal()
			return
		}
	}
}

// heard tells whether an observation of the instant or a later one has come.
func (in *intake) heard(t time.Time) bool {
	in.mu.Lock()
	defer in.mu.Unlock()
	return !in.latest.Before(t)
}

// failed returns the error that kept us from keeping what came, nil if all is there.
func (in *intake) failed() error {
	in.mu.Lock()
	defer in.mu.Unlock()
	return in.err
}

// open returns a reader of all that was kept where observations are expected. A consumer that never made its file has
// said nothing.
func (in *intake) open() (io.Reader, func()) {
	if in.path == "" {
		n, _ := in.kept.Seek(0, io.SeekEnd)
		return io.NewSectionReader(in.kept, 0, n), func() {}
	}
	f, err := os.Open(in.path)
	if err != nil {
		return eofReader{}, func() {}
	}
	n, _ := in.meter.seen()
	return io.LimitReader(f, max(n, floodBurst)), func() { f.Close() }
}

// count reads all that was kept and counts it.
func (in *intake) count() (observe.Stats, error) {
	r, done := in.open()
	defer done()
	reader := observe.NewReader(r, observe.Options{File: true, Map: in.form})
	for range reader.All() {
	}
	return reader.Stats(), reader.Err()
}

// observations returns what the consumer said it understood, in order of arrival. It may be walked more than once.
func (in *intake) observations() iter.Seq[observe.Observation] {
	return func(yield func(observe.Observation) bool) {
		r, done := in.open()
		defer done()
		var stamps io.Reader = eofReader{}
		if in.arrivals != nil {
			n, _ := in.arrivals.Seek(0, io.SeekEnd)
			stamps = bufio.NewReader(io.NewSectionReader(in.arrivals, 0, n))
		}
		var eight [8]byte
		for o := range observe.NewReader(r, observe.Options{File: true, Map: in.form}).All() {
			if _, err := io.ReadFull(stamps, eight[:]); err == nil {
				o.Arrival = time.Unix(0, int64(binary.LittleEndian.Uint64(eight[:])))
			}
			if !yield(o) {
				return
			}
		}
	}
}

// close ends the intake.
func (in *intake) close() {
	close(in.stop)
	in.watcher.Wait()
	in.finish()
	if in.kept != nil {
		in.kept.Close()
		in.arrivals.Close()
	}
}

type eofReader struct{}

func (eofReader) Read([]byte) (int, error) { return 0, io.EOF }
