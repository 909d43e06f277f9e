package consumer

import (
	"os"

	"golang.org/x/sys/unix"
)

func makeRaw(f *os.File) error {
	fd := int(f.Fd())
	tio, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		return err
	}
	tio.Iflag, tio.Oflag, tio.Lflag = 0, 0, 0
	tio.Cflag = tio.Cflag&^(unix.CSIZE|unix.PARENB) | unix.CS8
	return unix.IoctlSetTermios(fd, unix.TCSETS, tio)
}
