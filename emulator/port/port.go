package port

import (
	"context"

	"swellbench/emulator/line"
)

// A Port is where the bytes come out and a consumer listens. It may be shared between goroutines.
type Port interface {
	// Path is what the consumer opens.
	Path() string
	// Write hands bytes to the consumer. It never blocks: it takes what there is room for and returns line.ErrFull
	// where that was not all, and line.ErrNoConsumer, taking nothing, where nobody has the port open. After Close
	// it returns os.ErrClosed.
	Write(p []byte) (int, error)
	// Read returns what the consumer has sent. It waits for at least one byte, or for Close, and then returns
	// os.ErrClosed. What nobody reads is kept up to [InputRoom] bytes, and lost beyond: a consumer is never held up.
	Read(p []byte) (int, error)
	// Open tells whether a consumer has the port open.
	Open() bool
	// WaitOpen returns as soon as a consumer has the port open. It ends with ctx's cause when ctx ends, and with
	// os.ErrClosed when the port is closed; so do the other waits.
	WaitOpen(ctx context.Context) error
	// WaitClosed returns as soon as no consumer has the port open.
	WaitClosed(ctx context.Context) error
	// Settled returns when a consumer has the port open and has finished setting it up: programs flush their input
	// just after they open, and what was sent before is lost. It waits until the consumer's settings have not
	// changed for a while; less long where they show the speed want (0: no particular one).
	Settled(ctx context.Context, want int) error
	// Drained returns when the consumer has read all that was written, or has closed the port.
	Drained(ctx context.Context) error
	// Speed is the rate that the consumer has chosen, bits a second; false where no consumer has the port open or
	// the port cannot tell.
	Speed() (baud int, ok bool)
	// Settings are what the consumer has set its side to; what the port cannot tell is taken from own, the device's.
	// It is false, with own, where no consumer has the port open or the port can tell nothing.
	Settings(own line.Settings) (line.Settings, bool)
	// Close ends the port and all that belongs to it before it returns; what the consumer has not read yet may be
	// lost. A second call does nothing.
	Close() error
}

// InputRoom is how many bytes of what a consumer sends a port keeps until they are read.
const InputRoom = 64 << 10
