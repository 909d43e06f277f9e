//go:build linux || darwin

package port_test

import (
	"errors"
	"io"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	creack "github.com/creack/pty"
	"golang.org/x/term"

	"swellbench/emulator/line"
	"swellbench/emulator/port"
)

// newSerial opens a serial port whose other end is the returned file: a pseudo-terminal stands for the cable.
func newSerial(t testing.TB, set line.Settings) (port.Port, *os.File) {
	t.Helper()
	needPTY(t)
	master, slave, err := creack.Open()
	must(t, err)
	_, err = term.MakeRaw(int(slave.Fd()))
	must(t, err)
	t.Cleanup(func() { _ = master.Close(); _ = slave.Close() })
	p, err := port.Open("serial:"+slave.Name(), port.Options{Bench: true, Line: set})
	must(t, err)
	t.Cleanup(func() { _ = p.Close() })
	return p, master
}

func TestSerial(t *testing.T) {
	p, cable := newSerial(t, line.Settings{Baud: 38400})
	if baud, ok := p.Speed(); ok || !p.Open() {
		t.Errorf("speed %d is known, open %v", baud, p.Open())
	}
	must(t, p.WaitOpen(soon(t)))
	must(t, p.Settled(soon(t), 38400))
	want := "$HEHDT,271.42,T*1D\r\n\x00\x03\x11\x13\xff\xff"
	n, err := p.Write([]byte(want))
	must(t, err)
	got := make([]byte, len(want))
	_, err = io.ReadFull(cable, got)
	must(t, err)
	if n != len(want) || string(got) != want {
		t.Errorf("at the other end of the cable came %q, sent was %q", got, want)
	}
	_, err = cable.Write([]byte("query\r\n"))
	must(t, err)
	in := make([]byte, 7)
	if _, err := io.ReadFull(p, in); string(in) != "query\r\n" {
		t.Errorf("the device got %q, %v", in, err)
	}
	must(t, p.Drained(soon(t)))
	must(t, p.(interface{ SetLine(line.Settings) error }).SetLine(line.Settings{Baud: 9600}))
	if err := p.(interface{ SetLine(line.Settings) error }).SetLine(line.Settings{Baud: 9600, DataBits: 9}); err == nil || !strings.Contains(err.Error(), "allowed: 5 to 8") {
		t.Errorf("9 data bits: %v", err)
	}
	must(t, p.Close())
	if n, err := p.Write([]byte("x")); n != 0 || !errors.Is(err, os.ErrClosed) {
		t.Errorf("write after close: %d, %v", n, err)
	}
	if _, err := p.Read(in); !errors.Is(err, os.ErrClosed) {
		t.Errorf("read after close: %v", err)
	}
}

// Nobody takes the bytes at the other end: no write waits, and Close comes to an end all the same.
func TestSerialThatIsStuck(t *testing.T) {
	p, _ := newSerial(t, line.Settings{Baud: 4800})
	goroutines := runtime.NumGoroutine()
	for taken := 0; ; {
		n, err := p.Write(make([]byte, 100))
		if taken += n; errors.Is(err, line.ErrFull) {
			break
		}
		must(t, err)
		if taken > 1<<20 {
			t.Fatal("it takes more and more")
		}
	}
	go func() { _ = p.Drained(t.Context()) }()
	start := time.Now()
	must(t, p.Close())
	if took := time.Since(start); took > 5*time.Second {
		t.Errorf("close took %v", took)
	}
	waitChange(t, func() bool { return runtime.NumGoroutine() < goroutines })
}

func TestSerialRefusals(t *testing.T) {
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, "file"), nil, 0o600))
	set := line.Settings{Baud: 4800}
	for _, c := range []struct {
		name, path string
		set        line.Settings
		bench      bool
		want       string
	}{
		{"no word", "/dev/ttyX", set, false, "/dev/ttyX is a real serial port: simulated positions must never reach equipment that someone navigates by: give --bench"},
		{"not there", filepath.Join(dir, "none"), set, true, "`swellbench ports` lists those that are there"},
		{"no port", filepath.Join(dir, "file"), set, true, "is it a serial port"},
		{"rate 0", "/dev/ttyX", line.Settings{}, true, "baud is 0, allowed: a positive rate"},
		{"absurd rate", "/dev/ttyX", line.Settings{Baud: 1 << 40}, true, "allowed: a positive rate up to"},
		{"9 data bits", "/dev/ttyX", line.Settings{Baud: 4800, DataBits: 9}, true, "cannot have 9 data bits, allowed: 5 to 8"},
	} {
		p, err := port.OpenSerial(c.path, c.set, c.bench)
		if err == nil {
			_ = p.Close()
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error is %v, want %q", c.name, err, c.want)
		}
		if c.bench == errors.Is(err, port.ErrBench) {
			t.Errorf("%s: asks for --bench: %v", c.name, err)
		}
	}
	needPTY(t)
	_, slave, err := creack.Open()
	must(t, err)
	defer slave.Close()
	if _, err := port.OpenSerial(slave.Name(), line.Settings{Baud: 4800, StopBits: 1.5}, true); err == nil || !strings.Contains(err.Error(), "does it have this rate and format?") {
		t.Errorf("one and a half stop bits: %v", err)
	}
}

func TestFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.bytes")
	p, err := port.Open("file:"+path, port.Options{})
	must(t, err)
	want := strings.Repeat("$HEHDT,271.42,T*1D\r\n\xff", 2000)
	for b := []byte(want); len(b) > 0; {
		n, err := p.Write(b[:min(100, len(b))])
		if err != nil && !errors.Is(err, line.ErrFull) {
			t.Fatal(err)
		}
		b = b[n:]
	}
	must(t, p.Close())
	must(t, p.Close())
	if got, err := os.ReadFile(path); string(got) != want {
		t.Errorf("%d bytes in the file, %d written, %v", len(got), len(want), err)
	}
	if p.Open() {
		t.Error("open after Close")
	}
}

// A device behind a path could be equipment in use: a file is a plain file.
func TestFileRefusals(t *testing.T) {
	needPTY(t)
	pty := newPTY(t)
	for path, want := range map[string]string{
		t.TempDir():                              "is no plain file",
		pty.Path():                               "is no plain file",
		filepath.Join(t.TempDir(), "none", "of"): "choose a path where you may write",
	} {
		if _, err := port.OpenFile(path); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error is %v, want %q", path, err, want)
		}
	}
}

// Standard output whose reader does not read: bytes are lost, the clock goes on, and Close says so.
func TestStuckOutput(t *testing.T) {
	r, w, err := os.Pipe()
	must(t, err)
	defer r.Close()
	p, err := port.Open("-", port.Options{Stdout: w})
	must(t, err)
	for since := time.Now(); time.Since(since) < 100*time.Millisecond; {
		n, err := p.Write(make([]byte, 1000))
		if n > 0 {
			since = time.Now()
		} else if !errors.Is(err, line.ErrFull) {
			t.Fatal(err)
		}
	}
	if err := p.Close(); err == nil || !strings.Contains(err.Error(), "bytes were not taken within") {
		t.Errorf("close: %v", err)
	}
	must(t, w.Close())
}

// A reader that goes away ends the run with an error.
func TestBrokenOutput(t *testing.T) {
	r, w, err := os.Pipe()
	must(t, err)
	defer w.Close()
	p, err := port.OpenWriter("standard output", w)
	must(t, err)
	must(t, r.Close())
	waitChange(t, func() bool { _, err = p.Write([]byte("x")); return err != nil && !errors.Is(err, line.ErrFull) })
	if !strings.Contains(err.Error(), "writing to standard output") {
		t.Errorf("write: %v", err)
	}
	if err := p.Close(); err == nil {
		t.Error("close says nothing")
	}
}

func TestUDP(t *testing.T) {
	l, err := net.ListenUDP("udp", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	must(t, err)
	defer l.Close()
	must(t, l.SetDeadline(time.Now().Add(10*time.Second)))
	p, err := port.Open("udp:"+l.LocalAddr().String(), port.Options{})
	must(t, err)
	defer p.Close()
	datagram := func() string {
		b := make([]byte, 1<<16)
		n, from, err := l.ReadFromUDP(b)
		must(t, err)
		_, err = l.WriteToUDP([]byte("seen"), from)
		must(t, err)
		in := make([]byte, 4)
		if _, err := io.ReadFull(p, in); string(in) != "seen" {
			t.Errorf("what came back is %q, %v", in, err)
		}
		return string(b[:n])
	}
	_, err = p.Write([]byte("by write"))
	must(t, err)
	if got := datagram(); got != "by write" {
		t.Errorf("a write made the datagram %q", got)
	}
	end := p.(interface{ ByMessage() func() }).ByMessage()
	for _, s := range []string{"$HE", "HDT\xff", "\r\n"} {
		_, err = p.Write([]byte(s))
		must(t, err)
	}
	end()
	end()
	if got := datagram(); got != "$HEHDT\xff\r\n" {
		t.Errorf("a message made the datagram %q", got)
	}
	big := strings.Repeat("x", 70_000)
	_, err = p.Write([]byte(big))
	must(t, err)
	end()
	if got := datagram() + datagram(); got != big {
		t.Errorf("%d bytes came in two datagrams as %d", len(big), len(got))
	}
	h := p.(port.Hanger)
	must(t, h.HangUp(t.Context(), time.Hour))
	if n, err := p.Write([]byte("lost")); n != 0 || !errors.Is(err, line.ErrNoConsumer) || p.Open() {
		t.Errorf("write while away: %d, %v", n, err)
	}
	must(t, p.Close())
	if _, err := p.Write([]byte("x")); !errors.Is(err, os.ErrClosed) {
		t.Errorf("write after close: %v", err)
	}
}

// Nobody listens: the system says so to the sender, who goes on.
func TestUDPToNobody(t *testing.T) {
	l, err := net.ListenUDP("udp", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	must(t, err)
	address := l.LocalAddr().(*net.UDPAddr)
	must(t, l.Close())
	p, err := port.OpenUDP(address.String(), false)
	must(t, err)
	defer p.Close()
	for range 100 {
		if n, err := p.Write([]byte("lost")); n != 4 || err != nil {
			t.Fatalf("write: %d, %v", n, err)
		}
	}
	if l, err = net.ListenUDP("udp", address); err != nil {
		t.Skip("another program has taken the port:", err)
	}
	defer l.Close()
	must(t, l.SetDeadline(time.Now().Add(10*time.Second)))
	_, err = p.Write([]byte("came"))
	must(t, err)
	b := make([]byte, 100)
	if n, err := l.Read(b); string(b[:n]) != "came" {
		t.Errorf("the first datagram to a late listener: %q, %v", b[:n], err)
	}
}
