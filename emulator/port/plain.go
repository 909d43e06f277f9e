package port

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"sync"
	"time"

	"swellbench/emulator/line"
)

// A plain port hands bytes to a writer and cannot see who listens: somebody always seems to.
type plain struct {
	attendance
	path   string
	box    *outbox
	in     input
	end    sync.Once
	endErr error
	// finish ends the writer; err is why not all has been written.
	finish func(err error) error
	record *record
}

// newPlain starts a port.
func newPlain(path string, w io.Writer, finish func(error) error) *plain {
	return &plain{attendance: attendance{consumers: 1}, path: path, box: newOutbox(w, nil), finish: finish}
}

// OpenFile makes a port of a file, which is made, or emptied if it is there. It must be a plain file: a device is
// refused, for behind it might be equipment in use; nothing is behind os.DevNull.
func OpenFile(path string) (Port, error) {
	if st, err := os.Stat(path); err == nil && !st.Mode().IsRegular() && path != os.DevNull {
		return nil, fmt.Errorf("port: %s is no plain file; choose another path, or serial:%s if it is a serial port", path, path)
	}
	f, err := os.Create(path)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrPermission) {
		return nil, fmt.Errorf("port: the file %s: %w; choose a path where you may write", path, err)
	}
	if err != nil {
		return nil, fmt.Errorf("port: the file %s: %w", path, err)
	}
	return newPlain(path, f, func(err error) error { return errors.Join(err, f.Close()) }), nil
}

// OpenWriter makes a port of a writer, such as standard output, under the given name. The writer is not closed; where
// it blocks for ever, the goroutine that is in it stays.
func OpenWriter(name string, w io.Writer) (Port, error) {
	return newPlain(name, w, func(err error) error { return err }), nil
}

func (p *plain) Path() string { return p.path }

func (p *plain) Open() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return !p.closed
}

func (p *plain) Write(b []byte) (int, error) {
	p.mu.Lock()
	closed := p.closed
	p.mu.Unlock()
	if closed {
		return 0, os.ErrClosed
	}
	n, err := p.box.put(b)
	switch {
	case err != nil:
		return 0, fmt.Errorf("port: writing to %s: %w", p.path, err)
	case n < len(b):
		return n, line.ErrFull
	}
	return n, nil
}

func (p *plain) Read(b []byte) (int, error) { return p.in.read(b) }

func (p *plain) Settled(ctx context.Context, _ int) error { return p.WaitOpen(ctx) }

func (p *plain) Speed() (baud int, ok bool) { return 0, false }

func (p *plain) Settings(own line.Settings) (line.Settings, bool) { return own, false }

// Drained returns when the system has all that was written.
func (p *plain) Drained(ctx context.Context) error {
	for {
		if p.box.empty() {
			return p.box.failed()
		}
		if err := p.pause(ctx, 2*time.Millisecond); err != nil {
			return err
		}
	}
}

// patience is how long Close waits for what has been taken to be written.
const patience = time.Second

func (p *plain) Close() error {
	p.end.Do(func() {
		p.mu.Lock()
		p.closed, p.consumers = true, 0
		p.tell()
		p.mu.Unlock()
		err := p.box.drain(patience)
		if err != nil {
			err = fmt.Errorf("port: writing to %s: %w", p.path, err)
		}
		p.endErr = p.finish(err)
		p.record.drop()
		p.in.end()
	})
	return p.endErr
}
