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
