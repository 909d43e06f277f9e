package conformance

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/scenarios"
)

// A Log is what a program exported after a scenario was played to it, to be judged after the fact.
type Log struct {
	Scenario *scenarios.Scenario
	Path     string       // of the log
	Map      *observe.Map // how its lines become observations; nil: as a consumer prints them
	// SentLog is the path of the sent-log of the run, which tells what never reached the program and how late the host
	// was; "" takes it that all went out on time.
	SentLog string
	Checks  []string     // ids; nil is all
	Logger  *slog.Logger // nil discards
	// Soundings are as in [Options].
	Soundings diagnose.Conditions
	Profile   *Profile // what the program supports; nil is everything
}

// Afterwards judges a log. The stream is worked out anew from the scenario and its seed, which give the same bytes on
// every run; so only the log is needed, and the sent-log if something was lost. The error is that of a file or of the
// scenario; what is wrong with the log itself is in the verdict.
func Afterwards(l Log) (Verdict, error) {
	v := Verdict{Suite: "log", About: "judged after the fact", Command: []string{l.Path}, Started: time.Now()}
	if l.Logger == nil {
		l.Logger = slog.New(slog.DiscardHandler)
	}
	sc, sent, late, err := l.sent()
	if err != nil {
		return v, err
	}
	device, err := emulator.New(sc)
	if err != nil {
		return v, err
	}
	c := Case{Name: sc.Name, About: sc.About, Scenario: sc, Checks: l.Checks}
	if c.Checks == nil {
		for _, check := range Checks {
			c.Checks = append(c.Checks, check.ID)
		}
	}
	res := CaseResult{Name: c.Name, About: c.About, Seed: sc.Seed, Settings: device.Line(0).String(), Format: device.Stream(0).Format,
		Start: sc.UTC(0), Duration: seconds(float64(sc.Duration)), HostLateS: late, Exit: "judged after the fact"}
	f, err := os.Open(l.Path)
	if err != nil {
		return v, err
	}
	defer f.Close()
	// The log is read once, while the checks walk it; what it counted is known only then.
	reader := observe.NewReader(f, observe.Options{File: true, Map: l.Map})
	ev := &Evidence{Case: &c, Truth: device.Truth(), Device: device, Origin: sc.UTC(0), HostLateS: late, Soundings: l.Soundings, Declared: l.Profile.declared(), Observed: reader.All(),
		Sent: func(yield func(line.Sent) bool) {
			n := 0
			for m, e := range sent(device) {
				if err = e; err != nil || !yield(m) {
					return
				}
				n++
			}
			res.Sent = n
		}}
	if l.SentLog == "" {
		ev.Outline = outline(device, &res.Sent)
	}
	ev.tallied()
	ev.ObserveStats = reader.Stats()
	ev.tally.tally.refused = ev.ObserveStats.NRefused()
	if err := errors.Join(err, reader.Err()); err != nil {
		return v, fmt.Errorf("%s: %w", l.Path, err)
	}
	res.Output, res.Observed = ev.ObserveStats, int(ev.ObserveStats.Observations)
	if r := ev.ObserveStats.Refused; len(r) > 0 {
		res.Notes = append(res.Notes, fmt.Sprintf("%d of %d lines are no observations; the first is line %d (%s, %s): %s",
			ev.ObserveStats.NRefused(), ev.ObserveStats.Lines, r[0].Line, r[0].Reason, r[0].Detail, r[0].Text))
	}
	switch {
	case ev.ObserveStats.Lines == 0:
		res.Incident = incidentf(Silent, "there is nothing in the log")
	case res.Observed == 0:
		res.Incident = incidentf(Rubbish, "%s", res.Notes[0])
	}
	if why := l.Profile.skips(&c); why != "" {
		for _, id := range c.Checks {
			res.Results = append(res.Results, skippedCheck(id, why))
		}
	} else if res.Incident != nil {
		res.Results = couldNotRun(c.Checks, res.Incident.Text)
	} else {
		res.Results = l.Profile.applied(&c, judge(c.Checks, ev, l.Logger))
		ev.show(&res, res.Results)
		res.explain(ev, l.Logger)
	}
	v.Cases, v.Whole = []CaseResult{res}, []string{res.Name}
	v.Elapsed = time.Since(v.Started)
	return v, nil
}

// A sending yields what became of each message of a device, in the order of transmission.
type sending func(*emulator.Device) iter.Seq2[line.Sent, error]

