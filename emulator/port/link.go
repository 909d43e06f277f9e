//go:build linux || darwin

package port

import (
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/sys/unix"
)

// A link is the path under which a terminal is published.
//
// The kernel gives the number of a terminal that is gone to the next program that asks, so a link alone does not
// tell whose terminal it points to. Each link therefore has a record in the runtime directory, locked as long as its
// port lives; the kernel lifts the lock however the process ends.
type link struct {
	path   string // absolute
	target string
	record *os.File // holds the lock
}

// A linkRecord is what a record says.
type linkRecord struct {
	Link   string `json:"link"`
	Target string `json:"target,omitempty"`
	What   string `json:"what,omitempty"` // what it is, where it is no link
	PID    int    `json:"pid"`
}

// An inUseError says that a living port has the link.
type inUseError struct {
	path string
	pid  int
}

func (e *inUseError) Error() string {
	by := ""
	if e.pid > 0 {
		by = fmt.Sprintf(" (process %d)", e.pid)
	}
	return fmt.Sprintf("port: %s is the port of another run%s; end that run or choose another path", e.path, by)
}

// publish makes a link to target at path; "" is the first free of port1, port2, ... in the runtime directory.
func publish(path, target string) (*link, error) {
	if path != "" {
		return publishAt(path, target, patient)
	}
	dir, err := RuntimeDir()
	if err != nil {
		return nil, err
	}
	var inUse *inUseError
	for n := 1; ; n++ {
		l, err := publishAt(filepath.Join(dir, fmt.Sprintf("port%d", n)), target, 1)
		if n == 10000 || !errors.As(err, &inUse) && !errors.Is(err, fs.ErrExist) {
			return l, err
		}
	}
}

// patient is how often a lock is tried for, 5 ms apart: List holds one for a moment, a port for as long as it lives.
const patient = 20

func publishAt(path, target string, tries int) (_ *link, err error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("port: link %s: %w", path, err)
	}
	// One link must have one record, whichever way its directory is written.
	dir, err := filepath.EvalSymlinks(filepath.Dir(abs))
	if err != nil {
		return nil, fmt.Errorf("port: the directory of the link %s is not there: %w; make it or choose another path", path, err)
	}
	abs = filepath.Join(dir, filepath.Base(abs))
	record, err := lockRecord(abs, tries)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			dropRecord(record)
		}
	}()
	if err := clearStale(abs, readRecord(record)); err != nil {
		return nil, err
	}
	l := &link{path: abs, record: record}
	return l, l.point(target)
}

// takenError says that something else is in the link's place. It is an fs.ErrExist.
func takenError(path string) error {
	what := "something else"
	if st, err := os.Lstat(path); err == nil {
		switch st.Mode().Type() {
		case 0:
			what = "a file"
		case fs.ModeDir:
			what = "a directory"
		case fs.ModeSymlink:
			what = "a link to something else"
			if to, err := os.Readlink(path); err == nil {
				what = "a link to " + to + ", not of this program"
			}
		}
	}
	return fmt.Errorf("port: %s is there already (%w): %s; remove it or choose another path", path, fs.ErrExist, what)
}

// clearStale takes away the link that a run left when it ended without cleaning up: one that its record knows, or
// one to a terminal that is gone. Anything else at that path is refused and left as it is.
func clearStale(path string, left linkRecord) error {
	st, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("port: %w", err)
	}
	if st.Mode().Type() != fs.ModeSymlink {
		return takenError(path)
	}
	to, err := os.Readlink(path)
	if err != nil {
		return fmt.Errorf("port: %w", err)
	}
	ours := left.Link == path && left.Target == to
	if !ours && isTerminalPath(to) {
		_, err := os.Stat(to)
		ours = errors.Is(err, fs.ErrNotExist)
	}
	if !ours {
		return takenError(path)
	}
	// It is moved aside first and looked at again, so that nothing put there in the meantime is lost.
	aside := fmt.Sprintf("%s.old%d", path, os.Getpid())
	if err := os.Rename(path, aside); err != nil {
		return fmt.Errorf("port: taking away the stale link %s: %w", path, err)
	}
	if now, err := os.Readlink(aside); err != nil || now != to {
		return errors.Join(takenError(path), os.Rename(aside, path))
	}
	if err := os.Remove(aside); err != nil {
		return fmt.Errorf("port: taking away the stale link %s: %w", path, err)
	}
	return nil
}

