//go:build linux || darwin

package porttest

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"swellbench/emulator/line"
	"swellbench/emulator/port"
)

// A bad port is a good one with one part done wrong.
type bad struct {
	port.Port
	write  func(p []byte) (int, error)
	read   func(p []byte) (int, error)
	open   func() bool
	wait   func(ctx context.Context) error
	speed  func() (int, bool)
	close  func() error
	hang   func(ctx context.Context, d time.Duration) error
	opened func(n int32, c io.ReadWriteCloser) io.ReadWriteCloser // the n-th consumer
	late   func() (io.ReadWriteCloser, error)                     // a consumer that comes after Close
}

func newBad(p port.Port) *bad {
	return &bad{Port: p, write: p.Write, read: p.Read, open: p.Open, wait: p.WaitOpen, speed: p.Speed, close: p.Close,
		hang: p.(port.Hanger).HangUp}
}

func (b *bad) Write(p []byte) (int, error)        { return b.write(p) }
func (b *bad) Read(p []byte) (int, error)         { return b.read(p) }
func (b *bad) Open() bool                         { return b.open() }
func (b *bad) WaitOpen(ctx context.Context) error { return b.wait(ctx) }
func (b *bad) Speed() (int, bool)                 { return b.speed() }
func (b *bad) Close() error                       { return b.close() }

func (b *bad) HangUp(ctx context.Context, d time.Duration) error { return b.hang(ctx, d) }

// unread reads some bytes of its own before those of the port.
type unread struct {
	io.ReadWriteCloser
	before io.Reader
}

func (u unread) Read(p []byte) (int, error) {
	if n, err := u.before.Read(p); err == nil {
		return n, nil
	}
	return u.ReadWriteCloser.Read(p)
}

// TestMain gives the tests a runtime directory of their own.
func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "porttest")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_RUNTIME_DIR", dir)
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

func TestSuiteCatchesBadPorts(t *testing.T) {
	if _, err := os.Stat("/dev/ptmx"); err != nil {
		t.Skip("this machine has no pseudo-terminals:", err)
	}
	for _, c := range []struct {
		name  string
		slow  bool // found by a wait that takes too long: a short one will do
		spoil func(b *bad)
		want  string // "" is a port without fault
	}{
		{"good", false, func(*bad) {}, ""},
		{"keeps bytes for the next", false, func(b *bad) {
			b.write = func(p []byte) (int, error) {
				n, err := b.Port.Write(p)
				if errors.Is(err, line.ErrNoConsumer) {
					return len(p), nil
				}
				return n, err
			}
		}, "Write with nobody there returns 4, <nil>"},
		{"always open", false, func(b *bad) { b.open = func() bool { return true } }, "Open is true and nobody is there"},
		{"never open", false, func(b *bad) { b.open = func() bool { return false } }, "Open is false and a consumer is there"},
		{"knows a speed", false, func(b *bad) { b.speed = func() (int, bool) { return 9600, true } }, "Speed knows a speed"},
		{"ends without the cause", false, func(b *bad) {
			b.wait = func(ctx context.Context) error {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				return b.Port.WaitOpen(ctx)
			}
		}, "WaitOpen with an ended context returns context canceled"},
		{"sees nobody come", true, func(b *bad) {
			b.wait = func(ctx context.Context) error { <-ctx.Done(); return context.Cause(ctx) }
		}, "WaitOpen with a consumer there"},
		{"translates line ends", true, func(b *bad) {
			b.write = func(p []byte) (int, error) {
				return b.Port.Write([]byte(strings.ReplaceAll(string(p), "\r\n", "\n\n")))
			}
		}, "the consumer got"},
		{"loses a byte", true, func(b *bad) {
			b.write = func(p []byte) (int, error) {
				n, err := b.Port.Write(p[:max(len(p)-1, 0)])
				return min(n+1, len(p)), err
			}
		}, "the consumer got"},
		{"cooks the input", false, func(b *bad) {
			b.read = func(p []byte) (int, error) {
				n, err := b.Port.Read(p)
				copy(p, strings.ReplaceAll(string(p[:n]), "\r", "\n"))
				return n, err
			}
		}, "Read gives"},
		{"gives stale bytes", false, func(b *bad) {
			b.opened = func(n int32, c io.ReadWriteCloser) io.ReadWriteCloser {
				if n == 2 {
					return unread{c, strings.NewReader("not read by the first")}
				}
				return c
			}
		}, "the second consumer got"},
		{"blocks when full", true, func(b *bad) {
			b.write = func(p []byte) (n int, err error) {
				for n < len(p) {
					k, err := b.Port.Write(p[n:])
					if n += k; err != nil && !errors.Is(err, line.ErrFull) {
						return n, err
					}
				}
				return n, nil
			}
		}, "Write to a port nobody reads: it takes too long"},
		{"loses what does not fit", false, func(b *bad) {
			b.write = func(p []byte) (int, error) {
				n, err := b.Port.Write(p)
				if errors.Is(err, line.ErrFull) {
					return len(p), nil
				}
				return n, err
			}
		}, "want line.ErrFull before"},
		{"does not hang up", false, func(b *bad) {
			b.hang = func(context.Context, time.Duration) error { return nil }
		}, "Open is true after HangUp"},
		{"does not come back", true, func(b *bad) {
			b.hang = func(ctx context.Context, _ time.Duration) error {
				return b.Port.(port.Hanger).HangUp(ctx, time.Hour)
			}
		}, "hang-up: opening it as a consumer"},
		{"Read goes on after Close", true, func(b *bad) {
			b.read = func(p []byte) (int, error) {
				n, err := b.Port.Read(p)
				if err != nil {
					<-t.Context().Done()
				}
				return n, err
			}
		}, "goes on after Close"},
		{"closes once only", false, func(b *bad) {
			var n atomic.Int32
			b.close = func() error {
				if n.Add(1) > 1 {
					return errors.New("closed already")
				}
				return b.Port.Close()
			}
		}, "Close: closed already"},
		{"takes bytes after Close", false, func(b *bad) {
			b.write = func(p []byte) (int, error) {
				n, err := b.Port.Write(p)
				if errors.Is(err, os.ErrClosed) {
					return len(p), nil
				}
				return n, err
			}
		}, "Write after Close returns 4, <nil>"},
		{"is there after Close", false, func(b *bad) {
			b.late = func() (io.ReadWriteCloser, error) { return os.OpenFile(os.DevNull, os.O_RDWR, 0) }
		}, "can still open the port after Close"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			p, err := port.OpenPTY(filepath.Join(t.TempDir(), "port"))
			if err != nil {
				t.Fatal(err)
			}
			defer p.Close()
			b := newBad(p)
			c.spoil(b)
			limit := longest
			if c.slow {
				limit = time.Second
			}
			var n int32
			err = (&tester{p: b, limit: limit, dial: func() (io.ReadWriteCloser, error) {
				f, err := os.OpenFile(p.Path(), os.O_RDWR|syscall.O_NOCTTY, 0)
				if err != nil {
					if b.late != nil {
						return b.late()
					}
					return nil, err
				}
				if n++; b.opened != nil {
					return b.opened(n, f), nil
				}
				return f, nil
			}}).test()
			if c.want == "" && err != nil {
				t.Errorf("a good port is accused: %v", err)
			}
			if c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
				t.Errorf("found: %v\nwant: %s", err, c.want)
			}
		})
	}
}
