//go:build linux || darwin

package port

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/line"
)

// newPTY makes a pseudo-terminal in a directory of the test's own, or skips the test where there is none to be had.
func newPTY(t testing.TB, w watcher) *pty {
	t.Helper()
	needPTY(t)
	p, err := openPTY(filepath.Join(t.TempDir(), "port"), w)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = p.Close() })
	return p
}

// needPTY skips the test where the machine has no pseudo-terminals. XDG_RUNTIME_DIR is the test's own.
func needPTY(t testing.TB) {
	t.Helper()
	if _, err := os.Stat("/dev/ptmx"); err != nil {
		t.Skip("no pseudo-terminals on this machine:", err)
	}
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
}

// dial opens a port as a plain program would.
func dial(p Port) func() (io.ReadWriteCloser, error) {
	return func() (io.ReadWriteCloser, error) { return os.OpenFile(p.Path(), os.O_RDWR|noCTTY, 0) }
}
