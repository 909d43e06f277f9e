package emulator_test

import (
	"strings"
	"testing"

	"swellbench/emulator"
	"swellbench/emulator/line"
)

// showsFaults looks for messages hurt by each fault that the scenario names, within its time, and for more that are not.
func showsFaults(t *testing.T, d *emulator.Device) {
	seen := map[string]int{}
	n := 0
	for m, err := range d.Messages(0) {
		if err != nil {
			t.Fatal(err)
		}
		n++
		for _, name := range strings.Split(m.Hurt, "+") {
			seen[name]++
		}
	}
	if 2*seen[""] < n {
		t.Errorf("%d of %d messages are not hurt, want most", seen[""], n)
	}
	for _, f := range d.Scenario().Faults {
		if seen[f.Fault] == 0 {
			t.Errorf("nothing is hurt by %s", f.Fault)
		}
	}
}

func showsRestlessDevice(t *testing.T, d *emulator.Device) {
	seen := map[string]int{}
	sent := map[string]int{}
	gap, last := 0.0, 0.0
	msgs := func(yield func(line.Message, error) bool) {
		for m, err := range d.Messages(0) {
			switch {
			case err != nil:
				t.Fatal(err)
			case m.Hurt != "":
				seen[m.Hurt]++
			case m.Baud == 57600 && m.Due >= 38 && m.Due < 43:
				seen["speed"]++
			case m.Adapter.Block == 62 && m.Due >= 28 && m.Due < 36:
				seen["adapter"]++
			case m.HangUpS == 3:
				seen["hang-up"]++
			}
			gap, last = max(gap, m.Due-last), m.Due
			if !yield(m, err) {
				return
			}
		}
	}
	err := line.TransmitTo(d.Line(0), msgs, line.TransmitOptions{}, func(float64, []byte) error { return nil }, func(s line.Sent) {
		sent[s.Dropped]++
		if s.HeldS > 0 {
			sent["held"]++
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen["repeated-epoch"] < 15 || seen["out-of-order-epoch"] < 5 || seen["pause"] < 30 || seen["babble"] < 40 || seen["speed"] < 150 ||
		seen["adapter"] < 250 || seen["hang-up"] != 1 || gap < 1.1 || sent["hung up"] < 90 || sent["held"] < 80 {
		t.Errorf("hurt %v, sent %v, longest gap %g s", seen, sent, gap)
	}
}
