// Package observe reads what a consumer says it understood: observations, each a time and values.
//
// Read observation.go first, then reader.go. The one format so far is JSON Lines (jsonlines.go, and scan.go for the
// JSON itself); design §8 has the keys. To add a format, write a file that turns its lines into an [Observation] or a
// [Refusal], and let the [Reader] split, count and stamp.
//
// The input is untrusted: a line has a bounded length, memory does not grow with the input, and what is no observation
// is counted by reason with its first example, never silently passed over.
package observe
