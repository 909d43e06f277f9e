package trial

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"swellbench/conformance"
	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/port"
	"swellbench/scenarios"
	"swellbench/scenarios/library"
)

// A Trial is one scenario played to the code under test. Methods may be called from several goroutines.
type Trial struct {
	tb     testing.TB
	device *emulator.Device // as prepared
	played *emulator.Device // as played: with the start of the run; guarded by done
	sheet  string           // path of the installation file
	port   port.Port
	bytes  []byte    // of an offline trial
	origin time.Time // guarded by done
	cancel context.CancelFunc
	done   chan struct{}

	mu       sync.Mutex
	sent     []line.Sent
	observed []observe.Observation
	refused  []error
	late     float64
	err      error
}

// MaxObservations bounds what a trial keeps; what is observed beyond it fails the test.
const MaxObservations = 2_000_000

// Start plays a scenario in real time: a ready-made one by its name, or a file. It begins as soon as the code under test
// has opened the port, and everything is gone when the test ends. Where the machine has no pseudo-terminals the test is
// skipped. A scenario that starts now starts when the trial does.
func Start(tb testing.TB, scenario string) *Trial {
	tb.Helper()
	t := prepare(tb, scenario)
	var err error
	if t.port, err = port.OpenPTY(filepath.Join(tb.TempDir(), "port")); err != nil {
		tb.Skipf("trial: no pseudo-terminal here: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	t.cancel = cancel
	tb.Cleanup(func() {
		cancel()
		<-t.done
		if err := t.port.Close(); err != nil {
			tb.Errorf("trial: closing the port: %v", err)
		}
	})
	go t.play(ctx)
	return t
}

// Offline gives the bytes of the first stream of a scenario, whole and at once, by [Trial.Reader]. It has no port and no
// clock: nothing that needs the time of arrival can be judged. A scenario that starts now starts at 2026-06-01 12:00 UTC.
func Offline(tb testing.TB, scenario string) *Trial {
	tb.Helper()
	t := prepare(tb, scenario)
	t.origin, t.played = t.device.UTC(0), t.device
	var b bytes.Buffer
	if err := emulator.Render(t.device, 0, &b, t.keep); err != nil {
		tb.Fatalf("trial: %v", err)
	}
	t.bytes = b.Bytes()
	close(t.done)
	return t
}

func prepare(tb testing.TB, scenario string) *Trial {
	tb.Helper()
	sc, err := open(scenario)
	if err != nil {
		tb.Fatalf("trial: %v", err)
	}
	if sc.Start.Now {
		sc = sc.WithStart(time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC))
		sc.Start.Now = true
	}
	t := &Trial{tb: tb, done: make(chan struct{})}
	if t.device, err = emulator.New(sc); err != nil {
		tb.Fatalf("trial: %v", err)
	}
	if n := t.device.Streams(); n != 1 {
		tb.Fatalf("trial: %s has %d streams; a trial takes one", sc.Name, n)
	}
	t.sheet = filepath.Join(tb.TempDir(), "installation.yaml")
	if err := os.WriteFile(t.sheet, sc.Installation.Append(nil), 0o600); err != nil {
		tb.Fatalf("trial: %v", err)
	}
	return t
}

func open(name string) (*scenarios.Scenario, error) {
	if strings.HasSuffix(name, ".yaml") || strings.ContainsRune(name, filepath.Separator) {
		return scenarios.Load(name)
	}
	return library.Open(name)
}

func (t *Trial) keep(s line.Sent) {
	t.mu.Lock()
	defer t.mu.Unlock()
	s.Bytes = bytes.Clone(s.Bytes)
	t.sent = append(t.sent, s)
}

func (t *Trial) play(ctx context.Context) {
	defer close(t.done)
	fail := func(err error) {
		t.mu.Lock()
		defer t.mu.Unlock()
		t.err = err
	}
	t.played = t.device
	baud := t.device.Line(0).Baud
	if err := errors.Join(t.port.WaitOpen(ctx), t.port.Settled(ctx, baud)); err != nil {
		fail(fmt.Errorf("the port was never opened: %w", err))
		return
	}
	origin := time.Now().Add(300 * time.Millisecond).Truncate(100 * time.Millisecond)
	if t.device.Scenario().Start.Now {
		d, err := emulator.New(t.device.Scenario().WithStart(origin.Round(0)))
		if err != nil {
			fail(err)
			return
		}
		t.played = d
	}
	t.origin = origin
	sum, err := emulator.Play(ctx, t.played, 0, t.port, emulator.PlayOptions{Origin: origin, Sent: t.keep})
	if err == nil {
		err = t.port.Drained(ctx)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.late, t.err = sum.Late.Max().Seconds(), err
}

// Port is the path of the serial port to open; "" of an offline trial.
func (t *Trial) Port() string {
	if t.port == nil {
		return ""
	}
	return t.port.Path()
}

// Baud is its rate.
func (t *Trial) Baud() int { return t.device.Line(0).Baud }

// Format is the format of the stream, such as nmea0183.
func (t *Trial) Format() string { return t.device.Stream(0).Format }

// Installation is the path of the installation file: points, mounting, what was entered, what is expected.
func (t *Trial) Installation() string { return t.sheet }

// Reader reads the stream of an offline trial, from its beginning.
func (t *Trial) Reader() io.Reader { return bytes.NewReader(t.bytes) }

// Observe takes what the code under test understood.
func (t *Trial) Observe(o observe.Observation) {
	t.mu.Lock()
	defer t.mu.Unlock()
	o.Line = int64(len(t.observed) + 1)
	if o.Arrival.IsZero() && t.port != nil {
		o.Arrival = time.Now()
	}
	if len(t.observed) == MaxObservations {
		t.refuse(fmt.Errorf("more than %d observations", MaxObservations))
		return
	}
	t.observed = append(t.observed, o)
}

// ObserveLine takes it as the line of JSON that a program would print.
func (t *Trial) ObserveLine(line []byte) {
	o, err := observe.Parse(line)
	if err != nil {
		t.mu.Lock()
		defer t.mu.Unlock()
		t.refuse(err)
		return
	}
	t.Observe(o)
}

func (t *Trial) refuse(err error) {
	if len(t.refused) < 5 {
		t.refused = append(t.refused, err)
	}
}

// Wait returns when the scenario has been played and read.
func (t *Trial) Wait() { <-t.done }

// settle is how long the code under test may take after the last byte.
const settle = 200 * time.Millisecond

// Results waits for the end of the scenario and judges what was observed: by the checks of these ids, or by all.
func (t *Trial) Results(checks ...string) []conformance.Result {
	t.Wait()
	if t.port != nil {
		time.Sleep(settle)
	}
	t.mu.Lock()
	observed, sent := slices.Clone(t.observed), slices.Clone(t.sent)
	ev := &conformance.Evidence{Truth: t.played.Truth(), Device: t.played, Origin: t.origin, HostLateS: t.late,
		Sent: slices.Values(sent), Observed: iter.Seq[observe.Observation](slices.Values(observed)),
		ObserveStats: observe.Stats{Lines: int64(len(observed)), Observations: int64(len(observed))}}
	t.mu.Unlock()
	var all []conformance.Result
	for _, c := range conformance.Checks {
		if len(checks) == 0 || slices.Contains(checks, c.ID) {
			r := c.Judge(ev)
			r.Check = c.ID
			all = append(all, r)
		}
	}
	return all
}

// Check fails the test for each check, of these ids or of all, that the observations fail, and where nothing could be
// judged at all: a trial that proves nothing is no success. A check named here that could not be judged fails the test too.
func (t *Trial) Check(checks ...string) {
	t.tb.Helper()
	for _, id := range checks {
		if _, ok := conformance.CheckByID(id); !ok {
			t.tb.Errorf("trial: there is no check %q", id)
		}
	}
	proven := 0
	for _, r := range t.Results(checks...) {
		switch {
		case r.Outcome == conformance.Passed:
			proven++
		case r.Outcome == conformance.Failed:
			t.tb.Errorf("%s: %s", r.Check, r.Summary)
		case len(checks) > 0:
			t.tb.Errorf("%s: %s: %s", r.Check, r.Outcome, r.Reason)
		}
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.err != nil {
		t.tb.Errorf("trial: %v", t.err)
	}
	for _, err := range t.refused {
		t.tb.Errorf("trial: no observation: %v", err)
	}
	if proven == 0 && !t.tb.Failed() {
		t.tb.Errorf("trial: nothing was proven: %d observations of %d messages", len(t.observed), len(t.sent))
	}
}
