// Package crc computes checksums: cyclic ones by the usual parameters, and the simple ones beside them.
//
// Read sum.go first: [Sum] is what all of them are, and [Named] the table of those that have a name. cyclic.go holds the
// CRCs, simple.go the exclusive-or, the sums and Fletcher's.
//
// To add a named CRC: one row in [Named], with its check value. To add another kind of sum: a row in the table of
// simple.go.
//
// Source: the parameter model of the public catalogue of parametrised CRC algorithms (Williams, A Painless Guide to CRC
// Error Detection Algorithms, 1993); check values as in testdata/crc.jsonl.
package crc
