package conformance

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"swellbench/scenarios"
	"swellbench/scenarios/installation"
)

func TestProfile(t *testing.T) {
	load := func(text string) (*Profile, error) {
		return LoadProfileFS(fstest.MapFS{"profile.yaml": {Data: []byte(text)}}, "profile.yaml")
	}
	in, err := installation.Parse("boat.yaml", []byte("points: {sensor: [0 m, 0 m, 0 m], antenna-primary: [1 m, 2 m, 3 m], sonar: [0 m, 1 m, -1 m]}\nexpected-of-consumer: {output-point: sonar}\n"))
	if err != nil {
		t.Fatal(err)
	}
	c := &Case{Scenario: &scenarios.Scenario{Installation: *in, Streams: []scenarios.Stream{{Format: "nmea0183", Messages: []scenarios.Message{{Type: "GGA"}, {Type: "ATTITUDE", Format: "mavlink"}}}}}}
	for _, x := range []struct{ profile, whole, check, reason string }{
		{"{}", "", "offset.heave", ""},
		{"formats: [nmea0183, mavlink]", "", "offset.heave", ""},
		{"formats: [nmea0183]", "the profile says that the program does not take mavlink", "offset.heave", ""},
		{"quantities: [position, heading, attitude]", "", "offset.heave", "the profile says that the program delivers no heave"},
		{"quantities: [position, heading, attitude]", "", "offset.mounting", ""},
		{"output-points: [reference]", "", "offset.lever-arm", "the profile says that the program cannot deliver the point sonar"},
		{"output-points: [reference, sonar]", "", "offset.lever-arm", ""},
		{"output-points: [reference]", "", "parse.values", ""},
	} {
		p, err := load(x.profile)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.skips(c); got != x.whole {
			t.Errorf("%s: %q, want %q", x.profile, got, x.whole)
		}
		r, skip := p.skipped(c, x.check)
		if r.Reason != x.reason || skip != (x.reason != "") || skip && r.Outcome != Skipped {
			t.Errorf("%s, %s: %+v, want %q", x.profile, x.check, r, x.reason)
		}
	}
	for text, want := range map[string]string{
		"formats: [nmea183]":       "profile.yaml:1:11: format is nmea183; did you mean nmea0183?",
		"quantities: [heavy]":      "profile.yaml:1:14: quantity is heavy; did you mean heave?",
		"accuracy: {time: 2 s}":    "profile.yaml:1:18: time is 2 s; allowed: up to 1 s",
		"accuracy: {heave: -3 cm}": "profile.yaml:1:19: heave is not more than zero",
		"accuracy: {heave: 3 deg}": "profile.yaml:1:19: ",
		"speed: 3":                 "profile.yaml:1:1: the key speed is not known here",
	} {
		if _, err := load(text); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
	var none *Profile
	if _, skip := none.skipped(c, "offset.heave"); skip || none.skips(c) != "" {
		t.Error("no profile skips something")
	}
}

// A program that is somewhat off is right for users who need no better, and wrong for those who do; what is declared of one
// quantity excuses no other.
func TestDeclaredAccuracy(t *testing.T) {
	sc, obs, _ := logged(t)
	lines := strings.Split(strings.TrimSpace(string(must(os.ReadFile(obs)))), "\n")
	shifted := func(key string, by float64) string {
		path := filepath.Join(t.TempDir(), "obs.jsonl")
		var out strings.Builder
		for _, l := range lines {
			var raw map[string]any
			if err := json.Unmarshal([]byte(l), &raw); err != nil {
				t.Fatal(err)
			}
			if x, ok := raw[key].(float64); ok {
				raw[key] = x + by
			}
			if key == "time" {
				at, err := time.Parse(time.RFC3339Nano, raw["time"].(string))
				if err != nil {
					t.Fatal(err)
				}
				raw["time"] = at.Add(seconds(by)).Format(time.RFC3339Nano)
			}
			b, err := json.Marshal(raw)
			if err != nil {
				t.Fatal(err)
			}
			out.Write(append(b, '\n'))
		}
		write(t, path, []byte(out.String()))
		return path
	}
	for _, c := range []struct {
		key    string
		by     float64
		enough string
		part   float64 // in the unit of the quantity
		less   string
		check  string
	}{
		{"heave", 0.08, "heave: 8 cm", 0.08, "heave: 4 cm, position: 1 m", "offset.heave"},
		{"heading", -0.4, "heading: 0.4 deg", 0.4, "heading: 0.1 deg, course: 2 deg", "offset.baseline"},
		{"roll", 0.5, "attitude: 0.5 deg", 0.5, "attitude: 0.2 deg, heading: 1 deg", "offset.mounting"},
		{"lat", 4e-6, "position: 45 cm", 0.45, "position: 20 cm, height: 3 m", "offset.lever-arm"},
		{"height", 0.3, "height: 30 cm", 0.3, "position: 50 cm", "offset.lever-arm"},
		{"time", 0.04, "time: 40 ms", 0.04, "time: 15 ms", "time.validity"},
	} {
		path := shifted(c.key, c.by)
		judged := func(accuracy string) (Verdict, Result) {
			p, err := LoadProfileFS(fstest.MapFS{"p.yaml": {Data: []byte("accuracy: {" + accuracy + "}")}}, "p.yaml")
			if err != nil {
				t.Fatal(err)
			}
			v, err := Afterwards(Log{Scenario: sc, Path: path, Profile: p})
			if err != nil {
				t.Fatal(err)
			}
			i := slices.IndexFunc(v.Cases[0].Results, func(r Result) bool { return r.Check == c.check })
			return v, v.Cases[0].Results[i]
		}
		for _, accuracy := range []string{"", c.less} {
			if _, r := judged(accuracy); r.Outcome != Failed {
				t.Errorf("%s off by %g with accuracy {%s}: %s %v: %s", c.key, c.by, accuracy, c.check, r.Outcome, r.Summary)
			}
		}
		v, r := judged(c.enough)
		if v.Outcome() != Passed || r.Outcome != Passed {
			t.Errorf("%s off by %g with accuracy {%s}: %v: %s", c.key, c.by, c.enough, v.Outcome(), faultsOf(v))
		}
		i := slices.IndexFunc(r.ToleranceParts, func(p Part) bool { return p.Name == "declared accuracy" })
		if c.key == "lat" {
			continue // the worst by its tolerance may be the height
		}
		if i < 0 || math.Abs(r.ToleranceParts[i].Value-c.part) > 1e-9 {
			t.Errorf("%s: the declared accuracy is not among the parts: %+v", c.enough, r.ToleranceParts)
		}
	}
}
