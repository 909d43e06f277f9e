package line

import (
	"context"
	"runtime"
	"sync"
	"time"

	"golang.org/x/sys/unix"
)

var systemClock Clock = nanosleep{}

// nanosleep waits in clock_nanosleep with the thread's timer slack at its least. Go's own timers wait in the network
// poller, which counts whole milliseconds: they are late by 0 to 1 ms.
type nanosleep struct {
	// thread is how much of a wait the thread does itself, after Go's timer, which ctx can interrupt, has done the long
	// part. 0 is [threadPart]; a thread of our own may do more.
	thread time.Duration
}

// threadPart is more than the millisecond by which Go's timer may be late.
const threadPart = 2 * time.Millisecond

// timers are kept stopped, so that a wait allocates nothing.
var timers = sync.Pool{New: func() any {
	t := time.NewTimer(time.Hour)
	t.Stop()
	return t
}}

// Now returns the time.
func (nanosleep) Now() time.Time { return time.Now() }

// SleepUntil waits on a timer for the long part and in clock_nanosleep for the last two milliseconds.
func (n nanosleep) SleepUntil(ctx context.Context, t time.Time) error {
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	part := n.thread
	if part == 0 {
		part = threadPart
	}
	if d := time.Until(t); d > 2*part {
		t := timers.Get().(*time.Timer)
		t.Reset(d - part)
		err := wait(ctx, t)
		timers.Put(t)
		if err != nil {
			return err
		}
	}
	if time.Until(t) <= 0 {
		return nil
	}
	// The slack belongs to the thread: the thread is ours for the while, and gets its default back.
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	if slack, err := unix.PrctlRetInt(unix.PR_GET_TIMERSLACK, 0, 0, 0, 0); err == nil && slack != 1 { // 1: the thread is one of OnThread's
		_ = unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0) // without it we are some 50 µs later, no worse
		defer func() { _ = unix.Prctl(unix.PR_SET_TIMERSLACK, 0, 0, 0, 0) }()
	}
	for {
		// The monotonic clock is read first: time lost between the two readings wakes us early, and we wait again.
		var now unix.Timespec
		if err := unix.ClockGettime(unix.CLOCK_MONOTONIC, &now); err != nil {
			return Timers{}.SleepUntil(ctx, t)
		}
		d := time.Until(t)
		if d <= 0 {
			return nil
		}
		until := unix.NsecToTimespec(now.Nano() + int64(d))
		if err := unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &until, nil); err != nil && err != unix.EINTR {
			return Timers{}.SleepUntil(ctx, t)
		}
	}
}
