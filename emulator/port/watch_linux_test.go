package port_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"golang.org/x/sys/unix"

	"swellbench/emulator/port"
)

// Exclusive use outlives its owner as long as the master lives, and would keep the next consumer out.
func TestExclusiveUseEndsWithTheConsumer(t *testing.T) {
	p := newPTY(t)
	c, err := os.OpenFile(p.Path(), os.O_RDWR|unix.O_NOCTTY, 0)
	must(t, err)
	must(t, p.WaitOpen(soon(t)))
	must(t, unix.IoctlSetInt(int(c.Fd()), unix.TIOCEXCL, 0))
	if on, err := unix.IoctlGetInt(int(c.Fd()), unix.TIOCGEXCL); err != nil || on == 0 {
		t.Fatalf("exclusive use is %d, %v", on, err)
	}
	must(t, c.Close())
	must(t, p.WaitClosed(soon(t)))
	c, err = os.OpenFile(p.Path(), os.O_RDWR|unix.O_NOCTTY, 0)
	must(t, err)
	defer c.Close()
	if on, err := unix.IoctlGetInt(int(c.Fd()), unix.TIOCGEXCL); err != nil || on != 0 {
		t.Errorf("exclusive use is %d, %v for the next consumer", on, err)
	}
}

// When the kernel has lost events the port finds out by itself who is there, and counts on from that.
func TestLostEvents(t *testing.T) {
	p := newPTY(t)
	c, err := dial(p)()
	must(t, err)
	must(t, p.WaitOpen(soon(t)))
	port.LoseEvents()
	if !p.Open() {
		t.Error("a consumer is there and Open is false")
	}
	must(t, c.Close())
	must(t, p.WaitClosed(soon(t)))
	port.LoseEvents()
	if p.Open() {
		t.Error("nobody is there and Open is true")
	}
	c, err = dial(p)()
	must(t, err)
	defer c.Close()
	must(t, p.WaitOpen(soon(t)))
}

// A link to the link is another way to the same terminal.
func TestOpenedThroughAnotherLink(t *testing.T) {
	p := newPTY(t)
	way := filepath.Join(t.TempDir(), "way")
	must(t, os.Symlink(p.Path(), way))
	c, err := os.OpenFile(way, os.O_RDWR|unix.O_NOCTTY, 0)
	must(t, err)
	must(t, p.WaitOpen(soon(t)))
	must(t, c.Close())
	must(t, p.WaitClosed(soon(t)))
}

// The terminal is raw, and stays so through openings and closings.
func TestRawForEveryConsumer(t *testing.T) {
	p := newPTY(t)
	for range 3 {
		c, err := os.OpenFile(p.Path(), os.O_RDWR|unix.O_NOCTTY, 0)
		must(t, err)
		s, err := unix.IoctlGetTermios(int(c.Fd()), unix.TCGETS)
		must(t, err)
		if s.Lflag&(unix.ICANON|unix.ECHO|unix.ISIG|unix.IEXTEN) != 0 || s.Iflag&(unix.ICRNL|unix.IXON|unix.INLCR|unix.ISTRIP) != 0 || s.Oflag&unix.OPOST != 0 {
			t.Errorf("not raw: %+v", s)
		}
		must(t, c.Close())
	}
}

// More ports than the kernel allows a user inotify instances (128 by default): they share one, and three descriptors
// a port are all it takes.
func TestManyPorts(t *testing.T) {
	needPTY(t)
	before := openFiles(t)
	dir := t.TempDir()
	var ports []port.Port
	for i := range 150 {
		p, err := port.OpenPTY(filepath.Join(dir, fmt.Sprint(i)))
		if err != nil {
			for _, p := range ports {
				must(t, p.Close())
			}
			t.Skipf("this machine gives only %d pseudo-terminals: %v", i, err)
		}
		ports = append(ports, p)
	}
	if got := openFiles(t) - before; got > 3*len(ports)+3 { // and those of the hub and the poller
		t.Errorf("%d descriptors for %d ports", got, len(ports))
	}
	for i, p := range ports {
		c, err := dial(p)()
		must(t, err)
		must(t, p.WaitOpen(soon(t)))
		if next := ports[(i+1)%len(ports)]; next.Open() {
			t.Errorf("port %d is opened and its neighbour says that it is", i)
		}
		must(t, c.Close())
		must(t, p.WaitClosed(soon(t)))
	}
	for _, p := range ports {
		must(t, p.Close())
	}
}
