//go:build linux || darwin

package port

import (
	"os"

	"golang.org/x/sys/unix"
)

// A record tells [List], in any process of this user, of a port that has no link. It is locked as long as the port
// lives.
type record struct{ file *os.File }

// announce makes a record. It is nil, and nothing is lost but a line in a list, where that cannot be done.
func announce(path, what string) *record {
	dir, err := RuntimeDir()
	if err != nil {
		return nil
	}
	f, err := os.OpenFile(recordPath(dir, what+" "+path), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil
	}
	if flock(f, unix.LOCK_EX) != nil || !stillThere(f, f.Name()) {
		_ = f.Close()
		return nil
	}
	if writeRecord(f, linkRecord{Link: path, What: what, PID: os.Getpid()}) != nil {
		dropRecord(f)
		return nil
	}
	return &record{f}
}

func (r *record) drop() {
	if r != nil {
		dropRecord(r.file)
	}
}