// remove takes the link away for good.
func (l *link) remove() error {
	err := l.unlink()
	dropRecord(l.record)
	return err
}

// unlink takes the link away, unless something else is in its place by now; its path stays this port's.
func (l *link) unlink() error {
	if to, err := os.Readlink(l.path); err != nil || to != l.target {
		return nil
	}
	return os.Remove(l.path)
}

// point makes the link to a target. The record goes first: should we be killed in between, the next run knows what to
// make of the link.
func (l *link) point(target string) error {
	if err := writeRecord(l.record, linkRecord{Link: l.path, Target: target, PID: os.Getpid()}); err != nil {
		return fmt.Errorf("port: noting the link %s: %w", l.path, err)
	}
	if err := os.Symlink(target, l.path); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return takenError(l.path)
		}
		return fmt.Errorf("port: making the link: %w; choose a path where you may write", err)
	}
	l.target = target
	return nil
}

// recordPath is where the record of a link lies.
func recordPath(dir, path string) string {
	h := fnv.New64a()
	_, _ = io.WriteString(h, path)
	return filepath.Join(dir, fmt.Sprintf(".%016x%s", h.Sum64(), recordSuffix))
}

const recordSuffix = ".port"

// lockRecord opens and locks the record of a link.
func lockRecord(path string, tries int) (*os.File, error) {
	dir, err := RuntimeDir()
	if err != nil {
		return nil, err
	}
	name := recordPath(dir, path)
	for try := 1; ; try++ {
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
		if err != nil {
			return nil, fmt.Errorf("port: noting the link %s: %w", path, err)
		}
		switch err := flock(f, unix.LOCK_EX); {
		case err == nil && stillThere(f, name):
			return f, nil
		case err == nil: // its owner has just removed it
		case err != unix.EWOULDBLOCK:
			_ = f.Close()
			return nil, fmt.Errorf("port: locking the record of %s in %s: %w", path, dir, err)
		case try >= tries:
			owner := readRecord(f)
			_ = f.Close()
			return nil, &inUseError{path, owner.PID}
		default:
			time.Sleep(5 * time.Millisecond)
		}
		_ = f.Close()
	}
}

// flock locks a file without waiting.
func flock(f *os.File, how int) error {
	for {
		if err := unix.Flock(int(f.Fd()), how|unix.LOCK_NB); err != unix.EINTR {
			return err
		}
	}
}

// stillThere tells whether the file at name is still f.
func stillThere(f *os.File, name string) bool {
	a, errA := f.Stat()
	b, errB := os.Stat(name)
	return errA == nil && errB == nil && os.SameFile(a, b)
}

// readRecord reads what a record says; the zero record where it says nothing sensible.
func readRecord(f *os.File) (r linkRecord) {
	b, err := io.ReadAll(io.NewSectionReader(f, 0, 1<<16))
	if err != nil || json.Unmarshal(b, &r) != nil {
		return linkRecord{}
	}
	return r
}

func writeRecord(f *os.File, r linkRecord) error {
	b, err := json.Marshal(r)
	if err == nil {
		err = f.Truncate(0)
	}
	if err == nil {
		_, err = f.WriteAt(b, 0)
	}
	return err
}

// dropRecord removes a record and lifts its lock.
func dropRecord(f *os.File) {
	_ = os.Remove(f.Name()) // before the lock is lifted: the next owner makes one anew
	_ = f.Close()
}

// isNumbered tells whether a path is prefix and a number.
func isNumbered(path, prefix string) bool {
	rest, ok := strings.CutPrefix(path, prefix)
	return ok && rest != "" && strings.Trim(rest, "0123456789") == ""
}
