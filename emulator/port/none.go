//go:build !linux && !darwin

package port

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
)

// OpenPTY makes a pseudo-terminal, where there are any.
func OpenPTY(string) (Port, error) {
	system := map[string]string{"windows": "Windows"}[runtime.GOOS]
	if system == "" {
		system = runtime.GOOS
	}
	return nil, errors.New("port: pseudo-terminals are not available on " + system +
		"; run swellbench on Linux or macOS, or use render to write the stream into a file")
}

// RuntimeDir is where this program keeps what lives as long as a run.
func RuntimeDir() (string, error) {
	dir := filepath.Join(os.TempDir(), "swellbench")
	return dir, os.MkdirAll(dir, 0o700)
}

func listOurs() ([]Listed, error) { return nil, nil }

// A record would tell other processes of a port; there are none here.
type record struct{}

func announce(string, string) *record { return nil }

func (*record) drop() {}

// OpenPTYAt makes a pseudo-terminal with a rate, where there are any.
func OpenPTYAt(link string, _ int) (Port, error) { return OpenPTY(link) }
