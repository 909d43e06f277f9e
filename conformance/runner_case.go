package conformance

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"swellbench/emulator"
	"swellbench/emulator/port"
)

// A playedCase is one case under way. Its run reads from top to bottom: ports, consumer, wait for it, play, drain,
// end, judge.
type playedCase struct {
	*runner
	c     *Case
	res   *CaseResult
	dir   string // private to the case
	index int

	device   *emulator.Device
	names    []string // of the streams
	ports    []port.Port
	sent     *spool
	out      *intake
	stderr   tail
	proc     *process
	origin   time.Time
	hangUp   func()         // closes the ports, once
	playing  func()         // ends the watching of how the consumer waits for a processor
	waited   func() float64 // how long it waited, once that is over, s
	misheard string         // that the consumer set its port to another rate than the line's
}

const (
	settleLimit = 3 * time.Second        // for a consumer to set the port it has opened
	lead        = 150 * time.Millisecond // from the decision to play to scenario time 0, at least
	quietTime   = 700 * time.Millisecond // a consumer that has said nothing for so long has said all
	quietAtEnd  = 200 * time.Millisecond // the same, once it has spoken of the last epoch
	drainLimit  = 5 * time.Second
)

// run plays the case and fills in the result. Whatever happens on the way, nothing it started is left behind.
func (p *playedCase) run(ctx context.Context) {
	if why := p.o.skips(p.c); why != "" {
		for _, id := range p.c.Checks {
			p.res.Results = append(p.res.Results, skippedCheck(id, why))
		}
		return
	}
	incident := p.playTo(ctx)
	if incident == nil || incident.Kind.judged() {
		p.res.Results = p.judge()
		if err := p.sent.failed(); err != nil {
			incident = incidentf(HostFailed, "%v", err)
		}
	}
	if incident != nil && !incident.Kind.judged() {
		p.res.Results = couldNotRun(p.c.Checks, incident.Text)
	}
	p.res.Incident = incident
	if p.sent != nil {
		p.sent.close()
	}
	if p.out != nil {
		p.out.close()
	}
}

// playTo starts the consumer, plays the case to it and ends it.
func (p *playedCase) playTo(ctx context.Context) *Incident {
	args, incident := p.prepare()
	if p.hangUp != nil {
		defer p.hangUp()
	}
	if incident != nil {
		return incident
	}
	if incident := p.start(args); incident != nil {
		return incident
	}
	incident = p.waitOpen(ctx)
	if incident == nil {
		incident = p.play(ctx)
	}
	if incident == nil {
		incident = p.drain(ctx)
	}
	if p.playing != nil {
		p.playing()
		p.res.HostLateS += p.waited() // one after the other, at worst
	}
	left := !p.allOpen() && !p.proc.hasExited()
	grace := p.o.Grace
	if incident != nil && incident.Kind == Flooded {
		grace = 0
	}
	end := p.proc.end(grace, p.hangUp)
	p.out.finish()
	return p.conclude(incident, end, left)
}

// prepare makes the ports and the files of the case, and the arguments of the consumer.
func (p *playedCase) prepare() ([]string, *Incident) {
	var err error
	if p.device, err = emulator.New(p.c.Scenario); err != nil {
		return nil, incidentf(HostFailed, "%v", err) // it was built before, when the suite was checked
	}
	p.names = streamNames(p.device)
	p.res.Format = formatWord(p.device.Stream(0))
	p.res.Settings = p.device.Line(0).String()
	if p.sent, err = newSpool(filepath.Join(p.dir, "sent")); err != nil {
		return nil, incidentf(HostFailed, "%v", err)
	}
	sheet := filepath.Join(p.dir, "installation.yaml")
	if err := os.WriteFile(sheet, p.c.Scenario.Installation.Append(nil), 0o600); err != nil {
		return nil, incidentf(HostFailed, "write the installation file: %v", err)
	}
	p.hangUp = sync.OnceFunc(func() {
		for _, q := range p.ports {
			q.Close()
		}
	})
	for i := range p.names {
		q, err := p.o.OpenPort(filepath.Join(p.dir, "port-"+strconv.Itoa(i+1)))
		if err != nil {
			return nil, incidentf(NoPort, "no port to play on: %v", err)
		}
		p.ports = append(p.ports, q)
	}

	file := ""
	var from source
	if slices.Contains(sourceWays, p.o.Observations) {
		if from, err = openSource(p.o.Observations, p.dir); err != nil {
			return nil, incidentf(NoPort, "no place for the observations: %v", err)
		}
	}
	layouts := make([]string, len(p.names))
	for i := range layouts {
		if layouts[i], err = layoutCopy(p.device.Stream(i), filepath.Join(p.dir, fmt.Sprintf("layout-%d", i+1))); err != nil {
			return nil, incidentf(HostFailed, "write the layout file: %v", err)
		}
	}
	args, err := p.consumer.fill(func(name string) string {
		word, stream, named := strings.Cut(name, ".")
		i := 0
		for k, n := range p.names {
			if named && n == stream {
				i = k
			}
		}
		switch word {
		case "port":
			return p.ports[i].Path()
		case "baud":
			return strconv.Itoa(p.device.Line(i).Baud)
		case "format":
			return formatWord(p.device.Stream(i))
		case "layout":
			return layouts[i]
		case "installation":
			return sheet
		default:
			if from != nil {
				return from.Address()
			}
			file = filepath.Join(p.dir, "observations")
			return file
		}
	})
	if err != nil {
		return nil, incidentf(NotStarted, "%v", err)
	}
	p.res.Command = args
	if p.out, err = newIntake(filepath.Join(p.dir, "output"), file, p.o.Map, from); err != nil {
		return nil, incidentf(HostFailed, "%v", err)
	}
	return args, nil
}

