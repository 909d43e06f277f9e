package port

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"sync"
	"syscall"
	"time"

	"go.bug.st/serial"

	"swellbench/emulator/line"
)

// A real is a real serial port: the device's end of a cable to who knows what.
type real struct {
	attendance
	path   string
	s      serial.Port
	file   *os.File // for writing; nil where s has to do
	box    *outbox
	in     input
	end    sync.Once
	wg     sync.WaitGroup // of receive
	busy   sync.WaitGroup // of drains and breaks
	record *record
}

// OpenSerial opens a real serial port, such as /dev/ttyUSB0 or COM3, with the rate and the format of set. It needs
// bench, the user's word that the other end is on a bench.
//
// Nobody can tell whether anyone listens, nor how they have set their side: a consumer always seems to be there, and
// the mismatch of a wrong setting happens on the wire itself. Errors say why the port cannot be had, and which group,
// setting or program is in the way. The port has these methods besides: SetLine(line.Settings) error changes rate and
// format while it runs, Break(time.Duration) holds the line low.
func OpenSerial(path string, set line.Settings, bench bool) (Port, error) {
	if !bench {
		return nil, fmt.Errorf("port: %s is a real serial port: %w", path, ErrBench)
	}
	mode, err := modeOf(set)
	if err != nil {
		return nil, fmt.Errorf("port: %s: %w", path, err)
	}
	// The library writes and waits; what is opened before it has the port to itself can write and not wait.
	file, err := openDevice(path)
	if err != nil {
		return nil, serialError(path, set, err)
	}
	s, err := serial.Open(path, mode)
	if err != nil {
		if file != nil {
			_ = file.Close()
		}
		return nil, serialError(path, set, err)
	}
	p := &real{attendance: attendance{consumers: 1}, path: path, s: s, file: file, record: announce(path, "in use")}
	if file != nil {
		p.box = newOutbox(file, sendNow(file))
	} else {
		p.box = newOutbox(s, nil)
	}
	p.wg.Go(p.receive)
	return p, nil
}

// modeOf writes settings as the library wants them, or says what no serial port can have.
func modeOf(s line.Settings) (*serial.Mode, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	m := &serial.Mode{BaudRate: s.Baud, DataBits: s.DataBits}
	if m.DataBits == 0 {
		m.DataBits = 8
	}
	if m.DataBits > 8 {
		return nil, fmt.Errorf("a serial port of this machine cannot have %d data bits, allowed: 5 to 8", m.DataBits)
	}
	m.Parity = map[line.Parity]serial.Parity{line.ParityOdd: serial.OddParity, line.ParityEven: serial.EvenParity,
		line.ParityMark: serial.MarkParity, line.ParitySpace: serial.SpaceParity}[s.Parity]
	switch s.StopBits {
	case 1.5:
		m.StopBits = serial.OnePointFiveStopBits
	case 2:
		m.StopBits = serial.TwoStopBits
	}
	if s.Baud > math.MaxInt32 {
		return nil, fmt.Errorf("a serial port cannot run at %d baud", s.Baud)
	}
	return m, nil
}

// serialError says why a port could not be opened, and what to do.
func serialError(path string, set line.Settings, err error) error {
	var e *serial.PortError
	code := serial.PortErrorCode(-1)
	if errors.As(err, &e) {
		code = e.Code()
	}
	switch {
	case code == serial.PortBusy || errors.Is(err, syscall.EBUSY):
		return fmt.Errorf("port: %s is busy: another program has it to itself (%w); end that program", path, err)
	case code == serial.PermissionDenied || errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("port: no permission for %s (%w); %s", path, err, permissionHelp(path))
	case code == serial.PortNotFound || errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("port: there is no serial port %s (%w); `swellbench ports` lists those that are there", path, err)
	case code >= 0:
		return fmt.Errorf("port: %s cannot be opened at %s (%w); is it a serial port, and does it have this rate and format?", path, set, err)
	}
	return fmt.Errorf("port: opening %s: %w", path, err)
}

func (p *real) Path() string { return p.path }

func (p *real) Open() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return !p.closed
}

func (p *real) Write(b []byte) (int, error) {
	if !p.Open() {
		return 0, os.ErrClosed
	}
	n, err := p.box.put(b)
	switch {
	case err != nil:
		return 0, fmt.Errorf("port: writing to %s: %w; has it been unplugged?", p.path, err)
	case n < len(b):
		return n, line.ErrFull
	}
	return n, nil
}

func (p *real) Read(b []byte) (int, error) { return p.in.read(b) }

// receive takes what comes in, until the port is closed or gone.
func (p *real) receive() {
	buf := make([]byte, 4096)
	for {
		n, err := p.s.Read(buf)
		p.in.put(buf[:n])
		if err != nil {
			return
		}
	}
}

func (p *real) Settled(ctx context.Context, _ int) error { return p.WaitOpen(ctx) }

func (p *real) Speed() (baud int, ok bool) { return 0, false }

func (p *real) Settings(own line.Settings) (line.Settings, bool) { return own, false }

// Drained returns when the last bit has left.
func (p *real) Drained(ctx context.Context) error {
	for !p.box.empty() {
		if err := p.pause(ctx, 2*time.Millisecond); err != nil {
			return err
		}
	}
	sent := make(chan error, 1)
	p.busy.Go(func() { sent <- p.s.Drain() })
	for {
		_, closed, changed := p.state()
		if closed {
			return os.ErrClosed
		}
		select {
		case err := <-sent:
			return err
		case <-changed:
		case <-ctx.Done():
			return context.Cause(ctx)
		}
	}
}

// SetLine changes rate and format; what has been handed over and not sent is sent with the old or the new ones.
func (p *real) SetLine(set line.Settings) error {
	mode, err := modeOf(set)
	if err == nil && !p.Open() {
		err = os.ErrClosed
	}
	if err == nil {
		err = p.s.SetMode(mode)
	}
	if err != nil {
		return fmt.Errorf("port: setting %s to %s: %w", p.path, set, err)
	}
	return nil
}

// Break holds the line low for d, beginning now, and does not wait for it; what is written meanwhile is sent after it.
func (p *real) Break(d time.Duration) {
	if !p.Open() {
		return
	}
	p.busy.Go(func() {
		p.box.hold(true)
		_ = p.s.Break(d)
		p.box.hold(false)
	})
}

func (p *real) Close() (err error) {
	p.end.Do(func() {
		for end := time.Now().Add(patience / 10); !p.box.empty() && time.Now().Before(end); {
			time.Sleep(time.Millisecond)
		}
		p.mu.Lock()
		p.closed, p.consumers = true, 0
		p.tell()
		p.mu.Unlock()
		p.box.end()
		if p.file != nil {
			_ = p.file.Close() // ends a write that waits for room
		}
		// A drain, and a write where there is no file, do not end by the port's being closed, but by there being nothing
		// to wait for.
		idle := make(chan struct{})
		go func() { <-p.box.done; p.busy.Wait(); close(idle) }()
		for waiting := true; waiting; {
			select {
			case <-idle:
				waiting = false
			case <-time.After(time.Millisecond):
				_ = p.s.ResetOutputBuffer()
			}
		}
		err = p.s.Close()
		p.wg.Wait() // for receive
		p.record.drop()
		p.in.end()
	})
	return err
}
