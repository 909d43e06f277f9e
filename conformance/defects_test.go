package conformance

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"pgregory.net/rapid"

	"swellbench/conformance/consumer"
	"swellbench/conformance/observe"
	"swellbench/emulator"
)

// A feed is a port that keeps what has come until it is read, as the buffer of a real one does.
type feed struct {
	ch   chan []byte
	rest []byte
}

func (f *feed) Read(p []byte) (int, error) {
	if len(f.rest) == 0 {
		b, ok := <-f.ch
		if !ok {
			return 0, io.EOF
		}
		f.rest = b
	}
	n := copy(p, f.rest)
	f.rest = f.rest[n:]
	return n, nil
}

// hear lets the reference consumer listen in virtual time, with defects, and reads what it says as it says it. The bytes
// come as a UART hands them on: sixteen at once, whatever sentence they are of, or what there is when the line falls idle.
func (b *bench) hear(t *testing.T, defects ...string) (obs []observe.Observation) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		host := func() time.Time { return b.origin.Add(time.Since(start)) }
		in := b.dev.Scenario().Installation
		st := b.dev.Stream(0)
		cfg := consumer.Config{Installation: &in, Format: formatWord(st), Baud: b.dev.Line(0).Baud, Defects: defects, Clock: host}
		if st.LayoutFile.FS != nil {
			cfg.Layout = must(emulator.LoadLayout(st.LayoutFile))
		}
		port := &feed{ch: make(chan []byte, 1<<16)}
		r, w := io.Pipe()
		done := make(chan error, 1)
		go func() {
			err := consumer.Run(t.Context(), cfg, port, w)
			w.Close()
			done <- err
		}()
		read := make(chan struct{})
		go func() {
			defer close(read)
			obs = slices.Collect(observe.NewReader(r, observe.Options{Now: host}).All())
		}()
		const fifo = 16
		var held []byte
		hand := func(at float64) {
			time.Sleep(time.Until(start.Add(time.Duration(at * 1e9))))
			port.ch <- held
			held = nil
		}
		last := math.Inf(1)
		for _, s := range b.sent {
			if len(s.Bytes) == 0 || s.Dropped != "" {
				continue
			}
			byteTime := (s.Last - s.First) / float64(len(s.Bytes))
			if len(held) > 0 && s.First-last > 4*byteTime {
				hand(last + 4*byteTime)
			}
			for i, c := range s.Bytes {
				if held = append(held, c); len(held) == fifo {
					hand(s.First + byteTime*float64(i+1))
				}
			}
			last = s.Last
		}
		if len(held) > 0 {
			hand(last + 1e-3)
		}
		time.Sleep(5 * time.Second)
		close(port.ch)
		if err := <-done; err != nil {
			t.Error(err)
		}
		<-read
	})
	return obs
}

// ratio is how far off a result is, in tolerances; of one that counts it is the count.
func (r *Result) ratio() float64 {
	if r.Tolerance > 0 {
		return math.Abs(r.Worst) / r.Tolerance
	}
	return r.Worst
}

// suiteBenches are the cases of a suite as played in virtual time, each once.
type suiteBenches struct {
	mu   sync.Mutex
	made map[string]*bench
}

func (s *suiteBenches) get(t *testing.T, c *Case) *bench {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.made == nil {
		s.made = map[string]*bench{}
	}
	if s.made[c.Name] == nil {
		s.made[c.Name] = benchOf(t, c.Scenario)
	}
	return s.made[c.Name]
}

// suitesNamed loads ready-made suites as one.
func suitesNamed(t *testing.T, names ...string) *Suite {
	t.Helper()
	all := &Suite{}
	for _, name := range names {
		s, err := LoadSuite(name)
		if err != nil {
			t.Fatal(err)
		}
		all.Cases = append(all.Cases, s.Cases...)
	}
	return all
}

