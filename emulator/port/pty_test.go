//go:build linux || darwin

package port_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"go.bug.st/serial"

	"swellbench/emulator/line"
	"swellbench/emulator/port"
	"swellbench/emulator/port/porttest"
)

// needPTY skips the test where the machine has no pseudo-terminals, and gives it a runtime directory of its own.
func needPTY(t testing.TB) {
	t.Helper()
	if _, err := os.Stat("/dev/ptmx"); err != nil {
		t.Skip("this machine has no pseudo-terminals:", err)
	}
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
}

// newPTY makes a pseudo-terminal in a directory of the test's own.
func newPTY(t testing.TB) port.Port {
	t.Helper()
	needPTY(t)
	p, err := port.OpenPTY(filepath.Join(t.TempDir(), "port"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = p.Close() })
	return p
}

// dial opens a port as a plain program would.
func dial(p port.Port) func() (io.ReadWriteCloser, error) {
	return func() (io.ReadWriteCloser, error) { return os.OpenFile(p.Path(), os.O_RDWR|syscall.O_NOCTTY, 0) }
}

func soon(t testing.TB) context.Context {
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	t.Cleanup(cancel)
	return ctx
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestPTYPassesTheSuite(t *testing.T) {
	needPTY(t)
	p, err := port.OpenWatched(filepath.Join(t.TempDir(), "port"), port.Watch)
	must(t, err)
	if err := porttest.Test(p, dial(p)); err != nil {
		t.Error(err)
	}
}

// The way used where the kernel tells of no openings.
func TestProbedPTYPassesTheSuite(t *testing.T) {
	needPTY(t)
	p, err := port.OpenWatched(filepath.Join(t.TempDir(), "port"), port.WatchByProbing)
	must(t, err)
	if err := porttest.Test(p, dial(p)); err != nil {
		t.Error(err)
	}
}

// openSerial opens the port with go.bug.st/serial, as an integrator's Go program would.
func openSerial(t testing.TB, p port.Port, baud int) serial.Port {
	t.Helper()
	c, err := serial.Open(p.Path(), &serial.Mode{BaudRate: baud, DataBits: 8, Parity: serial.NoParity, StopBits: serial.OneStopBit})
	must(t, err)
	return c
}

func TestSerialLibraryAsConsumer(t *testing.T) {
	p := newPTY(t)
	for _, baud := range []int{4800, 115200, 31250} { // the last has no name
		c := openSerial(t, p, baud)
		must(t, p.WaitOpen(soon(t)))
		must(t, p.Settled(soon(t), baud))
		if got, ok := p.Speed(); got != baud || !ok {
			t.Errorf("speed is %d, %v; want %d", got, ok, baud)
		}
		want := []byte("$HEHDT,271.42,T*1D\r\n\x00\x03\x11\x13\xff")
		go func() {
			for _, b := range want {
				_, _ = p.Write([]byte{b})
			}
		}()
		got := make([]byte, len(want))
		_, err := io.ReadFull(c, got)
		must(t, err)
		if !bytes.Equal(got, want) {
			t.Errorf("at %d baud the consumer got %q, want %q", baud, got, want)
		}
		_, err = c.Write([]byte("query\r\n"))
		must(t, err)
		in := make([]byte, 7)
		_, err = io.ReadFull(p, in)
		must(t, err)
		if string(in) != "query\r\n" {
			t.Errorf("the device got %q", in)
		}
		must(t, c.Close())
		must(t, p.WaitClosed(soon(t)))
		if _, ok := p.Speed(); ok {
			t.Error("a speed is known and nobody is there")
		}
	}
}

// A message goes out through the whole of the line to a consumer.
func TestPlayOnPTY(t *testing.T) {
	p := newPTY(t)
	c := openSerial(t, p, 38400)
	defer c.Close()
	must(t, p.Settled(soon(t), 38400))
	text := "$HEHDT,271.42,T*1D\r\n"
	msgs := func(yield func(line.Message, error) bool) {
		for k := range 20 {
			if !yield(line.Message{Due: float64(k) / 100, Kind: "HEHDT", Bytes: []byte(text)}, nil) {
				return
			}
		}
	}
	var sum line.Summary
	var err error
	var wg sync.WaitGroup
	wg.Go(func() { sum, err = line.Play(t.Context(), nil, line.Settings{Baud: 38400}, msgs, p, line.Options{}) })
	got := make([]byte, 20*len(text))
	_, readErr := io.ReadFull(c, got)
	must(t, readErr)
	wg.Wait()
	must(t, err)
	if string(got) != strings.Repeat(text, 20) || sum.Messages != 20 || sum.Bytes != int64(len(got)) {
		t.Errorf("got %q, summary %+v", got, sum)
	}
	must(t, p.Drained(soon(t)))
}

// Two openings in a row are two events that the kernel makes one of, unless something comes in between.
func TestOpenedManyTimes(t *testing.T) {
	p := newPTY(t)
	counted := p.(interface{ Consumers() int })
	var files []io.Closer
	for range 200 {
		c, err := dial(p)()
		must(t, err)
		files = append(files, c)
	}
	must(t, p.WaitOpen(soon(t)))
	for i, c := range files {
		if i == len(files)-1 {
			// The last but one has left as soon as the count is down to one.
			waitChange(t, func() bool { return counted.Consumers() == 1 })
		}
		must(t, c.Close())
		if i < len(files)-1 && !p.Open() {
			t.Fatalf("after %d of %d closings nobody seems there", i+1, len(files))
		}
	}
	must(t, p.WaitClosed(soon(t)))
}

// waitChange waits until ok is true.
func waitChange(t testing.TB, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); !ok(); runtime.Gosched() {
		if time.Now().After(end) {
			t.Fatal("what was waited for did not come")
		}
	}
}

