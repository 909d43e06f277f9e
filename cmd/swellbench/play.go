package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/port"
)

func newPlay() *cobra.Command {
	var link, sentLog string
	var ports []string
	var wait, bench bool
	var speed float64
	var copies int
	cmd := &cobra.Command{
		Use:   "play [scenario]",
		Short: "Play a scenario on a serial port or over the network, in real time at its baud rate",
		Long: `Play makes a pseudo-terminal with a stable path, says how to connect, and sends the scenario's stream byte by
byte at the scenario's baud rate. Ctrl-C ends it. A device keeps no bytes for a listener that is not there: what
is sent before your program opens the port is lost, as on a wire.

With --port the stream goes elsewhere; a scenario of several streams takes one --port NAME=PORT for each, and those
without one get a pseudo-terminal. All streams stay in step. PORT is one of:

` + portHelp() + `
` + caution + `
That is why a real serial port, and an address that is not of this machine alone, need --bench: your word that
what is at the other end is on a bench.`,
		Example: `  swellbench play
  swellbench play quay-pose --link ./sensor
  swellbench play my-scenario.yaml --wait --sent-log sent.jsonl
  swellbench play --port tcp:127.0.0.1:4001
  swellbench play --port rfc2217:127.0.0.1:4002
  swellbench play --port serial:/dev/ttyUSB0 --bench
  swellbench play two-streams.yaml --port gnss=tcp:127.0.0.1:4001 --port motion=pty:./motion
  swellbench play --port - > stream.nmea
  swellbench play survey-lines --speed 10        # ten times as fast, the line too
  swellbench play --copies 200                   # a fleet: each on a terminal and with a seed of its own`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeScenario,
		RunE: func(cmd *cobra.Command, args []string) error {
			sc, err := openScenario(cmd, args)
			if err != nil {
				return err
			}
			if !sc.Start.Now {
				fmt.Fprintf(cmd.ErrOrStderr(), "The scenario's clock starts at %s, whatever the time is now.\n", sc.Start.Time.Format(time.RFC3339))
			}
			if !(speed > 0 && speed <= 1000) {
				return fmt.Errorf("--speed is %g, allowed: more than 0, up to 1000", speed)
			}
			if copies != 1 {
				if len(ports) > 0 || bench || sentLog != "" || speed != 1 {
					return errors.New("--copies goes with --link and --wait only: each copy has a pseudo-terminal, and all keep real time")
				}
				return playCopies(cmd, sc, copies, link, wait)
			}
			d, err := emulator.New(sc)
			if err != nil {
				return err
			}
			p := player{speed: speed, d: d, out: cmd.OutOrStdout(), stdout: cmd.OutOrStdout(), err: cmd.ErrOrStderr(), link: link, wait: wait, bench: bench}
			if p.specs, err = assignPorts(d, ports, link); err != nil {
				return err
			}
			if slices.Contains(p.specs, "-") {
				p.out = p.err                  // what goes to standard output is the stream and nothing else
				signal.Ignore(syscall.SIGPIPE) // when its reader goes, the run ends with its logs whole
			}
			if sentLog != "" {
				f, err := os.Create(sentLog)
				if err != nil {
					return environment(err)
				}
				defer f.Close()
				p.sentLog = f
			}
			return p.run(cmd.Context())
		},
	}
	cmd.Flags().StringArrayVar(&ports, "port", nil, "where the bytes go: PORT, or NAME=PORT for the stream of that name (default: pty)")
	cmd.Flags().BoolVar(&bench, "bench", false, "your word that what is at the other end is on a bench, for real serial ports and other machines")
	_ = cmd.RegisterFlagCompletionFunc("port", completePort)
	cmd.Flags().StringVar(&link, "link", "", "the path of the port (default: one named after the scenario in the runtime directory)")
	cmd.Flags().Float64Var(&speed, "speed", 1, "how many times as fast as in reality; the line is as much faster")
	cmd.Flags().IntVar(&copies, "copies", 1, "how many devices to play side by side, each with a seed and a terminal of its own")
	cmd.Flags().BoolVar(&wait, "wait", false, "begin when a program has opened the port")
	cmd.Flags().StringVar(&sentLog, "sent-log", "", "write what was sent, and when, into this file (JSON Lines)")
	return cmd
}

// portHelp lists the kinds of port.
func portHelp() string {
	var b strings.Builder
	for _, k := range port.Kinds {
		fmt.Fprintf(&b, "  %-21s %s", k.Form, k.What)
		if k.Bench == "always" {
			b.WriteString("; needs --bench")
		} else if k.Bench != "" {
			fmt.Fprintf(&b, "; needs --bench %s", k.Bench)
		}
		b.WriteString("\n")
	}
	return b.String()
}

