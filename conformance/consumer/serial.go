package consumer

import (
	"errors"
	"fmt"
	"io"
	"syscall"

	"go.bug.st/serial"
)

// OpenSerial opens a serial port for reading, 8N1, at the wanted speed; any speed that the port can make will do.
// Reading from it ends with [io.EOF] when the port hangs up, goes away or is closed.
func OpenSerial(path string, baud int) (io.ReadCloser, error) {
	if baud <= 0 {
		return nil, fmt.Errorf("consumer: baud is %d, allowed: a positive rate such as 9600", baud)
	}
	p, err := serial.Open(path, &serial.Mode{BaudRate: baud, DataBits: 8, Parity: serial.NoParity, StopBits: serial.OneStopBit})
	if err != nil {
		return nil, fmt.Errorf("consumer: open %s at %d baud: %w; %s", path, baud, err, advice(err))
	}
	return serialPort{p}, nil
}

func advice(err error) string {
	if e, ok := errors.AsType[*serial.PortError](err); ok {
		switch e.Code() {
		case serial.PortBusy:
			return "another program has it open; end that first"
		case serial.PermissionDenied:
			return "this user may not open it; many systems have a group for that"
		case serial.PortNotFound, serial.InvalidSerialPort:
			return "check the path, and that the device is plugged in"
		case serial.InvalidSpeed:
			return "the port cannot make that speed"
		}
	}
	return "check the path, and that it is a serial port"
}

type serialPort struct{ serial.Port }

func (s serialPort) Read(p []byte) (int, error) {
	n, err := s.Port.Read(p)
	if err == nil {
		return n, nil
	}
	if e, ok := errors.AsType[*serial.PortError](err); ok && e.Code() == serial.PortClosed {
		return n, io.EOF
	}
	for _, gone := range []error{syscall.EIO, syscall.ENXIO, syscall.ENODEV, syscall.EBADF} {
		if errors.Is(err, gone) {
			return n, io.EOF
		}
	}
	return n, err
}
