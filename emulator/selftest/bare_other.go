//go:build !linux

package selftest

import (
	"context"
	"runtime"
	"time"
)

// bareLoop is the nearest there is to a thread of its own with absolute sleeps.
func bareLoop(_ context.Context, start time.Time, period time.Duration, n int, emit func(int)) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread()
		for k := range n {
			time.Sleep(time.Until(start.Add(time.Duration(k) * period)))
			emit(k)
		}
	}()
	<-done
}

// waitBare calls each at its instant, s from origin on.
func waitBare(origin time.Time, n int, at func(k int) float64, each func(k int)) {
	for k := range n {
		time.Sleep(time.Until(origin.Add(time.Duration(at(k) * 1e9))))
		each(k)
	}
}

// cpuTime is not known here.
func cpuTime() time.Duration { return 0 }
