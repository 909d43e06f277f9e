// Package line is the model of the serial wire and its UARTs: how long a byte takes, when each byte leaves, what is
// lost when a line is asked for more than it carries, what a consumer reads whose side is set otherwise, and the faults
// that hurt messages on their way.
//
// Read first: timetable.go, which says when each byte leaves; transmit.go uses it in virtual time, play.go in real
// time, against a [Clock] and a [Sink]. What lies between the device's transmitter and the consumer is in channel.go: a
// [Receiver] (uart.go) where the two are set differently, an [Adapter] that hands bytes on in blocks, hang-ups. faults.go has
// the table of faults; edit.go has what the log keeps of them, and [Replay].
//
// To add a fault: one file with its newX function, a row in [Faults], and what it does in the table of the test. What picks
// the messages (type, every n-th, share, rate, from, until) is shared by all rows, and so is the log: a fault that changes
// bytes by a hurter need not say what it changed.
package line
