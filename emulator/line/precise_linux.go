package line

import (
	"context"
	"runtime"
	"sync"
	"time"

	"golang.org/x/sys/unix"
)

// PreciseClock returns a clock that sleeps almost until the instant and spins the rest: punctual to the microsecond where a
// core is free, for a few per cent of that core at 100 waits a second. How long before the instant it wakes is learnt from
// how late the host wakes it. Where spinning makes it worse, as it does on a host without a free core, it stops and is as
// [SystemClock] for a while. One stream of waits has one; elsewhere than on Linux it is [SystemClock].
func PreciseClock() Clock { return &precise{early: startEarly} }

// A precise is a PreciseClock. The rule by which early follows the wake-ups is a stochastic quantile estimate: up by
// 0.99 s where a wake-up was later, down by 0.01 s where it was not, which settles at the 99th percentile (Robbins & Monro,
// A Stochastic Approximation Method, Annals of Mathematical Statistics 22, 1951).
type precise struct {
	mu    sync.Mutex
	early time.Duration
	// how late the host woke us, and how late we were at the end, of the last judged waits
	woken, ended Histogram
	plain        int // waits left without spinning
}

// ownThread waits on a thread that has nothing else to do: by itself for up to 20 ms, so that nothing of Go's scheduler is
// between it and the instant.
var ownThread = nanosleep{thread: 20 * time.Millisecond}

const (
	startEarly = 80 * time.Microsecond
	leastEarly = 3 * time.Microsecond
	mostEarly  = 500 * time.Microsecond
	earlyStep  = 4 * time.Microsecond
	judged     = 256  // waits after which it is asked whether spinning helps
	plainFor   = 2048 // waits without it, if not
)

// Now returns the time.
func (*precise) Now() time.Time { return time.Now() }

// SleepUntil waits as [PreciseClock] says.
func (p *precise) SleepUntil(ctx context.Context, t time.Time) error {
	p.mu.Lock()
	early := p.early
	if p.plain > 0 {
		p.plain--
		early = 0
	}
	p.mu.Unlock()
	if early == 0 {
		return ownThread.SleepUntil(ctx, t)
	}
	wake := t.Add(-early)
	slept := time.Until(wake) > 0
	if err := ownThread.SleepUntil(ctx, wake); err != nil {
		return err
	}
	woken := time.Now()
	now := woken
	for now.Before(t) {
		now = time.Now()
	}
	if slept {
		p.learn(woken.Sub(wake), now.Sub(t))
	}
	return nil
}

// learn takes in how late the host woke us, and how late we were at the end.
func (p *precise) learn(woken, ended time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if woken > p.early {
		p.early += earlyStep * 99 / 100
	} else {
		p.early -= earlyStep / 100
	}
	p.early = min(max(p.early, leastEarly), mostEarly)
	p.woken.Add(woken)
	p.ended.Add(ended)
	if p.woken.N() < judged {
		return
	}
	// The wake-up is what a plain sleep would have been late by.
	if p.ended.Quantile(0.99) > p.woken.Quantile(0.99) {
		p.plain = plainFor
	}
	p.woken, p.ended = Histogram{}, Histogram{}
}

// OnThread runs f on a thread of its own that the host wakes early: with the least timer slack, and, from Linux 6.12 on,
// with the shortest slice, which lets it in among threads that compute (other kernels ignore that). The thread ends with f.
// It returns when f does.
func OnThread(f func()) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread() // and never unlocked: the changed thread dies with the goroutine
		_ = unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0)
		_ = unix.SchedSetAttr(0, &unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: unix.SCHED_NORMAL, Runtime: 100_000}, 0)
		f()
	}()
	<-done
}
