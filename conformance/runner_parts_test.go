package conformance

import (
	"bytes"
	"errors"
	"io"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"swellbench/conformance/observe"
	"swellbench/emulator/line"
)

func TestFillArgument(t *testing.T) {
	value := func(name string) string { return "<" + name + ">" }
	tests := []struct{ arg, want, err string }{
		{arg: "", want: ""},
		{arg: "plain", want: "plain"},
		{arg: "{port}", want: "<port>"},
		{arg: "--port={port},{baud}", want: "--port=<port>,<baud>"},
		{arg: "{port.gnss}", want: "<port.gnss>"},
		{arg: `{{"port":"{port}"}}`, want: `{"port":"<port>"}`},
		{arg: `{{"a":{{"b":1}}}}`, want: `{"a":{"b":1}}`},
		{arg: "{{port}}", want: "{port}"},
		{arg: "{{{port}}}", want: "{<port>}"},
		{arg: "ä{format}ö", want: "ä<format>ö"},
		{arg: "{}", err: "unknown placeholder {}, allowed: {port}, {baud}, {format}, {layout}, {installation}, {observations}; write {{ and }} for plain braces"},
		{arg: "{port.}", err: "unknown placeholder {port.}, allowed: {port}, {baud}, {format}, {layout}, {installation}, {observations}; write {{ and }} for plain braces"},
		{arg: "{installation.gnss}", err: "unknown placeholder {installation.gnss}, allowed: {port}, {baud}, {format}, {layout}, {installation}, {observations}; write {{ and }} for plain braces"},
		{arg: "x{", err: "a { with no } after it, at byte 1; write {{ for a plain brace"},
		{arg: "x}", err: "a } with no { before it, at byte 1; write }} for a plain brace"},
	}
	for _, tt := range tests {
		got, err := fillArgument(tt.arg, value)
		if got != tt.want || (err != nil || tt.err != "") && (err == nil || err.Error() != tt.err) {
			t.Errorf("%q: %q, error %v; want %q, error %s", tt.arg, got, err, tt.want, tt.err)
		}
	}
}

func TestConsumerCommandStreams(t *testing.T) {
	tests := []struct {
		args    []string
		streams []string
		want    string
	}{
		{[]string{"p", "{port}"}, []string{"1"}, ""},
		{[]string{"p", "{port.1}"}, []string{"1"}, ""},
		{[]string{"p", "{port}", "{port.motion}"}, []string{"gnss", "motion"}, ""},
		{[]string{"p", "{port}"}, []string{"gnss", "motion"}, `case c has a stream "motion", whose port the consumer is not told: add {port.motion} to its arguments`},
		{[]string{"p", "{port}", "{port.sea}"}, []string{"gnss", "motion"}, `placeholder {port.sea}: case c has no stream "sea", only: gnss, motion`},
	}
	for _, tt := range tests {
		err := ConsumerCommand{Args: tt.args}.validateFor("c", tt.streams)
		if got := errText(err); got != tt.want {
			t.Errorf("%q with streams %q: %q, want %q", tt.args, tt.streams, got, tt.want)
		}
	}
}

