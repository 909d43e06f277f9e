// Package porttest is the suite that every kind of port has to pass.
//
// There is one file, and one function to call: [Test], from the test of each port.
package porttest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"swellbench/emulator/line"
	"swellbench/emulator/port"
)

// longest bounds each wait: far above what a working port needs on a busy machine.
const longest = 5 * time.Second

// Test plays a consumer to the port p, which it closes in the end, and reports all in which p is not as
// [port.Port] says. Open opens the port as a consumer would, with all bytes passing unchanged.
func Test(p port.Port, open func() (io.ReadWriteCloser, error)) error {
	return (&tester{p: p, dial: open, limit: longest}).test()
}

func (t *tester) test() error {
	defer t.hangUp()
	for _, step := range []struct {
		name string
		run  func() error
	}{
		{"before a consumer comes", t.before},
		{"a consumer comes", t.opens},
		{"bytes to the consumer", t.out},
		{"bytes from the consumer", t.in},
		{"the consumer settles", t.settles},
		{"stale bytes", t.stale},
		{"a consumer that does not read", t.full},
		{"coming and going", t.cycles},
		{"hang-up", t.hangs},
		{"close", t.close},
	} {
		if err := within(2*t.limit, step.run); err != nil {
			t.errs = append(t.errs, fmt.Errorf("%s: %w", step.name, err))
			if errors.Is(err, errTooLong) {
				t.errs = append(t.errs, errors.New("the rest was not tried"))
				break
			}
		}
	}
	return errors.Join(t.errs...)
}

type tester struct {
	p     port.Port
	dial  func() (io.ReadWriteCloser, error)
	limit time.Duration // for each wait
	c     *consumer     // nil: none
	errs  []error
}

var errReadEnded = errors.New("the consumer's read ended")

var errTooLong = errors.New("it takes too long: something blocks")

// wrong is the error of what a method, named first, does wrong.
func wrong(format string, args ...any) error { return fmt.Errorf(format, args...) }

// within runs f, and gives up on it after d.
func within(d time.Duration, f func() error) error {
	done := make(chan error, 1)
	go func() { done <- f() }()
	select {
	case err := <-done:
		return err
	case <-time.After(d):
		return fmt.Errorf("%w for more than %v", errTooLong, d)
	}
}

// A consumer reads all it can, so that a wait for bytes can end.
type consumer struct {
	io.ReadWriteCloser
	got chan []byte
	ask chan struct{} // one a read, so that a consumer can also not read
	end chan struct{} // closed: no more is to be read
}

// connect opens the port and waits until p knows.
func (t *tester) connect() error {
	if t.c != nil {
		return nil
	}
	rwc, err := t.dial()
	if err != nil {
		return fmt.Errorf("opening it as a consumer: %w", err)
	}
	c := &consumer{rwc, make(chan []byte, 1), make(chan struct{}, 1), make(chan struct{})}
	go func() {
		defer close(c.got)
		for {
			select {
			case <-c.ask:
			case <-c.end:
				return
			}
			buf := make([]byte, 64<<10)
			n, err := rwc.Read(buf)
			c.got <- buf[:n]
			if err != nil {
				return
			}
		}
	}()
	t.c = c
	ctx, cancel := context.WithTimeout(context.Background(), t.limit)
	defer cancel()
	if err := t.p.WaitOpen(ctx); err != nil {
		return wrong("WaitOpen with a consumer there: %w", err)
	}
	return nil
}

// hangUp closes the consumer's side and waits until p knows.
func (t *tester) hangUp() error {
	if t.c == nil {
		return nil
	}
	_ = t.c.Close()
	close(t.c.end)
	t.c = nil
	ctx, cancel := context.WithTimeout(context.Background(), t.limit)
	defer cancel()
	if err := t.p.WaitClosed(ctx); err != nil && !errors.Is(err, os.ErrClosed) {
		return wrong("WaitClosed after the consumer's leaving: %w", err)
	}
	return nil
}

// read gets n bytes, or fewer where no more come.
func (c *consumer) read(n int, limit time.Duration) ([]byte, error) {
	var all []byte
	timeout := time.After(limit)
	for len(all) < n {
		select {
		case c.ask <- struct{}{}:
		default: // it has been asked already, and has not read yet
		}
		select {
		case b, ok := <-c.got:
			all = append(all, b...)
			if !ok {
				return all, errReadEnded
			}
		case <-timeout:
			return all, fmt.Errorf("the consumer got %d bytes, waits for %d", len(all), n)
		}
	}
	return all, nil
}

