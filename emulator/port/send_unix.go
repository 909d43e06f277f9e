//go:build unix

package port

import (
	"syscall"

	"golang.org/x/sys/unix"
)

// sendNow returns a function that sends over a connection what can be sent without waiting, and tells how much that
// was. It must not be called twice at a time.
func sendNow(conn syscall.Conn) func([]byte) int {
	raw, err := conn.SyscallConn()
	if err != nil {
		return nil
	}
	var p []byte
	var n int
	try := func(fd uintptr) bool {
		for {
			if n, err = unix.Write(int(fd), p); err != unix.EINTR {
				return true // also where there is no room: nothing is waited for
			}
		}
	}
	return func(b []byte) int {
		p, n = b, 0
		if raw.Write(try) != nil || n < 0 {
			return 0
		}
		return n
	}
}
