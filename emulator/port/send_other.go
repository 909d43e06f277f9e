//go:build !unix

package port

import "syscall"

// sendNow is not to be had here: all goes through the goroutine.
func sendNow(syscall.Conn) func([]byte) int { return nil }
