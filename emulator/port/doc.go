// Package port is where the bytes come out: one interface, [Port], and what is behind it. Today that is the
// pseudo-terminal.
//
// Read first: port.go, the interface. pty.go is the pseudo-terminal, watch.go how it sees a consumer come and go,
// link.go the path that stays the same, list.go what there is to be seen.
//
// To add a kind of port: one file that implements [Port], and a test that hands it to porttest.Test.
package port
