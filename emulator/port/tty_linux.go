package port

import (
	"unsafe"

	"golang.org/x/sys/unix"
)

// termios is the setting of a terminal as the kernel has it, with speeds as numbers.
type termios struct{ unix.Termios }

// getTermios reads it with TCGETS2, which knows speeds that have no name. It allocates nothing: it is asked for before
// each burst.
func getTermios(fd int) (t termios, err error) {
	for {
		_, _, errno := unix.Syscall(unix.SYS_IOCTL, uintptr(fd), unix.TCGETS2, uintptr(unsafe.Pointer(&t.Termios)))
		switch errno {
		case 0:
			return t, nil
		case unix.EINTR:
		default:
			return termios{}, errno
		}
	}
}

// setSpeed sets both rates, any number.
func setSpeed(fd, baud int) error {
	t, err := getTermios(fd)
	if err != nil {
		return err
	}
	t.Cflag = t.Cflag&^(unix.CBAUD|unix.CBAUD<<ibShift) | unix.BOTHER | unix.BOTHER<<ibShift
	t.Ispeed, t.Ospeed = uint32(baud), uint32(baud)
	return unix.IoctlSetTermios(fd, unix.TCSETS2, &t.Termios)
}

// ibShift is IBSHIFT of asm-generic/termbits.h: where the bits of the receiving rate are.
const ibShift = 16

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
