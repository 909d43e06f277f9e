package conformance

import (
	"slices"
	"strings"
	"testing"
	"time"

	"swellbench/conformance/consumer"
)

// A log of a consumer of any format is judged as the consumer itself is.
func TestAfterwardsInOtherFormats(t *testing.T) {
	suite := suitesNamed(t, "default", "full")
	for _, c := range suite.Cases {
		formats := c.formatsOf()
		if slices.Equal(formats, []string{"nmea0183"}) || len(c.Scenario.Faults) > 0 || !*every && !strings.HasSuffix(c.Name, "-swell") && formats[0] != "layout" {
			continue
		}
		sc := c.Scenario
		if sc.Start.Now {
			sc = sc.WithStart(time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC))
		}
		obs, sent := logOf(t, sc)
		wrong, _ := logOf(t, sc, "roll-sign")
		for _, x := range []struct {
			obs, sent string
			want      Outcome
		}{{obs, "", Passed}, {obs, sent, Passed}, {wrong, sent, Failed}} {
			v, err := Afterwards(Log{Scenario: sc, Path: x.obs, SentLog: x.sent})
			if err != nil {
				t.Fatal(err)
			}
			if v.Outcome() != x.want {
				t.Errorf("%s, sent-log %q: %v, want %v: %s", c.Name, x.sent, v.Outcome(), x.want, faultsOf(v))
			}
		}
	}
}

// Each seeded defect that only binary formats bring to light fails the check that is meant to catch it, by five tolerances at
// least, and is called by its name where it has one.
func TestBinaryDefectsAreCaught(t *testing.T) {
	suite := suitesNamed(t, "default", "full")
	var made suiteBenches
	for _, d := range consumer.BinaryDefects {
		t.Run(d.Name, func(t *testing.T) {
			t.Parallel()
			check, ok := CheckByID(d.Expect)
			if !ok {
				t.Fatalf("there is no check %s", d.Expect)
			}
			var tried []string
			for _, c := range provers(suite, d.Expect) {
				if slices.Equal(c.formatsOf(), []string{"nmea0183"}) {
					continue
				}
				b := made.get(t, &c)
				obs := b.hear(t, d.Name)
				r := check.Judge(b.evidence(obs))
				if r.Outcome != Failed || r.Tolerance != 0 && r.ratio() < 5 {
					tried = append(tried, c.Name+": "+r.Outcome.String()+": "+r.Summary)
					continue
				}
				t.Logf("%s: %s", c.Name, r.Summary)
				failed, x, _ := b.diagnose(obs)
				t.Logf("failed %v, findings %s", failed, idsOf(x.Findings))
				if d.Finding != "" && (len(x.Findings) == 0 || !slices.Contains(strings.Fields(d.Finding), x.Findings[0].ID)) {
					t.Errorf("in %s: failed %v, findings %s, want %s first", c.Name, failed, idsOf(x.Findings), d.Finding)
				}
				return
			}
			t.Errorf("%s is not failed by five tolerances:\n  %s", d.Expect, strings.Join(tried, "\n  "))
		})
	}
}