// sent is the scenario with its start, what was sent, and how late the host was.
func (l Log) sent() (*scenarios.Scenario, sending, float64, error) {
	sc := l.Scenario
	if l.SentLog == "" {
		if sc.Start.Now {
			return nil, nil, 0, usagef("%s starts at the moment of the run; the sent-log of that run tells when that was, so give it with --sent-log, or the instant itself with --start", sc.Name)
		}
		return sc, asIntended, 0, nil
	}
	start, late := time.Time{}, 0.0
	err := l.walk(func(r emulator.SentRecord) bool {
		if start.IsZero() {
			// The log has microseconds; a scenario that starts now starts at a whole tenth of a second.
			start = r.UTC.Add(-time.Duration(r.Valid * 1e9)).Round(time.Microsecond)
		}
		late = max(late, r.Late)
		return true
	})
	if err != nil {
		return nil, nil, 0, err
	}
	if start.IsZero() {
		return nil, nil, 0, fmt.Errorf("%s: there is nothing in the sent-log", l.SentLog)
	}
	if sc.Start.Now {
		sc = sc.WithStart(start)
	} else if d := sc.UTC(0).Sub(start); d < -time.Millisecond || d > time.Millisecond {
		return nil, nil, 0, fmt.Errorf("%s: the run of this sent-log began at %s, the scenario %s at %s; is it the log of another scenario?", l.SentLog, start.Format(time.RFC3339Nano), sc.Name, sc.UTC(0).Format(time.RFC3339Nano))
	}
	return sc, l.asLogged, late, nil
}

func (l Log) walk(each func(emulator.SentRecord) bool) error {
	f, err := os.Open(l.SentLog)
	if err != nil {
		return err
	}
	defer f.Close()
	for r, err := range emulator.ReadSentLog(f) {
		if err != nil {
			return fmt.Errorf("%s: %w", filepath.Base(l.SentLog), err)
		}
		if !each(r) {
			break
		}
	}
	return nil
}

// asIntended yields all messages as they leave in virtual time, stream by stream.
func asIntended(d *emulator.Device) iter.Seq2[line.Sent, error] {
	return func(yield func(line.Sent, error) bool) {
		for i := range d.Streams() {
			if !transmitted(d, i, yield) {
				return
			}
		}
	}
}

// outline is asIntended but for what messages say; nil where a stream has none. It counts them.
func outline(d *emulator.Device, n *int) iter.Seq[line.Sent] {
	var streams []iter.Seq2[line.Message, error]
	for i := range d.Streams() {
		s, ok := d.Outline(i)
		if !ok {
			return nil
		}
		streams = append(streams, s)
	}
	return func(yield func(line.Sent) bool) {
		*n = 0
		for i, s := range streams {
			going := true
			err := line.Transmit(d.Line(i), s, writerFunc(func(p []byte) (int, error) {
				if !going {
					return 0, errStop
				}
				return len(p), nil
			}), func(m line.Sent) {
				*n++
				going = going && yield(m)
			})
			if err != nil {
				return
			}
		}
	}
}

var errStop = errors.New("enough")

func transmitted(d *emulator.Device, i int, yield func(line.Sent, error) bool) bool {
	going := true
	err := emulator.RenderAhead(d, i, writerFunc(func(p []byte) (int, error) {
		if !going {
			return 0, errStop
		}
		return len(p), nil
	}), func(s line.Sent) { going = going && yield(s, nil) })
	if err != nil && going {
		yield(line.Sent{}, err)
		return false
	}
	return going
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

// asLogged yields the messages of the device with what the sent-log says became of each.
func (l Log) asLogged(d *emulator.Device) iter.Seq2[line.Sent, error] {
	return func(yield func(line.Sent, error) bool) {
		next := make([]func() (line.Message, error, bool), d.Streams())
		for i := range next {
			var stop func()
			next[i], stop = iter.Pull2(d.Messages(i))
			defer stop()
		}
		n := 0
		var problem error
		err := l.walk(func(r emulator.SentRecord) bool {
			n++
			if r.Stream < 0 || r.Stream >= len(next) {
				problem = fmt.Errorf("%s line %d: stream %d; the scenario has %d", filepath.Base(l.SentLog), n, r.Stream, len(next))
				return false
			}
			m, err, ok := next[r.Stream]()
			switch {
			case err != nil:
				problem = err
			case !ok || m.Kind != r.Kind || m.Valid-r.Valid > 1e-6 || r.Valid-m.Valid > 1e-6:
				problem = fmt.Errorf("%s line %d: %s of %.6f s was sent; the scenario sends %s of %.6f s there. Is it the log of another scenario, or of another version of it?",
					filepath.Base(l.SentLog), n, r.Kind, r.Valid, m.Kind, m.Valid)
			}
			if problem != nil {
				return false
			}
			lost := 0
			if r.Dropped != "" {
				lost = len(m.Bytes)
			}
			return yield(line.Sent{Message: m, First: r.First, Last: r.Last, LateS: r.Late, HeldS: r.Held, Dropped: r.Dropped, Lost: lost}, nil)
		})
		if err = errors.Join(problem, err); err != nil {
			yield(line.Sent{}, err)
		}
	}
}

var _ io.Writer = writerFunc(nil)
