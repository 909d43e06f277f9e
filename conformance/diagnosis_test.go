package conformance

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"swellbench/conformance/compare"
	"swellbench/conformance/diagnose"
	"swellbench/conformance/observe"
)

func (b *bench) diagnose(obs []observe.Observation) ([]string, diagnose.Diagnosis) {
	ev := b.evidence(obs)
	var failed []string
	for _, c := range Checks {
		if r := c.Judge(ev); r.Outcome == Failed {
			failed = append(failed, c.ID)
		}
	}
	cmp := compare.New(compare.Run{Device: b.dev, Truth: b.dev.Truth(), Start: b.dev.UTC(0), Origin: b.origin, Sent: ev.Sent})
	d := diagnose.New(b.dev, cmp, ev.Sent, diagnose.Options{StartS: startS})
	for o := range ev.Observed {
		d.Add(cmp.Row(&o))
	}
	return failed, d.Diagnose(failed)
}

// spoilt plays a scenario to the program with the mistakes.
func spoilt(b *bench, ms ...*seededMistake) []observe.Observation {
	var p program
	for _, m := range ms {
		m.spoil(&p, &b)
	}
	l := p.listener(b)
	l.b = b
	if os.Getenv("STYLE") == "sentence" {
		l.perSentence = true
	}
	if os.Getenv("STYLE") == "arrival" {
		l.perSentence, l.arrival = true, true
	}
	if os.Getenv("STYLE") == "decimals" {
		l.decimals, l.noSource = 2, true
	}
	return l.run()
}

func TestDiagnosisOfMistakes(t *testing.T) {
	made := map[string]*bench{}
	only := os.Getenv("ONLY")
	right, n := 0, 0
	for i := range seededMistakes {
		m := &seededMistakes[i]
		if only != "" && only != m.name && only != m.group {
			continue
		}
		where := m.on
		if w := os.Getenv("ON"); w != "" && m.on == everyScenario {
			where = w
		} else if w != "" {
			continue
		}
		for _, on := range strings.Fields(where) {
			b := made[on]
			if b == nil {
				b = newBench(t, benches[on])
				made[on] = b
			}
			obs := spoilt(b, m)
			at := time.Now()
			failed, d := b.diagnose(obs)
			took := time.Since(at)
			n++
			ok := len(d.Findings) > 0 && strings.Contains(" "+m.want+" ", " "+d.Findings[0].ID+" ")
			if ok {
				right++
			}
			if ok && only == "" && took < 700*time.Millisecond && len(d.Findings) == 1 {
				continue
			}
			fmt.Printf("%v %-30s %-10s want %s %v %v left %.2f beyond %d/%d explained %d\n", ok, m.name, on, m.want, failed, took.Round(time.Millisecond), d.Left, d.Beyond, d.Values, d.Explained)
			for _, f := range d.Findings {
				fmt.Printf("      %-34s %5.2f w=%.0f %s\n", f.ID, f.Confidence, f.Weight(), f.Title)
				if only != "" {
					fmt.Println("         ", f.String())
				}
				for _, a := range f.NotTold {
					fmt.Println("            or", a.ID, a.Title)
				}
			}
		}
	}
	fmt.Println("right first:", right, "of", n)
}

// Pairs.
func TestDiagnosisOfPairs(t *testing.T) {
	made := map[string]*bench{}
	rng := rand.New(rand.NewPCG(uint64(len(seededMistakes)), 5))
	only := os.Getenv("ONLY")
	both, caught, n := 0, 0, 0
	var slow time.Duration
	for n < 120 {
		a, b := &seededMistakes[rng.IntN(len(seededMistakes))], &seededMistakes[rng.IntN(len(seededMistakes))]
		var on []string
		for _, s := range strings.Fields(a.on) {
			if strings.Contains(" "+b.on+" ", " "+s+" ") {
				on = append(on, s)
			}
		}
		if a.group == b.group || len(on) == 0 || a.single || b.single {
			continue
		}
		where := on[rng.IntN(len(on))]
		n++
		if only != "" && fmt.Sprint(n) != only {
			continue
		}
		be := made[where]
		if be == nil {
			be = newBench(t, benches[where])
			made[where] = be
		}
		obs := spoilt(be, a, b)
		at := time.Now()
		failed, d := be.diagnose(obs)
		took := time.Since(at)
		slow = max(slow, took)
		if len(failed) > 0 {
			caught++
		}
		named := func(m *seededMistake) bool {
			for _, f := range d.Findings[:min(3, len(d.Findings))] {
				if strings.Contains(" "+m.want+" ", " "+f.ID+" ") {
					return true
				}
			}
			return false
		}
		if named(a) && named(b) {
			both++
			if only == "" {
				continue
			}
		}
		fmt.Printf("%d %s + %s on %s: %v %v left %.2f beyond %d/%d explained %d\n", n, a.name, b.name, where, failed, took.Round(time.Millisecond), d.Left, d.Beyond, d.Values, d.Explained)
		for _, f := range d.Findings {
			fmt.Printf("      %-34s %5.2f w=%.0f %s\n", f.ID, f.Confidence, f.Weight(), f.Title)
			for _, x := range f.NotTold {
				fmt.Println("            or", x.ID, x.Title)
			}
		}
	}
	fmt.Println("both named:", both, "caught", caught, "of", n, "slowest", slow)
}
