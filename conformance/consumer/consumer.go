package consumer

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"slices"
	"strings"
	"time"

	"swellbench/emulator/wire/layout"
	"swellbench/scenarios/installation"
)

// Config says what the consumer listens to. Installation is required.
type Config struct {
	Installation *installation.Installation
	// Format of the stream; "" is nmea0183. A stream of several has them joined by +, as nmea0183+mavlink.
	Format string
	// Layout is what describes messages of format layout.
	Layout *layout.Layout
	// Baud is the speed of the line that the bytes come from, 8N1. 0 says that they come from no line but from a
	// file: then silences mean nothing, nor does the host's clock.
	Baud    int
	Defects []string         // names of seeded defects, see [Defects]
	Clock   func() time.Time // the host's clock; nil is time.Now
	Logger  *slog.Logger     // nil discards
}

// Validate returns all that is wrong with the configuration.
func (c Config) Validate() error {
	var errs []error
	for _, f := range c.formats() {
		if _, ok := formatOf[f]; !ok {
			errs = append(errs, fmt.Errorf("consumer: unknown format %q, known: %s", f, strings.Join(Formats(), ", ")))
		}
		if f == "layout" && c.Layout == nil {
			errs = append(errs, fmt.Errorf("consumer: format %s without the file that describes its messages", f))
		}
	}
	if c.Baud < 0 {
		errs = append(errs, fmt.Errorf("consumer: baud is %d, allowed: the speed of the line such as 9600, or 0 for a file", c.Baud))
	}
	if _, err := seeded(c.Defects); err != nil {
		errs = append(errs, err)
	}
	if _, err := newGeometry(c.Installation); err != nil {
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

// formats are those of the stream, the more particular first.
func (c Config) formats() []string {
	if c.Format == "" {
		return []string{"nmea0183"}
	}
	all := strings.Split(c.Format, "+")
	slices.Sort(all) // layout first
	return slices.Compact(all)
}

// decoder makes that of the stream.
func (c Config) decoder(log *slog.Logger, s *stages) decoder {
	all := c.formats()
	if len(all) == 1 && all[0] == "nmea0183" {
		return newNMEA0183(log, s)
	}
	return newFramed(log, s, all, c.Layout)
}

// Formats lists the formats that the consumer reads, in order of their names.
func Formats() []string { return slices.Sorted(maps.Keys(formatOf)) }

// A decoder finds messages in bytes.
type decoder interface {
	// decode takes the next bytes, which came at one instant, and hands on the messages they complete.
	decode(b []byte, at time.Time, message func(*message))
	// end says that no more bytes will come.
	end(message func(*message))
	// within tells that the last byte stands within a message.
	within() bool
	// cut tells that the stream began within a message. It is known when the first message is handed on.
	cut() bool
}

// Run reads the stream until it ends or ctx does, and writes one observation a line as soon as an epoch is over.
//
// The end of the stream, which is also how a port that hangs up reads, and the end of ctx are no errors: what was
// gathered is still written, and nil is returned. If in is an [io.Closer], Run closes it before it returns, which ends
// a read that waits; one that does not end within a second (standard input of some systems) is left behind. Errors: a
// wrong configuration, nothing was read then; in or out failed.
func Run(ctx context.Context, cfg Config, in io.Reader, out io.Writer) error {
	if err := cfg.Validate(); err != nil {
		return err
	}
	p := newProgram(cfg, out)
	if err := greet(cfg, in); err != nil {
		return err
	}

	ctx, cancel := context.WithCancel(ctx)
	chunks := make(chan chunk, 16)
	done := make(chan struct{})
	go func() {
		defer close(done)
		receive(ctx, in, p.clock, chunks)
	}()
	defer func() {
		cancel()
		if c, ok := in.(io.Closer); ok {
			c.Close()
		}
		select {
		case <-done:
		case <-time.After(time.Second):
		}
	}()
	return p.run(ctx, chunks)
}

// greet opens the channel of a serial CAN adapter, as programs do: closed first, for the speed can be set only then. The bus
// runs at 250 kbit/s. Source: Linux slcan driver; the order of commands is common practice.
func greet(cfg Config, in io.Reader) error {
	w, ok := in.(io.Writer)
	if !ok || cfg.Baud == 0 || !slices.Contains(cfg.formats(), "nmea2000") {
		return nil
	}
	if _, err := io.WriteString(w, "C\rS5\rO\r"); err != nil {
		return fmt.Errorf("consumer: open the channel of the CAN adapter: %w", err)
	}
	return nil
}

// A chunk is what one read gave.
type chunk struct {
	bytes []byte
	at    time.Time // when it came
	err   error     // why the next read will give nothing
}

// receive reads and stamps what comes; it does nothing else, so that the stamps are not late. A full channel holds it
// up until the program has caught up.
func receive(ctx context.Context, in io.Reader, now func() time.Time, chunks chan<- chunk) {
	defer close(chunks)
	for idle := 0; ; {
		buf := make([]byte, 4096)
		n, err := in.Read(buf)
		if n == 0 && err == nil {
			if idle++; idle >= 100 { // as package bufio has it
				err = io.ErrNoProgress
			} else {
				continue
			}
		} else {
			idle = 0
		}
		select {
		case chunks <- chunk{buf[:n], now(), err}:
		case <-ctx.Done():
			return
		}
		if err != nil {
			return
		}
	}
}

// A program is one run of the consumer.
type program struct {
	clock   func() time.Time
	stages  *stages
	geo     *geometry
	decoder decoder
	pace    pace
	grouper grouper
	stamper stamper
	started bool      // a byte came
	begun   bool      // a message came
	last    time.Time // when the last byte came
	quiet   bool      // silence after it was dealt with

	out *bufio.Writer
	buf []byte
	err error // of out
}

func newProgram(cfg Config, out io.Writer) *program {
	log := cfg.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	p := &program{clock: cfg.Clock, out: bufio.NewWriter(out)}
	if p.clock == nil {
		p.clock = time.Now
	}
	p.stages, _ = seeded(cfg.Defects) // validated
	p.geo, _ = newGeometry(cfg.Installation)
	p.decoder = cfg.decoder(log, p.stages)
	var byteTime time.Duration
	if cfg.Baud > 0 {
		byteTime = 10 * time.Second / time.Duration(cfg.Baud)
	}
	p.pace.byteTime = byteTime
	p.stamper = stamper{line: cfg.Baud > 0, byteTime: byteTime, publish: p.publish, log: log}
	p.grouper.emit = func(e *epoch) {
		p.stages.gather(e)
		p.stamper.push(e)
	}
	return p
}

// run is the one goroutine that works on the stream.
func (p *program) run(ctx context.Context, chunks <-chan chunk) error {
	timer := time.NewTimer(time.Hour)
	defer timer.Stop()
	for {
		if d, ok := p.next(); ok {
			timer.Reset(max(0, d.Sub(p.clock())))
		} else {
			timer.Reset(time.Hour)
		}
		select {
		case <-ctx.Done():
			for { // what was read before
				select {
				case c, ok := <-chunks:
					if ok {
						p.take(c)
						continue
					}
				default:
				}
				return p.end()
			}
		case c, ok := <-chunks:
			if !ok {
				return p.end()
			}
			p.take(c)
			if c.err != nil {
				if err := p.end(); err != nil {
					return err
				}
				if c.err == io.EOF || errors.Is(c.err, io.ErrClosedPipe) {
					return nil
				}
				return fmt.Errorf("consumer: read: %w", c.err)
			}
		case <-timer.C:
			now := p.clock()
			if len(chunks) == 0 { // else what waits there came first
				p.hush(now.Sub(p.last))
			}
			p.stamper.release(now)
		}
		if err := p.flush(); err != nil {
			return err
		}
	}
}

// next is when there is something to do even if no byte comes.
func (p *program) next() (time.Time, bool) {
	due, ok := p.stamper.waiting()
	if p.started && !p.quiet && p.pace.byteTime > 0 {
		if d := p.last.Add(p.pace.deadline(p.decoder.within(), p.grouper.lacking())); !ok || d.Before(due) {
			return d, true
		}
	}
	return due, ok
}

// take works on what one read gave.
func (p *program) take(c chunk) {
	if len(c.bytes) == 0 {
		return
	}
	if p.started {
		p.hush(c.at.Sub(p.last))
	}
	p.started, p.quiet, p.last = true, false, c.at
	p.decoder.decode(p.stages.receive(c.bytes, c.at), c.at, p.message)
}

// message takes what the decoder has found. One that says nothing of use is passed over.
func (p *program) message(m *message) {
	if !p.begun {
		p.begun, p.grouper.cut = true, p.decoder.cut()
	}
	p.stages.read(m)
	if m.mask() == 0 && !m.time.Has() && !m.fix.Has() {
		return
	}
	p.pace.saw(m)
	p.grouper.add(m)
}

// hush ends the epoch if the line has been quiet for long enough.
func (p *program) hush(quiet time.Duration) {
	switch {
	case p.quiet:
	case p.pace.over(quiet, p.decoder.within(), p.grouper.lacking()):
		p.quiet = true
		p.grouper.silence()
	case p.pace.over(quiet, p.decoder.within(), false):
		p.grouper.pause()
	}
}

// end writes what was gathered.
func (p *program) end() error {
	p.decoder.end(p.message)
	p.grouper.finish()
	p.stamper.flush()
	return p.flush()
}

func (p *program) publish(e *epoch, utc time.Time) {
	o := p.stages.solve(p.geo, e, p.stages.stamp(e, utc))
	p.stages.publish(&o, p.write)
}

func (p *program) write(o *observation) {
	p.buf = o.append(p.buf[:0])
	if _, err := p.out.Write(p.buf); err != nil && p.err == nil {
		p.err = err
	}
}

func (p *program) flush() error {
	if err := p.out.Flush(); err != nil && p.err == nil {
		p.err = err
	}
	if p.err != nil {
		return fmt.Errorf("consumer: write observations: %w", p.err)
	}
	return nil
}
