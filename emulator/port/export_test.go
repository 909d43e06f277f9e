//go:build linux || darwin

package port

import "golang.org/x/sys/unix"

// What tests see of the inside.
var (
	Watch          = watch
	WatchByProbing = watchByProbing
)

// OpenWatched makes a pseudo-terminal with the given watcher.
func OpenWatched(link string, w func(*terminal) (func(), error)) (*pty, error) {
	return openPTY(link, w, 0)
}

// Consumers is how many times consumers have the terminal open.
func (p *pty) Consumers() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.consumers
}

// Slave is the terminal that the link points to.
func (p *pty) Slave() string { return p.term.slave }

// Master is the master's file.
func (p *pty) Blocking() bool {
	flags, err := unix.FcntlInt(uintptr(p.term.fd), unix.F_GETFL, 0)
	return err != nil || flags&unix.O_NONBLOCK == 0
}
