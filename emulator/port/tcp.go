package port

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"swellbench/emulator/line"
)

// A tcp is a TCP port to which one consumer at a time connects: raw, or with Telnet and COM port control.
type tcp struct {
	attendance
	listener *net.TCPListener
	path     string
	comPort  bool          // with COM port control
	own      line.Settings // where a client with COM port control begins
	record   *record
	in       input
	out      absence
	end      sync.Once
	wg       sync.WaitGroup // of accept
	open     atomic.Bool    // consumers > 0

	// Guarded by mu:
	client *client // nil: none
	away   bool    // hung up
}

// A client is the consumer that is connected.
type client struct {
	conn *net.TCPConn
	box  *outbox
	com  *comPort // nil: raw; guarded by the port's mu
	buf  []byte   // for what goes out, guarded by the port's mu
	full bool     // the consumer has been told of an overrun
	wg   sync.WaitGroup
}

// OpenTCP listens at address, such as 127.0.0.1:4001, for a consumer that gets the bytes as they are. Port 0 is a free
// one. An address that is not of this machine alone needs bench, the user's word that the other end is on a bench.
//
// One consumer at a time: a second one gets a line of text that says so and is disconnected. A consumer that ends its
// sending side has left. One that does not read loses what neither its system nor the port, which keeps 16 KiB, has
// room for. Drained can only tell that the consumer's system has the bytes, and only on Linux. There is no speed.
//
// The port is a [Hanger]: it drops the connection, and until it is back each new one at once.
func OpenTCP(address string, bench bool) (Port, error) { return openTCP(address, bench, nil) }

// OpenRFC2217 is like [OpenTCP], with Telnet and the COM port control of RFC 2217: the consumer sets baud rate, data
// bits, parity and stop bits as on a serial port, and sees a device connected in the modem lines. Each consumer begins
// with the port set as own says, the zero Settings being 9600 8N1; there is a speed as soon as it has set anything.
//
// The port has a method LineState(bits byte), which tells a consumer who wants to know of errors on the line.
func OpenRFC2217(address string, bench bool, own line.Settings) (Port, error) {
	return openTCP(address, bench, &own)
}

func openTCP(address string, bench bool, own *line.Settings) (Port, error) {
	host, err := checkAddress("tcp", address, bench)
	if err != nil {
		return nil, err
	}
	l, err := net.Listen("tcp", host)
	if errors.Is(err, syscall.EADDRINUSE) || isWindowsInUse(err) {
		return nil, fmt.Errorf("port: TCP port %s is taken by another program (%w); end that or choose another port, 0 for any free one", host, err)
	}
	if errors.Is(err, os.ErrPermission) {
		return nil, fmt.Errorf("port: TCP port %s needs a privilege (%w); choose one of 1024 and above", host, err)
	}
	if err != nil {
		return nil, fmt.Errorf("port: listening at %s: %w", host, err)
	}
	p := &tcp{listener: l.(*net.TCPListener), path: l.Addr().String(), comPort: own != nil}
	what := "raw TCP"
	if own != nil {
		p.own = *own
		what = "TCP with COM port control (RFC 2217)"
	}
	p.record = announce(p.path, what)
	p.wg.Go(p.accept)
	return p, nil
}

// isWindowsInUse knows Windows' own number of "address in use", WSAEADDRINUSE, and "forbidden", WSAEACCES, which it
// gives where another program has the port to itself.
func isWindowsInUse(err error) bool {
	var errno syscall.Errno
	return errors.As(err, &errno) && (errno == 10048 || errno == 10013)
}

func (p *tcp) Path() string { return p.path }

func (p *tcp) Open() bool { return p.open.Load() }

func (p *tcp) Read(b []byte) (int, error) { return p.in.read(b) }

// leaving is how long a second consumer waits for the first to have left: one that reconnects at once may well be seen
// to come before it is seen to go.
const leaving = 300 * time.Millisecond

// accept takes the consumers until the port is closed.
func (p *tcp) accept() {
	for {
		conn, err := p.listener.AcceptTCP()
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil { // such as no descriptor left: it may pass
			if p.pause(context.Background(), look) != nil {
				return
			}
			continue
		}
		ctx, cancel := context.WithTimeout(context.Background(), leaving)
		err = p.WaitClosed(ctx)
		cancel()
		switch {
		case err == nil:
			p.admit(conn)
		case errors.Is(err, os.ErrClosed):
			_ = conn.Close()
		default:
			p.refuse(conn)
		}
	}
}

// admit makes a connection the consumer's.
func (p *tcp) admit(conn *net.TCPConn) {
	_ = conn.SetWriteBuffer(outRoom)
	c := &client{conn: conn}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed || p.away {
		_ = conn.SetLinger(0)
		_ = conn.Close()
		return
	}
	c.box = newOutbox(conn, sendNow(conn))
	if p.comPort {
		c.com = newComPort(p.own)
		c.com.suspend = c.box.hold
		c.com.purge = func(received, toDevice bool) {
			if received {
				c.box.purge()
			}
			if toDevice {
				p.in.purge()
			}
		}
		c.box.putWhole(c.com.begin(nil))
	}
	p.client = c
	p.consumers = 1
	p.open.Store(true)
	p.tell()
	c.wg.Go(func() { p.receive(c) })
}

