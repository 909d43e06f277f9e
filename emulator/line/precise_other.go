//go:build !linux

package line

// PreciseClock returns the most punctual clock of this platform; on Linux it spins the last microseconds.
func PreciseClock() Clock { return SystemClock() }

// OnThread runs f; on Linux on a thread of its own that the host wakes early.
func OnThread(f func()) { f() }
