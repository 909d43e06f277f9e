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

	"golang.org/x/sys/unix"

	"swellbench/emulator/line"
)

// A pty is a pseudo-terminal: the device holds the master, a consumer opens the slave like a serial port.
//
// What is behind its path is a [terminal], another one after each hang-up.
type pty struct {
	attendance // its lock is held across a write: that never blocks, and so no byte can slip in between a consumer's leaving and the flush

	path   string // what consumers open
	link   *link  // keeps path
	watch  watcher
	in     input
	out    absence
	end    sync.Once
	endErr error
	open   atomic.Bool // consumers > 0
	baud   int         // of a terminal that nobody has set; 0 is the system's

	// Guarded by mu:
	term   *terminal // nil while it is hung up
	opens  int       // how many times it has been opened
	broken error     // why it did not come back
}

// OpenPTY makes a pseudo-terminal and publishes it under the path link, a symbolic link that goes when the port is
// closed; "" is the first free one of port1, port2, ... in [RuntimeDir].
//
// The link never takes the place of anything but a link left over from a run that ended without cleaning up. The
// terminal is raw before anyone can open it. Bytes that a consumer has not read when it closes the port are gone for
// the next one, as on a wire. Errors say what is in the way and what to do.
//
// The port is a [Hanger].
func OpenPTY(link string) (Port, error) { return openPTY(link, watch, 0) }

// OpenPTYAt is [OpenPTY] with a rate that the terminal has until a consumer sets another, so that programs which set none,
// such as cat, read what is sent. On a real port they would depend on who has used it last. 0 is the system's.
func OpenPTYAt(link string, baud int) (Port, error) { return openPTY(link, watch, baud) }

// openPTY makes a pseudo-terminal whose consumers are seen by the given watcher.
func openPTY(link string, watch watcher, baud int) (_ *pty, err error) {
	p := &pty{watch: watch, baud: baud}
	defer func() {
		if err != nil {
			_ = p.Close()
		}
	}()
	t, err := p.newTerminal()
	if err != nil {
		return nil, err
	}
	if p.link, err = publish(link, t.slave); err != nil {
		return nil, err
	}
	p.path = p.link.path
	return p, nil
}

func (p *pty) Path() string { return p.path }

func (p *pty) Open() bool { return p.open.Load() }

func (p *pty) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.closed:
		return 0, os.ErrClosed
	case p.broken != nil:
		return 0, p.broken
	case p.consumers == 0 || p.term == nil:
		return 0, line.ErrNoConsumer
	}
	for n := 0; n < len(b); {
		switch k, err := unix.Write(p.term.fd, b[n:]); {
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

func (p *pty) Settled(ctx context.Context, want int) error {
	return settle(ctx, &p.attendance, want, func() (setting, int, bool, error) {
		s, open, err := p.setting()
		return s, s.speed(), open, err
	})
}

// A setting is what a consumer can change; two that differ mean that it has done something.
type setting struct {
	termios
	opens int
}

// setting reads the terminal's settings; open is false where no consumer has it open.
func (p *pty) setting() (s setting, open bool, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return s, false, os.ErrClosed
	}
	if p.consumers == 0 || p.term == nil || p.term.keeper < 0 {
		return s, false, nil
	}
	t, err := getTermios(p.term.keeper)
	return setting{t, p.opens}, true, err
}

// Speed of a consumer that sets none is what the terminal had: 38400 at first, then its predecessor's.
func (p *pty) Speed() (baud int, ok bool) {
	s, open, err := p.setting()
	if err != nil || !open || s.speed() <= 0 {
		return 0, false
	}
	return s.speed(), true
}

// Settings are the speed and the stop bits: a pseudo-terminal keeps no parity, and no 7 bits, on Linux.
func (p *pty) Settings(own line.Settings) (line.Settings, bool) {
	s, open, err := p.setting()
	if err != nil || !open || s.speed() <= 0 {
		return own, false
	}
	own.Baud, own.StopBits = s.speed(), 1
	if s.Cflag&unix.CSTOPB != 0 {
		own.StopBits = 2
	}
	return own, true
}

func (p *pty) Drained(ctx context.Context) error {
	const wait = 2 * time.Millisecond
	for empty := 0; empty < 3; {
		p.mu.Lock()
		waiting, gone, closed := 0, p.consumers == 0 || p.term == nil || p.term.keeper < 0, p.closed
		var err error
		if !closed && !gone {
			waiting, err = unread(p.term.keeper)
		}
		p.mu.Unlock()
		switch {
		case closed:
			return os.ErrClosed
		case err != nil:
			return err
		case gone:
			return nil
		}
		// The terminal moves bytes to where they are counted in portions: nothing there once is not yet the end.
		empty++
		if waiting > 0 {
			empty = 0
		}
		if err := p.pause(ctx, wait); err != nil {
			return err
		}
	}
	return nil
}

// HangUp is that of [Hanger]: the terminal goes, its link too, and another terminal comes behind the same link.
func (p *pty) HangUp(ctx context.Context, d time.Duration) error {
	return p.out.begin(ctx, d, p.leave, p.comeBack)
}

// leave takes the terminal and the link away.
func (p *pty) leave() {
	p.mu.Lock()
	t := p.term
	p.term = nil
	p.set(0)
	p.mu.Unlock()
	if t == nil {
		return // it did not come back the last time
	}
	p.link.unlink()
	t.close()
}

// comeBack puts another terminal behind the link.
func (p *pty) comeBack() {
	t, err := p.newTerminal()
	if err == nil {
		err = p.link.point(t.slave)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.broken = nil
	if err != nil {
		p.broken = fmt.Errorf("port: %s was hung up and cannot come back: %w", p.path, err)
	}
}

// set changes the number of consumers; p.mu is held. Between the last consumer's leaving and the next one's coming
// the terminal is emptied and freed of an exclusive use that would outlive its owner.
func (p *pty) set(consumers int) {
	if p.closed {
		return
	}
	if t := p.term; t != nil && (consumers == 0) != (p.consumers == 0) && t.keeper >= 0 {
		// What these cannot do is seen at once by the tests of this package, and never otherwise.
		_ = flushInput(t.keeper)
		if consumers == 0 {
			_ = unix.IoctlSetInt(t.keeper, unix.TIOCNXCL, 0)
		}
	}
	p.consumers = consumers
	p.open.Store(consumers > 0)
	p.tell()
}

func (p *pty) Close() error {
	p.end.Do(func() {
		p.out.end()
		p.mu.Lock()
		t := p.term
		p.closed, p.consumers, p.term = true, 0, nil
		p.open.Store(false)
		p.tell()
		p.mu.Unlock()
		if p.link != nil {
			p.endErr = p.link.remove()
		}
		if t != nil {
			t.close()
		}
		unwatch(p)
		p.in.end()
	})
	return p.endErr
}

// errNoPTY says why there is no pseudo-terminal to be had.
func errNoPTY(err error) error {
	if errors.Is(err, unix.ENOSPC) {
		return fmt.Errorf("port: all pseudo-terminals of this machine are taken (%w); end some programs or raise kernel.pty.max", err)
	}
	return fmt.Errorf("port: no pseudo-terminal to be had: %w; is /dev/ptmx there and /dev/pts mounted?", err)
}
