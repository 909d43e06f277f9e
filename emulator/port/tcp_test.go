//go:build linux || darwin

package port_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/line"
	"swellbench/emulator/port"
	"swellbench/emulator/port/porttest"
)

func newTCP(t testing.TB) port.Port {
	t.Helper()
	p, err := port.OpenTCP("0", false)
	must(t, err)
	t.Cleanup(func() { _ = p.Close() })
	return p
}

func newRFC2217(t testing.TB) port.Port {
	t.Helper()
	p, err := port.OpenRFC2217("127.0.0.1:0", false, line.Settings{Baud: 4800})
	must(t, err)
	t.Cleanup(func() { _ = p.Close() })
	return p
}

func dialTCP(p port.Port) func() (io.ReadWriteCloser, error) {
	return func() (io.ReadWriteCloser, error) { return net.Dial("tcp", p.Path()) }
}

func TestTCPPassesTheSuite(t *testing.T) {
	p := newTCP(t)
	if err := porttest.Test(p, dialTCP(p)); err != nil {
		t.Error(err)
	}
}

// A telnetClient is a plain client's end, written for this test: it agrees to binary both ways, doubles 255 and drops
// all else that is Telnet's.
type telnetClient struct {
	net.Conn
	state byte // 0 data, 255 after IAC, 251 in an option, 250 in a subnegotiation, 240 after IAC in one
	sub   []byte
	subs  [][]byte
}

// dialTelnet returns when the port has answered a request for its signature: by then it knows of binary.
func dialTelnet(p port.Port) func() (io.ReadWriteCloser, error) {
	return func() (io.ReadWriteCloser, error) {
		conn, err := net.Dial("tcp", p.Path())
		if err != nil {
			return nil, err
		}
		c := &telnetClient{Conn: conn}
		_, err = conn.Write([]byte{255, 253, 0, 255, 251, 0, 255, 251, 44, 255, 250, 44, 0, 255, 240})
		_ = conn.SetReadDeadline(time.Now().Add(5 * time.Second))
		for b := make([]byte, 1); err == nil && (len(c.subs) == 0 || c.subs[len(c.subs)-1][1] != 100); {
			if _, err = conn.Read(b); err == nil {
				c.take(b)
			}
		}
		_ = conn.SetReadDeadline(time.Time{})
		if err != nil {
			_ = conn.Close()
			return nil, err
		}
		return c, nil
	}
}

// take returns the data in p, in its place.
func (c *telnetClient) take(p []byte) []byte {
	data := p[:0]
	for _, b := range p {
		switch c.state {
		case 0:
			if b == 255 {
				c.state = 255
			} else {
				data = append(data, b)
			}
		case 255:
			c.state = 0
			switch {
			case b == 255:
				data = append(data, b)
			case b == 250:
				c.state, c.sub = 250, nil
			case b > 250:
				c.state = 251
			}
		case 251:
			c.state = 0
		case 250:
			if b == 255 {
				c.state = 240
			} else {
				c.sub = append(c.sub, b)
			}
		case 240:
			c.state = 250
			if b == 240 {
				c.state = 0
				c.subs = append(c.subs, c.sub)
			} else {
				c.sub = append(c.sub, b)
			}
		}
	}
	return data
}

func (c *telnetClient) Read(p []byte) (int, error) {
	for {
		n, err := c.Conn.Read(p)
		if n = len(c.take(p[:n])); n > 0 || err != nil {
			return n, err
		}
	}
}

func (c *telnetClient) Write(p []byte) (int, error) {
	_, err := c.Conn.Write(bytes.ReplaceAll(p, []byte{255}, []byte{255, 255}))
	return len(p), err
}

func TestRFC2217PassesTheSuite(t *testing.T) {
	p := newRFC2217(t)
	if err := porttest.Test(p, dialTelnet(p)); err != nil {
		t.Error(err)
	}
}

