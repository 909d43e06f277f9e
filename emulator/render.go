package emulator

import (
	"io"

	"swellbench/emulator/line"
)

// Render sends stream i of the device in virtual time: it writes the bytes that leave to w and says of each message
// when it left. Sent may be nil. Two runs of one scenario and seed write the same bytes.
func Render(d *Device, i int, w io.Writer, sent func(line.Sent)) error {
	return line.Transmit(d.Line(i), d.Messages(i), w, sent)
}
