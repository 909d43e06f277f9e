//go:build !linux

package line

var systemClock Clock = Timers{}
