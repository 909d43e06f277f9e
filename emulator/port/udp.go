package port

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"sync"
	"syscall"
	"time"

	"swellbench/emulator/line"
)

// largestDatagram is what fits a UDP datagram over IPv4.
const largestDatagram = 65507

// A udp sends datagrams to one address, and reads what comes from there.
type udp struct {
	attendance
	conn   *net.UDPConn
	path   string
	record *record
	now    func([]byte) (int, error)
	in     input
	out    absence
	end    sync.Once
	wg     sync.WaitGroup

	// Guarded by mu:
	byMessage bool
	datagram  []byte // the one being filled
	err       error  // of the last one, to be told at the next Write
}

// OpenUDP sends datagrams to address, such as 127.0.0.1:5000: one a Write, and one a message after [udp.ByMessage].
// An address that is not of this machine alone needs bench, the user's word that the other end is on a bench.
//
// Nobody can tell whether anyone listens: a consumer always seems to be there, and a datagram that nobody takes, or
// that the system has no room for, is lost. There is no speed.
//
// The port is a [Hanger]: while it is away nothing is sent.
func OpenUDP(address string, bench bool) (Port, error) {
	full, err := checkAddress("udp", address, bench)
	if err != nil {
		return nil, err
	}
	conn, err := net.Dial("udp", full)
	if err != nil {
		return nil, fmt.Errorf("port: sending to %s: %w", full, err)
	}
	p := &udp{attendance: attendance{consumers: 1}, conn: conn.(*net.UDPConn), path: full}
	p.now = sendNow(p.conn)
	if p.now == nil {
		p.now = func(b []byte) (int, error) {
			_ = p.conn.SetWriteDeadline(time.Now().Add(look))
			return p.conn.Write(b)
		}
	}
	p.record = announce(full, "UDP datagrams")
	p.wg.Go(p.receive)
	return p, nil
}

// ByMessage has the port collect what is written, and send it as one datagram, or as few as it takes, when end is
// called.
func (p *udp) ByMessage() (end func()) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.byMessage = true
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.flush()
	}
}

func (p *udp) Path() string { return p.path }

func (p *udp) Open() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.consumers > 0
}

func (p *udp) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.closed:
		return 0, os.ErrClosed
	case p.consumers == 0:
		return 0, line.ErrNoConsumer
	}
	for rest := b; len(rest) > 0 && p.err == nil; {
		if len(p.datagram) >= largestDatagram {
			p.flush()
		}
		n := min(len(rest), largestDatagram-len(p.datagram))
		p.datagram = append(p.datagram, rest[:n]...)
		rest = rest[n:]
	}
	if !p.byMessage {
		p.flush()
	}
	if p.err != nil {
		return 0, p.err
	}
	return len(b), nil
}

// flush sends what is collected; p.mu is held.
func (p *udp) flush() {
	if len(p.datagram) == 0 || p.closed {
		return
	}
	_, err := p.now(p.datagram)
	if errors.Is(err, syscall.ECONNREFUSED) { // told of the one before: nobody was there to take it
		_, err = p.now(p.datagram)
	}
	p.datagram = p.datagram[:0]
	if err != nil && !errors.Is(err, syscall.ECONNREFUSED) && !errors.Is(err, os.ErrDeadlineExceeded) {
		p.err = fmt.Errorf("port: sending to %s: %w", p.path, err)
	}
}

// receive takes what comes back, until the port is closed.
func (p *udp) receive() {
	buf := make([]byte, 1<<16)
	for {
		n, err := p.conn.Read(buf)
		if n > 0 {
			p.in.put(buf[:n])
		}
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil && p.pause(context.Background(), time.Millisecond) != nil {
			return
		}
	}
}

func (p *udp) Read(b []byte) (int, error) { return p.in.read(b) }

func (p *udp) Settled(ctx context.Context, _ int) error { return p.WaitOpen(ctx) }

func (p *udp) Speed() (baud int, ok bool) { return 0, false }

func (p *udp) Settings(own line.Settings) (line.Settings, bool) { return own, false }

// Drained has nothing to wait for.
func (p *udp) Drained(context.Context) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return os.ErrClosed
	}
	p.flush()
	return nil
}

// HangUp is that of [Hanger].
func (p *udp) HangUp(ctx context.Context, d time.Duration) error {
	set := func(consumers int) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.consumers, p.datagram = consumers, p.datagram[:0]
		p.tell()
	}
	return p.out.begin(ctx, d, func() { set(0) }, func() { set(1) })
}

func (p *udp) Close() error {
	p.end.Do(func() {
		p.out.end()
		p.mu.Lock()
		p.flush()
		p.closed, p.consumers = true, 0
		p.tell()
		p.mu.Unlock()
		_ = p.conn.Close()
		p.wg.Wait()
		p.record.drop()
		p.in.end()
	})
	return nil
}
