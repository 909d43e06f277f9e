//go:build linux || darwin

package port

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	creack "github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// A terminal is one pseudo-terminal of a [pty].
//
// One slave, the keeper, stays open all the time: without it the master's reads fail whenever no consumer is there,
// and settings and exclusive use could not be reached. Reads of the master go through Go's poller, so that closing it
// ends them; writes go straight to the descriptor, which is non-blocking.
type terminal struct {
	port   *pty
	slave  string   // what consumers open in the end
	master *os.File // of fd
	fd     int
	keeper int    // -1 when closed; guarded by port.mu
	stop   func() // ends watching
	wg     sync.WaitGroup
}

// newTerminal makes a terminal, raw and watched, and makes it the port's.
func (p *pty) newTerminal() (_ *terminal, err error) {
	t := &terminal{port: p, fd: -1, keeper: -1, stop: func() {}}
	defer func() {
		if err != nil {
			p.mu.Lock()
			p.term = nil
			p.mu.Unlock()
			t.close()
		}
	}()
	if err := t.pair(); err != nil {
		return nil, errNoPTY(err)
	}
	if err := makeRaw(t.keeper); err != nil {
		return nil, fmt.Errorf("port: setting %s to raw mode: %w", t.slave, err)
	}
	if p.baud > 0 {
		if err := setSpeed(t.keeper, p.baud); err != nil {
			return nil, fmt.Errorf("port: setting %s to %d baud: %w", t.slave, p.baud, err)
		}
	}
	p.mu.Lock()
	p.term = t
	p.mu.Unlock()
	if t.stop, err = p.watch(t); err != nil {
		t.stop = func() {}
		return nil, fmt.Errorf("port: watching %s: %w", t.slave, err)
	}
	t.wg.Go(t.receive)
	return t, nil
}

// pair makes master and keeper.
//
// Open of creack/pty leaves the master in blocking mode, in which a deadline is ignored and a write to a full
// terminal hangs for ever; a duplicate set non-blocking before os.NewFile sees it works with the poller.
func (t *terminal) pair() error {
	master, slave, err := creack.Open()
	if err != nil {
		return err
	}
	defer master.Close()
	defer slave.Close()
	t.slave = slave.Name()
	// The keeper is a bare descriptor: nobody reads it, and in the poller each byte sent would be an event.
	if t.keeper, err = unix.FcntlInt(slave.Fd(), unix.F_DUPFD_CLOEXEC, 0); err != nil {
		return err
	}
	if t.fd, err = unix.FcntlInt(master.Fd(), unix.F_DUPFD_CLOEXEC, 0); err != nil {
		return err
	}
	err = unix.SetNonblock(t.fd, true)
	t.master = os.NewFile(uintptr(t.fd), t.slave)
	return err
}

// makeRaw makes a terminal pass all bytes through as they are, with no echo.
func makeRaw(fd int) error {
	_, err := term.MakeRaw(fd)
	return err
}

// receive moves what consumers send from the master to the port's input, until the master is closed.
func (t *terminal) receive() {
	buf := make([]byte, 4096)
	for {
		n, err := t.master.Read(buf)
		if n > 0 {
			t.port.in.put(buf[:n])
		}
		if errors.Is(err, os.ErrClosed) {
			return
		}
		if err != nil {
			// EIO: the keeper is closed for a moment, see probe. It is not worth more than a look now and then.
			if t.port.pause(context.Background(), time.Millisecond) != nil {
				return
			}
		}
	}
}

// opened and left are told by the watcher: someone else opened or closed the terminal. What comes late, of a terminal
// that is the port's no more, counts for nothing.
func (t *terminal) opened() {
	p := t.port
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.term == t {
		p.opens++
		p.set(p.consumers + 1)
	}
}

func (t *terminal) left() {
	p := t.port
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.term == t {
		p.set(max(p.consumers-1, 0))
	}
}

// close ends a terminal that is the port's no more, and returns when all that belongs to it has ended.
func (t *terminal) close() {
	t.stop()
	if t.master != nil {
		_ = t.master.Close() // ends receive
	} else if t.fd >= 0 {
		_ = unix.Close(t.fd)
	}
	t.port.mu.Lock()
	if t.keeper >= 0 {
		_ = unix.Close(t.keeper)
		t.keeper = -1
	}
	t.port.mu.Unlock()
	t.wg.Wait()
}
