// Package selftest measures what this machine can keep: how punctual it wakes a thread, how fast a pseudo-terminal takes
// bytes, how many devices it plays at a time. All timing is told beside a plain reference measured in the same run, in
// turns with it, as the median of five: hosts differ, and change while one looks.
//
// Read selftest.go first. clocks.go has the ways to wait, terminal.go the throughput, devices.go the many devices.
package selftest
