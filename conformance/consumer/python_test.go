package consumer

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"

	"swellbench/scenarios/installation"
)

// python finds an interpreter that has pyserial and pynmea2.
func python(t testing.TB) string {
	t.Helper()
	var last string
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		path, err := exec.LookPath(name)
		if err != nil {
			last = err.Error()
			continue
		}
		out, err := exec.Command(path, "-c", "import serial, pynmea2").CombinedOutput()
		if err == nil {
			return path
		}
		last = strings.TrimSpace(string(out))
	}
	t.Skipf("no python3 with pyserial and pynmea2 (Debian: python3-serial, python3-nmea2): %s", last)
	return ""
}

// A tideline is the Python consumer at work.
type tideline struct {
	*exec.Cmd
	out, err bytes.Buffer
}

func newTideline(t testing.TB, ctx context.Context, port, sheet string, args ...string) *tideline {
	t.Helper()
	file := filepath.Join(t.TempDir(), "installation.yaml")
	if err := os.WriteFile(file, []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	args = append([]string{"testdata/tideline_consumer.py", "--port", port, "--installation", file}, args...)
	p := &tideline{Cmd: exec.CommandContext(ctx, python(t), args...)}
	p.Stdout, p.Stderr = &p.out, &p.err
	return p
}

// tidelineReads runs the Python consumer over a stream that lies ready.
func tidelineReads(t testing.TB, sheet, stream string) []observed {
	t.Helper()
	p := newTideline(t, t.Context(), "-", sheet)
	p.Stdin = strings.NewReader(stream)
	if err := p.Run(); err != nil || p.err.Len() > 0 {
		t.Fatalf("python consumer: %v\n%s\n%s", err, p.err.String(), sheet)
	}
	return decodeLines(t, p.out.Bytes())
}

// Both consumers find the truth, whatever was mounted and entered how. They share no code, nor does the device.
func TestPythonOnRandomInstallations(t *testing.T) {
	python(t)
	n := 60
	if testing.Short() {
		n = 10
	}
	for seed := range uint64(n) {
		rng := rand.New(rand.NewPCG(seed, 2))
		s := draw(rng)
		var stream strings.Builder
		var poses []pose
		for k := range 5 {
			q := s.drawPose(rng)
			poses = append(poses, q)
			stream.WriteString(s.report(q, fmt.Sprintf("1200%02d.00", k)))
		}
		in, text := s.installation(t), s.yaml()
		if seed%2 == 1 { // as the runner hands it to a consumer
			text = string(in.Append(nil))
		}
		ours := observe(t, in, stream.String())
		theirs := tidelineReads(t, text, stream.String())
		if len(ours) != len(poses) || len(theirs) != len(poses) {
			t.Fatalf("seed %d: %d observations here, %d in Python, want %d of each\n%s", seed, len(ours), len(theirs), len(poses), s.yaml())
		}
		for k, q := range poses {
			s.check(t, theirs[k], q)
			s.check(t, ours[k], q)
			agree(t, ours[k], theirs[k])
			if t.Failed() {
				t.Fatalf("seed %d, pose %+v\n  here %v\nPython %v\n%s", seed, q, ours[k], theirs[k], s.yaml())
			}
		}
	}
}

// agree compares two observations: the same keys, the same words, numbers to the last digit but one.
func agree(t testing.TB, a, b observed) {
	t.Helper()
	tol := map[string]float64{"lat": 2e-9, "lon": 2e-8, "height": 3e-5, "heave": 2e-5, "speed": 2e-5}
	for k, x := range a {
		y, ok := b[k]
		if !ok {
			t.Errorf("%s is %v here and not there in Python", k, x)
			continue
		}
		switch x := x.(type) {
		case float64:
			w, ok := tol[k]
			if !ok {
				w = 2.1e-6
			}
			if _, ok := y.(float64); !ok {
				t.Errorf("%s is %v here and %v in Python", k, x, y)
				continue
			}
			b.near(t, k, x, w)
		default:
			if k != "note" && x != y {
				t.Errorf("%s is %v here and %v in Python", k, x, y)
			}
		}
	}
	for k := range b {
		if _, ok := a[k]; !ok {
			t.Errorf("%s is %v in Python and not there here", k, b[k])
		}
	}
}

const plainSheet = `# a boat of whole numbers
points:
  sensor: [0 m, 0 m, 0 m]
  antenna-primary: [1 m, -2 m, 300 cm]
  sonar:
    - 0 m
    - 4 m
    - -1500 mm
mounting: {heading: 30 deg,
           pitch: 0 deg, roll: 0 deg}   # goes on over two lines
expected-of-consumer: {output-point: "sonar"}
`

// What the two consumers make of streams that are not as they should be.
func TestPythonAgrees(t *testing.T) {
	python(t)
	in, err := installation.Parse("plain.yaml", []byte(plainSheet))
	if err != nil {
		t.Fatal(err)
	}
	nullFix := sentence("GNGGA,120002.00,,,,,0,00,99.9,,M,,M,,") + sentence("GNRMC,120002.00,V,,,,,,,010626,,,N,V")
	for _, c := range []struct{ name, stream string }{
		{"three epochs", burst(t, "Z1 G1 H1 X1 T1 R1 G2 H2 X2 R2 G3 H3 X3")},
		{"time last", burst(t, "H1 X1 G1 Z1 H2 X2 G2 H3 X3 G3")},
		{"headings faster than fixes", burst(t, "Z1 G1 H1 H1.2 H1.4 G2 H2 H2.2 G3 H3")},
		{"hurt ones", burst(t, "Z1 G1 H1 X1 ?2 H2 X2 G3 H3 X3")},
		{"no attitude", burst(t, "Z1 G1 G2 H2 G3 X3")},
		{"no fix", burst(t, "Z1 G1 H1 X1") + nullFix + burst(t, "H2 X2 G3 H3 X3")},
		{"no heading", burst(t, "Z1 G1 H1 X1 G2") + sentence("HEHDT,,T") + burst(t, "X2 G3 H3 X3")},
		{"no pitch", burst(t, "Z1 G1 H1") + sentence("YXXDR,A,,D,PITCH,A,1.0,D,ROLL,D,0.1,M,HEAVE") + burst(t, "G2 H2 X2")},
		{"void rate of turn", burst(t, "Z1 G1 H1 X1") + sentence("TIROT,12.0,V") + burst(t, "G2 H2 X2")},
		{"over midnight", sentence("GNRMC,235959.50,A,5000.0000,S,00400.0000,W,1.00,359.9,311226,,,R,V") +
			sentence("GPGGA,235959.50,5000.0000,S,00400.0000,W,4,12,0.8,10.0,M,-20.0,M,,") +
			sentence("GPGGA,000000.00,5000.0000,S,00400.0000,W,5,12,0.8,10.0,M,-20.0,M,,") +
			sentence("GPGGA,000000.50,5000.0000,S,00400.0000,W,6,12,0.8,10.0,M,,M,,")},
		{"before the date", burst(t, "G1 H1 X1 G2 H2 X2 G3 Z3 H3 X3")},
		{"noise", "\xff\x00$GP" + burst(t, "Z1 G1 H1 X1") + "\x80\x81,,*\\\r$" + burst(t, "G2 H2 X2") + "!AIVDM,1*00\r\n" + burst(t, "G3 H3")},
		{"lower-case checksum", burst(t, "Z1 G1 H1 X1 G2 H2 X2") + "$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34\r\n$HEHDT,1.4,T*2a\r\n"},
		{"TAG block", "\\s:GN0001,c:1803567600*3C\\" + burst(t, "Z1 G1 H1 X1 G2 H2 X2")},
	} {
		t.Run(c.name, func(t *testing.T) {
			ours, theirs := observe(t, in, c.stream), tidelineReads(t, plainSheet, c.stream)
			if len(ours) == 0 || len(ours) != len(theirs) {
				t.Fatalf("%d observations here, %d in Python\n  here %v\nPython %v", len(ours), len(theirs), ours, theirs)
			}
			for k := range ours {
				agree(t, ours[k], theirs[k])
			}
			if t.Failed() {
				t.Logf("\n  here %v\nPython %v", ours, theirs)
			}
		})
	}
}

// On a port: it opens it at the wanted speed, publishes while the line is open, and ends cleanly on hang-up.
func TestPythonOnPort(t *testing.T) {
	master, slave := openPTY(t)
	p := newTideline(t, t.Context(), slave.Name(), plainSheet, "--baud", "38400")
	seen := lineSignal{lines: make(chan string, 16)}
	p.Stdout = &seen
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	feedUntil(t, master, seen.lines, "ZDA+GGA+HDT+XDR", &p.err)
	slave.Close()
	master.Close() // hang-up
	if err := p.Wait(); err != nil || p.err.Len() > 0 {
		t.Fatalf("after the hang-up: %v\n%s", err, p.err.String())
	}
}

// Asked to end, it writes what it has and exits with 0.
func TestPythonEndsWhenAsked(t *testing.T) {
	master, slave := openPTY(t)
	p := newTideline(t, t.Context(), slave.Name(), plainSheet, "--baud", "38400")
	seen := lineSignal{lines: make(chan string, 16)}
	p.Stdout = &seen
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	feedUntil(t, master, seen.lines, "ZDA+GGA+HDT+XDR", &p.err)
	if err := p.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := p.Wait(); err != nil || p.err.Len() > 0 {
		t.Fatalf("after SIGTERM: %v\n%s", err, p.err.String())
	}
}

func TestPythonRefusesBadSheets(t *testing.T) {
	for _, sheet := range []string{"", "points: {antenna-primary: [0 m, 0 m, 0 m]}\n", strings.Replace(plainSheet, "300 cm", "3 kn", 1), strings.Replace(plainSheet, "{heading", "{heading: 1 deg, heading", 1)} {
		p := newTideline(t, t.Context(), "-", sheet)
		err := p.Run()
		if err == nil || !strings.HasPrefix(p.err.String(), "tideline: installation ") || strings.Count(p.err.String(), "\n") != 1 {
			t.Errorf("sheet %q: %v, %s", sheet, err, p.err.String())
		}
	}
}

// openPTY gives a raw pseudo-terminal.
func openPTY(t testing.TB) (master, slave *os.File) {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal here: %v", err)
	}
	t.Cleanup(func() { master.Close(); slave.Close() })
	if err := makeRaw(slave); err != nil {
		t.Skipf("no raw pseudo-terminal here: %v", err)
	}
	return master, slave
}

// A lineSignal hands on each line that is written to it.
type lineSignal struct {
	rest  []byte
	lines chan string
}

func (s *lineSignal) Write(p []byte) (int, error) {
	s.rest = append(s.rest, p...)
	for {
		i := bytes.IndexByte(s.rest, '\n')
		if i < 0 {
			return len(p), nil
		}
		select {
		case s.lines <- string(s.rest[:i]):
		default:
		}
		s.rest = s.rest[i+1:]
	}
}

// feedUntil writes bursts until one is observed from source: the consumer may open the port at any time, and what came
// before is lost to it.
func feedUntil(t *testing.T, master io.Writer, lines <-chan string, source string, stderr fmt.Stringer) {
	t.Helper()
	for k := 0; ; k++ {
		words := fmt.Sprintf("Z%d G%d H%d X%d", k%60, k%60, k%60, k%60)
		if _, err := io.WriteString(master, burst(t, words)); err != nil {
			t.Fatal(err)
		}
		select {
		case s := <-lines:
			o := decodeLines(t, []byte(s))[0]
			if o["source"] == source {
				return
			}
		case <-time.After(200 * time.Millisecond):
		}
		if k == 100 {
			t.Fatalf("nothing observed: %s", stderr)
		}
	}
}
