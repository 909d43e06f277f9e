package conformance

import (
	"slices"
	"strings"
	"testing"

	"swellbench/conformance/consumer"
)

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
