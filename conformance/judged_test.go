//go:build unix

package conformance_test

import (
	"cmp"
	"crypto/rand"
	"slices"
	"sync"
	"testing"

	"swellbench/conformance"
	"swellbench/conformance/consumer"
)

// provers gives the shortest cases of the suite that are to prove a check, three at most.
func provers(suite *conformance.Suite, check string) *conformance.Suite {
	s := &conformance.Suite{Name: suite.Name}
	for _, c := range suite.Cases {
		if slices.Contains(c.Checks, check) {
			s.Cases = append(s.Cases, c)
		}
	}
	slices.SortStableFunc(s.Cases, func(a, b conformance.Case) int { return cmp.Compare(a.Scenario.Duration, b.Scenario.Duration) })
	s.Cases = s.Cases[:min(3, len(s.Cases))]
	return s
}

// playedForReal are the defects that are played on a pseudo-terminal too, to a process of its own; all of them are
// played in virtual time.
var playedForReal = []string{"roll-sign", "minutes-as-decimal-degrees", "west-as-east", "arrival-stamp", "mounting-subtracted", "lever-arm-twice"}

// The judge is judged: each seeded defect of the reference consumer, a process of its own on a pseudo-terminal, fails
// the check that the table of defects names.
func TestSeededDefectsFailTheirCheck(t *testing.T) {
	if testing.Short() {
		t.Skip("plays at real speed for some 10 s")
	}
	needPorts(t)
	suite, err := conformance.LoadSuite("default")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	var wg sync.WaitGroup
	for _, d := range consumer.Defects {
		if !slices.Contains(playedForReal, d.Name) {
			continue
		}
		wg.Go(func() {
			v, err := conformance.Run(t.Context(), provers(suite, d.Expect), helperCommand(rand.Text(), "reference", "{installation}", d.Name), conformance.Options{TempDir: dir})
			if err != nil {
				t.Errorf("%s: %v", d.Name, err)
				return
			}
			var failed []string
			for _, c := range v.Cases {
				for _, r := range c.Results {
					if r.Outcome == conformance.Failed {
						failed = append(failed, r.Check)
					}
				}
			}
			if !slices.Contains(failed, d.Expect) || v.ExitCode() != 1 {
				t.Errorf("%s: exit code %d, failed %v; want %s among them", d.Name, v.ExitCode(), failed, d.Expect)
			}
		})
	}
	wg.Wait()
}
