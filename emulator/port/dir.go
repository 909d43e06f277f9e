//go:build linux || darwin

package port

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// RuntimeDir is where links go that nobody has given a path: swellbench in the directory that XDG_RUNTIME_DIR names,
// or swellbench-<user id> in the one for temporary files. It is made if it is missing, and for its user alone.
func RuntimeDir() (string, error) {
	if x := os.Getenv("XDG_RUNTIME_DIR"); filepath.IsAbs(x) {
		if dir := filepath.Join(x, "swellbench"); ownDir(dir) == nil {
			return filepath.EvalSymlinks(dir)
		}
	}
	dir := filepath.Join(os.TempDir(), fmt.Sprintf("swellbench-%d", os.Getuid()))
	if err := ownDir(dir); err != nil {
		return "", fmt.Errorf("port: the directory for links: %w; set XDG_RUNTIME_DIR to a directory of your own", err)
	}
	return filepath.EvalSymlinks(dir)
}

// ownDir makes a directory, or makes sure that it belongs to this user and no other may write to it.
func ownDir(dir string) error {
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	st, err := os.Lstat(dir)
	if err != nil {
		return err
	}
	if !st.IsDir() {
		return fmt.Errorf("%s is no directory", dir)
	}
	if sys, ok := st.Sys().(*syscall.Stat_t); !ok || int(sys.Uid) != os.Getuid() {
		return fmt.Errorf("%s belongs to another user", dir)
	}
	if st.Mode().Perm()&0o077 != 0 {
		return fmt.Errorf("%s is open to other users (mode %04o)", dir, st.Mode().Perm())
	}
	return nil
}