func TestMasterDoesNotBlock(t *testing.T) {
	p := newPTY(t)
	if p.(interface{ Blocking() bool }).Blocking() {
		t.Fatal("the master is in blocking mode")
	}
}

// Two writers, a reader that comes and goes, and Close in the middle of it: for the race detector.
func TestSharedUse(t *testing.T) {
	p := newPTY(t)
	var wg sync.WaitGroup
	for range 2 {
		wg.Go(func() {
			for {
				_, err := p.Write([]byte("$HEHDT,271.42,T*1D\r\n"))
				if errors.Is(err, os.ErrClosed) {
					return
				}
				if err != nil && !errors.Is(err, line.ErrFull) && !errors.Is(err, line.ErrNoConsumer) {
					t.Error(err)
					return
				}
				_, _ = p.Speed()
				_ = p.Open()
			}
		})
	}
	wg.Go(func() { _, _ = io.Copy(io.Discard, p) })
	for range 20 {
		c, err := dial(p)()
		must(t, err)
		_, err = c.Write([]byte("x"))
		must(t, err)
		_, err = c.Read(make([]byte, 100))
		must(t, err)
		must(t, c.Close())
	}
	for range 3 {
		wg.Go(func() { _ = p.Close() })
	}
	wg.Wait()
}

// Close returns when all is over, so a leak shows at once: nothing to wait for.
func TestNothingIsLeaked(t *testing.T) {
	needPTY(t)
	dir := t.TempDir()
	round := func() {
		p, err := port.OpenPTY(filepath.Join(dir, "port"))
		must(t, err)
		c := openSerial(t, p, 9600)
		must(t, p.WaitOpen(soon(t)))
		_, err = p.Write([]byte("abc"))
		must(t, err)
		must(t, c.Close())
		must(t, p.Close())
		must(t, p.Close())
	}
	round() // what the runtime opens once for itself is open now
	files, goroutines := openFiles(t), runtime.NumGoroutine()
	for range 20 {
		round()
	}
	if got := openFiles(t); got > files {
		t.Errorf("%d descriptors are open, %d before 20 rounds", got, files)
	}
	waitChange(t, func() bool { return runtime.NumGoroutine() <= goroutines })
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left in the directory: %v, %v", left, err)
	}
	dir, err := port.RuntimeDir()
	must(t, err)
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left in the runtime directory: %v, %v", left, err)
	}
}

