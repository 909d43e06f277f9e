//go:build linux || darwin

package port_test

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/line"
	"swellbench/emulator/port"
)

// A plug pulled and put in again a thousand times, with a program that has the port open each time.
func TestAThousandHangUps(t *testing.T) {
	p := newPTY(t)
	h := p.(port.Hanger)
	round := func() {
		c, err := dial(p)()
		must(t, err)
		must(t, p.WaitOpen(soon(t)))
		must(t, h.HangUp(t.Context(), 0))
		if n, err := c.Read(make([]byte, 10)); n != 0 || err == nil {
			t.Fatalf("after the hang-up the consumer reads %d bytes, %v", n, err)
		}
		must(t, c.Close())
	}
	round()
	files, goroutines := openFiles(t), runtime.NumGoroutine()
	for range 1000 {
		round()
	}
	if got := openFiles(t); got > files {
		t.Errorf("%d descriptors are open, %d before 1000 hang-ups", got, files)
	}
	waitChange(t, func() bool { return runtime.NumGoroutine() <= goroutines })
	c, err := dial(p)()
	must(t, err)
	defer c.Close()
	must(t, p.WaitOpen(soon(t)))
	_, err = p.Write([]byte("still there"))
	must(t, err)
	got := make([]byte, 11)
	if _, err := io.ReadFull(c, got); string(got) != "still there" {
		t.Errorf("after a thousand hang-ups the consumer got %q, %v", got, err)
	}
}

// While it is away the path is not there, what is written is for nobody, and ctx brings it back.
func TestAwayAndBack(t *testing.T) {
	p := newPTY(t)
	h := p.(port.Hanger)
	ctx, cancel := context.WithCancel(t.Context())
	must(t, h.HangUp(ctx, time.Hour))
	must(t, h.HangUp(ctx, time.Nanosecond)) // the longer of the two holds
	if _, err := os.Lstat(p.Path()); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the path is there while the port is away: %v", err)
	}
	if n, err := p.Write([]byte("x")); n != 0 || !errors.Is(err, line.ErrNoConsumer) {
		t.Errorf("write while away: %d, %v", n, err)
	}
	if _, ok := p.Speed(); ok {
		t.Error("a speed is known while the port is away")
	}
	cancel()
	waitChange(t, func() bool { _, err := os.Stat(p.Path()); return err == nil })
	must(t, h.HangUp(t.Context(), time.Hour))
	must(t, p.Close()) // while it is away
	if err := h.HangUp(t.Context(), 0); !errors.Is(err, os.ErrClosed) {
		t.Errorf("hang-up of a closed port: %v", err)
	}
	if left, err := os.ReadDir(filepath.Dir(p.Path())); err != nil || len(left) > 0 {
		t.Errorf("left: %v, %v", left, err)
	}
}

// Somebody puts a file where the link was: it is left alone, and the run learns why.
func TestPlaceTakenWhileAway(t *testing.T) {
	p := newPTY(t)
	h := p.(port.Hanger)
	ctx, cancel := context.WithCancel(t.Context())
	must(t, h.HangUp(ctx, time.Hour))
	must(t, os.WriteFile(p.Path(), []byte("mine"), 0o600))
	cancel()
	var err error
	waitChange(t, func() bool { _, err = p.Write([]byte("x")); return !errors.Is(err, line.ErrNoConsumer) })
	if err == nil || !strings.Contains(err.Error(), "was hung up and cannot come back") || !strings.Contains(err.Error(), "is there already") {
		t.Errorf("write with the place taken: %v", err)
	}
	must(t, os.Remove(p.Path()))
	must(t, h.HangUp(t.Context(), 0)) // now it can
	if _, err := os.Stat(p.Path()); err != nil {
		t.Error(err)
	}
}
