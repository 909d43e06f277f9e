package conformance

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/emulator/port"
)

// Options say how a suite is run. The zero value is fit for use.
type Options struct {
	// Parallel is the number of cases played side by side; 0 is [DefaultParallel]. Cases run at real speed, so they
	// mostly wait; too many of them on a small machine make the host late, which the checks then tell.
	Parallel int
	// Case selects cases by name, with the wildcards of [path.Match]; "" is all.
	Case string
	// Profile says what the program supports; nil is everything.
	Profile *Profile
	// Formats are those of streams that the program takes; a profile that names its own counts before them. Where neither
	// does, it is nmea0183 in ready-made suites, and all in suites of one's own.
	Formats []string
	// Shard is the part of the suite to play; the zero Shard is all.
	Shard Shard
	// Progress is told how the run goes on, one call at a time; nil: nobody is.
	Progress func(Progress)
	Logger   *slog.Logger // nil discards
	// Soundings are those for which findings say what they do to one; the zero Conditions are the usual ones.
	Soundings diagnose.Conditions

	// Observations is where the program puts what it understood: "" or output, which is its standard output, or where its
	// arguments have {observations}, file, which is the file of that name; pty, tcp or udp, which is a port or an address of its
	// own for each case. Map says how lines become observations; nil is one JSON object a line, and NMEA 0183 from a port or an
	// address.
	Observations string
	Map          *observe.Map

	OpenTimeout time.Duration // for the consumer to open its port; 0 is 10 s
	Grace       time.Duration // for the consumer to end when asked to; 0 is 2 s

	// OpenPort makes the port of one stream under the given path, which does not exist yet; nil is [port.OpenPTY].
	OpenPort func(link string) (port.Port, error)
	// TempDir is where each case gets a private folder, gone when the case is done; "" is that of the system.
	TempDir string

	readyMade bool // the suite is one of ours
}

// DefaultParallel is how many cases are played side by side unless the options say otherwise.
const DefaultParallel = 6

// Stage is how far a case has come.
type Stage int

// The stages, in order.
const (
	CaseStarting Stage = iota // the consumer is being started
	CasePlaying               // the stream begins; it lasts the duration of the scenario
	CaseDone                  // the result is there
)

// Progress is one step of a run.
type Progress struct {
	Stage       Stage
	Case        string
	Index       int           // of the case in the run, from 0
	Total       int           // cases of the run
	Done        int           // cases done so far
	Duration    time.Duration // of the scenario
	Remaining   time.Duration // scenario time of the cases that are not done, those under way included
	Result      *CaseResult   // at CaseDone
	Parallelism int
}

// Run plays each case of the suite to a consumer of its own and judges what that says.
//
// The error is a [UsageError], or one of the files of the suite; then nothing was started. Whatever happens to a
// consumer, a port or the host while the suite runs is in the verdict, and the other cases still run. When ctx ends,
// the cases under way are ended, their consumers too, and the verdict has what was gathered.
func Run(ctx context.Context, suite *Suite, consumer ConsumerCommand, o Options) (Verdict, error) {
	v := Verdict{Suite: suite.Name, About: suite.About, Seed: suite.Seed, Varied: suite.Varied, Command: slices.Clone(consumer.Args), Started: time.Now()}
	if err := consumer.validate(); err != nil {
		return v, err
	}
	cases, err := suite.Select(o.Case)
	if err != nil {
		return v, err
	}
	for i := range cases {
		v.Whole = append(v.Whole, cases[i].Name)
	}
	v.Shard = o.Shard
	cases = o.Shard.of(cases)
	if err := checkCases(cases, consumer); err != nil {
		return v, err
	}
	if err := errors.Join(o.checkObservations(consumer), o.checkFormats()); err != nil {
		return v, err
	}
	o.readyMade = suite.readyMade
	o = o.withDefaults()

	r := &runner{consumer: consumer, o: o, total: len(cases)}
	for i := range cases {
		r.remaining += seconds(float64(cases[i].Scenario.Duration))
	}
	v.Cases = make([]CaseResult, len(cases))
	queue := make(chan int)
	var wg sync.WaitGroup
	for range min(o.Parallel, len(cases)) {
		wg.Go(func() {
			for i := range queue {
				v.Cases[i] = r.play(ctx, i, &cases[i])
			}
		})
	}
	for _, i := range longestFirst(cases) {
		queue <- i
	}
	close(queue)
	wg.Wait()
	v.Interrupted = ctx.Err() != nil
	v.Elapsed = time.Since(v.Started)
	return v, nil
}

func (o Options) withDefaults() Options {
	if o.Parallel <= 0 {
		o.Parallel = DefaultParallel
	}
	if o.Logger == nil {
		o.Logger = slog.New(slog.DiscardHandler)
	}
	o.OpenTimeout = cmp.Or(o.OpenTimeout, 10*time.Second)
	o.Grace = cmp.Or(o.Grace, 2*time.Second)
	if o.OpenPort == nil {
		o.OpenPort = port.OpenPTY
	}
	return o
}

// checkObservations finds what is wrong with where observations are to come from.
func (o *Options) checkObservations(consumer ConsumerCommand) error {
	used, err := consumer.used()
	if err != nil {
		return err
	}
	if p := o.Profile; p != nil {
		o.Observations = cmp.Or(o.Observations, p.Observations)
		o.Map = cmp.Or(o.Map, p.form)
	}
	told := used["observations"]
	switch way := o.Observations; {
	case way == "":
	case way == "output":
		if told {
			return usagef("the observations are expected on standard output, and the program is told {observations}: leave one of them out")
		}
	case way == "file" || slices.Contains(sourceWays, way):
		if !told {
			return usagef("the program is not told where to put its observations (%s): put {observations} into one of its arguments", way)
		}
		if way != "file" && o.Map == nil {
			o.Map = &observe.Map{Format: observe.NMEA0183}
		}
	default:
		return usagef("observations are expected at %q, allowed: output, file, %s", way, strings.Join(sourceWays, ", "))
	}
	return nil
}

