// Package receiver is the clock of the receiver: the time that the device stamps its epochs with, and when they go out.
//
// Three times are kept apart. True time is the [utc.Timeline] of the run. The stamp ([Clock.At]) is what the receiver
// takes for UTC at an epoch: without the UTC offset of the navigation message, with a stale week, stepped or drifting,
// with its own way of showing a leap second. The time of emission ([Clock.Held], [Clock.Emissions]) is when the
// messages of the epoch leave; out of order they say what they always say, later.
//
// Any time may be asked for first; the answer depends on the specification and the seed alone. Read spec.go first. To
// add a way in which clocks err, add it to the Spec, to Validate, and to one of the steps in [Clock.At].
package receiver
