//go:build linux || darwin

package port_test

import (
	"errors"
	"os"
	"testing"
	"time"

	"go.bug.st/serial"
)

// A consumer that changes its settings for a while: it has settled when it has stopped, not before.
func TestSettledWaitsForTheLastChange(t *testing.T) {
	p := newPTY(t)
	done := make(chan error, 1)
	go func() { done <- p.Settled(soon(t), 0) }()
	c := openSerial(t, p, 4800)
	defer c.Close()
	last, stalled := time.Now(), time.Duration(0)
	for _, baud := range []int{9600, 19200, 38400, 57600, 115200} {
		time.Sleep(30 * time.Millisecond) // no synchronisation: the consumer's own pace
		must(t, c.SetMode(&serial.Mode{BaudRate: baud}))
		stalled = max(stalled, time.Since(last))
		last = time.Now()
	}
	must(t, <-done)
	if stalled > 100*time.Millisecond {
		t.Skipf("the host held this test up for %v between two changes: the port may rightly have taken it for settled", stalled)
	}
	if got, ok := p.Speed(); got != 115200 || !ok {
		t.Errorf("settled at %d baud", got)
	}
	if took := time.Since(last); took < 100*time.Millisecond {
		t.Errorf("settled %v after the last change", took)
	}
}

// Someone opens it and leaves again at once, the real consumer comes later.
func TestSettledStartsAnewWithANewConsumer(t *testing.T) {
	p := newPTY(t)
	first, err := dial(p)()
	must(t, err)
	must(t, p.WaitOpen(soon(t)))
	must(t, first.Close())
	must(t, p.WaitClosed(soon(t)))
	done := make(chan error, 1)
	go func() { done <- p.Settled(soon(t), 4800) }()
	c := openSerial(t, p, 4800)
	defer c.Close()
	must(t, <-done)
	if got, ok := p.Speed(); got != 4800 || !ok || !p.Open() {
		t.Errorf("settled at %d baud, open %v", got, p.Open())
	}
}

func TestWaitsEndWithThePort(t *testing.T) {
	p := newPTY(t)
	c := openSerial(t, p, 4800)
	defer c.Close()
	must(t, p.WaitOpen(soon(t)))
	_, err := p.Write([]byte("never read"))
	must(t, err)
	errs := make(chan error, 2)
	go func() { errs <- p.WaitClosed(t.Context()) }()
	go func() { errs <- p.Drained(t.Context()) }()
	must(t, p.Close())
	for range 2 {
		if err := <-errs; !errors.Is(err, os.ErrClosed) {
			t.Errorf("a wait ended with %v, want os.ErrClosed", err)
		}
	}
}

// Drained waits for the consumer to read, however much there is, and ends when it goes.
func TestDrained(t *testing.T) {
	p := newPTY(t)
	c, err := dial(p)()
	must(t, err)
	must(t, p.WaitOpen(soon(t)))
	sent := 0
	for range 10 {
		n, err := p.Write(make([]byte, 1000))
		must(t, err)
		sent += n
	}
	done := make(chan error, 1)
	go func() { done <- p.Drained(soon(t)) }()
	buf := make([]byte, 1000)
	for got := 0; got < sent; {
		select {
		case err := <-done:
			t.Fatalf("drained (%v) when the consumer has read %d of %d bytes", err, got, sent)
		default:
		}
		n, err := c.Read(buf)
		must(t, err)
		got += n
	}
	must(t, <-done)
	_, err = p.Write(buf)
	must(t, err)
	must(t, c.Close())
	must(t, p.Drained(soon(t)))
}