// assignPorts finds out which stream goes where.
func assignPorts(d *emulator.Device, specs []string, link string) ([]string, error) {
	var names []string
	for i := range d.Streams() {
		names = append(names, d.StreamName(i))
	}
	out, err := port.Assign(specs, names)
	if err == nil && link != "" && !slices.Contains(out, "pty") {
		err = errors.New("--link names the path of a pseudo-terminal, and no stream goes to one without a path; leave out --link or give --port pty")
	}
	return out, err
}

// A player is one run of the play command.
type player struct {
	d        *emulator.Device
	out, err io.Writer
	stdout   io.Writer // for a stream that goes there
	specs    []string  // the port of each stream, as port.Open reads it
	link     string
	wait     bool
	bench    bool
	speed    float64
	sentLog  io.Writer

	ports []port.Port
	mu    sync.Mutex // guards log
	log   *emulator.SentLog
	sent  atomic.Int64
	bytes atomic.Int64
	lost  atomic.Int64
}

func (p *player) run(ctx context.Context) (err error) {
	sc := p.d.Scenario()
	if sc.Start.Now {
		// The device's clock and the wall clock agree: second 0 is the next whole tenth.
		origin := time.Now().UTC().Truncate(100 * time.Millisecond).Add(300 * time.Millisecond)
		if p.d, err = emulator.New(sc.WithStart(origin)); err != nil {
			return err
		}
	}
	defer func() {
		for _, q := range p.ports {
			err = errors.Join(err, q.Close())
		}
	}()
	fmt.Fprintln(p.err, caution)
	for i := range p.d.Streams() {
		switch err := p.open(i); {
		case errors.Is(err, port.ErrBench):
			return err // a matter of usage
		case err != nil:
			return environment(err)
		}
	}
	if p.wait {
		fmt.Fprintln(p.err, "Waiting for a program to open the port. Ctrl-C ends.")
		for i, q := range p.ports {
			if err := q.WaitOpen(ctx); err != nil {
				return nil // Ctrl-C
			}
			if err := q.Settled(ctx, p.d.Line(i).Baud); err != nil {
				return nil
			}
		}
	}
	// The origin is now or a moment ahead; with a fixed start only the shared instant matters.
	origin := time.Now().Add(50 * time.Millisecond)
	if sc.Start.Now && !p.wait {
		origin = p.d.UTC(0)
	} else if sc.Start.Now {
		origin = time.Now().UTC().Truncate(100 * time.Millisecond).Add(200 * time.Millisecond)
		if p.d, err = emulator.New(sc.WithStart(origin)); err != nil {
			return err
		}
	}
	if p.sentLog != nil {
		p.log = p.d.NewSentLog(p.sentLog)
	}
	sums, err := p.play(ctx, origin)
	for i, s := range sums {
		p.report(i, s)
	}
	if p.log != nil {
		err = errors.Join(err, p.log.Flush())
	}
	return environment(err)
}

// open makes the port of stream i and says how to connect.
func (p *player) open(i int) error {
	link := p.link
	if link == "" {
		dir, err := port.RuntimeDir()
		if err != nil {
			return err
		}
		link = filepath.Join(dir, p.d.Scenario().Name)
	}
	if p.d.Streams() > 1 {
		link += "-" + p.d.StreamName(i)
	}
	spec := p.specs[i]
	q, err := port.Open(spec, port.Options{Bench: p.bench, Line: p.d.Line(i), Link: link, Stdout: p.stdout})
	if err != nil {
		return err
	}
	p.ports = append(p.ports, q)
	kind, err := port.KindOf(spec)
	if err != nil {
		return err
	}
	var kinds []string
	for j, e := range p.d.Encoders(i) {
		kinds = append(kinds, fmt.Sprintf("%s %s", e.Kind(), p.d.Stream(i).Messages[j].Rate))
	}
	fmt.Fprintf(p.out, "%s\n", q.Path())
	fmt.Fprintf(p.err, "Stream %s of %s: %s, %s.\n", p.d.StreamName(i), p.d.Scenario().Name, p.d.Line(i), strings.Join(kinds, ", "))
	fmt.Fprintf(p.err, kind.Connect, q.Path())
	if kind.Name == "pty" {
		fmt.Fprintf(p.err, ", or try: swellbench consume --port %s --baud %d --installation FILE", q.Path(), p.d.Line(i).Baud)
	}
	fmt.Fprintln(p.err, ".")
	if b, err := p.d.Budget(i); err == nil && !b.OwnBaud().Fits() {
		fmt.Fprintf(p.err, "Caution: the messages ask for %.0f %% of the line. %s\n", 100*b.OwnBaud().WorstShare, wont(b, b.OwnBaud()))
	}
	return nil
}