// What the consumer sets is seen at once, and each consumer begins anew.
func TestRFC2217Settings(t *testing.T) {
	p := newRFC2217(t)
	own := line.Settings{Baud: 4800, DataBits: 8, StopBits: 1, Queue: 77}
	for range 2 {
		c, err := dialTelnet(p)()
		must(t, err)
		must(t, p.WaitOpen(soon(t)))
		if s, ok := p.Settings(own); ok || s != own {
			t.Errorf("before anything is set: %+v, %v", s, ok)
		}
		_, err = c.(*telnetClient).Conn.Write([]byte("\xff\xfa\x2c\x01\x00\x00\xff\xff\x00\xff\xf0\xff\xfa\x2c\x02\x07\xff\xf0\xff\xfa\x2c\x03\x03\xff\xf0\xff\xfa\x2c\x04\x02\xff\xf0"))
		must(t, err)
		must(t, p.Settled(soon(t), 65280))
		want := line.Settings{Baud: 65280, DataBits: 7, Parity: line.ParityEven, StopBits: 2, Queue: 77}
		if s, ok := p.Settings(own); !ok || s != want {
			t.Errorf("settings %+v, %v; want %+v", s, ok, want)
		}
		if baud, ok := p.Speed(); baud != 65280 || !ok {
			t.Errorf("speed %d, %v", baud, ok)
		}
		must(t, c.Close())
		must(t, p.WaitClosed(soon(t)))
		if _, ok := p.Speed(); ok {
			t.Error("a speed is known and nobody is there")
		}
	}
}

// While the consumer has suspended the flow nothing comes; what there was room for comes after, a purge takes it away.
func TestRFC2217FlowControlAndPurge(t *testing.T) {
	p := newRFC2217(t)
	rwc, err := dialTelnet(p)()
	must(t, err)
	defer rwc.Close()
	c := rwc.(*telnetClient)
	command := func(cmd ...byte) {
		_, err := c.Conn.Write(append(append([]byte{255, 250, 44}, cmd...), 255, 240))
		must(t, err)
		// An order given after it comes into force after it: the speed tells when.
		_, err = c.Conn.Write([]byte{255, 250, 44, 1, 0, 0, 0, cmd[0] + 1, 255, 240})
		must(t, err)
		waitChange(t, func() bool { baud, _ := p.Speed(); return baud == int(cmd[0])+1 })
	}
	command(8)
	full := false
	sent := 0
	for !full {
		n, err := p.Write([]byte("purged,"))
		sent += n
		full = errors.Is(err, line.ErrFull)
		if sent > 1<<20 {
			t.Fatal("a suspended port takes more and more")
		}
	}
	command(12, 1)
	_, err = p.Write([]byte("kept"))
	must(t, err)
	command(9)
	got := make([]byte, 4)
	if _, err := io.ReadFull(c, got); string(got) != "kept" {
		t.Errorf("after a purge and resuming came %q, %v", got, err)
	}
}

// Whatever a client sends instead of Telnet, the port goes on, for it and for the next.
func TestTelnetGarbage(t *testing.T) {
	p := newRFC2217(t)
	for _, garbage := range []string{
		"GET / HTTP/1.1\r\nHost: x\r\n\r\n",
		strings.Repeat("\xff\xfa\x2c", 5000),
		"\xff\xfa\x2c\x01" + strings.Repeat("A", 100000),
		strings.Repeat("\xff\xfd\x2c\xff\xfe\x2c", 2000),
		"\xff",
	} {
		conn, err := net.Dial("tcp", p.Path())
		must(t, err)
		go func() { _, _ = io.Copy(io.Discard, conn) }()
		_, err = conn.Write([]byte(garbage))
		must(t, err)
		must(t, conn.Close())
	}
	c, err := dialTelnet(p)()
	must(t, err)
	defer c.Close()
	must(t, p.WaitOpen(soon(t)))
	waitChange(t, func() bool { n, _ := p.Write([]byte("whole")); return n == 5 })
	got := make([]byte, 5)
	if _, err := io.ReadFull(c, got); string(got) != "whole" {
		t.Errorf("after garbage the next client got %q, %v", got, err)
	}
}

// A client that asks and asks and never reads is dropped when there is no more room for answers.
func TestAsksAndNeverReads(t *testing.T) {
	p := newRFC2217(t)
	conn, err := net.Dial("tcp", p.Path())
	must(t, err)
	defer conn.Close()
	must(t, p.WaitOpen(soon(t)))
	go func() {
		for err := error(nil); err == nil; {
			_, err = conn.Write(bytes.Repeat([]byte{255, 250, 44, 0, 255, 240}, 100))
		}
	}()
	must(t, p.WaitClosed(soon(t)))
}

