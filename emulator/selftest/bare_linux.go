package selftest

import (
	"context"
	"runtime"
	"time"

	"golang.org/x/sys/unix"
)

// bareLoop is what a careful C program would do: a thread of its own, the least slack, absolute sleeps.
func bareLoop(_ context.Context, start time.Time, period time.Duration, n int, emit func(int)) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread()
		_ = unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0)
		var now unix.Timespec
		_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &now)
		origin := now.Nano() + int64(time.Until(start))
		for k := range n {
			until := unix.NsecToTimespec(origin + int64(k)*int64(period))
			for unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &until, nil) == unix.EINTR {
			}
			emit(k)
		}
	}()
	<-done
}