// refuse tells a second consumer that there is one.
func (p *tcp) refuse(conn *net.TCPConn) {
	p.mu.Lock()
	first := "another program"
	if p.client != nil {
		first = p.client.conn.RemoteAddr().String()
	}
	p.mu.Unlock()
	_ = conn.SetDeadline(time.Now().Add(look))
	_, _ = fmt.Fprintf(conn, "swellbench: %s is in use by %s; one program at a time\r\n", p.path, first)
	_ = conn.CloseWrite()
	_, _ = io.Copy(io.Discard, conn) // what it has sent must not turn the text into a reset
	_ = conn.Close()
}

// receive takes what the consumer sends, until it or the port ends.
func (p *tcp) receive(c *client) {
	buf := make([]byte, 4096)
	var data, answers []byte
	for {
		n, err := c.conn.Read(buf)
		if n > 0 && c.com == nil {
			p.in.put(buf[:n])
		}
		if n > 0 && c.com != nil {
			p.mu.Lock()
			answers, data = c.com.receive(answers[:0], data[:0], buf[:n])
			p.mu.Unlock()
			p.in.put(data)
			if len(answers) > 0 && !c.box.putWhole(answers) {
				err = errors.New("it asks and asks and reads no answer")
			}
		}
		if err != nil || c.box.failed() != nil {
			break
		}
	}
	p.mu.Lock()
	if p.client == c {
		p.leftLocked()
	}
	p.mu.Unlock()
	_ = c.conn.Close()
	c.box.end()
	<-c.box.done
}

// leftLocked notes that there is no consumer; p.mu is held.
func (p *tcp) leftLocked() {
	p.client, p.consumers = nil, 0
	p.open.Store(false)
	p.tell()
}

func (p *tcp) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	c := p.client
	switch {
	case p.closed:
		return 0, os.ErrClosed
	case c == nil:
		return 0, line.ErrNoConsumer
	}
	n, err := c.write(b)
	if err != nil {
		_ = c.conn.Close() // receive sees to the rest
		return 0, line.ErrNoConsumer
	}
	if n == len(b) {
		c.full = false
		return n, nil
	}
	if c.com != nil && !c.full {
		c.box.putWhole(c.com.lineState(c.buf[:0], LineOverrun))
	}
	c.full = true
	return n, line.ErrFull
}

// write puts what there is room for into the outbox; the port's mu is held.
func (c *client) write(b []byte) (n int, err error) {
	if c.com == nil {
		return c.box.put(b)
	}
	for n < len(b) {
		var k int
		c.buf, k = c.com.escape(c.buf[:0], b[n:], c.box.room())
		if _, err := c.box.put(c.buf); err != nil || k == 0 {
			return n, err
		}
		n += k
	}
	return n, nil
}

// LineState tells a consumer with COM port control what happened on the line: bits are [LineOverrun] and so on.
func (p *tcp) LineState(bits byte) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if c := p.client; c != nil && c.com != nil {
		if notice := c.com.lineState(nil, bits); len(notice) > 0 {
			c.box.putWhole(notice)
		}
	}
}

// A netSetting is what a consumer with COM port control can change.
type netSetting struct {
	set    line.Settings
	client *client
}

func (p *tcp) Settled(ctx context.Context, want int) error {
	if !p.comPort { // there is nothing that it could still be setting
		return p.WaitOpen(ctx)
	}
	return settle(ctx, &p.attendance, want, func() (s netSetting, speed int, open bool, err error) {
		p.mu.Lock()
		defer p.mu.Unlock()
		if p.closed {
			return s, 0, false, os.ErrClosed
		}
		if p.client == nil {
			return s, 0, false, nil
		}
		set := p.client.com.set
		return netSetting{set, p.client}, set.Baud, true, nil
	})
}

func (p *tcp) Speed() (baud int, ok bool) {
	s, ok := p.Settings(line.Settings{})
	return s.Baud, ok
}

func (p *tcp) Settings(own line.Settings) (line.Settings, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.client == nil || p.client.com == nil || !p.client.com.chosen {
		return own, false
	}
	s := p.client.com.set
	s.Queue = own.Queue
	return s, true
}

func (p *tcp) Drained(ctx context.Context) error {
	for {
		p.mu.Lock()
		c, closed := p.client, p.closed
		p.mu.Unlock()
		switch {
		case closed:
			return os.ErrClosed
		case c == nil || c.box.empty() && unsent(c.conn) == 0:
			return nil
		}
		if err := p.pause(ctx, 2*time.Millisecond); err != nil {
			return err
		}
	}
}

// HangUp is that of [Hanger].
func (p *tcp) HangUp(ctx context.Context, d time.Duration) error {
	return p.out.begin(ctx, d, p.leave, func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.away = false
	})
}

// leave drops the consumer.
func (p *tcp) leave() {
	p.mu.Lock()
	p.away = true
	p.mu.Unlock()
	p.drop()
}

// drop ends the connection, if there is one.
func (p *tcp) drop() {
	p.mu.Lock()
	c := p.client
	if c != nil {
		p.leftLocked()
	}
	p.mu.Unlock()
	if c != nil {
		_ = c.conn.SetLinger(0) // as if the plug were pulled: nothing that is on its way arrives
		_ = c.conn.Close()
		c.wg.Wait()
	}
}

func (p *tcp) Close() error {
	p.end.Do(func() {
		p.out.end()
		p.mu.Lock()
		p.closed = true
		c := p.client
		p.client, p.consumers = nil, 0
		p.open.Store(false)
		p.tell()
		p.mu.Unlock()
		_ = p.listener.Close()
		if c != nil {
			_ = c.conn.Close()
			c.wg.Wait()
		}
		p.wg.Wait()
		p.record.drop()
		p.in.end()
	})
	return nil
}
