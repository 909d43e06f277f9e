package conformance

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"swellbench/conformance/consumer"
	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/scenarios"
)

// logged renders a scenario to the reference consumer, which may make a mistake, and writes its log and the sent-log.
func logged(t *testing.T, defects ...string) (sc *scenarios.Scenario, obs, sent string) {
	t.Helper()
	sc, err := scenarios.Parse("afterwards.yaml", []byte("start: 2026-06-01T12:00:00Z\nduration: 12 s\nseed: 3\n"+swellTrack+swellMotion+rawInstallation+tenHertz))
	if err != nil {
		t.Fatal(err)
	}
	obs, sent = logOf(t, sc, defects...)
	return sc, obs, sent
}

// logOf is logged of any scenario.
func logOf(t *testing.T, sc *scenarios.Scenario, defects ...string) (obs, sent string) {
	t.Helper()
	d, err := emulator.New(sc)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	obs, sent = filepath.Join(dir, "obs.jsonl"), filepath.Join(dir, "sent.jsonl")
	var stream, out, sentLog bytes.Buffer
	l := d.NewSentLog(&sentLog)
	if err := emulator.Render(d, 0, &stream, func(s line.Sent) { l.Add(0, s) }); err != nil {
		t.Fatal(err)
	}
	if err := l.Flush(); err != nil {
		t.Fatal(err)
	}
	cfg := consumer.Config{Installation: &sc.Installation, Format: formatWord(d.Stream(0)), Defects: defects}
	if f := d.Stream(0).LayoutFile; f.FS != nil {
		cfg.Layout = must(emulator.LoadLayout(f))
	}
	if err := consumer.Run(context.Background(), cfg, &stream, &out); err != nil {
		t.Fatal(err)
	}
	write(t, obs, out.Bytes())
	write(t, sent, sentLog.Bytes())
	return obs, sent
}

func write(t *testing.T, path string, b []byte) {
	t.Helper()
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

// faultsOf lists the checks that are not passed.
func faultsOf(v Verdict) string {
	var out []string
	for _, r := range v.Cases[0].Results {
		if r.Outcome == Failed || r.Outcome == CouldNotRun {
			out = append(out, r.Check+" "+r.Outcome.String())
		}
	}
	return strings.Join(out, ", ")
}

// A log is judged as the program itself would have been: clean, with its mistake, with or without the sent-log.
func TestAfterwards(t *testing.T) {
	for _, c := range []struct {
		defects []string
		want    string
	}{{nil, ""}, {[]string{"lever-arm-twice"}, "offset.lever-arm failed"}, {[]string{"roll-sign"}, "parse.values"}} {
		sc, obs, sent := logged(t, c.defects...)
		for _, sentLog := range []string{"", sent} {
			v, err := Afterwards(Log{Scenario: sc, Path: obs, SentLog: sentLog})
			if err != nil {
				t.Fatal(err)
			}
			got := faultsOf(v)
			if c.want == "" && (got != "" || v.Outcome() != Passed) || c.want != "" && (got == "" || v.Outcome() != Failed) ||
				strings.HasSuffix(c.want, "failed") && !strings.Contains(got, c.want) {
				t.Errorf("%v, sent-log %q: %v, %s; want %s", c.defects, sentLog, v.Outcome(), got, c.want)
			}
			if n := bytes.Count(must(os.ReadFile(sent)), []byte("\n")); v.Cases[0].Sent != n {
				t.Errorf("%d messages sent, want %d", v.Cases[0].Sent, n)
			}
		}
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// The same observations, exported with other units, signs, marks and clocks, come to the same verdict; one wrong sign in
// the map does not.
func TestAfterwardsMapped(t *testing.T) {
	sc, obs, _ := logged(t)
	var csv strings.Builder
	csv.WriteString("GPS time;Breite;L;H ft;Kurs rad;Roll;Pitch;Heave down\n")
	number := func(format string, x float64) string { return strings.Replace(fmt.Sprintf(format, x), ".", ",", 1) }
	for _, l := range strings.Split(strings.TrimSpace(string(must(os.ReadFile(obs)))), "\n") {
		o, err := observe.Parse([]byte(l))
		if err != nil {
			t.Fatal(err)
		}
		var raw map[string]any
		if err := json.Unmarshal([]byte(l), &raw); err != nil {
			t.Fatal(err)
		}
		f := func(key string) float64 { x, _ := raw[key].(float64); return x }
		cells := []string{o.Time.Add(18e9).Format("02.01.2006 15:04:05,000")}
		cells = append(cells, number("%.8f", f("lat")), number("%.8f", f("lon")), number("%.4f", f("height")/0.3048),
			number("%.6f", f("heading")*3.14159265358979/180), number("%.4f", -f("roll")), number("%.4f", f("pitch")), number("%.4f", -f("heave")))
		csv.WriteString(strings.Join(cells, ";") + "\n")
	}
	path := filepath.Join(t.TempDir(), "export.csv")
	write(t, path, []byte(csv.String()))
	text := `
separator: ;
decimal-mark: ","
time: {columns: [GPS time], layout: DD.MM.YYYY hh:mm:ss, base: gps}
columns:
  lat: {column: Breite}
  lon: {column: L}
  height: {column: H ft, unit: ft}
  heading: {column: Kurs rad, unit: rad}
  roll: {column: Roll, positive: port-down}
  pitch: {column: Pitch}
  heave: {column: Heave down, positive: down}
`
	for edit, want := range map[string]string{"": "", "positive: port-down": "offset.mounting failed", ", base: gps": "time.validity failed"} {
		m, err := observe.LoadMapFS(fstest.MapFS{"map.yaml": {Data: []byte(strings.Replace(text, edit, strings.Repeat(" ", min(1, len(edit))), 1))}}, "map.yaml")
		if err != nil {
			t.Fatal(err)
		}
		v, err := Afterwards(Log{Scenario: sc, Path: path, Map: m})
		if err != nil {
			t.Fatal(err)
		}
		if got := faultsOf(v); want == "" && got != "" || !strings.Contains(got, want) {
			t.Errorf("without %q: %s, want %q", edit, got, want)
		}
	}
}

// What cannot be judged says so, and never passes.
func TestAfterwardsRefused(t *testing.T) {
	sc, obs, sent := logged(t)
	other := *sc
	other.Seed, other.Duration = 4, 11
	empty, rubbish := filepath.Join(t.TempDir(), "empty"), filepath.Join(t.TempDir(), "rubbish")
	write(t, empty, nil)
	write(t, rubbish, []byte("log begins\nlog ends\n"))
	for _, l := range []Log{{Scenario: sc, Path: filepath.Join(t.TempDir(), "none")}, {Scenario: sc, Path: obs, SentLog: empty}, {Scenario: sc, Path: obs, SentLog: rubbish}, {Scenario: &other, Path: obs, SentLog: sent}} {
		if _, err := Afterwards(l); err == nil {
			t.Errorf("%+v is judged", l)
		}
	}
	for path, want := range map[string]string{empty: "there is nothing in the log", rubbish: "2 of 2 lines are no observations; the first is line 1 (not JSON, at byte 1): log begins"} {
		v, err := Afterwards(Log{Scenario: sc, Path: path})
		if err != nil || v.Cases[0].Incident == nil || v.Cases[0].Incident.Text != want || v.ExitCode() == 0 {
			t.Errorf("%v %+v", err, v.Cases)
		}
	}
}