func TestSecondClientIsRefused(t *testing.T) {
	for _, p := range []port.Port{newTCP(t), newRFC2217(t)} {
		first, err := net.Dial("tcp", p.Path())
		must(t, err)
		defer first.Close()
		must(t, p.WaitOpen(soon(t)))
		second, err := net.Dial("tcp", p.Path())
		must(t, err)
		defer second.Close()
		must(t, second.SetDeadline(time.Now().Add(10*time.Second)))
		said, err := io.ReadAll(second)
		if want := p.Path() + " is in use by " + first.LocalAddr().String(); err != nil || !strings.Contains(string(said), want) {
			t.Errorf("the second client is told %q, %v; want %q", said, err, want)
		}
		if n, err := p.Write([]byte("x")); n != 1 || err != nil {
			t.Errorf("writing to the first after that: %d, %v", n, err)
		}
	}
}

// A consumer that never reads: no write waits, and what is taken is bounded.
func TestNeverReads(t *testing.T) {
	p := newTCP(t)
	conn, err := net.Dial("tcp", p.Path())
	must(t, err)
	defer conn.Close()
	must(t, p.WaitOpen(soon(t)))
	taken, slowest := 0, time.Duration(0)
	b := make([]byte, 100)
	// The system takes some more now and then, so it is full when it has taken nothing for a while.
	for since := time.Now(); time.Since(since) < 100*time.Millisecond; {
		start := time.Now()
		n, err := p.Write(b)
		slowest = max(slowest, time.Since(start))
		if taken += n; n > 0 {
			since = time.Now()
		}
		if n < len(b) && !errors.Is(err, line.ErrFull) || taken > 64<<20 {
			t.Fatalf("after %d bytes that nobody reads: %d, %v", taken, n, err)
		}
	}
	if slowest > 5*time.Second {
		t.Errorf("a write took %v", slowest)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if err := p.Drained(ctx); err == nil {
		t.Errorf("drained, and nothing of %d bytes was read", taken)
	}
}

func TestTCPPortTaken(t *testing.T) {
	p := newTCP(t)
	for _, open := range []func() (port.Port, error){
		func() (port.Port, error) { return port.OpenTCP(p.Path(), false) },
		func() (port.Port, error) { return port.OpenRFC2217(p.Path(), false, line.Settings{}) },
	} {
		if _, err := open(); err == nil || !strings.Contains(err.Error(), "TCP port "+p.Path()+" is taken by another program") {
			t.Errorf("port taken: %v", err)
		}
	}
}

func TestAThousandHangUpsOfTCP(t *testing.T) {
	p := newTCP(t)
	h := p.(port.Hanger)
	round := func() {
		c, err := net.Dial("tcp", p.Path())
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
	must(t, h.HangUp(t.Context(), time.Hour))
	if c, err := net.Dial("tcp", p.Path()); err == nil { // it may also be reset at once
		if n, err := c.Read(make([]byte, 10)); n != 0 || err == nil {
			t.Errorf("while it is away a consumer reads %d bytes, %v", n, err)
		}
		must(t, c.Close())
	}
	must(t, p.Close())
	if err := h.HangUp(t.Context(), 0); !errors.Is(err, os.ErrClosed) {
		t.Errorf("hang-up of a closed port: %v", err)
	}
}

func TestNetworkWritesAllocateNothing(t *testing.T) {
	for name, p := range map[string]port.Port{"tcp": newTCP(t), "rfc2217": newRFC2217(t)} {
		c, err := net.Dial("tcp", p.Path())
		must(t, err)
		defer c.Close()
		must(t, p.WaitOpen(soon(t)))
		go func() { _, _ = io.Copy(io.Discard, c) }()
		b := []byte("$HEHDT,271.42,T*1D\r\n")
		if n := testing.AllocsPerRun(200, func() { _, _ = p.Write(b) }); n > 0 {
			t.Errorf("%s: %g allocations a write", name, n)
		}
	}
}
