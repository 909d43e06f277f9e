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

// waitBare calls each at its instant, s from origin on, from a thread of its own.
func waitBare(origin time.Time, n int, at func(k int) float64, each func(k int)) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread()
		_ = unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0)
		var now unix.Timespec
		_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &now)
		zero := now.Nano() + int64(time.Until(origin))
		last := -1.0
		for k := range n {
			if t := at(k); t != last {
				until := unix.NsecToTimespec(zero + int64(t*1e9))
				for unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &until, nil) == unix.EINTR {
				}
				last = t
			}
			each(k)
		}
	}()
	<-done
}

// cpuTime is what this process has used of all cores.
func cpuTime() time.Duration {
	var u unix.Rusage
	if unix.Getrusage(unix.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
