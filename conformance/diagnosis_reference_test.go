package conformance

import (
	"bytes"
	"io"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"swellbench/conformance/consumer"
	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/scenarios"
)

// benchOf plays a scenario in virtual time.
func benchOf(t *testing.T, sc *scenarios.Scenario) *bench {
	t.Helper()
	b := &bench{origin: time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)}
	if sc.Start.Now {
		sc = sc.WithStart(b.origin)
	} else {
		b.origin = time.Date(2026, 9, 9, 7, 31, 12, 3e8, time.UTC)
	}
	var err error
	if b.dev, err = emulator.New(sc); err != nil {
		t.Fatal(err)
	}
	set := b.dev.Line(0) // as the consumer is told
	err = line.TransmitTo(set, b.dev.Messages(0), line.TransmitOptions{Consumer: func(float64) (line.Settings, bool) { return set, true }}, func(float64, []byte) error { return nil }, func(s line.Sent) {
		s.Bytes = bytes.Clone(s.Bytes)
		b.sent = append(b.sent, s)
	})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// reference lets the reference consumer listen, with defects, in virtual time: the bytes of each message come when the
// last of them has left.
func (b *bench) reference(t *testing.T, defects ...string) (obs []observe.Observation) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		r, w := io.Pipe()
		var out bytes.Buffer
		start := time.Now()
		in := b.dev.Scenario().Installation
		cfg := consumer.Config{Installation: &in, Baud: b.dev.Line(0).Baud, Defects: defects,
			Clock: func() time.Time { return b.origin.Add(time.Since(start)) }}
		done := make(chan error, 1)
		go func() { done <- consumer.Run(t.Context(), cfg, r, &out) }()
		for _, s := range b.sent {
			if len(s.Bytes) == 0 || s.Dropped != "" {
				continue
			}
			const chunk = 16 // bytes, as a UART hands them on
			for i := 0; i < len(s.Bytes); i += chunk {
				j := min(len(s.Bytes), i+chunk)
				at := s.First + (s.Last-s.First)*float64(j)/float64(len(s.Bytes))
				time.Sleep(time.Until(start.Add(time.Duration(at * 1e9))))
				if _, err := w.Write(s.Bytes[i:j]); err != nil {
					t.Error(err)
				}
			}
		}
		time.Sleep(2 * time.Second)
		w.Close()
		if err := <-done; err != nil {
			t.Error(err)
		}
		obs = slices.Collect(observe.NewReader(&out, observe.Options{}).All())
	})
	return obs
}

// What the defects of the reference consumer are to be called.
var referenceFindings = map[string]string{
	"roll-sign": "attitude-sign-reversed", "pitch-roll-swapped": "roll-and-pitch-exchanged",
	"minutes-as-decimal-degrees": "minutes-read-as-degree-fraction", "west-as-east": "hemisphere-letter-dropped",
	"stale-for-null": "lost-fix-keeps-last-position", "arrival-stamp": "arrival-stamped-as-measured",
	"mounting-subtracted": "mount-angles-subtracted", "lever-arm-order": "arm-axes-exchanged",
	"lever-arm-not-rotated": "arm-not-turned-with-heading", "lever-arm-twice": "offset-applied-twice",
}

// Each defect of the reference consumer is named first, in each case of the default suite in which it fails a check.
func TestReferenceDefectsAreNamedFirst(t *testing.T) {
	suite, err := LoadSuite("default")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for i, c := range suite.Cases {
		if !*every && i%6 != 2 || testing.Short() && i != 2 {
			continue
		}
		b := benchOf(t, c.Scenario)
		for _, d := range consumer.Defects {
			want, known := referenceFindings[d.Name]
			if !known {
				continue
			}
			failed, x, _ := b.diagnose(b.reference(t, d.Name))
			if len(failed) == 0 {
				continue
			}
			n++
			if len(x.Findings) == 0 || x.Findings[0].ID != want {
				t.Errorf("%s in %s: failed %v, findings %s, want %s first", d.Name, c.Name, failed, idsOf(x.Findings), want)
			}
		}
		ev := b.evidence(b.reference(t))
		if d := ev.Diagnose([]string{"parse.values", "time.validity", "parse.loss", "parse.null", "offset.lever-arm"}); len(d.Findings) > 0 {
			t.Errorf("%s: the correct consumer is accused: %s", c.Name, d.Findings[0].String())
		}
	}
	if n == 0 {
		t.Error("nothing was diagnosed")
	}
}
