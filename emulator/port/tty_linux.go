package port

import "golang.org/x/sys/unix"

// termios is the setting of a terminal as the kernel has it, with speeds as numbers.
type termios struct{ unix.Termios }

// getTermios reads it with TCGETS2, which knows speeds that have no name.
func getTermios(fd int) (termios, error) {
	t, err := unix.IoctlGetTermios(fd, unix.TCGETS2)
	if err != nil {
		return termios{}, err
	}
	return termios{*t}, nil
}

// speed is the rate of what the consumer receives; a rate of its own for that is rare and 0 otherwise.
func (t termios) speed() int {
	if t.Ispeed != 0 {
		return int(t.Ispeed)
	}
	return int(t.Ospeed)
}

// flushInput discards what a reader of the terminal would get.
func flushInput(fd int) error { return unix.IoctlSetInt(fd, unix.TCFLSH, unix.TCIFLUSH) }

// unread is how many bytes wait for a reader of the terminal; it counts up to 4095.
func unread(fd int) (int, error) { return unix.IoctlGetInt(fd, unix.TIOCINQ) }

// isTerminalPath tells whether a path is that of a pseudo-terminal.
func isTerminalPath(path string) bool { return isNumbered(path, "/dev/pts/") }
