package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// The rooms, lowest first: each may import its own and those before it.
var rooms = []string{"swellbench/scenarios", "swellbench/emulator", "swellbench/conformance", "swellbench/cmd"}

func room(path string) int {
	for i, r := range rooms {
		if path == r || strings.HasPrefix(path, r+"/") {
			return i
		}
	}
	return -1
}

// A violation is one import that runs the wrong way.
type violation struct{ from, to, why string }

// wrongWay judges one import of one package.
func wrongWay(from, to string) (violation, bool) {
	a, b := room(from), room(to)
	switch {
	case b < 0:
		return violation{}, false // not ours
	case a < 0:
		return violation{from, to, "a package outside the rooms"}, true
	case b > a:
		return violation{from, to, "imports run cmd → conformance → emulator → scenarios"}, true
	case strings.HasPrefix(from, "swellbench/emulator/wire") && b == 1 && !strings.HasPrefix(to, "swellbench/emulator/wire"):
		return violation{from, to, "wire sees only plain readings"}, true
	case strings.HasPrefix(from, "swellbench/conformance/consumer") && b == 2 && from != to:
		return violation{from, to, "the reference consumer shares nothing with the judge"}, true
	case strings.HasPrefix(from, "swellbench/conformance/consumer") && to == "swellbench/scenarios":
		return violation{from, to, "the reference consumer knows no truth"}, true
	}
	return violation{}, false
}

func TestImportsRunOneWay(t *testing.T) {
	out, err := exec.CommandContext(t.Context(), "go", "list", "-json=ImportPath,Imports", "swellbench/...").Output()
	if err != nil {
		t.Skipf("go list does not run here: %v", err)
	}
	packages := 0
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		packages++
		for _, to := range p.Imports {
			if v, bad := wrongWay(p.ImportPath, to); bad {
				t.Errorf("%s imports %s: %s", v.from, v.to, v.why)
			}
		}
	}
	if packages < 10 {
		t.Errorf("saw %d packages, want all of them", packages)
	}
}

func TestWrongWayIsSeen(t *testing.T) {
	for _, c := range []struct {
		from, to string
		bad      bool
	}{
		{"swellbench/scenarios/geo", "swellbench/scenarios/frame", false},
		{"swellbench/scenarios", "swellbench/emulator/wire", true},
		{"swellbench/emulator", "swellbench/scenarios", false},
		{"swellbench/emulator/line", "swellbench/conformance", true},
		{"swellbench/emulator/wire/nmea0183", "swellbench/emulator/line", true},
		{"swellbench/emulator/wire/nmea0183", "swellbench/emulator/wire", false},
		{"swellbench/conformance/consumer", "swellbench/conformance/compare", true},
		{"swellbench/conformance/consumer", "swellbench/scenarios", true},
		{"swellbench/conformance/consumer", "swellbench/scenarios/geo", false},
		{"swellbench/conformance", "swellbench/cmd/swellbench", true},
		{"swellbench/tools", "swellbench/scenarios", true},
		{"swellbench/emulator", "fmt", false},
	} {
		if _, bad := wrongWay(c.from, c.to); bad != c.bad {
			t.Errorf("%s importing %s: judged wrong %v, want %v", c.from, c.to, bad, c.bad)
		}
	}
}
