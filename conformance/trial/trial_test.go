package trial_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"os"
	"runtime"
	"strings"
	"sync"
	"testing"

	"swellbench/conformance/consumer"
	"swellbench/conformance/trial"
	"swellbench/scenarios/installation"
)

// recorder is a test that only notes what is reported to it.
type recorder struct {
	testing.TB
	mu     sync.Mutex
	errors []string
}

func (r *recorder) Helper() {}
func (r *recorder) Errorf(format string, a ...any) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.errors = append(r.errors, fmt.Sprintf(format, a...))
}
func (r *recorder) Failed() bool { r.mu.Lock(); defer r.mu.Unlock(); return len(r.errors) > 0 }

// consume runs the reference consumer on an offline trial.
func consume(t *testing.T, tr *trial.Trial, defects ...string) {
	t.Helper()
	in, err := installation.Load(tr.Installation())
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := consumer.Run(context.Background(), consumer.Config{Installation: in, Format: tr.Format(), Defects: defects}, tr.Reader(), &out); err != nil {
		t.Fatal(err)
	}
	for l := bufio.NewScanner(&out); l.Scan(); {
		tr.ObserveLine(l.Bytes())
	}
}

func TestOffline(t *testing.T) {
	tr := trial.Offline(t, "circle")
	consume(t, tr)
	tr.Check()
	tr.Check("offset.lever-arm", "offset.mounting", "parse.values")
}

// What is wrong is reported, by the check that it fails; what is not observed, or no observation, is no success.
func TestReports(t *testing.T) {
	for name, c := range map[string]struct {
		do   func(*trial.Trial)
		want string
	}{
		"defect":         {func(tr *trial.Trial) { consume(t, tr, "lever-arm-twice"); tr.Check() }, "offset.lever-arm: "},
		"nothing":        {func(tr *trial.Trial) { tr.Check() }, ""},
		"no observation": {func(tr *trial.Trial) { tr.ObserveLine([]byte("hello")); tr.Check("parse.values") }, "trial: no observation: not JSON"},
		"unknown check":  {func(tr *trial.Trial) { consume(t, tr); tr.Check("offset.levers") }, `trial: there is no check "offset.levers"`},
	} {
		r := &recorder{TB: t}
		tr := trial.Offline(r, "circle")
		c.do(tr)
		if !r.Failed() || !strings.Contains(strings.Join(r.errors, "\n"), c.want) {
			t.Errorf("%s: %q, want %q", name, r.errors, c.want)
		}
	}
}

// The code under test opens the port as it would any other.
func TestStart(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no pseudo-terminals")
	}
	tr := trial.Start(t, "testdata/short.yaml")
	in, err := installation.Load(tr.Installation())
	if err != nil {
		t.Fatal(err)
	}
	port, err := consumer.OpenSerial(tr.Port(), tr.Baud())
	if err != nil {
		t.Fatal(err)
	}
	pr, pw, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	var wg sync.WaitGroup
	wg.Go(func() {
		_ = consumer.Run(ctx, consumer.Config{Installation: in, Format: tr.Format(), Baud: tr.Baud()}, port, pw)
		pw.Close()
	})
	wg.Go(func() {
		for l := bufio.NewScanner(pr); l.Scan(); {
			tr.ObserveLine(l.Bytes())
		}
	})
	tr.Check("parse.values", "offset.lever-arm")
	cancel()
	port.Close()
	wg.Wait()
}
