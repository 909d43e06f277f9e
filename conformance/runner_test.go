//go:build unix

package conformance_test

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"swellbench/conformance"
	"swellbench/emulator/port"
)

// shortCase is a scenario of two seconds in which the times of GGA are all that is listened to.
const shortCase = `
    scenario:
      duration: %s
      seed: 7
      installation:
        points: {sensor: [0.1 m, 0.2 m, 0.3 m], antenna-primary: [1 m, 2 m, 3 m]}
      track: {position: {latitude: 50.1 deg, longitude: -4.2 deg, height: 50 m}, heading: 40 deg}
      streams:
        - format: nmea0183
          line: {baud: %d}
          messages: [{type: ZDA, rate: 1 Hz}, {type: GGA, rate: 10 Hz}]
    checks: [parse.loss]
`

// shortSuite has one short case for each baud rate: "at-38400".
func shortSuite(t *testing.T, duration string, bauds ...int) *conformance.Suite {
	t.Helper()
	var b strings.Builder
	b.WriteString("cases:\n")
	for _, baud := range bauds {
		fmt.Fprintf(&b, "  - name: at-%d", baud)
		fmt.Fprintf(&b, shortCase, duration, baud)
	}
	s, err := conformance.ParseSuite("short.yaml", []byte(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// needPorts skips the test where there are no pseudo-terminals.
func needPorts(t *testing.T) {
	t.Helper()
	p, err := port.OpenPTY(filepath.Join(t.TempDir(), "port"))
	if err != nil {
		t.Skipf("no pseudo-terminal on this machine: %v", err)
	}
	p.Close()
}

// run runs the suite and asserts what holds whatever the consumer does: nothing of it is left behind.
func run(t *testing.T, ctx context.Context, s *conformance.Suite, consumer conformance.ConsumerCommand, o conformance.Options) conformance.Verdict {
	t.Helper()
	needPorts(t)
	o.TempDir = t.TempDir()
	v, err := conformance.Run(ctx, s, consumer, o)
	if err != nil {
		t.Fatal(err)
	}
	if left, _ := os.ReadDir(o.TempDir); len(left) > 0 {
		t.Errorf("left behind in the folder of temporary files: %v", left)
	}
	for _, e := range consumer.Env {
		if token, ok := strings.CutPrefix(e, helperVariable+"="); ok {
			if left := survivors(t, token); len(left) > 0 {
				t.Errorf("left running: %q", left)
			}
		}
	}
	for _, c := range v.Cases {
		if len(c.Results) != 1 || c.Results[0].Check != "parse.loss" {
			t.Errorf("case %s has results %v, want one of parse.loss", c.Name, c.Results)
		}
	}
	return v
}

// TestRunClosesFiles counts the files that are open before and after runs that end in different ways.
func TestRunClosesFiles(t *testing.T) {
	openFiles := func() int {
		entries, err := os.ReadDir("/proc/self/fd")
		if err != nil {
			t.Skip("no /proc: cannot count open files")
		}
		return len(entries)
	}
	suite := shortSuite(t, "1 s", 19200, 9600)
	run(t, t.Context(), suite, helperCommand(rand.Text(), "good"), conformance.Options{}) // opens what stays open, once
	before := openFiles()
	for _, behaviour := range []string{"good", "crash-at-start", "crash-at-9600"} {
		run(t, t.Context(), suite, helperCommand(rand.Text(), behaviour), conformance.Options{})
	}
	run(t, t.Context(), suite, helperOf(rand.Text(), "no-such-program-here", "{port}"), conformance.Options{})
	if after := openFiles(); after > before {
		t.Errorf("%d files are open, %d were before", after, before)
	}
}

// A behaviour is a consumer that behaves well or badly, and what the runner says of it.
type behaviour struct {
	name     string                                         // what the helper is told, unless there is another consumer
	consumer func(token string) conformance.ConsumerCommand // nil: the helper
	more     []string
	options  conformance.Options

	kind     string // of the incident; "" for none
	text     string // the incident's text matches
	note     string // a note matches; "" for no note at all
	stderr   string
	exit     string
	observed int // at least
}

func TestRunBehaviour(t *testing.T) {
	script := filepath.Join(t.TempDir(), "program")
	if err := os.WriteFile(script, []byte("no program at all"), 0o755); err != nil {
		t.Fatal(err)
	}
	plain := filepath.Join(t.TempDir(), "plain")
	if err := os.WriteFile(plain, []byte("#!/bin/sh\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	tests := []behaviour{
		{name: "good", observed: 15, exit: "signal: terminated"},
		{name: "installation", more: []string{"{installation}"}, observed: 15},
		{name: "file", more: []string{"{observations}"}, observed: 15},
		{name: "late-file", more: []string{"{observations}"}, observed: 15, exit: "exit status 0"},
		{name: "logs", observed: 15, note: `^15 of 30 lines are no observations; the first is line 1 \(not JSON\): debug: a fix$`},
		{name: "reopen", observed: 10, note: `messages were lost because the consumer had the port closed for a while$`},
		{name: "fail-when-asked", observed: 15, exit: "exit status 1"},
		{name: "wrong-baud", note: `^the consumer set its port to 9600 baud; the line runs at 38400$`, kind: "silent",
			text: `^the consumer set its port to 9600 baud; the line runs at 38400, so all that it heard was rubbish$`},
		{name: "ignore-term", observed: 15, exit: "signal: killed",
			note: `^the consumer did not end within 0\.4 s of being asked to \(SIGTERM\); it was killed$`},

		{name: "crash-at-start", kind: "ended-at-start", stderr: "cannot find my settings\n",
			text: `^the consumer ended before it opened the port: exit status 3$`},
		{name: "hang", kind: "never-opened", text: `^the consumer did not open the port within 0\.7 s; was {port} in its arguments what it opens\?$`,
			options: conformance.Options{OpenTimeout: 700 * time.Millisecond}},
		{name: "exit-7", kind: "ended-mid-case", stderr: "panic: index out of range\n", observed: 5,
			text: `^the consumer ended 0\.\d s after the stream began, \d\.\d s before its end: exit status 7$`},
		{name: "exit-0", kind: "ended-mid-case", observed: 5, text: `before its end: exit status 0$`},
		{name: "segv", kind: "ended-mid-case", observed: 5, text: `: signal: segmentation fault.* \(not sent by swellbench\)$`},
		{name: "killed", kind: "ended-mid-case", observed: 5, text: `: signal: killed \(not sent by swellbench\)$`},
		{name: "leave", kind: "left-port", observed: 5,
			text: `^the consumer closed the port before the end of the stream and did not open it again; it missed the last \d+ of 17 messages$`},
		{name: "silent", kind: "silent", text: `^the consumer opened the port and printed nothing on its standard output; `},
		{name: "silent", more: []string{"{observations}"}, kind: "silent", text: `^the consumer wrote no observations to the file it was told `},
		{name: "rubbish", kind: "rubbish", text: `^none of the 15 lines the consumer printed is an observation; the first is line 1 \(not JSON, .*\): ··`},
		{name: "flood", kind: "flooded", text: `^the consumer wrote \d\.\d MB on standard output within \d\.\d s, more than 2 MB a second; it was ended\.`},
		{name: "endless-line", kind: "rubbish", text: `^none of the 1 lines the consumer printed is an observation; the first is line 1 \(too long, .*\): xxx`},

		{name: "grandchild", observed: 15, consumer: func(token string) conformance.ConsumerCommand {
			return helperOf(token, "sh", "-c", `SELF hang x 1 & exec SELF good "$1" "$2"`, "sh", "{port}", "{baud}")
		}},
		{name: "behind a shell", observed: 15, consumer: func(token string) conformance.ConsumerCommand {
			return helperOf(token, "sh", "-c", `SELF ignore-term "$1" "$2" & wait`, "sh", "{port}", "{baud}")
		}},
		{name: "daemon", observed: 15},
		{name: "not found", kind: "not-started", text: `^consumer "no-such-program-here" not found; check the program after --`,
			consumer: func(token string) conformance.ConsumerCommand {
				return helperOf(token, "no-such-program-here", "{port}")
			}},
		{name: "path not found", kind: "not-started", text: `^consumer "\./no-such-program" not found`,
			consumer: func(token string) conformance.ConsumerCommand {
				return helperOf(token, "./no-such-program", "{port}")
			}},
		{name: "not executable", kind: "not-started", text: `may not be executed; check its execute permission`,
			consumer: func(token string) conformance.ConsumerCommand { return helperOf(token, plain, "{port}") }},
		{name: "no program", kind: "not-started", text: `cannot be run: it is neither a program for this machine nor a script`,
			consumer: func(token string) conformance.ConsumerCommand { return helperOf(token, script, "{port}") }},
		{name: "no folder", kind: "not-started", text: `could not be started: its working directory "/no/such/folder": no such file`,
			consumer: func(token string) conformance.ConsumerCommand {
				c := helperCommand(token, "good")
				c.Dir = "/no/such/folder"
				return c
			}},
	}
	var wg sync.WaitGroup
	room := make(chan struct{}, 8) // they mostly wait
	defer wg.Wait()
	for _, tt := range tests {
		room <- struct{}{}
		wg.Go(func() {
			defer func() { <-room }()
			t.Run(strings.ReplaceAll(tt.name, " ", "-"), func(t *testing.T) { tt.test(t) })
		})
	}
}

func (tt behaviour) test(t *testing.T) {
	token := rand.Text()
	consumer := helperCommand(token, tt.name, tt.more...)
	if tt.consumer != nil {
		consumer = tt.consumer(token)
	}
	tt.options.Grace = 400 * time.Millisecond
	v := run(t, t.Context(), shortSuite(t, "1.5 s", 38400), consumer, tt.options)
	c := v.Cases[0]
	kind := ""
	if c.Incident != nil {
		kind = c.Incident.Kind.String()
		if !regexp.MustCompile(tt.text).MatchString(c.Incident.Text) || tt.text == "" {
			t.Errorf("incident %q, want it to match %q", c.Incident.Text, tt.text)
		}
		if got := c.Results[0]; got.Outcome != conformance.CouldNotRun || got.Reason != c.Incident.Text {
			t.Errorf("result %v for %q, want that it could not run for the incident", got.Outcome, got.Reason)
		}
	}
	if kind != tt.kind {
		t.Errorf("incident %v, want %q", c.Incident, tt.kind)
	}
	if c.Observed < tt.observed || tt.observed == 0 && c.Observed > 0 {
		t.Errorf("%d observations, want %d", c.Observed, tt.observed)
	}
	if tt.exit != "" && c.Exit != tt.exit {
		t.Errorf("exit %q, want %q", c.Exit, tt.exit)
	}
	if tt.stderr != "" && c.Stderr != tt.stderr {
		t.Errorf("standard error ended with %q, want %q", c.Stderr, tt.stderr)
	}
	found := slices.ContainsFunc(c.Notes, regexp.MustCompile(tt.note).MatchString)
	if tt.note != "" && !found || tt.note == "" && len(c.Notes) > 0 {
		t.Errorf("notes %q, want %q", c.Notes, tt.note)
	}
}

// TestRunOthersStillRun has a consumer that crashes in one case of three.
func TestRunOthersStillRun(t *testing.T) {
	var seen []string
	v := run(t, t.Context(), shortSuite(t, "1 s", 19200, 9600, 38400), helperCommand(rand.Text(), "crash-at-9600"),
		conformance.Options{Parallel: 2, Progress: func(p conformance.Progress) {
			if p.Stage == conformance.CaseDone {
				seen = append(seen, fmt.Sprintf("%s %d/%d %v", p.Case, p.Done, p.Total, p.Result.Outcome()))
			}
		}})
	for i, want := range []string{"", "ended-mid-case", ""} {
		got := ""
		if in := v.Cases[i].Incident; in != nil {
			got = in.Kind.String()
		}
		if got != want {
			t.Errorf("case %s: incident %q, want %q", v.Cases[i].Name, got, want)
		}
		if want == "" && v.Cases[i].Observed < 10 {
			t.Errorf("case %s: %d observations, want 10", v.Cases[i].Name, v.Cases[i].Observed)
		}
	}
	if v.Outcome() != conformance.Failed || v.ExitCode() != 1 {
		t.Errorf("outcome %v, exit code %d; want failed, 1", v.Outcome(), v.ExitCode())
	}
	if len(seen) != 3 || !strings.Contains(seen[2], "3/3") {
		t.Errorf("progress told of %q, want three cases done", seen)
	}
}

// TestRunInterrupted ends the run while the first of three cases is played.
func TestRunInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancelCause(t.Context())
	v := run(t, ctx, shortSuite(t, "3 s", 19200, 9600, 38400), helperCommand(rand.Text(), "good"),
		conformance.Options{Parallel: 1, Progress: func(p conformance.Progress) {
			if p.Stage == conformance.CasePlaying {
				time.AfterFunc(time.Second, func() { cancel(errors.New("somebody pressed Ctrl-C")) })
			}
		}})
	if !v.Interrupted || v.ExitCode() != 3 {
		t.Errorf("interrupted %t, exit code %d; want true, 3", v.Interrupted, v.ExitCode())
	}
	wants := []string{`under way: somebody pressed Ctrl-C$`, `^not played: the run was ended before$`, `^not played`}
	for i, want := range wants {
		if in := v.Cases[i].Incident; in == nil || in.Kind != conformance.Interrupted || !regexp.MustCompile(want).MatchString(in.Text) {
			t.Errorf("case %s: incident %v, want %q", v.Cases[i].Name, in, want)
		}
	}
	if c := v.Cases[0]; c.Sent < 3 || c.Observed < 1 {
		t.Errorf("%d messages sent, %d observations; want what was gathered until then", c.Sent, c.Observed)
	}
	if v.Elapsed > 8*time.Second {
		t.Errorf("the run went on for %v", v.Elapsed)
	}
}

// TestRunTwoStreams gives a consumer two ports, each with a stream of its own.
func TestRunTwoStreams(t *testing.T) {
	s, err := conformance.ParseSuite("two.yaml", []byte(`
cases:
  - name: both
    scenario:
      duration: 1 s
      installation:
        points: {sensor: [0.1 m, 0.2 m, 0.3 m], antenna-primary: [1 m, 2 m, 3 m]}
      track: {position: {latitude: 50.1 deg, longitude: -4.2 deg, height: 50 m}, heading: 40 deg}
      streams:
        - name: gnss
          format: nmea0183
          line: {baud: 9600}
          messages: [{type: ZDA, rate: 1 Hz}, {type: GGA, rate: 5 Hz}]
        - name: motion
          format: nmea0183
          line: {baud: 38400}
          messages: [{type: XDR, rate: 20 Hz}]
    checks: [parse.loss]
`))
	if err != nil {
		t.Fatal(err)
	}
	v := run(t, t.Context(), s, helperCommand(rand.Text(), "two-ports", "{port.motion}", "{baud.motion}"), conformance.Options{})
	c := v.Cases[0]
	if c.Incident != nil || c.Sent != 1+5+20 || c.Unheard != 0 || c.Observed != 5 {
		t.Errorf("incident %v, %d messages, %d unheard, %d observations; want none, 26, 0, 5", c.Incident, c.Sent, c.Unheard, c.Observed)
	}
	_, err = conformance.Run(t.Context(), s, helperCommand(rand.Text(), "good"), conformance.Options{})
	if _, ok := errors.AsType[*conformance.UsageError](err); !ok {
		t.Errorf("a consumer that is told one port of two: error %v, want one of usage", err)
	}
}

// failingPort fails after some writes.
type failingPort struct {
	port.Port
	left int
}

func (p *failingPort) Write(b []byte) (int, error) {
	if p.left--; p.left < 0 {
		return 0, errors.New("the wire was pulled out")
	}
	return p.Port.Write(b)
}

func TestRunPortTrouble(t *testing.T) {
	tests := []struct {
		name, kind, text string
		open             func(string) (port.Port, error)
	}{
		{"taken", "no-port", `^no port to play on: .*port-1`, func(link string) (port.Port, error) {
			if err := os.WriteFile(link, nil, 0o600); err != nil {
				return nil, err
			}
			return port.OpenPTY(link)
		}},
		{"vanished", "port-lost", `^the port failed 0\.\d s after the stream began: .*the wire was pulled out$`, func(link string) (port.Port, error) {
			p, err := port.OpenPTY(link)
			return &failingPort{p, 20}, err
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := run(t, t.Context(), shortSuite(t, "2 s", 38400), helperCommand(rand.Text(), "good"), conformance.Options{OpenPort: tt.open})
			in := v.Cases[0].Incident
			if in == nil || in.Kind.String() != tt.kind || !regexp.MustCompile(tt.text).MatchString(in.Text) {
				t.Errorf("incident %v, want %s matching %q", in, tt.kind, tt.text)
			}
			if v.Outcome() != conformance.CouldNotRun || v.ExitCode() != 3 {
				t.Errorf("outcome %v, exit code %d; want could not run, 3", v.Outcome(), v.ExitCode())
			}
		})
	}
}

func TestRunUsage(t *testing.T) {
	s := shortSuite(t, "1 s", 38400)
	tests := []struct {
		name, pattern string
		args          []string
		want          string
	}{
		{"no consumer", "", nil, "no consumer: give the program to test and its arguments, such as: -- my-program --port {port} --baud {baud}"},
		{"no port", "", []string{"cat", "{baud}"}, `consumer "cat" is not told its port: put {port} into one of its arguments`},
		{"unknown placeholder", "", []string{"cat", "-p={prot}"}, `argument 1 of the consumer, "-p={prot}": unknown placeholder {prot}, ` +
			`allowed: {port}, {baud}, {format}, {layout}, {installation}, {observations}; write {{ and }} for plain braces`},
		{"open brace", "", []string{"cat", "{port}", "a{b"}, `argument 2 of the consumer, "a{b": a { with no } after it, at byte 1; write {{ for a plain brace`},
		{"closing brace", "", []string{"cat", "{port}", "a}b"}, `argument 2 of the consumer, "a}b": a } with no { before it, at byte 1; write }} for a plain brace`},
		{"unknown stream", "", []string{"cat", "{port}", "{baud.motion}"}, `placeholder {baud.motion}: case at-38400 has no stream "motion", only: 1`},
		{"no such case", "at-1*", []string{"cat", "{port}"}, `no case of suite short matches "at-1*"; its cases: at-38400; * stands for any letters`},
		{"broken pattern", "at-[", []string{"cat", "{port}"}, `case pattern "at-[" is broken; allowed: * for any letters, ? for one, [a-z] for one of a range`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := conformance.Run(t.Context(), s, conformance.ConsumerCommand{Args: tt.args}, conformance.Options{Case: tt.pattern})
			if _, ok := errors.AsType[*conformance.UsageError](err); !ok || err.Error() != tt.want {
				t.Errorf("error %v\nwant  %s", err, tt.want)
			}
		})
	}
}

// TestRunEnvironment: a case may put the program on a computer elsewhere; what the user set counts more.
func TestRunEnvironment(t *testing.T) {
	suite := shortSuite(t, "1 s", 19200)
	suite.Cases[0].Environment = []string{"LC_NUMERIC=de_DE.UTF-8", "TZ=Asia/Kathmandu"}
	consumer := conformance.ConsumerCommand{Args: []string{"/bin/sh", "-c", `echo "zone $TZ, numbers $LC_NUMERIC" >&2`, "{port}"}}
	for _, c := range []struct {
		env  []string
		want string
	}{{nil, "zone Asia/Kathmandu, numbers de_DE.UTF-8"}, {[]string{"TZ=UTC"}, "zone UTC, numbers de_DE.UTF-8"}} {
		consumer.Env = c.env
		v := run(t, t.Context(), suite, consumer, conformance.Options{})
		if got := strings.TrimSpace(v.Cases[0].Stderr); got != c.want {
			t.Errorf("the program finds %q, want %q", got, c.want)
		}
		if got := strings.Join(v.Cases[0].Environment, " "); got != "LC_NUMERIC=de_DE.UTF-8 TZ=Asia/Kathmandu" {
			t.Errorf("the result says %q", got)
		}
	}
}

// TestRunBusy: a program that never rests is told of, and one that waits is not.
func TestRunBusy(t *testing.T) {
	if testing.Short() {
		t.Skip("plays for 4 s")
	}
	for busy, want := range map[string]bool{"while :; do :; done": true, "cat <&3 >/dev/null": false} {
		t.Run(busy, func(t *testing.T) {
			t.Parallel()
			consumer := conformance.ConsumerCommand{Args: []string{"/bin/sh", "-c", `exec 3<>"$1"; echo '{{"time":"2026-06-01T12:00:00Z"}}'; ` + busy, "sh", "{port}"}}
			v := run(t, t.Context(), shortSuite(t, "4 s", 19200), consumer, conformance.Options{})
			if v.Cases[0].HostLateS > 0.02 {
				t.Skipf("the machine is busy with something else: it was %.0f ms late", 1e3*v.Cases[0].HostLateS)
			}
			if got := strings.Contains(strings.Join(v.Cases[0].Notes, "\n"), "ran without a rest"); got != want {
				t.Errorf("%q", v.Cases[0].Notes)
			}
		})
	}
}
