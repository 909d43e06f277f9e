package port

import (
	"context"
	"os"
	"sync"
	"time"
)

// An attendance counts the consumers of a port and wakes who waits for a change. Ports embed it; its lock also guards
// what else they have that changes with it.
type attendance struct {
	mu        sync.Mutex
	consumers int // how many there are
	closed    bool
	changed   chan struct{} // closed when any of these changes; nil while nobody waits
}

// tell wakes who waits for a change; a.mu is held.
func (a *attendance) tell() {
	if a.changed != nil {
		close(a.changed)
		a.changed = nil
	}
}

// state tells what is true now, and gives what is closed at the next change.
func (a *attendance) state() (open, closed bool, changed <-chan struct{}) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.changed == nil {
		a.changed = make(chan struct{})
	}
	return a.consumers > 0, a.closed, a.changed
}

// WaitOpen is that of [Port].
func (a *attendance) WaitOpen(ctx context.Context) error { return a.wait(ctx, true) }

// WaitClosed is that of [Port].
func (a *attendance) WaitClosed(ctx context.Context) error { return a.wait(ctx, false) }

func (a *attendance) wait(ctx context.Context, open bool) error {
	for {
		is, closed, changed := a.state()
		switch {
		case closed:
			return os.ErrClosed
		case is == open:
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return context.Cause(ctx)
		}
	}
}

// pause waits for d, or for the end of ctx or of the port.
func (a *attendance) pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	for {
		_, closed, changed := a.state()
		if closed {
			return os.ErrClosed
		}
		select {
		case <-t.C:
			return nil
		case <-changed:
		case <-ctx.Done():
			return context.Cause(ctx)
		}
	}
}

// Settings announce themselves on no kind of port that has any, so that Settled looks at them now and then.
const (
	look          = 10 * time.Millisecond
	settled       = 150 * time.Millisecond
	settledWanted = 80 * time.Millisecond // once the speed is the wanted one
)

// settle waits until a consumer is there and what it can change has stayed the same for a while. Look tells what that
// is now, and whether a consumer is there.
func settle[S comparable](ctx context.Context, a *attendance, want int, now func() (s S, speed int, open bool, err error)) error {
	var last S
	var since time.Time
	for {
		s, speed, open, err := now()
		if err != nil {
			return err
		}
		if !open {
			if err := a.WaitOpen(ctx); err != nil {
				return err
			}
			since = time.Time{}
			continue
		}
		if since.IsZero() || s != last {
			last, since = s, time.Now()
		}
		enough := settled
		if want > 0 && speed == want {
			enough = settledWanted
		}
		if time.Since(since) >= enough {
			return nil
		}
		if err := a.pause(ctx, look); err != nil {
			return err
		}
	}
}
