package port

import (
	"context"
	"os"
	"sync"
	"time"
)

// A Hanger is a port that can go and come back, as when its plug is pulled and put in again.
type Hanger interface {
	// HangUp ends the port for whoever has it open, at once: its reads end, and until the port is back it cannot
	// be opened, and what is written is for nobody. After d the same path is there again; HangUp does not wait for
	// that, unless d is 0. When ctx ends before, the port comes back then. A second call while the port is away
	// makes it stay for the longer of the two.
	//
	// A port that is closed returns os.ErrClosed. One that cannot come back, for something else is in its place by
	// then, says so by the error of the next Write.
	HangUp(ctx context.Context, d time.Duration) error
}

// An absence is what a port needs to go and come back. The zero absence is ready.
type absence struct {
	mu     sync.Mutex // held while the port goes or comes
	away   bool
	until  time.Time
	ended  bool
	cancel context.CancelFunc
	wg     sync.WaitGroup
}

// begin takes a port away for d by leave, and brings it back by back.
func (a *absence) begin(ctx context.Context, d time.Duration, leave, back func()) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.ended {
		return os.ErrClosed
	}
	until := time.Now().Add(d)
	if a.away {
		if until.After(a.until) {
			a.until = until
		}
		return nil
	}
	leave()
	if d <= 0 || ctx.Err() != nil {
		back()
		return nil
	}
	a.away, a.until = true, until
	ctx, a.cancel = context.WithCancel(ctx)
	a.wg.Go(func() { a.wait(ctx, back) })
	return nil
}

// wait brings the port back when it is time.
func (a *absence) wait(ctx context.Context, back func()) {
	for {
		a.mu.Lock()
		left := time.Until(a.until)
		if left <= 0 || ctx.Err() != nil {
			if !a.ended {
				back()
			}
			a.away = false
			a.cancel()
			a.mu.Unlock()
			return
		}
		a.mu.Unlock()
		t := time.NewTimer(left)
		select {
		case <-t.C:
		case <-ctx.Done():
		}
		t.Stop()
	}
}

// end makes sure that the port neither goes nor comes any more.
func (a *absence) end() {
	a.mu.Lock()
	a.ended = true
	if a.cancel != nil {
		a.cancel()
	}
	a.mu.Unlock()
	a.wg.Wait()
}
