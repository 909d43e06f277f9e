package conformance_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"swellbench/conformance"
)

// goodScenario is a scenario in the block of a case.
const goodScenario = `
      duration: 2 s
      installation:
        points: {sensor: [0.1 m, 0.2 m, 0.3 m], antenna-primary: [1 m, 2 m, 3 m]}
      track: {position: {latitude: 50.1 deg, longitude: -4.2 deg}, heading: 40 deg}
      streams:
        - format: nmea0183
          line: {baud: 38400}
          messages: [{type: GGA, rate: 10 Hz}]
`

func suiteOf(cases ...string) string { return "about: ours\ncases:\n" + strings.Join(cases, "") }

func caseOf(name, scenario, checks string) string {
	return "  - name: " + name + "\n    scenario:" + scenario + "    checks: " + checks + "\n"
}

func TestParseSuite(t *testing.T) {
	s, err := conformance.ParseSuite("dir/ours.yaml", []byte(suiteOf(
		caseOf("one", goodScenario, "[parse.loss, parse.values]"), caseOf("two", goodScenario, "[parse.loss]"))))
	if err != nil {
		t.Fatal(err)
	}
	if s.Name != "ours" || s.About != "ours" || len(s.Cases) != 2 {
		t.Errorf("suite %q, about %q, %d cases; want ours, ours, 2", s.Name, s.About, len(s.Cases))
	}
	if c := s.Cases[0]; c.Name != "one" || c.Scenario.Name != "one" || strings.Join(c.Checks, " ") != "parse.loss parse.values" {
		t.Errorf("case %q of scenario %q proves %q", c.Name, c.Scenario.Name, c.Checks)
	}
}

func TestParseSuiteErrors(t *testing.T) {
	swap := func(old, new string) string { return strings.Replace(goodScenario, old, new, 1) }
	tests := []struct{ name, in, want string }{
		{"no cases", "about: ours\n", `ours.yaml:1:1: `},
		{"empty cases", "cases: []\n", `ours.yaml:1:8: there are no cases; give at least one`},
		{"bad name", suiteOf(caseOf("Two Words", goodScenario, "[parse.loss]")),
			`ours.yaml:3:11: name is Two Words; allowed: small letters, digits and single hyphens, such as swell-raw`},
		{"same name", suiteOf(caseOf("one", goodScenario, "[parse.loss]"), caseOf("one", goodScenario, "[parse.loss]")),
			`ours.yaml:14:11: there is another case one; names are unique`},
		{"unknown check", suiteOf(caseOf("one", goodScenario, "[parse.lost]")), `ours.yaml:13:14: checks[0] is parse.lost; did you mean parse.loss? `},
		{"no checks", suiteOf(caseOf("one", goodScenario, "[]")), `ours.yaml:13:13: there are no checks; a case that proves nothing is no case`},
		{"check twice", suiteOf(caseOf("one", goodScenario, "[parse.loss, parse.loss]")), `ours.yaml:13:26: parse.loss is there twice`},
		{"unknown key", suiteOf(caseOf("one", swap("duration", "length: 2 s\n      duration"), "[parse.loss]")), `ours.yaml:5:7: `},
		{"unit", suiteOf(caseOf("one", swap("duration: 2 s", "duration: 2 m"), "[parse.loss]")), `ours.yaml:5:17: `},
		{"validator", suiteOf(caseOf("one", swap("latitude: 50.1", "latitude: 95.1"), "[parse.loss]")), `ours.yaml:8:36: `},
		{"unknown message", suiteOf(caseOf("one", swap("type: GGA", "type: GGB"), "[parse.loss]")), `ours.yaml:12:2`},
		{"unknown format", suiteOf(caseOf("one", swap("format: nmea0183", "format: nmea83"), "[parse.loss]")), `ours.yaml:10:19: `},
		{"ready-made that is none", suiteOf(caseOf("one", " no-such-thing\n", "[parse.loss]")), `ours.yaml:4:15: there is no ready-made scenario no-such-thing; `},
		{"number", suiteOf(caseOf("one", " 12\n", "[parse.loss]")), `ours.yaml:4:15: scenario is a whole number; a scenario, {file: ...}, or the name of a ready-made scenario`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := conformance.ParseSuite("ours.yaml", []byte(tt.in))
			if err == nil || !strings.HasPrefix(err.Error(), tt.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %v\nwant one that begins with %s", err, tt.want)
			}
		})
	}
}

func TestLoadSuiteFile(t *testing.T) {
	fsys := fstest.MapFS{
		"ours.yaml":       {Data: []byte(suiteOf(caseOf("one", " {file: sub/calm.yaml}\n", "[parse.loss]")))},
		"sub/calm.yaml":   {Data: []byte(strings.ReplaceAll(goodScenario, "\n      ", "\n"))},
		"broken.yaml":     {Data: []byte(suiteOf(caseOf("one", " {file: sub/bad.yaml}\n", "[parse.loss]")))},
		"sub/bad.yaml":    {Data: []byte(strings.Replace(strings.ReplaceAll(goodScenario, "\n      ", "\n"), "2 s", "2 kg", 1))},
		"missing.yaml":    {Data: []byte(suiteOf(caseOf("one", " {file: sub/none.yaml}\n", "[parse.loss]")))},
		"badmessage.yaml": {Data: []byte(suiteOf(caseOf("one", " {file: sub/badm.yaml}\n", "[parse.loss]")))},
		"sub/badm.yaml":   {Data: []byte(strings.Replace(strings.ReplaceAll(goodScenario, "\n      ", "\n"), "GGA", "GGB", 1))},
	}
	s, err := conformance.LoadSuiteFS(fsys, "ours.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if got := float64(s.Cases[0].Scenario.Duration); got != 2 {
		t.Errorf("the scenario of the other file lasts %g s, want 2 s", got)
	}
	for name, want := range map[string]string{
		"broken.yaml":     "sub/bad.yaml:2:11: ",
		"missing.yaml":    "missing.yaml:4:",
		"badmessage.yaml": "sub/badm.yaml:9:",
	} {
		if _, err := conformance.LoadSuiteFS(fsys, name); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%s: error %v, want one that begins with %s", name, err, want)
		}
	}
}

func TestLoadSuite(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ours.yaml")
	if err := os.WriteFile(path, []byte(suiteOf(caseOf("one", goodScenario, "[parse.loss]"))), 0o600); err != nil {
		t.Fatal(err)
	}
	if s, err := conformance.LoadSuite(path); err != nil || s.Name != "ours" {
		t.Errorf("suite %v, error %v", s, err)
	}
	if s, err := conformance.LoadSuite("default"); err != nil || s.Name != "default" {
		t.Errorf("suite %v, error %v", s, err)
	}
	_, err := conformance.LoadSuite("defualt")
	if _, ok := errors.AsType[*conformance.UsageError](err); !ok || err.Error() != `there is no ready-made suite "defualt" and no such file; ready-made: default, full, soak` {
		t.Errorf("error %v", err)
	}
	if _, err := conformance.LoadSuite("no/such/suite.yaml"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("error %v, want that there is no such file", err)
	}
}
