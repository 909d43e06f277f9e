//go:build unix

package port

import (
	"fmt"
	"os"
	"os/user"
	"strconv"
	"syscall"

	"golang.org/x/sys/unix"
)

// openDevice opens a serial port for writing without waiting.
func openDevice(path string) (*os.File, error) {
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, err
	}
	return os.NewFile(uintptr(fd), path), nil
}

// permissionHelp says how to come to a device that this user may not open.
func permissionHelp(path string) string {
	st, err := os.Stat(path)
	if err != nil {
		return "ask who looks after this machine"
	}
	sys, ok := st.Sys().(*syscall.Stat_t)
	if !ok || st.Mode().Perm()&0o060 != 0o060 {
		return fmt.Sprintf("only its owner may use it (mode %04o); ask who looks after this machine", st.Mode().Perm())
	}
	group := strconv.FormatUint(uint64(sys.Gid), 10)
	if g, err := user.LookupGroupId(group); err == nil {
		group = g.Name
	}
	return fmt.Sprintf("it is for the group %s: have yourself put into it (sudo usermod -aG %s \"$USER\" on Linux) and log in anew", group, group)
}