func errText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// TestSpool fills every field of a Sent by reflection: a new one that the spool forgets shows here.
func TestSpool(t *testing.T) {
	s, err := newSpool(filepath.Join(t.TempDir(), "sent"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	var want []line.Sent
	for i := range 3000 {
		var m line.Sent
		fill(reflect.ValueOf(&m).Elem(), i)
		// How it was sent, and what faults did byte by byte, is no matter of the judge.
		m.Number, m.Edits, m.Baud, m.Break, m.Adapter, m.HangUpS = 0, nil, 0, line.Break{}, line.Adapter{}, 0
		if i%3 == 0 {
			m.Dropped, m.Hurt, m.Bytes = "", "", []byte{}
		}
		want = append(want, m)
		s.add(m)
	}
	s.seal()
	for range 2 { // it can be walked again
		if got := slices.Collect(s.all()); !reflect.DeepEqual(got, want) {
			t.Fatalf("%d messages read, want the %d written", len(got), len(want))
		}
	}
	for range s.all() {
		break
	}
	if err := s.failed(); err != nil {
		t.Error(err)
	}
	// A file that ends within a message is not taken for the whole log.
	s.file.Truncate(1000)
	for range s.all() {
	}
	if err := s.failed(); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("error of a log cut short is %v, want %v", err, io.ErrUnexpectedEOF)
	}
}

func fill(v reflect.Value, i int) {
	switch v.Kind() {
	case reflect.Struct:
		for k := range v.NumField() {
			fill(v.Field(k), i+k)
		}
	case reflect.Float64:
		v.SetFloat(float64(i) + 0.125)
	case reflect.String:
		v.SetString(strings.Repeat("w", i%5) + "x")
	case reflect.Bool: // Idle is of no message
	case reflect.Int:
		v.SetInt(int64(i))
	case reflect.Slice:
		if v.Type().Elem().Kind() != reflect.Uint8 {
			return
		}
		v.SetBytes(bytes.Repeat([]byte{byte(i)}, i%300))
	default:
		panic("a kind of field the test does not know: " + v.Kind().String())
	}
}

func TestSpoolStats(t *testing.T) {
	s, err := newSpool(filepath.Join(t.TempDir(), "sent"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	for i, dropped := range []string{"", line.NoConsumer, "", line.NoConsumer, line.NoConsumer} {
		s.add(line.Sent{Message: line.Message{Valid: float64(i)}, Dropped: dropped})
	}
	n, st := s.summary()
	if want := (sentStats{unheard: 3, unheardAtEnd: 2, lastValidS: 2}); n != 5 || st != want {
		t.Errorf("%d messages, %+v; want 5, %+v", n, st, want)
	}
}

func TestTail(t *testing.T) {
	tests := []struct {
		name, in, want string
	}{
		{"nothing", "", ""},
		{"short", "one\ntwo", "one\ntwo"},
		{"whole lines", strings.Repeat("0123456789abcde\n", 1000), strings.Repeat("0123456789abcde\n", tailBytes/16-1)},
		{"one long line", strings.Repeat("é", 10000) + "!", strings.Repeat("é", tailBytes/2-1) + "!"},
	}
	for _, tt := range tests {
		var whole, single tail
		whole.Write([]byte(tt.in))
		for i := range len(tt.in) {
			single.Write([]byte(tt.in[i : i+1]))
		}
		if whole.String() != tt.want || single.String() != tt.want {
			t.Errorf("%s: %d and %d bytes, want %d: %q", tt.name, len(whole.String()), len(single.String()), len(tt.want), tt.want[:min(20, len(tt.want))])
		}
	}
}

func TestMeter(t *testing.T) {
	m := &meter{begun: time.Now().Add(-10 * time.Second)}
	if err := m.add(floodBurst+9*floodRate, "standard output"); err != nil {
		t.Errorf("9 s worth of output in 10 s: %v", err)
	}
	if err := m.add(2*floodRate, "standard output"); err != errFlood || !strings.Contains(m.flooded(), "on standard output within 10.0 s") {
		t.Errorf("11 s worth of output in 10 s: %v, %q", err, m.flooded())
	}
}

// TestIntake sees that what is judged afterwards is what came, with the time it came.
func TestIntake(t *testing.T) {
	in, err := newIntake(filepath.Join(t.TempDir(), "output"), "", nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer in.close()
	r, w := io.Pipe()
	begun := time.Now()
	go func() {
		for _, l := range []string{`{"time":"2026-06-01T12:00:00Z","heave":1}`, "no observation", `{"time":"2026-06-01T12:00:00.1Z","heave":2}`} {
			io.WriteString(w, l+"\n")
		}
		w.Close()
	}()
	in.takeStdout(r)
	last := time.Date(2026, 6, 1, 12, 0, 0, 1e8, time.UTC)
	if !in.heard(last) || in.heard(last.Add(1)) {
		t.Errorf("heard until %v, want %v", in.latest, last)
	}
	for range 2 {
		var got []observe.Observation
		for o := range in.observations() {
			got = append(got, o)
			if o.Arrival.Before(begun.Round(0)) || o.Arrival.After(time.Now()) {
				t.Errorf("line %d arrived at %v, want between %v and now", o.Line, o.Arrival, begun)
			}
		}
		if len(got) != 2 || got[0].Line != 1 || got[1].Line != 3 || !got[1].Time.Equal(last) {
			t.Errorf("observations %v, want those of lines 1 and 3", got)
		}
	}
	stats, err := in.count()
	if err != nil || stats.Observations != 2 || stats.NRefused() != 1 {
		t.Errorf("counted %s, error %v; want 2 observations and 1 other line", stats.String(), err)
	}
}

func TestOutcomes(t *testing.T) {
	result := func(outs ...Outcome) (c CaseResult) {
		for _, o := range outs {
			c.Results = append(c.Results, Result{Outcome: o})
		}
		return c
	}
	with := func(k IncidentKind, c CaseResult) CaseResult {
		c.Incident = incidentf(k, "it happened")
		return c
	}
	tests := []struct {
		name  string
		cases []CaseResult
		want  Outcome
		exit  int
	}{
		{"all passed", []CaseResult{result(Passed, Passed), result(Passed)}, Passed, 0},
		{"skipped beside", []CaseResult{result(Passed, Skipped), result(Skipped)}, Passed, 0},
		{"inconclusive beside", []CaseResult{result(Passed, Inconclusive)}, Passed, 0},
		{"one failed", []CaseResult{result(Passed, Failed), result(Passed)}, Failed, 1},
		{"failed and could not run", []CaseResult{with(NoPort, result(CouldNotRun)), result(Failed)}, Failed, 1},
		{"could not run", []CaseResult{with(NotStarted, result(CouldNotRun)), result(Passed)}, CouldNotRun, 3},
		{"a check broke", []CaseResult{result(Passed, CouldNotRun)}, CouldNotRun, 3},
		{"consumer crashed", []CaseResult{with(EndedMidCase, result(CouldNotRun)), result(Passed)}, Failed, 1},
		{"consumer crashed at the end", []CaseResult{with(EndedBadly, result(Passed))}, Failed, 1},
		{"interrupted", []CaseResult{result(Passed), with(Interrupted, result(CouldNotRun))}, CouldNotRun, 3},
		{"host too late for all", []CaseResult{result(Inconclusive, Skipped)}, Inconclusive, 3},
		{"nothing said", []CaseResult{result(Skipped, Skipped)}, Skipped, 1},
		{"no case", nil, Skipped, 1},
	}
	for _, tt := range tests {
		v := Verdict{Cases: tt.cases}
		if v.Outcome() != tt.want || v.ExitCode() != tt.exit {
			t.Errorf("%s: %v, exit code %d; want %v, %d", tt.name, v.Outcome(), v.ExitCode(), tt.want, tt.exit)
		}
	}
}

func TestIncidentKinds(t *testing.T) {
	seen := map[string]bool{}
	for k := range incidentKinds {
		w := IncidentKind(k).String()
		if w == "" || seen[w] {
			t.Errorf("incident %d has the word %q, empty or used twice", k, w)
		}
		seen[w] = true
	}
	if w := IncidentKind(99).String(); w != "unknown" {
		t.Errorf("incident 99 has the word %q, want unknown", w)
	}
}

// TestJudgePanic has a check that breaks beside one that does not.
func TestJudgePanic(t *testing.T) {
	old := Checks
	defer func() { Checks = old }()
	Checks = []Check{
		{ID: "parse.breaks", Judge: func(*Evidence) Result { panic("nobody thought of that") }},
		{ID: "parse.holds", Judge: func(*Evidence) Result { return Result{Outcome: Passed} }},
	}
	got := judge([]string{"parse.breaks", "parse.holds"}, &Evidence{}, Options{}.withDefaults().Logger)
	if got[0].Outcome != CouldNotRun || !strings.Contains(got[0].Reason, "nobody thought of that") || got[0].Check != "parse.breaks" {
		t.Errorf("the broken check came to %+v", got[0])
	}
	if got[1].Outcome != Passed || got[1].Check != "parse.holds" {
		t.Errorf("the other check came to %+v", got[1])
	}
}
