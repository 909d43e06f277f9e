// Package compare holds observations against what a correct consumer would have concluded at the same instant, and says
// how far off they are and how far off they may be.
//
// Read conclude.go first: what a correct consumer makes of a reading. Then comparer.go, which goes from an observation
// to a [Row] of residuals in these steps:
//
//  1. instant.go: which scenario time is meant by the stamp;
//  2. stamp.go: whether that is a time of validity, or the values are those of another instant;
//  3. timed.go and timeless.go: the residual of each quantity;
//  4. tolerance.go: what each may be off by, in parts.
//
// rows.go does so for a whole log on all cores; the rows come in order, and are the same whatever the number of cores.
//
// book.go keeps what the sent-log tells about the messages. Memory does not grow with the log but for two bits for
// each epoch of each kind of message, a few megabytes a day at 100 Hz.
//
// # What is expected
//
// The residual is observed minus expected, at the consumer's own stamp: truth is known at any instant, so nothing is
// interpolated. Expected is what follows from the device's noise-free reading with the installation as the consumer
// knows it. Where the entries are right that is the truth; where they are wrong on purpose, both that and the truth are
// accepted, because a consumer may take what was entered at its word or undo it.
//
// Position differs in metres east, north (level at the expected position) and up (difference of heights). Angles are
// wrapped. Speed and course are those of the point whose position is on the wire, or of the point that the observation
// names: a consumer may pass them on or carry them over. The rate of turn is that of the attitude on the wire or of the
// vessel.
//
// # Quantities without a time
//
// Heading, attitude, heave and rate of turn come in messages that carry no time. A correct consumer stamps them by the
// epoch of the burst, or by the last epoch it knows, or on arrival. So their value may be that of any of their own
// epochs within a window about the stamp: back by the longest time that a message of that kind took from validity to
// its last byte, and what host and consumer may need on top; forward by one interval of the messages that carry a
// time. Where such a message comes less often than the others, the last one before the stamp counts as well. The
// residual is the smallest over the window. Quantities whose message carries a time have no window.
package compare
