// Package port is where the bytes come out: one interface, [Port], and behind it a pseudo-terminal, a real serial port,
// TCP raw or with COM port control (RFC 2217), UDP, a file or standard output.
//
// Read first: port.go, the interface, and spec.go, the table of kinds and how a user writes which one is meant. pty.go
// is the pseudo-terminal, terminal.go what is behind its path just now, watch.go how it sees a consumer come and go,
// link.go the path that stays the same. tcp.go is TCP of both kinds, telnet.go and comport.go the two protocols of
// RFC 2217, without any input or output of their own. serial.go, udp.go and plain.go are the others. attendance.go,
// outbox.go, input.go and absence.go are what several of them share: who is there, what is to go out, what has come
// in, and hanging up. list.go is what there is to be seen.
//
// No write waits: what may wait, waits in a goroutine with bounded room. What equipment in use might be connected to is
// opened only with the user's word that the other end is on a bench, [ErrBench].
//
// To add a kind of port: one file that implements [Port], a row in [Kinds], and a test that hands it to porttest.Test.
package port
