//go:build linux || darwin

package port_test

import (
	"os"
	"slices"
	"strings"
	"testing"

	"swellbench/emulator/port"
)

// What other runs play on is listed as long as they live, and a killed one leaves nothing in the way.
func TestListOfOtherRuns(t *testing.T) {
	needPTY(t)
	link := t.TempDir() + "/port"
	killLink, killTCP := other(t, "hold", link), other(t, "listen", "127.0.0.1:0")
	ours := func() (all []port.Listed) {
		found, err := port.List()
		if err != nil {
			t.Log(err) // of the serial ports of this machine
		}
		return slices.DeleteFunc(found, func(l port.Listed) bool { return !l.Ours })
	}
	found := ours()
	if len(found) != 2 || !strings.Contains(found[1].What, "raw TCP of process ") && !strings.Contains(found[0].What, "raw TCP of process ") {
		t.Fatalf("found %+v, want a link and a TCP port", found)
	}
	killLink()
	killTCP()
	if found := ours(); len(found) > 0 {
		t.Errorf("found %+v, and both are dead", found)
	}
	for _, l := range found {
		if l.Path == link {
			continue
		}
		p, err := port.OpenTCP(l.Path, false) // its place is free, and so is that in the list
		must(t, err)
		if found := ours(); len(found) != 1 || found[0].Path != l.Path {
			t.Errorf("found %+v, want %s", found, l.Path)
		}
		must(t, p.Close())
	}
	dir, err := port.RuntimeDir()
	must(t, err)
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 { // the record of the dead link, to know it by
		t.Errorf("left in the runtime directory: %v, %v", left, err)
	}
}
