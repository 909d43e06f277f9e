package port

import (
	"encoding/binary"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"golang.org/x/sys/unix"
)

// watch has the kernel tell of each opening and closing, and looks now and then where the kernel will not.
func watch(t *terminal) (stop func(), err error) {
	if stop, err = watchByEvents(t); err != nil {
		return watchByProbing(t)
	}
	return stop, nil
}

// A hub receives the inotify events of all pseudo-terminals of this process: the kernel allows a user few instances.
//
// An event equal to the last one still waiting is dropped by the kernel, so that two openings in a row would count
// as one. The directory is watched as well: its events come in between, and none is equal to the last.
type hub struct {
	fd    int
	file  *os.File            // of fd
	ports map[int32]*terminal // by watch descriptor
	users map[*pty]bool       // as long as there is one the hub lives: to end it takes the kernel 10 ms
	done  chan struct{}
}

// The hub of the process, while there is a port to watch.
var (
	hubMu   sync.Mutex
	current *hub
)

const openAndClose = unix.IN_OPEN | unix.IN_CLOSE_WRITE | unix.IN_CLOSE_NOWRITE

func watchByEvents(t *terminal) (stop func(), err error) {
	hubMu.Lock()
	defer hubMu.Unlock()
	h := current
	if h == nil {
		if h, err = newHub(filepath.Dir(t.slave)); err != nil {
			return nil, err
		}
	}
	if err := h.watch(t); err != nil {
		h.endIfIdle()
		return nil, err
	}
	current = h
	h.users[t.port] = true
	return func() { h.drop(t) }, nil
}

// unwatch is called when a port is closed, after the last watch of its has been stopped.
func unwatch(p *pty) {
	hubMu.Lock()
	h := current
	ended := false
	if h != nil {
		delete(h.users, p)
		ended = h.endIfIdle()
	}
	hubMu.Unlock()
	if ended {
		<-h.done
	}
}

func newHub(dir string) (*hub, error) {
	fd, err := unix.InotifyInit1(unix.IN_CLOEXEC | unix.IN_NONBLOCK)
	if err != nil {
		return nil, err
	}
	h := &hub{fd: fd, file: os.NewFile(uintptr(fd), "inotify"), ports: map[int32]*terminal{}, users: map[*pty]bool{}, done: make(chan struct{})}
	if _, err := unix.InotifyAddWatch(fd, dir, openAndClose); err != nil {
		_ = h.file.Close()
		return nil, err
	}
	go h.run()
	return h, nil
}

// endIfIdle ends a hub that nobody needs; hubMu is held. It tells whether it did: then done is to be waited for,
// without hubMu.
func (h *hub) endIfIdle() bool {
	if len(h.users) > 0 || len(h.ports) > 0 {
		return false
	}
	if current == h {
		current = nil
	}
	_ = h.file.Close()
	return true
}

// drop ends the watch of one terminal.
func (h *hub) drop(t *terminal) {
	hubMu.Lock()
	defer hubMu.Unlock()
	h.forget(t)
}

// forget ends the watch of one terminal; hubMu is held.
func (h *hub) forget(t *terminal) {
	for wd, q := range h.ports {
		if q == t {
			delete(h.ports, wd)
			_, _ = unix.InotifyRmWatch(h.fd, uint32(wd))
		}
	}
}

// watch adds a port; hubMu is held.
func (h *hub) watch(t *terminal) error {
	wd, err := unix.InotifyAddWatch(h.fd, t.slave, openAndClose)
	if err == nil {
		h.ports[int32(wd)] = t
	}
	return err
}

// recount is for when events were lost: what is true now is all there is to know. The watches are off meanwhile, for
// a probe opens and closes the terminal itself.
func (h *hub) recount() {
	hubMu.Lock()
	defer hubMu.Unlock()
	for _, t := range slices.Collect(maps.Values(h.ports)) {
		h.forget(t)
		t.probe()
		if err := h.watch(t); err != nil {
			continue // the terminal is gone, and its port about to be closed
		}
	}
}

// run passes the events on until the hub is closed.
func (h *hub) run() {
	defer close(h.done)
	buf := make([]byte, 16<<10)
	for {
		n, err := h.file.Read(buf)
		if err != nil {
			return // closed: nothing else ends it
		}
		// struct inotify_event: int wd; uint32_t mask, cookie, len; char name[len]
		for b := buf[:n]; len(b) >= unix.SizeofInotifyEvent; {
			wd := int32(binary.NativeEndian.Uint32(b))
			mask := binary.NativeEndian.Uint32(b[4:])
			size := unix.SizeofInotifyEvent + int(binary.NativeEndian.Uint32(b[12:]))
			b = b[min(size, len(b)):]
			h.pass(wd, mask)
		}
	}
}

// pass tells the port of one event.
func (h *hub) pass(wd int32, mask uint32) {
	if mask&unix.IN_Q_OVERFLOW != 0 {
		h.recount()
		return
	}
	hubMu.Lock()
	t := h.ports[wd]
	hubMu.Unlock()
	switch {
	case t == nil: // of the directory, or of a terminal that is closed
	case mask&unix.IN_OPEN != 0:
		t.opened()
	case mask&(unix.IN_CLOSE_WRITE|unix.IN_CLOSE_NOWRITE) != 0:
		t.left()
	}
}
