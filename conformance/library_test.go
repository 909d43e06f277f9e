package conformance

import (
	"testing"

	"swellbench/scenarios/library"
)

// In no ready-made scenario does any check accuse the reference consumer.
func TestReferenceInTheLibrary(t *testing.T) {
	const most = 130 // s of a scenario; longer ones are left to the suites
	for i, name := range library.Names() {
		sc, err := library.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		if len(sc.Streams) != 1 || float64(sc.Duration) > most || testing.Short() && i%6 != 0 {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := benchOf(t, sc)
			ev := b.evidence(b.hear(t))
			for _, check := range Checks {
				if r := check.Judge(ev); r.Outcome == Failed {
					t.Errorf("%s: %s", check.ID, r.Summary)
				}
			}
		})
	}
}
