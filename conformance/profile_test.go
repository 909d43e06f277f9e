package conformance

import (
	"strings"
	"testing"
	"testing/fstest"

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
		"formats: [nmea183]":  "profile.yaml:1:11: format is nmea183; did you mean nmea0183?",
		"quantities: [heavy]": "profile.yaml:1:14: quantity is heavy; did you mean heave?",
		"speed: 3":            "profile.yaml:1:1: the key speed is not known here",
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
