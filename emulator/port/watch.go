//go:build linux || darwin

package port

import (
	"context"
	"time"

	"golang.org/x/sys/unix"
)

// A watcher tells a pty, by its methods opened and left or by probing, of all who open and close the terminal from
// now on, until stop is called; when that has returned it tells no more.
type watcher func(p *pty) (stop func(), err error)

// watchByProbing looks now and then. It works wherever there are pseudo-terminals, sees no consumer that comes and
// goes between two looks, and ends a consumer's exclusive use.
func watchByProbing(p *pty) (stop func(), err error) {
	const every = 20 * time.Millisecond
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		for p.pause(ctx, every) == nil {
			p.probe()
		}
	}()
	return func() { cancel(); <-done }, nil
}

// probe finds out whether anyone but the keeper has the terminal open: with the keeper closed for a moment, the
// master is hung up if not.
func (p *pty) probe() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return
	}
	if p.keeper >= 0 {
		_ = unix.IoctlSetInt(p.keeper, unix.TIOCNXCL, 0) // else it might keep us out ourselves
		_ = unix.Close(p.keeper)
		p.keeper = -1
	}
	fds := []unix.PollFd{{Fd: int32(p.fd)}}
	_, err := unix.Poll(fds, 0)
	hungUp := fds[0].Revents&unix.POLLHUP != 0
	keeper, openErr := unix.Open(p.slave, unix.O_RDWR|unix.O_NOCTTY|unix.O_CLOEXEC, 0)
	if openErr != nil {
		return // a consumer has just claimed exclusive use: the next look will do
	}
	p.keeper = keeper
	switch {
	case err != nil:
	case hungUp && p.consumers > 0:
		p.set(0)
	case !hungUp && p.consumers == 0:
		p.opens++
		p.set(1)
	}
	if hungUp {
		_ = makeRaw(p.keeper) // some systems forget the settings when the last one leaves
	}
}
