//go:build unix

package conformance_test

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"swellbench/conformance"
)

// The judge accuses no program that is right. What is right is told by programs that share no code with ours.

// independent plays the default suite, or the cases of it that pick takes, to a program and tells each result that is no
// pass and that allow does not take.
func independent(t *testing.T, args []string, pick func(*conformance.Case) bool, allow func(c conformance.CaseResult, r conformance.Result) bool) {
	t.Helper()
	if testing.Short() {
		t.Skip("plays at real speed for some 20 s")
	}
	needPorts(t)
	suite, err := conformance.LoadSuite("default")
	if err != nil {
		t.Fatal(err)
	}
	var cases []conformance.Case
	for _, c := range suite.Cases {
		if pick == nil || pick(&c) {
			cases = append(cases, c)
		}
	}
	suite.Cases = cases
	v, err := conformance.Run(t.Context(), suite, conformance.ConsumerCommand{Args: args}, conformance.Options{TempDir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, c := range v.Cases {
		if c.Incident != nil {
			fmt.Fprintf(&b, "%s: %v\n%s\n", c.Name, c.Incident, c.Stderr)
		}
		for _, r := range c.Results {
			late := r.Outcome == conformance.Inconclusive && c.HostLateS > 0.01
			other := r.Outcome == conformance.Skipped && c.Format == "" // of another format: not played
			if allowed := allow != nil && allow(c, r); r.Outcome != conformance.Passed && !late && !allowed && !other {
				fmt.Fprintf(&b, "%s: %s %v: %s (%s)\n", c.Name, r.Check, r.Outcome, r.Summary, r.Reason)
			}
		}
	}
	if b.Len() > 0 || v.ExitCode() != 0 {
		t.Errorf("exit code %d\n%s", v.ExitCode(), b.String())
	}
}

// script is the absolute path of a program beside package consumer.
func script(t *testing.T, name string) string {
	t.Helper()
	path, err := filepath.Abs(filepath.Join("consumer", "testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// In Python on pyserial and pynmea2, with rotations in plain arithmetic.
func TestPythonConsumerPasses(t *testing.T) {
	python := "/usr/bin/python3" // Debian's, which has Debian's packages
	if out, err := exec.CommandContext(t.Context(), python, "-c", "import serial, pynmea2").CombinedOutput(); err != nil {
		t.Skipf("needs %s with python3-serial and python3-nmea2: %v %s", python, err, out)
	}
	independent(t, []string{python, "-B", script(t, "tideline_consumer.py"), "--port", "{port}", "--baud", "{baud}", "--format", "{format}",
		"--installation", "{installation}"}, nil, nil)
}

// The same in MAVLink and in NMEA 2000, read with struct alone.
func TestPythonConsumerOfFramesPasses(t *testing.T) {
	if testing.Short() {
		t.Skip("plays at real speed for some 8 s")
	}
	needPorts(t)
	python := "/usr/bin/python3"
	if out, err := exec.CommandContext(t.Context(), python, "-c", "import serial, pynmea2").CombinedOutput(); err != nil {
		t.Skipf("needs %s with python3-serial and python3-nmea2: %v %s", python, err, out)
	}
	suite := &conformance.Suite{Name: "frames"}
	for _, name := range []string{"default", "full"} {
		s, err := conformance.LoadSuite(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range s.Cases {
			if st := c.Scenario.Streams[0]; st.Format == "mavlink" || st.Format == "nmea2000" {
				suite.Cases = append(suite.Cases, c)
			}
		}
	}
	args := []string{python, "-B", script(t, "tideline_consumer.py"), "--port", "{port}", "--baud", "{baud}", "--format", "{format}", "--installation", "{installation}"}
	v, err := conformance.Run(t.Context(), suite, conformance.ConsumerCommand{Args: args}, conformance.Options{TempDir: t.TempDir(), Parallel: len(suite.Cases)})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range v.Cases {
		if c.Incident != nil {
			t.Errorf("%s: %v\n%s", c.Name, c.Incident, c.Stderr)
		}
		for _, r := range c.Results {
			if r.Outcome != conformance.Passed && !(r.Outcome == conformance.Inconclusive && c.HostLateS > 0.01) {
				t.Errorf("%s: %s %v: %s (%s)", c.Name, r.Check, r.Outcome, r.Summary, r.Reason)
			}
		}
	}
}

// In Node on serialport and nmea-simple, with quaternions of its own and several lines an epoch.
func TestNodeConsumerPasses(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skipf("needs node: %v", err)
	}
	program := script(t, "halyard_consumer.js")
	if out, err := exec.CommandContext(t.Context(), node, program, "--probe").CombinedOutput(); err != nil {
		t.Skipf("needs the npm packages serialport and nmea-simple, installed globally: %s", out)
	}
	independent(t, []string{node, program, "--port", "{port}", "--baud", "{baud}", "--format", "{format}", "--installation", "{installation}"}, covering(t), nil)
}

// covering picks cases of the default suite until each check is to be proven by one.
func covering(t *testing.T) func(*conformance.Case) bool {
	t.Helper()
	suite, err := conformance.LoadSuite("default")
	if err != nil {
		t.Fatal(err)
	}
	proved, picked := map[string]bool{}, map[string]bool{}
	for {
		best, most := "", 0
		for _, c := range suite.Cases {
			n := 0
			for _, id := range c.Checks {
				if !proved[id] {
					n++
				}
			}
			if n > most {
				best, most = c.Name, n
			}
		}
		if most == 0 {
			return func(c *conformance.Case) bool { return picked[c.Name] }
		}
		picked[best] = true
		for _, c := range suite.Cases {
			if c.Name == best {
				for _, id := range c.Checks {
					proved[id] = true
				}
			}
		}
	}
}

// gpsdRates are the rates of the default suite's lines that gpsd can read at, lowest first.
var gpsdRates = []int{4800, 9600, 19200, 38400, 57600, 115200}

// A general GNSS daemon, written by people who have never heard of us. It knows neither lever arms nor mounting nor heave, and
// the checks of those are skipped for it; of all else it must not be accused.
func TestGpsdPasses(t *testing.T) {
	python := "/usr/bin/python3"
	if _, err := exec.LookPath(python); err != nil {
		t.Skipf("needs %s: %v", python, err)
	}
	_, err := exec.LookPath("gpsd")
	if _, sbin := exec.LookPath("/usr/sbin/gpsd"); err != nil && sbin != nil {
		t.Skipf("needs gpsd (Debian: gpsd): %v", err)
	}
	proven, spoken := 0, map[string]bool{}
	cover := covering(t)
	independent(t, []string{python, "-B", script(t, "gpsd_adapter.py"), "--port", "{port}", "--baud", "{baud}", "--installation", "{installation}"},
		func(c *conformance.Case) bool {
			if !cover(c) {
				return false
			}
			line := &c.Scenario.Streams[0].Line
			for _, r := range gpsdRates { // the next that it knows
				if r >= line.Baud {
					line.Baud = r
					break
				}
			}
			return true
		},
		func(c conformance.CaseResult, r conformance.Result) bool {
			if r.Outcome == conformance.Passed {
				proven++
				spoken[r.Check] = true
			}
			return r.Outcome == conformance.Skipped
		})
	for _, id := range []string{"parse.values", "parse.loss", "parse.checksum", "parse.null", "parse.hemisphere", "parse.wrap", "parse.dialect", "parse.talker",
		"time.validity", "time.midnight", "time.date", "time.order", "outage.fix-state", "outage.stale", "outage.zero", "outage.reacquire", "line.resync", "line.recovery", "line.silence"} {
		if !spoken[id] && !t.Failed() {
			t.Errorf("%s is proven in no case; %d checks are", id, proven)
		}
	}
}
