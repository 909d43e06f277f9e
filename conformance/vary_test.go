package conformance

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"swellbench/conformance/consumer"
)

// variedSuite is the ready-made cases, drawn anew.
func variedSuite(t *testing.T, seed uint64, names ...string) *Suite {
	t.Helper()
	s := suitesNamed(t, names...)
	s.Vary(seed)
	return s
}

// Cases drawn anew are others, the same for the same seed whatever is played of them, keep what they are about, and no longer
// hide anything than those as written.
func TestVary(t *testing.T) {
	plain := suitesNamed(t, "default", "full")
	a, b, other := variedSuite(t, 1, "default", "full"), variedSuite(t, 1, "full"), variedSuite(t, 2, "default", "full")
	same := 0
	for i := range plain.Cases {
		p, x, y := &plain.Cases[i], &a.Cases[i], &other.Cases[i]
		if reflect.DeepEqual(x.Scenario.Installation, p.Scenario.Installation) && !slices.Contains(p.Keep, "installation") || x.Scenario.Seed == y.Scenario.Seed {
			same++
			t.Logf("case %s is as written", p.Name)
		}
		if j := slices.IndexFunc(b.Cases, func(c Case) bool { return c.Name == x.Name }); j >= 0 {
			if o := b.Cases[j].Scenario; o.Seed != x.Scenario.Seed || !reflect.DeepEqual(o.Installation, x.Scenario.Installation) || !reflect.DeepEqual(o.Track, x.Scenario.Track) {
				t.Errorf("case %s is another one where the default suite is not played with it", x.Name)
			}
		}
		keeps := func(what string, kept bool) {
			if slices.Contains(p.Keep, what) && !kept {
				t.Errorf("case %s does not keep its %s", p.Name, what)
			}
		}
		keeps("place", x.Scenario.Track.Position == p.Scenario.Track.Position)
		keeps("heading", *x.Scenario.Track.Heading == *p.Scenario.Track.Heading)
		keeps("installation", reflect.DeepEqual(x.Scenario.Installation, p.Scenario.Installation))
		keeps("motion", reflect.DeepEqual(x.Scenario.Motion, p.Scenario.Motion))
		for _, spot := range BlindSpots(x.Scenario) {
			t.Errorf("case %s: %s", x.Name, spot)
		}
		if !reflect.DeepEqual(x.Scenario.Streams, p.Scenario.Streams) || x.Scenario.Duration != p.Scenario.Duration || !x.Scenario.Start.Time.Equal(p.Scenario.Start.Time) {
			t.Errorf("case %s: its streams, duration or start have changed", x.Name)
		}
	}
	if same > 3 {
		t.Errorf("%d of %d cases stay as written", same, len(plain.Cases))
	}
}

// Whatever is drawn, nobody who is right is accused, and nearly all is proven.
func TestVariedReferencePasses(t *testing.T) {
	seeds := 2
	if *every {
		seeds = 50
	}
	if testing.Short() {
		seeds = 1
	}
	var mu sync.Mutex
	n, proven := 0, 0
	t.Run("seeds", func(t *testing.T) {
		for seed := range uint64(seeds) {
			suite := variedSuite(t, 1000+seed, "default", "full")
			for i := range suite.Cases {
				c := &suite.Cases[i]
				t.Run(fmt.Sprintf("%d/%s", 1000+seed, c.Name), func(t *testing.T) {
					t.Parallel()
					b := benchOf(t, c.Scenario)
					ev := b.evidence(b.hear(t))
					passed, all := 0, 0
					for _, check := range Checks {
						r := check.Judge(ev)
						if r.Outcome == Failed {
							t.Errorf("%s accuses: %s", check.ID, r.Summary)
						}
						if slices.Contains(c.Checks, check.ID) {
							if all++; r.Outcome == Passed {
								passed++
							} else if r.Outcome == Skipped {
								t.Logf("%s skipped: %s", check.ID, r.Reason)
							}
						}
					}
					mu.Lock()
					n, proven = n+all, proven+passed
					mu.Unlock()
				})
			}
		}
	})
	t.Logf("%d of %d checks proven over %d seeds", proven, n, seeds)
	if proven*100 < n*97 {
		t.Errorf("%d of %d checks are proven, want 97 of a hundred", proven, n)
	}
}

// Cases drawn anew catch the seeded defects as those as written do.
func TestVariedCatchesSeededDefects(t *testing.T) {
	if testing.Short() {
		t.Skip("works out many cases")
	}
	seeds := 1
	if *every {
		seeds = 4
	}
	for seed := range uint64(seeds) {
		suite := variedSuite(t, 2000+seed, "default", "full")
		var made suiteBenches
		var mu sync.Mutex
		var missed []string
		t.Run(fmt.Sprint(2000+seed), func(t *testing.T) {
			for i, d := range consumer.Defects {
				if !*every && i%12 != 3 {
					continue
				}
				t.Run(d.Name, func(t *testing.T) {
					t.Parallel()
					check, _ := CheckByID(d.Expect)
					for _, c := range provers(suite, d.Expect) {
						b := made.get(t, &c)
						if r := check.Judge(b.evidence(b.hear(t, d.Name))); r.Outcome == Failed && (r.Tolerance == 0 || r.ratio() >= 5) {
							return
						}
					}
					mu.Lock()
					missed = append(missed, d.Name)
					mu.Unlock()
				})
			}
		})
		if len(missed) > 0 {
			t.Errorf("seed %d: not caught by five tolerances: %s", 2000+seed, strings.Join(missed, ", "))
		}
	}
}
