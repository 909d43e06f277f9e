package conformance

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
)

var (
	update = flag.Bool("update", false, "rewrite the matrix of mistakes and findings")
	every  = flag.Bool("every", false, "diagnose every mistake in every scenario and style, and 200 pairs; takes minutes")
)

func (b *bench) diagnose(obs []observe.Observation) (failed []string, d diagnose.Diagnosis, took time.Duration) {
	ev := b.evidence(obs)
	var rs []Result
	for _, c := range Checks {
		r := c.Judge(ev)
		if r.Check = c.ID; r.Outcome == Failed {
			failed = append(failed, c.ID)
		}
		rs = append(rs, r)
	}
	at := time.Now()
	d = ev.Diagnose(failed)
	d.With(told(rs, ev)...)
	return failed, d, time.Since(at)
}

// spoilt plays a scenario to the program with the mistakes.
func spoilt(b *bench, style string, ms ...*seededMistake) []observe.Observation {
	var p program
	for _, m := range ms {
		m.spoil(&p, &b)
	}
	l := p.listener(b)
	switch style {
	case "by sentence":
		l.perSentence = true
	case "by sentence, on arrival":
		l.perSentence, l.arrival = true, true
	case "few digits, no source":
		l.decimals, l.noSource = 2, true
	}
	return l.run()
}

// benchesMade are the scenarios as played, each once.
type benchesMade struct {
	mu   sync.Mutex
	made map[string]*bench
}

func (m *benchesMade) get(t *testing.T, name string) *bench {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.made == nil {
		m.made = map[string]*bench{}
	}
	if m.made[name] == nil {
		m.made[name] = newBench(t, benches[name])
	}
	return m.made[name]
}

func (m *seededMistake) isNamed(f *diagnose.Finding) bool {
	return slices.Contains(strings.Fields(m.want), f.ID)
}

func idsOf(fs []diagnose.Finding) string {
	var ids []string
	for _, f := range fs {
		ids = append(ids, f.ID)
	}
	return strings.Join(ids, ", ")
}

// Each mistake is named first. The matrix of mistakes and findings is a golden file.
func TestSeededMistakesAreNamedFirst(t *testing.T) {
	var made benchesMade
	styles := []string{"by epoch"}
	if *every {
		styles = append(styles, "by sentence", "by sentence, on arrival", "few digits, no source")
	}
	type result struct{ key, line string }
	var mu sync.Mutex
	var lines []result
	t.Run("all", func(t *testing.T) {
		for i := range seededMistakes {
			m := &seededMistakes[i]
			if testing.Short() && i%6 != 0 {
				continue
			}
			where := strings.Fields(m.on)
			if !*every {
				where = where[i%len(where):][:1]
			}
			for _, on := range where {
				for _, style := range styles {
					b := made.get(t, on)
					t.Run(m.name+" on "+on+", "+style, func(t *testing.T) {
						t.Parallel()
						failed, d, took := b.diagnose(spoilt(b, style, m))
						if len(failed) == 0 {
							t.Fatal("no check fails")
						}
						if len(d.Findings) == 0 || !m.isNamed(&d.Findings[0]) {
							t.Errorf("failed %v; findings %s, want %s first", failed, idsOf(d.Findings), m.want)
							for _, f := range d.Findings {
								t.Logf("%.2f %s", f.Confidence, f.String())
							}
						}
						if took > 20*time.Second {
							t.Errorf("took %v", took)
						}
						if style == "by epoch" {
							mu.Lock()
							lines = append(lines, result{fmt.Sprintf("%03d %s", i, on), fmt.Sprintf("%-32s %-12s %s\n", m.name, on, idsOf(d.Findings))})
							mu.Unlock()
						}
					})
				}
			}
		}
	})
	if testing.Short() || *every {
		return
	}
	slices.SortFunc(lines, func(a, b result) int { return strings.Compare(a.key, b.key) })
	var got strings.Builder
	for _, l := range lines {
		got.WriteString(l.line)
	}
	const golden = "testdata/findings.txt"
	if *update {
		if err := os.MkdirAll("testdata", 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(golden, []byte(got.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if got.String() != string(want) {
		t.Errorf("%s is not current; go test ./conformance -run NamedFirst -args -update rewrites it, read what changed:\n%s", golden, got.String())
	}
}

// Of two mistakes at once, drawn at random, both are among the first three findings.
func TestPairsOfMistakesAreNamed(t *testing.T) {
	pairs := 8
	switch {
	case *every:
		pairs = 200
	case testing.Short():
		pairs = 4
	}
	var made benchesMade
	rng := rand.New(rand.NewPCG(17, 5))
	var mu sync.Mutex
	both, n := 0, 0
	t.Run("all", func(t *testing.T) {
		for n < pairs {
			a, b := &seededMistakes[rng.IntN(len(seededMistakes))], &seededMistakes[rng.IntN(len(seededMistakes))]
			var on []string
			for _, s := range strings.Fields(a.on) {
				if slices.Contains(strings.Fields(b.on), s) {
					on = append(on, s)
				}
			}
			if a.group == b.group || len(on) == 0 || a.single || b.single {
				continue
			}
			n++
			where := on[rng.IntN(len(on))]
			be := made.get(t, where)
			t.Run(fmt.Sprintf("%s and %s on %s", a.name, b.name, where), func(t *testing.T) {
				t.Parallel()
				failed, d, _ := be.diagnose(spoilt(be, "", a, b))
				if len(failed) == 0 {
					t.Error("no check fails")
				}
				first := d.Findings[:min(3, len(d.Findings))]
				if slices.ContainsFunc(first, func(f diagnose.Finding) bool { return a.isNamed(&f) }) &&
					slices.ContainsFunc(first, func(f diagnose.Finding) bool { return b.isNamed(&f) }) {
					mu.Lock()
					both++
					mu.Unlock()
					return
				}
				t.Logf("failed %v; findings %s", failed, idsOf(d.Findings))
			})
		}
	})
	t.Logf("both named in %d of %d pairs", both, n)
	if both*100 < 95*n {
		t.Errorf("both named in %d of %d pairs, want 95 %%", both, n)
	}
}

// A correct consumer yields no finding, even if all its checks are said to have failed.
func TestCorrectConsumersHaveNoFindings(t *testing.T) {
	var all []string
	for _, c := range Checks {
		if c.ID != "parse.checksum" { // asks for a failure to be explained, where the check alone knows
			all = append(all, c.ID)
		}
	}
	for name := range benches {
		b := newBench(t, benches[name])
		for _, style := range []string{"by epoch", "by sentence", "by sentence, on arrival", "few digits, no source"} {
			ev := b.evidence(spoilt(b, style))
			if d := ev.Diagnose(all); len(d.Findings) > 0 {
				t.Errorf("%s, %s: %v", name, style, d.Findings[0].String())
			}
		}
	}
}
