//go:build linux || darwin

package port

import (
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// listOurs finds the ports of this user's runs: those whose record is locked.
func listOurs() ([]Listed, error) {
	dir, err := RuntimeDir()
	if err != nil {
		return nil, err
	}
	names, err := filepath.Glob(filepath.Join(dir, ".*"+recordSuffix))
	if err != nil {
		return nil, err
	}
	var all []Listed
	for _, name := range names {
		f, err := os.Open(name)
		if err != nil {
			continue // its port has just been closed
		}
		free := flock(f, unix.LOCK_SH)
		r := readRecord(f)
		switch {
		case free == nil && r.What != "" && stillThere(f, name):
			_ = os.Remove(name) // of a run that was killed; that of a link is kept, to know the link by
		case free == unix.EWOULDBLOCK && r.Link != "":
			what := r.What
			if what == "" {
				what = "pseudo-terminal " + r.Target
			}
			all = append(all, Listed{Path: r.Link, What: fmt.Sprintf("%s of process %d", what, r.PID), Ours: true})
		}
		_ = f.Close()
	}
	return all, nil
}
