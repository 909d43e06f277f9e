package conformance

import (
	"fmt"
	"os"
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

func TestDiagnosisOfMistakes(t *testing.T) {
	made := map[string]*bench{}
	only := os.Getenv("ONLY")
	for _, m := range mistakes {
		if only != "" && only != m.name {
			continue
		}
		b := made[m.scenario]
		if b == nil {
			b = newBench(t, benches[m.scenario])
			made[m.scenario] = b
		}
		l := m.l
		l.b = b
		obs := l.run()
		at := time.Now()
		failed, d := b.diagnose(obs)
		fmt.Printf("%-40s %-10s %v %v left %.2f beyond %d/%d explained %d\n", m.name, m.scenario, failed, time.Since(at).Round(time.Millisecond), d.Left, d.Beyond, d.Values, d.Explained)
		for _, f := range d.Findings {
			fmt.Printf("      %-34s %5.2f w=%.0f %s\n", f.ID, f.Confidence, f.Weight(), f.Title)
			if only != "" {
				fmt.Println("         ", f.String())
			} else {
				for _, a := range f.NotTold {
					fmt.Println("            or", a.ID, a.Title)
				}
			}
		}
	}
}
