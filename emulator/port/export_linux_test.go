package port

import "golang.org/x/sys/unix"

// LoseEvents tells the hub that the kernel has lost events.
func LoseEvents() { current.pass(-1, unix.IN_Q_OVERFLOW) }
