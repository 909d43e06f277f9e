package port

import (
	"syscall"

	"golang.org/x/sys/unix"
)

// unsent is how many bytes sent over a connection the other end has not yet received.
func unsent(conn syscall.Conn) (n int) {
	raw, err := conn.SyscallConn()
	if err != nil {
		return 0
	}
	_ = raw.Control(func(fd uintptr) { n, _ = unix.IoctlGetInt(int(fd), unix.SIOCOUTQ) })
	return n
}
