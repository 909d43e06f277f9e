package port

import "golang.org/x/sys/unix"

// termios is the setting of a terminal, with speeds as numbers.
type termios struct{ unix.Termios }

func getTermios(fd int) (termios, error) {
	t, err := unix.IoctlGetTermios(fd, unix.TIOCGETA)
	if err != nil {
		return termios{}, err
	}
	return termios{*t}, nil
}

// setSpeed sets both rates.
func setSpeed(fd, baud int) error {
	t, err := getTermios(fd)
	if err != nil {
		return err
	}
	t.Ispeed, t.Ospeed = uint64(baud), uint64(baud)
	return unix.IoctlSetTermios(fd, unix.TIOCSETA, &t.Termios)
}

// speed is the rate of what the consumer receives.
func (t termios) speed() int {
	if t.Ispeed != 0 {
		return int(t.Ispeed)
	}
	return int(t.Ospeed)
}

// flushInput discards what a reader of the terminal would get.
func flushInput(fd int) error { return unix.IoctlSetPointerInt(fd, unix.TIOCFLUSH, unix.TCIFLUSH) }

// fionread is FIONREAD of sys/filio.h, which x/sys leaves out here.
const fionread = 0x4004667f

// unread is how many bytes wait for a reader of the terminal.
func unread(fd int) (int, error) { return unix.IoctlGetInt(fd, fionread) }

// isTerminalPath tells whether a path is that of a pseudo-terminal.
func isTerminalPath(path string) bool { return isNumbered(path, "/dev/ttys") }
