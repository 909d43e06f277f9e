//go:build linux || darwin

package port

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"time"

	creack "github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"

	"swellbench/emulator/line"
)

// A pty is a pseudo-terminal: the device holds the master, a consumer opens the slave like a serial port.
//
// One slave, the keeper, stays open all the time: without it the master's reads fail whenever no consumer is there,
// and settings and exclusive use could not be reached. Reads of the master go through Go's poller, so that Close ends
// them; writes go straight to the descriptor, which is non-blocking.
type pty struct {
	path   string   // what consumers open
	slave  string   // the terminal itself
	link   *link    // keeps path
	master *os.File // of fd
	fd     int
	in     input
	stop   func() // ends watching
	wg     sync.WaitGroup
	end    sync.Once
	endErr error
	open   atomic.Bool // consumers > 0

	// mu guards what follows, and is held across a write: that never blocks, and so no byte can slip in between a
	// consumer's leaving and the flush.
	mu        sync.Mutex
	keeper    int // -1 when closed
	consumers int // how many times it is open, the keeper aside
	opens     int // how many times it has been opened
	closed    bool
	changed   chan struct{} // closed, and made anew, when any of these changes
}

// OpenPTY makes a pseudo-terminal and publishes it under the path link, a symbolic link that goes when the port is
// closed; "" is the first free one of port1, port2, ... in [RuntimeDir].
//
// The link never takes the place of anything but a link left over from a run that ended without cleaning up. The
// terminal is raw before anyone can open it. Bytes that a consumer has not read when it closes the port are gone for
// the next one, as on a wire. Errors say what is in the way and what to do.
func OpenPTY(link string) (Port, error) { return openPTY(link, watch) }

// openPTY makes a pseudo-terminal whose consumers are seen by the given watcher.
func openPTY(link string, watch watcher) (_ *pty, err error) {
	p := &pty{fd: -1, keeper: -1, changed: make(chan struct{}), stop: func() {}}
	defer func() {
		if err != nil {
			_ = p.Close()
		}
	}()
	if err := p.pair(); err != nil {
		if errors.Is(err, unix.ENOSPC) {
			return nil, fmt.Errorf("port: all pseudo-terminals of this machine are taken (%w); end some programs or raise kernel.pty.max", err)
		}
		return nil, fmt.Errorf("port: no pseudo-terminal to be had: %w; is /dev/ptmx there and /dev/pts mounted?", err)
	}
	if err := makeRaw(p.keeper); err != nil {
		return nil, fmt.Errorf("port: setting %s to raw mode: %w", p.slave, err)
	}
	if p.stop, err = watch(p); err != nil {
		p.stop = func() {}
		return nil, fmt.Errorf("port: watching %s: %w", p.slave, err)
	}
	p.wg.Go(p.receive)
	if p.link, err = publish(link, p.slave); err != nil {
		return nil, err
	}
	p.path = p.link.path
	return p, nil
}

// pair makes master and keeper.
//
// Open of creack/pty leaves the master in blocking mode, in which a deadline is ignored and a write to a full
// terminal hangs for ever; a duplicate set non-blocking before os.NewFile sees it works with the poller.
func (p *pty) pair() error {
	master, slave, err := creack.Open()
	if err != nil {
		return err
	}
	defer master.Close()
	defer slave.Close()
	p.slave = slave.Name()
	// The keeper is a bare descriptor: nobody reads it, and in the poller each byte sent would be an event.
	if p.keeper, err = unix.FcntlInt(slave.Fd(), unix.F_DUPFD_CLOEXEC, 0); err != nil {
		return err
	}
	if p.fd, err = unix.FcntlInt(master.Fd(), unix.F_DUPFD_CLOEXEC, 0); err != nil {
		return err
	}
	err = unix.SetNonblock(p.fd, true)
	p.master = os.NewFile(uintptr(p.fd), p.slave)
	return err
}

// makeRaw makes a terminal pass all bytes through as they are, with no echo.
func makeRaw(fd int) error {
	_, err := term.MakeRaw(fd)
	return err
}

func (p *pty) Path() string { return p.path }

func (p *pty) Open() bool { return p.open.Load() }

func (p *pty) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return 0, os.ErrClosed
	}
	if p.consumers == 0 {
		return 0, line.ErrNoConsumer
	}
	for n := 0; n < len(b); {
		switch k, err := unix.Write(p.fd, b[n:]); {
		case err == unix.EINTR:
		case err == unix.EAGAIN || err == nil && k == 0:
			return n, line.ErrFull
		case err != nil:
			return n, fmt.Errorf("port: writing to %s: %w", p.path, err)
		default:
			n += k
		}
	}
	return len(b), nil
}

func (p *pty) Read(b []byte) (int, error) { return p.in.read(b) }

// receive moves what consumers send from the master to the input, until the master is closed.
func (p *pty) receive() {
	defer p.in.end()
	buf := make([]byte, 4096)
	for {
		n, err := p.master.Read(buf)
		if n > 0 {
			p.in.put(buf[:n])
		}
		if errors.Is(err, os.ErrClosed) {
			return
		}
		if err != nil {
			// EIO: the keeper is closed for a moment, see probe. It is not worth more than a look now and then.
			if p.pause(context.Background(), time.Millisecond) != nil {
				return
			}
		}
	}
}

// opened and left are told by the watcher: someone else opened or closed the terminal.
func (p *pty) opened() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.opens++
	p.set(p.consumers + 1)
}

func (p *pty) left() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.set(max(p.consumers-1, 0))
}

// set changes the number of consumers; p.mu is held. Between the last consumer's leaving and the next one's coming
// the terminal is emptied and freed of an exclusive use that would outlive its owner.
func (p *pty) set(consumers int) {
	if p.closed {
		return
	}
	if (consumers == 0) != (p.consumers == 0) && p.keeper >= 0 {
		// What these cannot do is seen at once by the tests of this package, and never otherwise.
		_ = flushInput(p.keeper)
		if consumers == 0 {
			_ = unix.IoctlSetInt(p.keeper, unix.TIOCNXCL, 0)
		}
	}
	p.consumers = consumers
	p.open.Store(consumers > 0)
	p.tell()
}

// tell wakes who waits for a change; p.mu is held.
func (p *pty) tell() {
	close(p.changed)
	p.changed = make(chan struct{})
}

func (p *pty) Close() error {
	p.end.Do(func() {
		p.mu.Lock()
		p.closed = true
		p.open.Store(false)
		p.tell()
		p.mu.Unlock()
		p.stop()
		if p.link != nil {
			p.endErr = p.link.remove()
		}
		if p.master != nil {
			_ = p.master.Close() // ends receive
		} else if p.fd >= 0 {
			_ = unix.Close(p.fd)
		}
		p.mu.Lock()
		if p.keeper >= 0 {
			_ = unix.Close(p.keeper)
			p.keeper = -1
		}
		p.mu.Unlock()
		p.wg.Wait()
	})
	return p.endErr
}
