package suites_test

import (
	"bytes"
	"flag"
	"io"
	"math"
	"os"
	"slices"
	"testing"

	"swellbench/conformance"
	"swellbench/conformance/observe"
	"swellbench/conformance/suites"
	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/scenarios"
)

var update = flag.Bool("update", false, "rewrite the JSON Schema")

func TestSchema(t *testing.T) {
	for path, schema := range map[string]func() ([]byte, error){
		"schema/suite.json": conformance.SuiteSchema, "schema/known-failing.json": conformance.SchemaKnown,
		"schema/profile.json": conformance.SchemaProfile, "schema/log-map.json": observe.Schema,
	} {
		got, err := schema()
		if err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := os.WriteFile(path, got, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is not that of the types; go test -update rewrites it", path)
		}
	}
}

// TestSuites holds for every ready-made suite: it loads, says what it is for, and its messages fit their lines.
func TestSuites(t *testing.T) {
	names := suites.Names()
	if !slices.Contains(names, "default") {
		t.Fatalf("suites are %q, want default among them", names)
	}
	for _, name := range names {
		s, err := conformance.LoadSuite(name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if s.About == "" {
			t.Errorf("%s does not say what it is for", name)
		}
		for _, c := range s.Cases {
			if c.About == "" {
				t.Errorf("%s: case %s does not say what it brings to light", name, c.Name)
			}
			fits(t, name, c)
		}
	}
}

// fits sees that all messages of the case go out in time: none is dropped, and each burst has left before the next.
func fits(t *testing.T, suite string, c conformance.Case) {
	t.Helper()
	d, err := emulator.New(c.Scenario)
	if err != nil {
		t.Errorf("%s: case %s: %v", suite, c.Name, err)
		return
	}
	// That messages come late is what the case is about.
	late := len(c.Scenario.Device.Clock.OutOfOrder) > 0 || slices.ContainsFunc(c.Scenario.Faults, func(f scenarios.Fault) bool { return f.Fault == "babble" })
	for i := range d.Streams() {
		worst, longest := 0.0, ""
		err := emulator.Render(d, i, io.Discard, func(s line.Sent) {
			if s.Dropped != "" {
				t.Errorf("%s: case %s: %s of %.1f s is dropped: %s", suite, c.Name, s.Kind, s.Valid, s.Dropped)
			}
			if len(s.Bytes) > len(longest) && s.Hurt == "" {
				longest = string(s.Bytes)
			}
			if s.Hurt == "" && !late {
				worst = max(worst, s.Last-s.Valid)
			}
		})
		if err != nil {
			t.Errorf("%s: case %s: %v", suite, c.Name, err)
		}
		if n := len(longest); n > 82 && d.Stream(i).Format == "nmea0183" {
			t.Errorf("%s: case %s: a sentence has %d characters, allowed by IEC 61162-1: 82: %s", suite, c.Name, n, longest)
		}
		fastest := 0.0
		for _, m := range d.Stream(i).Messages {
			fastest = max(fastest, float64(m.Rate))
		}
		if worst > 1/fastest {
			t.Errorf("%s: case %s: a burst has left %.0f ms after its epoch, the next epoch is after %.0f ms", suite, c.Name, 1e3*worst, 1e3/fastest)
		}
	}
}

// TestDefaultSuite sees that the suite has no blind spot by which a well-known mistake could hide.
func TestDefaultSuite(t *testing.T) {
	s, err := conformance.LoadSuite("default")
	if err != nil {
		t.Fatal(err)
	}
	proved := map[string]bool{}
	quadrants, bauds := map[[2]bool]bool{}, map[int]bool{}
	upsideDown, raw, entered, oneAntenna := 0, 0, 0, 0
	for _, c := range s.Cases {
		for _, id := range c.Checks {
			proved[id] = true
		}
		sc := c.Scenario
		if d := float64(sc.Duration); d < 4 || d > 8 {
			t.Errorf("case %s lasts %g s, want 4 s to 8 s", c.Name, d)
		}
		in, m := &sc.Installation, sc.Installation.Mounting
		if _, ok := in.Baseline(); !ok {
			oneAntenna++
		}
		p := sc.Track.Position
		quadrants[[2]bool{p.Latitude > 0, p.Longitude > 0}] = true
		bauds[sc.Streams[0].Line.Baud] = true
		if math.Abs(float64(m.Roll)) > math.Pi/2 {
			upsideDown++
		}
		if in.Entered.Mounting == nil {
			raw++
		} else if in.Entered.OutputPoint != nil && in.Entered.Antennas != nil {
			entered++
		}
	}
	for _, c := range conformance.Checks {
		if !proved[c.ID] {
			t.Errorf("no case proves %s", c.ID)
		}
	}
	if len(quadrants) != 4 {
		t.Errorf("cases lie in %d quadrants of the Earth, want 4", len(quadrants))
	}
	if !bauds[4800] || !bauds[115200] || len(bauds) < 4 {
		t.Errorf("baud rates are %v, want several from 4800 to 115200", bauds)
	}
	if upsideDown == 0 || raw == 0 || entered == 0 || oneAntenna == 0 {
		t.Errorf("%d cases upside down, %d raw, %d all entered, %d with one antenna; want each", upsideDown, raw, entered, oneAntenna)
	}
}

// TestNoBlindSpots sees that no case has anything by which a well-known mistake could hide.
func TestNoBlindSpots(t *testing.T) {
	for _, name := range suites.Names() {
		s, err := conformance.LoadSuite(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range s.Cases {
			for _, spot := range conformance.BlindSpots(c.Scenario) {
				t.Errorf("case %s: %s", c.Name, spot)
			}
		}
	}
}