// start starts the consumer.
func (p *playedCase) start(args []string) *Incident {
	proc, err := startProcess(args, p.consumer.Dir, slices.Concat(p.c.Environment, p.consumer.Env), rand.Text(), p.out.takeStdout, func(r io.Reader) {
		p.out.take(r, &p.stderr, "standard error")
	})
	if err != nil {
		return startIncident(args[0], err)
	}
	p.proc = proc
	return nil
}

// stop tells what has happened that makes it pointless to go on, nil if nothing has.
func (p *playedCase) stop(ctx context.Context) *Incident {
	if ctx.Err() != nil {
		return incidentf(Interrupted, "the run was ended while the case was under way: %v", context.Cause(ctx))
	}
	if what := p.out.meter.flooded(); what != "" {
		return p.floodIncident(what)
	}
	return nil
}

func (p *playedCase) floodIncident(what string) *Incident {
	return incidentf(Flooded, "the consumer %s; it was ended. One observation an epoch is enough", what)
}

// watch returns a context that ends when there is no point in going on: the run is ended, the consumer is gone or
// floods us.
func (p *playedCase) watch(ctx context.Context) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(ctx)
	go func() {
		defer cancel()
		select {
		case <-p.proc.exited:
		case <-p.out.flood:
		case <-ctx.Done():
		}
	}()
	return ctx, cancel
}

// waitOpen waits until the consumer has opened its ports and has done with setting them.
func (p *playedCase) waitOpen(parent context.Context) *Incident {
	ctx, cancel := p.watch(parent)
	defer cancel()
	ctx, stop := context.WithTimeout(ctx, p.o.OpenTimeout)
	defer stop()
	for i, q := range p.ports {
		if err := q.WaitOpen(ctx); err == nil {
			continue
		} else if in := p.stop(parent); in != nil {
			return in
		} else if p.proc.hasExited() {
			return incidentf(EndedAtStart, "the consumer ended before it opened the port") // how, is added at the end
		} else if ctx.Err() == nil {
			return incidentf(PortLost, "waiting for the consumer to open %s: %v", q.Path(), err)
		}
		which := ""
		if len(p.ports) > 1 {
			which = " of stream " + p.names[i]
		}
		return incidentf(NeverOpened, "the consumer did not open the port%s within %g s; was {port} in its arguments what it opens?", which, p.o.OpenTimeout.Seconds())
	}
	p.settle(ctx)
	if p.proc.hasExited() {
		return incidentf(EndedAtStart, "the consumer opened the port and ended before the stream began")
	}
	return nil
}

// settle waits until the consumer has done with setting its ports, and notes a speed that is not the line's.
func (p *playedCase) settle(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, settleLimit)
	defer cancel()
	for i, q := range p.ports {
		want := p.device.Line(i).Baud
		if q.Settled(ctx, want) != nil {
			return // whatever ended it shows when the stream is played
		}
		if baud, ok := q.Speed(); ok && baud != want {
			p.misheard = fmt.Sprintf("the consumer set its port to %d baud; the line runs at %d", baud, want)
			p.note("%s", p.misheard)
		}
	}
}

