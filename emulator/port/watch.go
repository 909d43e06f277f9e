//go:build linux || darwin

package port

import (
	"context"
	"time"

	"golang.org/x/sys/unix"
)

// A watcher tells a terminal, by its methods opened and left or by probing, of all who open and close it from now on,
// until stop is called.
type watcher func(t *terminal) (stop func(), err error)

// watchByProbing looks now and then. It works wherever there are pseudo-terminals, sees no consumer that comes and
// goes between two looks, and ends a consumer's exclusive use.
func watchByProbing(t *terminal) (stop func(), err error) {
	const every = 20 * time.Millisecond
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		for t.port.pause(ctx, every) == nil {
			t.probe()
		}
	}()
	return func() { cancel(); <-done }, nil
}

// probe finds out whether anyone but the keeper has the terminal open: with the keeper closed for a moment, the
// master is hung up if not.
func (t *terminal) probe() {
	p := t.port
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed || p.term != t {
		return
	}
	if t.keeper >= 0 {
		_ = unix.IoctlSetInt(t.keeper, unix.TIOCNXCL, 0) // else it might keep us out ourselves
		_ = unix.Close(t.keeper)
		t.keeper = -1
	}
	fds := []unix.PollFd{{Fd: int32(t.fd)}}
	_, err := unix.Poll(fds, 0)
	hungUp := fds[0].Revents&unix.POLLHUP != 0
	keeper, openErr := unix.Open(t.slave, unix.O_RDWR|unix.O_NOCTTY|unix.O_CLOEXEC, 0)
	if openErr != nil {
		return // a consumer has just claimed exclusive use: the next look will do
	}
	t.keeper = keeper
	switch {
	case err != nil:
	case hungUp && p.consumers > 0:
		p.set(0)
	case !hungUp && p.consumers == 0:
		p.opens++
		p.set(1)
	}
	if hungUp {
		_ = makeRaw(t.keeper) // some systems forget the settings when the last one leaves
	}
}
