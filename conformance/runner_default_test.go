//go:build unix

package conformance_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"swellbench/conformance"
	"swellbench/conformance/consumer"
	"swellbench/emulator"
	"swellbench/emulator/wire/layout"
	"swellbench/scenarios/installation"
)

// referenceConsumer is what `swellbench consume` does, in this test binary.
func referenceConsumer(path, baud, sheet string, defects ...string) error {
	return referenceTo(os.Stdout, path, baud, sheet, defects...)
}

// referenceTo is the same, with its observations written to w.
func referenceTo(w io.Writer, path, baud, sheet string, defects ...string) error {
	return referenceOf(w, "", "", path, baud, sheet, defects...)
}

// referenceOf is the same of any format, with a layout file or none.
func referenceOf(w io.Writer, format, described, path, baud, sheet string, defects ...string) error {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	in, err := installation.Load(sheet)
	if err != nil {
		return err
	}
	rate, err := strconv.Atoi(baud)
	if err != nil {
		return err
	}
	p, err := consumer.OpenSerial(path, rate)
	if err != nil {
		return err
	}
	defer p.Close()
	cfg := consumer.Config{Installation: in, Format: format, Baud: rate, Defects: defects}
	if described != "" {
		if cfg.Layout, err = layout.LoadFile(described); err != nil {
			return err
		}
	}
	return consumer.Run(ctx, cfg, p, w)
}

// TestDefaultSuite plays the default suite to the reference consumer: every check of every case is proven, none is
// skipped, and it takes no more time than a person waits for.
func TestDefaultSuite(t *testing.T) {
	if testing.Short() {
		t.Skip("plays at real speed for some 15 s")
	}
	needPorts(t)
	suite, err := conformance.LoadSuite("default")
	if err != nil {
		t.Fatal(err)
	}
	token, dir := rand.Text(), t.TempDir()
	v, err := conformance.Run(t.Context(), suite, helperCommand(token, "reference-of", "{format}", "{layout}", "{installation}"),
		conformance.Options{TempDir: dir, Formats: emulator.Formats()})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	for _, c := range v.Cases {
		// On a busy host an epoch may come in two reads, far apart, and the reference then says so in a note of its own.
		c.Notes = slices.DeleteFunc(c.Notes, func(n string) bool { return strings.HasPrefix(n, `the key "note" is none`) })
		if c.Incident != nil || len(c.Notes) > 0 {
			fmt.Fprintf(&b, "%s: incident %v, notes %q, standard error %q\n", c.Name, c.Incident, c.Notes, c.Stderr)
		}
		for _, r := range c.Results {
			// A host that is late makes checks inconclusive; nothing else may.
			if r.Outcome != conformance.Passed && !(r.Outcome == conformance.Inconclusive && c.HostLateS > 0.01) {
				fmt.Fprintf(&b, "%s: %s %v: %s (%s)\n", c.Name, r.Check, r.Outcome, r.Summary, r.Reason)
			}
		}
	}
	if b.Len() > 0 || v.ExitCode() != 0 {
		t.Errorf("exit code %d\n%s", v.ExitCode(), b.String())
	}
	if v.Elapsed > 30*time.Second && runtime.NumCPU() >= 2 {
		t.Errorf("the suite took %v, want less than 30 s", v.Elapsed)
	}
	if left := survivors(t, token); len(left) > 0 {
		t.Errorf("left running: %q", left)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}