func (t *tester) before() error {
	var errs []error
	if t.p.Path() == "" {
		errs = append(errs, wrong("Path is empty"))
	}
	if t.p.Open() {
		errs = append(errs, wrong("Open is true and nobody is there"))
	}
	if _, ok := t.p.Speed(); ok {
		errs = append(errs, wrong("Speed knows a speed and nobody is there"))
	}
	if n, err := t.p.Write([]byte("lost")); n != 0 || !errors.Is(err, line.ErrNoConsumer) {
		errs = append(errs, wrong("Write with nobody there returns %d, %v; want 0 and line.ErrNoConsumer", n, err))
	}
	cause := errors.New("enough")
	ctx, cancel := context.WithCancelCause(context.Background())
	cancel(cause)
	for name, wait := range map[string]func(context.Context) error{
		"WaitOpen": t.p.WaitOpen,
		"Settled":  func(ctx context.Context) error { return t.p.Settled(ctx, 4800) },
	} {
		if err := wait(ctx); err != cause {
			errs = append(errs, wrong("%s with an ended context returns %v; want the context's cause", name, err))
		}
	}
	if err := t.p.WaitClosed(context.Background()); err != nil {
		errs = append(errs, wrong("WaitClosed with nobody there: %w", err))
	}
	return errors.Join(errs...)
}

func (t *tester) opens() error {
	if err := t.connect(); err != nil {
		return err
	}
	if !t.p.Open() {
		return wrong("Open is false and a consumer is there")
	}
	return nil
}

// allBytes is every byte value, and those that terminals treat in a special way next to each other.
func allBytes() []byte {
	b := []byte("$HEHDT,271.42,T*1D\r\n\r\n\n\r\x03\x04\x11\x13\x1a\x1c\x7f\xff\xff\x00\r\n")
	for i := range 256 {
		b = append(b, byte(i))
	}
	return b
}

func (t *tester) out() error {
	if err := t.connect(); err != nil {
		return err
	}
	want := allBytes()
	for i := range 10 {
		b := want[i*len(want)/10 : (i+1)*len(want)/10]
		if n, err := t.p.Write(b); n != len(b) || err != nil {
			return wrong("Write of %d bytes returns %d, %v", len(b), n, err)
		}
	}
	got, err := t.c.read(len(want), t.limit)
	if !bytes.Equal(got, want) {
		return errors.Join(err, fmt.Errorf("the consumer got\n%q\nsent was\n%q", got, want))
	}
	ctx, cancel := context.WithTimeout(context.Background(), t.limit)
	defer cancel()
	if err := t.p.Drained(ctx); err != nil {
		return wrong("Drained when all is read: %w", err)
	}
	return nil
}

func (t *tester) in() error {
	if err := t.connect(); err != nil {
		return err
	}
	want := allBytes()
	if _, err := t.c.Write(want); err != nil {
		return fmt.Errorf("the consumer's write: %w", err)
	}
	got := make([]byte, len(want))
	for n := 0; n < len(got); {
		k, err := t.p.Read(got[n:])
		if err != nil {
			return wrong("Read: %w", err)
		}
		n += k
	}
	if !bytes.Equal(got, want) {
		return wrong("Read gives\n%q\nthe consumer sent\n%q", got, want)
	}
	// What nobody reads must not hold the consumer up.
	chunk := make([]byte, 4096)
	for range 2 * port.InputRoom / len(chunk) {
		if err := within(t.limit, func() error { _, err := t.c.Write(chunk); return err }); err != nil {
			return fmt.Errorf("the consumer writes and nobody reads: %w", err)
		}
	}
	return nil
}

func (t *tester) settles() error {
	if err := t.connect(); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(context.Background(), t.limit)
	defer cancel()
	if err := t.p.Settled(ctx, 0); err != nil {
		return wrong("Settled with a consumer that does nothing: %w", err)
	}
	return nil
}

// stale leaves bytes unread, closes, and looks whether the next consumer gets them.
func (t *tester) stale() error {
	if err := t.connect(); err != nil {
		return err
	}
	if _, err := t.p.Write([]byte("not read by the first")); err != nil {
		return wrong("Write: %w", err)
	}
	if err := t.hangUp(); err != nil {
		return err
	}
	if n, err := t.p.Write([]byte("sent to nobody")); n != 0 || !errors.Is(err, line.ErrNoConsumer) {
		return wrong("Write after the consumer's leaving returns %d, %v; want 0 and line.ErrNoConsumer", n, err)
	}
	if err := t.connect(); err != nil {
		return err
	}
	const mark = "for the second"
	if _, err := t.p.Write([]byte(mark)); err != nil {
		return wrong("Write to the second consumer: %w", err)
	}
	got, err := t.c.read(len(mark), t.limit)
	if string(got) != mark {
		return errors.Join(err, fmt.Errorf("the second consumer got %q, want %q", got, mark))
	}
	return nil
}

