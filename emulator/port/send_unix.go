//go:build unix

package port

import (
	"syscall"

	"golang.org/x/sys/unix"
)

// sendNow returns a function that sends over a connection what can be sent without waiting, and tells how much that
// was; an error is why no more than that, where it is not for lack of room. It must not be called twice at a time.
func sendNow(conn syscall.Conn) func([]byte) (int, error) {
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
	return func(b []byte) (int, error) {
		p, n = b, 0
		if err := raw.Write(try); err != nil {
			return 0, err
		}
		if err == unix.EAGAIN || err == unix.ENOBUFS {
			return 0, nil
		}
		return max(n, 0), err
	}
}