func (p *playedCase) allOpen() bool {
	for _, q := range p.ports {
		if !q.Open() {
			return false
		}
	}
	return true
}

// play ties scenario time 0 to the wall clock and plays all streams.
func (p *playedCase) play(parent context.Context) *Incident {
	ctx, cancel := p.watch(parent)
	defer cancel()
	// Scenario time 0 is a whole tenth of a second of UTC, so that stamps are short and consumers that round show it.
	p.origin = time.Now().Add(lead)
	p.origin = p.origin.Add(100*time.Millisecond - time.Duration(p.origin.UnixNano()%int64(100*time.Millisecond)))
	sc := p.c.Scenario
	if sc.Start.Now {
		sc = sc.WithStart(p.origin.Round(0))
	}
	var err error
	if p.device, err = emulator.New(sc); err != nil {
		return incidentf(HostFailed, "%v", err)
	}
	p.res.Start = sc.UTC(0)
	p.tell(CasePlaying, p.index, p.c, nil)

	over := make(chan struct{})
	p.waited = watchWaits(p.proc.cmd.Process.Pid, over)
	p.playing = sync.OnceFunc(func() { close(over) })
	errs := make([]error, len(p.ports))
	late := make([]float64, len(p.ports))
	var wg sync.WaitGroup
	for i, q := range p.ports {
		wg.Go(func() {
			sum, err := emulator.Play(ctx, p.device, i, q, emulator.PlayOptions{Origin: p.origin, Sent: p.sent.add, Logger: p.o.Logger})
			errs[i], late[i] = err, sum.Late.Max().Seconds()
		})
	}
	wg.Wait()
	p.sent.seal()
	for _, l := range late {
		p.res.HostLateS = max(p.res.HostLateS, l)
	}
	if in := p.stop(parent); in != nil {
		return in
	}
	if err := errors.Join(errs...); err != nil {
		at := time.Since(p.origin).Seconds()
		if p.proc.hasExited() {
			return incidentf(EndedMidCase, "the consumer ended %.1f s after the stream began, %.1f s before its end", max(0, at), max(0, float64(sc.Duration)-at))
		}
		return incidentf(PortLost, "the port failed %.1f s after the stream began: %v", max(0, at), err)
	}
	return nil
}

// drain waits until the consumer has said what it has to say: it has spoken of the last epoch, or has fallen silent,
// or has ended.
func (p *playedCase) drain(parent context.Context) *Incident {
	ctx, cancel := p.watch(parent)
	defer cancel()
	_, st := p.sent.summary()
	final := p.device.UTC(st.lastValidS).Add(-time.Millisecond)
	begun := time.Now()
	for ctx.Err() == nil && time.Since(begun) < drainLimit {
		select {
		case <-ctx.Done():
		case <-time.After(20 * time.Millisecond):
		}
		last := begun
		if n, t := p.out.meter.seen(); n > 0 && t.After(begun) {
			last = t
		}
		quiet := quietTime
		if p.out.heard(final) {
			quiet = quietAtEnd
		}
		if time.Since(last) >= quiet {
			return nil
		}
	}
	if time.Since(begun) >= drainLimit {
		p.note("the consumer still wrote %v after the last byte; what it wrote later was not waited for", drainLimit)
	}
	return p.stop(parent)
}

func (p *playedCase) note(format string, args ...any) {
	p.res.Notes = append(p.res.Notes, fmt.Sprintf(format, args...))
}

// judge hands all that the case left behind to its checks.
func (p *playedCase) judge() []Result {
	ev := &Evidence{Case: p.c, Truth: p.device.Truth(), Device: p.device, Origin: p.origin,
		Sent: p.sent.all(), Observed: p.out.observations(), ObserveStats: p.res.Output, HostLateS: p.res.HostLateS, Soundings: p.o.Soundings, Declared: p.o.Profile.declared()}
	rs := p.o.Profile.applied(p.c, judge(p.c.Checks, ev, p.o.Logger))
	for i := range rs {
		rs[i].excuse(p.res.HostLateS)
	}
	ev.show(p.res, rs)
	p.res.Results = rs
	p.res.explain(ev, p.o.Logger)
	return rs
}

func streamNames(d *emulator.Device) []string {
	names := make([]string, d.Streams())
	for i := range names {
		names[i] = d.StreamName(i)
	}
	return names
}