// One port, fifty consumers one after the other: each gets its own bytes only.
func TestFiftyConsumers(t *testing.T) {
	p := newPTY(t)
	goroutines := runtime.NumGoroutine()
	var files int
	for i := range 50 {
		c := openSerial(t, p, 4800)
		must(t, p.WaitOpen(soon(t)))
		want := fmt.Sprintf("for number %d only", i)
		_, err := p.Write([]byte(want + "and this is left unread"))
		must(t, err)
		got := make([]byte, len(want))
		_, err = io.ReadFull(c, got)
		must(t, err)
		if string(got) != want {
			t.Fatalf("consumer %d got %q", i, got)
		}
		must(t, c.Close())
		must(t, p.WaitClosed(soon(t)))
		if i == 0 {
			files = openFiles(t)
		}
	}
	if got := openFiles(t); got > files {
		t.Errorf("%d descriptors are open, %d after the first consumer", got, files)
	}
	waitChange(t, func() bool { return runtime.NumGoroutine() <= goroutines })
}

// openFiles counts this process's descriptors.
func openFiles(t testing.TB) int {
	t.Helper()
	dir := "/proc/self/fd"
	if runtime.GOOS != "linux" {
		dir = "/dev/fd"
	}
	names, err := os.ReadDir(dir)
	must(t, err)
	return len(names)
}

func TestWriteAllocatesNothing(t *testing.T) {
	p := newPTY(t)
	c, err := dial(p)()
	must(t, err)
	defer c.Close()
	must(t, p.WaitOpen(soon(t)))
	go func() { _, _ = io.Copy(io.Discard, c) }()
	b := []byte("$HEHDT,271.42,T*1D\r\n")
	if n := testing.AllocsPerRun(200, func() { _, _ = p.Write(b) }); n > 0 {
		t.Errorf("%g allocations a write", n)
	}
}

// The speed is read before each burst: it must cost less than the write.
func BenchmarkSpeed(b *testing.B) {
	p := newPTY(b)
	c, err := dial(p)()
	must(b, err)
	defer c.Close()
	must(b, p.WaitOpen(soon(b)))
	b.ReportAllocs()
	for b.Loop() {
		p.Speed()
	}
}

// BenchmarkWrite is what BenchmarkSpeed is to be compared with.
func BenchmarkWrite(b *testing.B) {
	p := newPTY(b)
	c, err := dial(p)()
	must(b, err)
	defer c.Close()
	must(b, p.WaitOpen(soon(b)))
	go func() { _, _ = io.Copy(io.Discard, c) }()
	sentence := []byte("$HEHDT,271.42,T*1D\r\n")
	b.ReportAllocs()
	for b.Loop() {
		_, _ = p.Write(sentence)
	}
}

func TestSpeedAllocatesNothing(t *testing.T) {
	p := newPTY(t)
	c, err := dial(p)()
	must(t, err)
	defer c.Close()
	must(t, p.WaitOpen(soon(t)))
	own := line.Settings{Baud: 4800}
	if n := testing.AllocsPerRun(200, func() { _, _ = p.Speed(); _, _ = p.Settings(own) }); n > 0 && runtime.GOOS == "linux" {
		t.Errorf("%g allocations to learn speed and settings", n)
	}
}

// A program that sets no rate, as cat does, has the one that the terminal was made with; one that sets another has that.
func TestPresetRate(t *testing.T) {
	for _, baud := range []int{4800, 57600, 123456} {
		p, err := port.OpenPTYAt(filepath.Join(t.TempDir(), "port"), baud)
		if err != nil {
			t.Fatal(err)
		}
		f, err := os.Open(p.Path())
		if err != nil {
			t.Fatal(err)
		}
		if err := p.WaitOpen(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got, ok := p.Speed(); !ok || got != baud {
			t.Errorf("%d, %t; want %d", got, ok, baud)
		}
		f.Close()
		p.Close()
	}
}
