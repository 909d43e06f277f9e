package consumer

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// node finds Node with the packages serialport and nmea-simple.
func node(t testing.TB) string {
	t.Helper()
	path, err := exec.LookPath("node")
	if err != nil {
		t.Skipf("no node: %v", err)
	}
	if out, err := exec.Command(path, "testdata/halyard_consumer.js", "--probe").CombinedOutput(); err != nil {
		t.Skipf("no npm packages serialport and nmea-simple, installed globally: %s", out)
	}
	return path
}

func newHalyard(t testing.TB, port, sheet string, args ...string) (cmd *exec.Cmd, stderr *bytes.Buffer) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "installation.yaml")
	if err := os.WriteFile(file, []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	stderr = new(bytes.Buffer)
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	cmd = exec.CommandContext(ctx, node(t), append([]string{"testdata/halyard_consumer.js", "--port", port, "--installation", file}, args...)...)
	cmd.Stderr = stderr
	return cmd, stderr
}

// halyardReads runs the Node consumer over a stream that lies ready, and joins what it says of one epoch.
func halyardReads(t testing.TB, sheet, stream string) (all []observed) {
	t.Helper()
	cmd, stderr := newHalyard(t, "-", sheet)
	cmd.Stdin = strings.NewReader(stream)
	out, err := cmd.Output()
	if err != nil || stderr.Len() > 0 {
		t.Fatalf("node consumer: %v\n%s\n%s", err, stderr, sheet)
	}
	for _, o := range decodeLines(t, out) {
		if n := len(all); n > 0 && all[n-1]["time"] == o["time"] {
			maps.Copy(all[n-1], o)
			continue
		}
		all = append(all, o)
	}
	return all
}

// The Node consumer finds the truth, whatever was mounted and entered how.
func TestNodeOnRandomInstallations(t *testing.T) {
	node(t)
	n := 60
	if testing.Short() {
		n = 10
	}
	for seed := range uint64(n) {
		rng := rand.New(rand.NewPCG(seed, 3))
		s := draw(rng)
		var stream strings.Builder
		var poses []pose
		for k := range 5 {
			q := s.drawPose(rng)
			poses = append(poses, q)
			stream.WriteString(s.report(q, fmt.Sprintf("1200%02d.00", k)))
		}
		text := s.yaml()
		if in := s.installation(t); seed%2 == 1 { // as the runner hands it to a consumer
			text = string(in.Append(nil))
		}
		got := halyardReads(t, text, stream.String())
		if len(got) != len(poses) {
			t.Fatalf("seed %d: %d epochs, want %d\n%s", seed, len(got), len(poses), s.yaml())
		}
		for k, q := range poses {
			if s.check(t, got[k], q); t.Failed() {
				t.Fatalf("seed %d, pose %+v, observed %v\n%s", seed, q, got[k], s.yaml())
			}
		}
	}
}

// On a port: it opens it at the wanted speed, publishes while the line is open, and ends cleanly when it is asked to or
// the line hangs up.
func TestNodeOnPort(t *testing.T) {
	for _, how := range []string{"asked", "hang-up"} {
		t.Run(how, func(t *testing.T) {
			master, slave := openPTY(t)
			cmd, stderr := newHalyard(t, slave.Name(), plainSheet, "--baud", "38400")
			seen := lineSignal{lines: make(chan string, 16)}
			cmd.Stdout = &seen
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			feedUntil(t, master, seen.lines, "HDT+XDR", stderr)
			if how == "asked" {
				if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
					t.Fatal(err)
				}
			} else {
				slave.Close()
				master.Close()
			}
			if err := cmd.Wait(); err != nil || stderr.Len() > 0 {
				t.Fatalf("%v\n%s", err, stderr)
			}
		})
	}
}

func TestNodeRefusesBadSheets(t *testing.T) {
	for _, sheet := range []string{"", "points: {antenna-primary: [0 m, 0 m, 0 m]}\n", strings.Replace(plainSheet, "300 cm", "3 kn", 1),
		strings.Replace(plainSheet, "{heading", "{heading: 1 deg, heading", 1)} {
		cmd, stderr := newHalyard(t, "-", sheet)
		err := cmd.Run()
		if err == nil || !strings.HasPrefix(stderr.String(), "halyard: installation ") || strings.Count(stderr.String(), "\n") != 1 {
			t.Errorf("sheet %q: %v, %s", sheet, err, stderr)
		}
	}
}