// Each seeded defect fails the check that is meant to catch it, by five tolerances at least, in a case that is to prove
// that check; all but a few in the default suite.
func TestSeededDefectsAreCaught(t *testing.T) {
	suite := suitesNamed(t, "default", "full")
	var made suiteBenches
	var mu sync.Mutex
	caught := map[string]bool{}
	t.Run("all", func(t *testing.T) {
		for i, d := range consumer.Defects {
			if testing.Short() && i%9 != 0 {
				continue
			}
			t.Run(d.Name, func(t *testing.T) {
				t.Parallel()
				cases := provers(suite, d.Expect)
				if len(cases) == 0 {
					t.Fatalf("no case is to prove %s", d.Expect)
				}
				var tried []string
				for _, c := range cases {
					b := made.get(t, &c)
					check, ok := CheckByID(d.Expect)
					if !ok {
						t.Fatalf("there is no check %s", d.Expect)
					}
					r := check.Judge(b.evidence(b.hear(t, d.Name)))
					if r.Outcome == Failed && (r.Tolerance == 0 || r.ratio() >= 5) {
						mu.Lock()
						caught[d.Expect] = true
						mu.Unlock()
						if r.Summary == "" || len(r.Examples) == 0 {
							t.Errorf("%s in %s: no summary or example: %+v", d.Expect, c.Name, r)
						}
						t.Logf("%s: %s", c.Name, r.Summary)
						failed, x, _ := b.diagnose(b.hear(t, d.Name))
						if len(x.Findings) == 0 || !slices.Contains(strings.Fields(d.Finding), x.Findings[0].ID) {
							t.Errorf("in %s: failed %v, findings %s, want %s first", c.Name, failed, idsOf(x.Findings), d.Finding)
						}
						return
					}
					tried = append(tried, fmt.Sprintf("%s: %v, %.3g tolerances: %s", c.Name, r.Outcome, r.ratio(), r.Summary))
				}
				t.Errorf("%s is not failed by five tolerances:\n  %s", d.Expect, strings.Join(tried, "\n  "))
			})
		}
	})
	if testing.Short() {
		return
	}
	for _, c := range Checks {
		if !caught[c.ID] {
			t.Errorf("no seeded defect fails %s", c.ID)
		}
	}
}

// provers gives the cases of a suite that are to prove a check, the shortest first.
func provers(suite *Suite, check string) (cases []Case) {
	for _, c := range suite.Cases {
		if slices.Contains(c.Checks, check) {
			cases = append(cases, c)
		}
	}
	slices.SortStableFunc(cases, func(a, b Case) int { return cmp.Compare(a.Scenario.Duration, b.Scenario.Duration) })
	return cases
}

// The reference consumer without a defect passes what each case is to prove, and fails nothing else.
func TestReferencePassesInVirtualTime(t *testing.T) {
	suite := suitesNamed(t, "default", "full")
	for i, c := range suite.Cases {
		if testing.Short() && i%5 != 0 {
			continue
		}
		t.Run(c.Name, func(t *testing.T) {
			t.Parallel()
			b := benchOf(t, c.Scenario)
			ev := b.evidence(b.hear(t))
			for _, check := range Checks {
				r := check.Judge(ev)
				proves := slices.Contains(c.Checks, check.ID)
				if r.Outcome == Failed || proves && r.Outcome != Passed {
					t.Errorf("%s %v: %s (%s)", check.ID, r.Outcome, r.Summary, r.Reason)
				}
			}
		})
	}
}

// Whatever the case, no check accuses the reference consumer.
func TestReferenceRandom(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		yaml := randomCase(rt)
		rates := map[string]bool{}
		for _, m := range regexp.MustCompile(`type: (?:GGA|HDT|XDR), rate: ([0-9]+)`).FindAllStringSubmatch(yaml, -1) {
			rates[m[1]] = true
		}
		if strings.Contains(yaml, "out-of-order") || len(rates) > 1 {
			rt.Skip("it dates what has no time of its own by the epochs about it, which are not regular here")
		}
		b := newBench(rt, yaml)
		for id, r := range judgeAll(b.evidence(b.hear(t))) {
			if r.Outcome == Failed {
				rt.Errorf("%s accuses: %s\n%s", id, r.Summary, yaml)
			}
		}
	})
}
