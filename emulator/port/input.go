package port

import (
	"os"
	"sync"
)

// An input keeps what the consumer has sent until it is read; what there is no room for is lost. The zero input is
// empty and ready.
type input struct {
	mu     sync.Mutex
	more   sync.Cond // its L is mu, set at first use
	bytes  []byte
	closed bool
}

// put adds what there is room for.
func (in *input) put(p []byte) {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.bytes = append(in.bytes, p[:min(len(p), InputRoom-len(in.bytes))]...)
	in.more.Broadcast()
}

// purge forgets what has not been read.
func (in *input) purge() {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.bytes = in.bytes[:0]
}

// end wakes who reads: after what is kept comes os.ErrClosed.
func (in *input) end() {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.closed = true
	in.more.Broadcast()
}

// read waits for at least one byte. An empty p returns at once.
func (in *input) read(p []byte) (int, error) {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.more.L = &in.mu
	for len(in.bytes) == 0 && !in.closed && len(p) > 0 {
		in.more.Wait()
	}
	n := copy(p, in.bytes)
	in.bytes = append(in.bytes[:0], in.bytes[n:]...)
	if n == 0 && in.closed {
		return 0, os.ErrClosed
	}
	return n, nil
}
