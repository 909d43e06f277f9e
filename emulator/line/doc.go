// Package line is the model of the serial wire and its UARTs: how long a byte takes, when each byte leaves, what is
// lost when a line is asked for more than it carries, and the faults that hurt messages on their way.
//
// Read first: timetable.go, which says when each byte leaves; transmit.go uses it in virtual time, play.go in real
// time, against a [Clock] and a [Sink]. faults.go has the table of faults.
//
// To add a fault: one file with its newX function, a row in [Faults], and its test. What picks the messages (type,
// every n-th, from, until) is shared by all rows.
package line