// longestFirst gives the order in which the cases are started: a long one started last would keep the run waiting.
func longestFirst(cases []Case) []int {
	order := make([]int, len(cases))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(cases[b].Scenario.Duration, cases[a].Scenario.Duration)
	})
	return order
}

// Select returns the cases whose name matches the pattern, in the order of the suite; "" matches all.
func (s *Suite) Select(pattern string) ([]Case, error) {
	if pattern == "" {
		pattern = "*"
	}
	var found []Case
	var names []string
	for _, c := range s.Cases {
		ok, err := path.Match(pattern, c.Name)
		if err != nil {
			return nil, usagef("case pattern %q is broken; allowed: * for any letters, ? for one, [a-z] for one of a range", pattern)
		}
		if ok {
			found = append(found, c)
		}
		names = append(names, c.Name)
	}
	if len(found) == 0 {
		return nil, usagef("no case of suite %s matches %q; its cases: %s; * stands for any letters", s.Name, pattern, strings.Join(names, ", "))
	}
	return found, nil
}

// checkCases finds what no run could ever do, before anything is started.
func checkCases(cases []Case, consumer ConsumerCommand) error {
	var errs []error
	for i := range cases {
		c := &cases[i]
		d, err := emulator.New(c.Scenario)
		if err != nil {
			errs = append(errs, fmt.Errorf("case %s: %w", c.Name, err))
			continue
		}
		errs = append(errs, consumer.validateFor(c.Name, streamNames(d)))
		for _, id := range c.Checks {
			if _, ok := CheckByID(id); !ok {
				errs = append(errs, usagef("case %s: there is no check %q; known: %s", c.Name, id, strings.Join(checkIDs(), ", ")))
			}
		}
	}
	return errors.Join(errs...)
}

// A runner is one run of a suite.
type runner struct {
	consumer ConsumerCommand
	o        Options
	total    int

	mu        sync.Mutex // held while Progress is called
	done      int
	remaining time.Duration
}

// tell reports progress.
func (r *runner) tell(stage Stage, i int, c *Case, result *CaseResult) {
	r.mu.Lock()
	defer r.mu.Unlock()
	d := seconds(float64(c.Scenario.Duration))
	if stage == CaseDone {
		r.done++
		r.remaining -= d
	}
	if r.o.Progress != nil {
		r.o.Progress(Progress{Stage: stage, Case: c.Name, Index: i, Total: r.total, Done: r.done, Duration: d,
			Remaining: r.remaining, Result: result, Parallelism: min(r.o.Parallel, r.total)})
	}
}

// play plays one case in a folder of its own.
func (r *runner) play(ctx context.Context, i int, c *Case) (res CaseResult) {
	begun := time.Now()
	r.tell(CaseStarting, i, c, nil)
	defer func() {
		res.Elapsed = time.Since(begun)
		if in := res.Incident; in != nil {
			r.o.Logger.Info("case could not be played as it should", "case", c.Name, "incident", in.Kind.String(), "text", in.Text)
		}
		r.tell(CaseDone, i, c, &res)
	}()
	res = CaseResult{Name: c.Name, About: c.About, Environment: c.Environment, Seed: c.Scenario.Seed, Duration: seconds(float64(c.Scenario.Duration))}
	if ctx.Err() != nil {
		res.Incident = incidentf(Interrupted, "not played: the run was ended before")
		res.Results = couldNotRun(c.Checks, res.Incident.Text)
		return res
	}
	dir, err := os.MkdirTemp(r.o.TempDir, "swellbench-case-") // readable by us only
	if err != nil {
		res.Incident = incidentf(HostFailed, "no temporary folder for the case: %v", err)
		res.Results = couldNotRun(c.Checks, res.Incident.Text)
		return res
	}
	defer os.RemoveAll(dir)
	one := &playedCase{runner: r, c: c, res: &res, dir: dir, index: i}
	one.run(ctx)
	return res
}

// couldNotRun is the result of each check of a case that could not be judged.
func couldNotRun(ids []string, reason string) []Result {
	rs := make([]Result, len(ids))
	for i, id := range ids {
		rs[i] = Result{Check: id, Outcome: CouldNotRun, Summary: "not judged: " + reason, Reason: reason}
	}
	return rs
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// judge asks each check of the case for its result. A check that fails by a defect of its own takes no other with it.
func judge(ids []string, ev *Evidence, log *slog.Logger) []Result {
	rs := make([]Result, len(ids))
	for i, id := range ids {
		rs[i] = judgeOne(id, ev, log)
	}
	return rs
}

func judgeOne(id string, ev *Evidence, log *slog.Logger) (res Result) {
	defer func() {
		if p := recover(); p != nil {
			stack := make([]byte, 8<<10)
			log.Error("check panicked", "check", id, "panic", p, "stack", string(stack[:runtime.Stack(stack, false)]))
			reason := fmt.Sprintf("the check itself broke (%v); this is a defect of swellbench, please report it", p)
			res = Result{Check: id, Outcome: CouldNotRun, Summary: reason, Reason: reason}
		}
	}()
	check, _ := CheckByID(id)
	res = check.Judge(ev)
	res.Check = id
	return res
}
