package port

import (
	"fmt"
	"io"
	"sync"
	"time"
)

// outRoom is how many bytes a port keeps for a consumer that does not read, besides what the system keeps; a
// pseudo-terminal of Linux keeps some 16 KiB as well.
const outRoom = 16 << 10

// An outbox takes bytes at once, as many as it has room for, and has a goroutine hand them to a writer that may be
// slow or never return.
type outbox struct {
	w io.Writer
	// now, where it is not nil, hands over what can be without waiting, and tells how much that was. It saves the
	// goroutine where there is room, as there mostly is.
	now func(p []byte) (int, error)

	mu      sync.Mutex
	more    sync.Cond // its L is mu: there is something to hand over, or the end has come
	waiting []byte
	spare   []byte // the room of what was handed over last
	keep    int    // how much of waiting a purge must not take
	flying  int    // how much the goroutine is handing over just now
	held    bool   // nothing is to be handed over
	ended   bool
	err     error // of the writer: nothing goes out any more
	done    chan struct{}
}

// newOutbox starts an outbox.
func newOutbox(w io.Writer, now func([]byte) (int, error)) *outbox {
	b := &outbox{w: w, now: now, done: make(chan struct{})}
	b.more.L = &b.mu
	go b.run()
	return b
}

// room is how many bytes put takes at least.
func (b *outbox) room() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.free()
}

func (b *outbox) free() int { return max(outRoom-len(b.waiting)-b.flying, 0) }

// put takes what there is room for; an error is that of the writer, some time before.
func (b *outbox) put(p []byte) (n int, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.err != nil || b.ended {
		return 0, b.err
	}
	n = b.direct(p)
	k := min(len(p)-n, b.free())
	if k > 0 {
		if n > 0 && len(b.waiting) == 0 {
			b.keep = midPair(p[:n])
		}
		b.add(p[n : n+k])
	}
	return n + k, nil
}

// putWhole takes p whole or not at all, and where there is no room for data keeps a little for this. It survives a
// purge.
func (b *outbox) putWhole(p []byte) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	const reserve = 4 << 10
	if len(p) == 0 {
		return true
	}
	if b.err != nil || b.ended || len(p) > b.free()+reserve {
		return false
	}
	n := b.direct(p)
	b.add(p[n:])
	b.keep = len(b.waiting)
	return true
}

func (b *outbox) direct(p []byte) int {
	if b.now == nil || b.held || b.flying > 0 || len(b.waiting) > 0 {
		return 0
	}
	n, _ := b.now(p) // the goroutine will find the same error
	return min(max(n, 0), len(p))
}

func (b *outbox) add(p []byte) {
	if len(p) > 0 {
		b.waiting = append(b.waiting, p...)
		b.more.Signal()
	}
}

// midPair is 1 where the last byte of what has gone out is the first half of a doubled one, and 0 otherwise.
func midPair(sent []byte) int {
	n := 0
	for n < len(sent) && sent[len(sent)-1-n] == iac {
		n++
	}
	return n % 2
}

// purge forgets what has not gone out.
func (b *outbox) purge() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.waiting = b.waiting[:min(b.keep, len(b.waiting))]
}

// hold stops or resumes the handing over.
func (b *outbox) hold(held bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.held = held
	b.more.Signal()
}

// empty tells whether all has been handed over, or never will be.
func (b *outbox) empty() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.waiting) == 0 && b.flying == 0 || b.err != nil || b.ended
}

func (b *outbox) failed() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.err
}

// run hands over until the writer fails or the end has come.
func (b *outbox) run() {
	defer close(b.done)
	b.mu.Lock()
	defer b.mu.Unlock()
	for {
		for !b.ended && (b.held || len(b.waiting) == 0) {
			b.more.Wait()
		}
		if b.ended {
			return
		}
		p := b.waiting
		b.waiting, b.spare, b.keep, b.flying = b.spare[:0], nil, 0, len(p)
		b.mu.Unlock()
		_, err := b.w.Write(p)
		b.mu.Lock()
		b.flying, b.spare = 0, p
		if err != nil {
			b.err = err
			return
		}
	}
}

// drain ends the outbox when all has been handed over, or says after a time how much has not.
func (b *outbox) drain(limit time.Duration) error {
	for end := time.Now().Add(limit); !b.empty() && time.Now().Before(end); {
		time.Sleep(time.Millisecond)
	}
	b.end()
	if err := b.failed(); err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if left := len(b.waiting) + b.flying; left > 0 {
		return fmt.Errorf("%d bytes were not taken within %v", left, limit)
	}
	return nil
}

// end stops the goroutine. It has ended when done is closed; where it is in the writer, that has to be ended too.
func (b *outbox) end() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.ended = true
	b.more.Signal()
}
