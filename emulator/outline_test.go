package emulator_test

import (
	"testing"
	"time"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/scenarios/library"
)

// An outline has the messages of the stream, at the same instants, and hardly any of them shorter.
func TestOutline(t *testing.T) {
	outlined := 0
	for _, name := range library.Names() {
		sc, err := library.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		if sc.Start.Now {
			sc = sc.WithStart(time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC))
		}
		d, err := emulator.New(sc)
		if err != nil {
			t.Fatal(err)
		}
		for i := range d.Streams() {
			outline, ok := d.Outline(i)
			if !ok {
				continue
			}
			outlined++
			var want []line.Message
			for m, err := range d.Messages(i) {
				if err != nil {
					t.Fatal(err)
				}
				m.Bytes = make([]byte, len(m.Bytes))
				want = append(want, m)
			}
			n, short := 0, 0
			for m, err := range outline {
				if err != nil || n >= len(want) || m.Valid != want[n].Valid || m.Due != want[n].Due || m.Kind != want[n].Kind {
					t.Fatalf("%s: message %d of the outline is %s of %g s, want %s of %g s", name, n, m.Kind, m.Valid, want[n].Kind, want[n].Valid)
				}
				if len(m.Bytes) < len(want[n].Bytes) {
					short++
				}
				n++
			}
			if n != len(want) || short*100 > n {
				t.Errorf("%s: %d of %d messages, %d shorter than they are", name, n, len(want), short)
			}
		}
	}
	if outlined < 10 {
		t.Errorf("%d streams of the library have an outline, want ten at least", outlined)
	}
}
