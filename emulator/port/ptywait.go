//go:build linux || darwin

package port

import (
	"context"
	"os"
	"time"
)

func (p *pty) WaitOpen(ctx context.Context) error { return p.wait(ctx, true) }

func (p *pty) WaitClosed(ctx context.Context) error { return p.wait(ctx, false) }

func (p *pty) wait(ctx context.Context, open bool) error {
	for {
		p.mu.Lock()
		is, closed, changed := p.consumers > 0, p.closed, p.changed
		p.mu.Unlock()
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
func (p *pty) pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	for {
		p.mu.Lock()
		closed, changed := p.closed, p.changed
		p.mu.Unlock()
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

// A terminal announces nothing when its settings change, so Settled looks at them now and then.
const (
	look          = 10 * time.Millisecond
	settled       = 150 * time.Millisecond
	settledWanted = 80 * time.Millisecond // once the speed is the wanted one
)

func (p *pty) Settled(ctx context.Context, want int) error {
	var last setting
	var since time.Time
	for {
		now, open, err := p.setting()
		if err != nil {
			return err
		}
		if !open {
			if err := p.WaitOpen(ctx); err != nil {
				return err
			}
			since = time.Time{}
			continue
		}
		if since.IsZero() || now != last {
			last, since = now, time.Now()
		}
		enough := settled
		if want > 0 && now.speed() == want {
			enough = settledWanted
		}
		if time.Since(since) >= enough {
			return nil
		}
		if err := p.pause(ctx, look); err != nil {
			return err
		}
	}
}

// A setting is what a consumer can change; two that differ mean that it has done something.
type setting struct {
	termios
	opens int
}

// setting reads the terminal's settings; open is false where no consumer has it open.
func (p *pty) setting() (s setting, open bool, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return s, false, os.ErrClosed
	}
	if p.consumers == 0 || p.keeper < 0 {
		return s, false, nil
	}
	t, err := getTermios(p.keeper)
	return setting{t, p.opens}, true, err
}

// Speed of a consumer that sets none is what the terminal had: 38400 at first, then its predecessor's.
func (p *pty) Speed() (baud int, ok bool) {
	s, open, err := p.setting()
	if err != nil || !open || s.speed() <= 0 {
		return 0, false
	}
	return s.speed(), true
}

func (p *pty) Drained(ctx context.Context) error {
	const wait = 2 * time.Millisecond
	for empty := 0; empty < 3; {
		p.mu.Lock()
		waiting, gone, closed := 0, p.consumers == 0 || p.keeper < 0, p.closed
		var err error
		if !closed && !gone {
			waiting, err = unread(p.keeper)
		}
		p.mu.Unlock()
		switch {
		case closed:
			return os.ErrClosed
		case err != nil:
			return err
		case gone:
			return nil
		}
		// The terminal moves bytes to where they are counted in portions: nothing there once is not yet the end.
		empty++
		if waiting > 0 {
			empty = 0
		}
		if err := p.pause(ctx, wait); err != nil {
			return err
		}
	}
	return nil
}
