// Package gnss is the sky over the vessel and the receiver below it: where the satellites stand, which of them the
// antennas see, how good a fix that gives, which corrections it has, how far off its position, velocity and heading are.
// It is no signal simulator.
//
// Read conditions.go first: its table says what can happen to the reception. Then spec.go (what a scenario file may
// say, with the defaults), receiver.go (what comes out) and machine.go (when the receiver has which fix).
//
// To add a condition: one row in the table of conditions.go, and its effect in span.go. To add an almanac form: one
// reader and one row in almanac.go.
//
// # How it works
//
// Satellites come from the published nominal constellation of 24 slots (constellation.go) or from an almanac (yuma.go,
// sem.go, orbit.go). Once a second of scenario time their directions at the primary antenna are worked out (sky.go),
// those below the mask, behind a sector or drowned by interference are left out, and the geometry of the rest gives the
// dilutions of precision (dop.go). When a [Receiver] is made it goes once through the whole run, second by second and
// from edge to edge of the conditions, and notes when the state of the receiver changes; runs of more than four days are
// sampled more coarsely. After that any instant may be asked for, in any order and from several goroutines, and gets the
// same answer: what is kept between calls is only a copy of what would be worked out again.
//
// # Errors
//
// The position is off by σ·L·z, where σ is the range error of the state of the fix, L·Lᵀ the position part of (GᵀG)⁻¹,
// and z three independent Gauss–Markov processes of unit variance (markov.go): the covariance is that of the geometry,
// the spectrum that of a first-order process. White noise from epoch to epoch is the device's, not the receiver's.
//
// All angles are rad, lengths m, times s of scenario time; axes and signs are those of package frame. Nothing panics on
// any input. The numbers of receivers (times to fix, ages, range errors) have no single source: they are common practice
// and each can be set.
package gnss