// play plays all streams side by side and shows a line of status meanwhile.
func (p *player) play(ctx context.Context, origin time.Time) ([]line.Summary, error) {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	sums, errs := make([]line.Summary, len(p.ports)), make([]error, len(p.ports))
	var wg sync.WaitGroup
	for i, q := range p.ports {
		clock := line.PreciseClock()
		if p.speed != 1 {
			clock = line.Faster(clock, p.speed)
		}
		wg.Go(func() {
			sums[i], errs[i] = emulator.Play(ctx, p.d, i, q, emulator.PlayOptions{Origin: origin, Clock: clock, Sent: func(s line.Sent) { p.count(i, s) }})
			switch {
			case errors.Is(errs[i], context.Canceled):
				errs[i] = nil // Ctrl-C
			case errs[i] != nil:
				errs[i] = fmt.Errorf("stream %s: %w", p.d.StreamName(i), errs[i])
				cancel(errs[i])
			}
		})
	}
	done := make(chan struct{})
	go func() { wg.Wait(); close(done) }()
	tick := time.NewTicker(200 * time.Millisecond)
	defer tick.Stop()
	live := onTerminal(p.err)
	for {
		select {
		case <-done:
			if live {
				fmt.Fprint(p.err, "\r\x1b[K")
			}
			return sums, errors.Join(errs...)
		case <-tick.C:
			if live {
				fmt.Fprint(p.err, "\r\x1b[K"+p.status(p.speed*time.Since(origin).Seconds()))
			}
		}
	}
}

func (p *player) count(stream int, s line.Sent) {
	if s.Dropped == "" {
		p.sent.Add(1)
		p.bytes.Add(int64(len(s.Bytes)))
	} else {
		p.lost.Add(1)
	}
	if p.log != nil {
		p.mu.Lock()
		p.log.Add(stream, s)
		p.mu.Unlock()
	}
}

// status is the live line: where the scenario is, what the vessel does, what went out, who listens.
func (p *player) status(t float64) string {
	t = max(t, 0)
	s := p.d.Truth().At(t)
	a := s.Attitude.Canonical()
	listening := "nobody listens"
	open := 0
	for i, q := range p.ports {
		if !q.Open() {
			continue
		}
		open++
		listening = "listening"
		if baud, ok := q.Speed(); ok && baud != p.d.Line(i).Baud {
			listening = fmt.Sprintf("listening at %d baud, sent at %d", baud, p.d.Line(i).Baud)
		}
	}
	if len(p.ports) > 1 {
		listening = fmt.Sprintf("%d of %d ports open", open, len(p.ports))
	}
	return fmt.Sprintf("%6.1f/%.0f s  heading %05.1f°  pitch %+5.1f°  roll %+5.1f°  heave %+5.2f m  sent %d (%d B)  lost %d  %s",
		t, float64(p.d.Scenario().Duration), deg(a.Heading), deg(a.Pitch), deg(a.Roll), s.HeaveM, p.sent.Load(), p.bytes.Load(), p.lost.Load(), listening)
}

// report says what a stream sent and how late.
func (p *player) report(i int, s line.Summary) {
	reportSum(p.err, "Stream "+p.d.StreamName(i), s)
}

// lateMS is what a hand-over may be late by, ms, before it is worth a word: half the shortest interval of usual messages
// at 200 Hz. Common practice, no source.
const lateMS = 2.5

// reportSum says what was sent and how late, and whether this machine kept the time.
func reportSum(w io.Writer, what string, s line.Summary) {
	fmt.Fprintf(w, "%s: sent %d messages, %d bytes", what, s.Messages, s.Bytes)
	for _, l := range []struct {
		why  string
		loss line.Loss
	}{{"with no consumer", s.NoConsumer}, {"in a full queue", s.QueueFull}, {"because the consumer did not read", s.Overrun},
		{"because the consumer's port is set otherwise than the line", s.Mismatch}, {"while the port was hung up", s.HungUp}} {
		if l.loss.Messages > 0 {
			fmt.Fprintf(w, "; lost %d %s", l.loss.Messages, l.why)
		}
	}
	fmt.Fprintln(w, ".")
	if s.Late.N() == 0 {
		return
	}
	fmt.Fprintf(w, "Lateness against the schedule: p50 %v, p99 %v, p99.9 %v, max %v.\n", s.Late.Quantile(0.5).Round(time.Microsecond),
		s.Late.Quantile(0.99).Round(time.Microsecond), s.Late.Quantile(0.999).Round(time.Microsecond), s.Late.Max().Round(time.Microsecond))
	if part := s.Late.Beyond(time.Duration(lateMS * float64(time.Millisecond))); part > 0.01 {
		fmt.Fprintf(w, "THIS RUN DID NOT KEEP TIME: %.1f %% of the hand-overs were more than %g ms late. Close what else is at work; swellbench selftest says what this machine can keep.\n", 100*part, lateMS)
	}
}

func deg(rad float64) float64 { return rad * 57.29577951308232 }