// full writes until there is no room, reads all that was taken, and goes on.
func (t *tester) full() error {
	if err := t.connect(); err != nil {
		return err
	}
	var sent []byte
	const most = 64 << 20 // more than any port keeps
	for k := 0; ; k++ {
		b := []byte(strings.Repeat(fmt.Sprintf("%06d,", k), 100))
		n, err := 0, error(nil)
		if err := within(t.limit, func() error { n, err = t.p.Write(b); return nil }); err != nil {
			return wrong("Write to a port nobody reads: %w", err)
		}
		sent = append(sent, b[:min(max(n, 0), len(b))]...)
		if n == len(b) && err == nil && len(sent) < most {
			continue
		}
		if n >= len(b) || !errors.Is(err, line.ErrFull) {
			return wrong("Write to a port nobody reads returns %d, %v after %d bytes; want line.ErrFull before", n, err, len(sent))
		}
		break
	}
	got, err := t.c.read(len(sent), t.limit)
	if !bytes.Equal(got, sent) {
		return errors.Join(err, fmt.Errorf("of %d bytes taken the consumer got %d, or others", len(sent), len(got)))
	}
	const mark = "room again"
	if n, err := t.p.Write([]byte(mark)); n != len(mark) || err != nil {
		return wrong("Write when there is room again returns %d, %v", n, err)
	}
	if got, err := t.c.read(len(mark), t.limit); string(got) != mark {
		return errors.Join(err, fmt.Errorf("with room again the consumer got %q, want %q", got, mark))
	}
	return nil
}

func (t *tester) cycles() error {
	for i := range 10 {
		if err := t.hangUp(); err != nil {
			return err
		}
		if t.p.Open() {
			return wrong("Open is true and the consumer has left")
		}
		if err := t.connect(); err != nil {
			return err
		}
		mark := fmt.Sprintf("round %d", i)
		if n, err := t.p.Write([]byte(mark)); n != len(mark) || err != nil {
			return wrong("Write in round %d returns %d, %v", i, n, err)
		}
		if got, err := t.c.read(len(mark), t.limit); string(got) != mark {
			return errors.Join(err, fmt.Errorf("in round %d the consumer got %q", i, got))
		}
	}
	return nil
}

// hangs has a port that can do so go and come back.
func (t *tester) hangs() error {
	h, ok := t.p.(port.Hanger)
	if !ok {
		return nil
	}
	for i, away := range []time.Duration{0, time.Millisecond, 0} {
		if err := t.connect(); err != nil {
			return err
		}
		if err := h.HangUp(context.Background(), away); err != nil {
			return wrong("HangUp: %w", err)
		}
		if t.p.Open() {
			return wrong("Open is true after HangUp")
		}
		if _, err := t.c.read(1, t.limit); err == nil || !errors.Is(err, errReadEnded) {
			return wrong("HangUp and the consumer's read does not end: %v", err)
		}
		_ = t.hangUp()
		if err := t.comesBack(); err != nil {
			return err
		}
		mark := fmt.Sprintf("back %d", i)
		if n, err := t.p.Write([]byte(mark)); n != len(mark) || err != nil {
			return wrong("Write after hang-up %d returns %d, %v", i, n, err)
		}
		if got, err := t.c.read(len(mark), t.limit); string(got) != mark {
			return errors.Join(err, fmt.Errorf("after hang-up %d the consumer got %q", i, got))
		}
	}
	return nil
}

// comesBack connects to a port that is about to return: until then opening it fails, or ends at once.
func (t *tester) comesBack() error {
	limit := t.limit
	defer func() { t.limit = limit }()
	end := time.Now().Add(limit)
	for t.limit = limit / 100; ; time.Sleep(time.Millisecond) {
		err := t.connect()
		if err == nil || time.Now().After(end) {
			return err
		}
		if t.c != nil {
			_ = t.c.Close()
			close(t.c.end)
			t.c = nil
		}
	}
}

// close ends the port while others wait for it.
func (t *tester) close() error {
	var errs []error
	if err := t.hangUp(); err != nil {
		errs = append(errs, err)
	}
	waits := make(chan error, 2)
	go func() {
		buf := make([]byte, 4096)
		for {
			if _, err := t.p.Read(buf); err != nil {
				waits <- ended("Read", err)
				return
			}
		}
	}()
	go func() { waits <- ended("WaitOpen", t.p.WaitOpen(context.Background())) }()
	for range 2 {
		if err := within(t.limit, t.p.Close); err != nil {
			errs = append(errs, wrong("Close: %w", err))
		}
	}
	for range 2 {
		select {
		case err := <-waits:
			errs = append(errs, err)
		case <-time.After(t.limit):
			errs = append(errs, wrong("a Read or WaitOpen goes on after Close"))
		}
	}
	if t.p.Open() {
		errs = append(errs, wrong("Open is true after Close"))
	}
	if n, err := t.p.Write([]byte("late")); n != 0 || !errors.Is(err, os.ErrClosed) {
		errs = append(errs, wrong("Write after Close returns %d, %v; want 0 and os.ErrClosed", n, err))
	}
	if c, err := t.dial(); err == nil {
		_ = c.Close()
		errs = append(errs, wrong("a consumer can still open the port after Close"))
	}
	return errors.Join(errs...)
}

// ended checks the error of a wait that Close has ended.
func ended(what string, err error) error {
	if errors.Is(err, os.ErrClosed) {
		return nil
	}
	return wrong("%s ended by Close returns %v; want os.ErrClosed", what, err)
}
