//go:build unix

package port

import (
	"errors"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"go.bug.st/serial"

	"swellbench/emulator/line"
)

// What to do about a port that may not be opened: which group it is for is the device's own to say.
func TestPermissionHelp(t *testing.T) {
	path := filepath.Join(t.TempDir(), "device")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	group := strconv.Itoa(os.Getgid())
	if st, err := os.Stat(path); err == nil {
		group = strconv.Itoa(int(st.Sys().(*syscall.Stat_t).Gid))
	}
	if g, err := user.LookupGroupId(group); err == nil {
		group = g.Name
	}
	for mode, want := range map[fs.FileMode]string{0o600: "only its owner may use it (mode 0600)", 0o660: "it is for the group " + group + ":"} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		for _, refused := range []error{syscall.EACCES, fs.ErrPermission} {
			err := serialError(path, line.Settings{Baud: 4800}, refused)
			if !strings.Contains(err.Error(), "no permission for "+path) || !strings.Contains(err.Error(), want) || !errors.Is(err, refused) {
				t.Errorf("mode %04o: %v, want %q", mode, err, want)
			}
		}
	}
	if err := serialError(path, line.Settings{Baud: 4800}, syscall.EBUSY); !strings.Contains(err.Error(), "is busy: another program has it to itself") {
		t.Errorf("busy: %v", err)
	}
	var nothing *serial.PortError
	if err := serialError(path, line.Settings{Baud: 4800}, errors.New("odd")); errors.As(err, &nothing) || !strings.Contains(err.Error(), "opening "+path+": odd") {
		t.Errorf("another error: %v", err)
	}
}
