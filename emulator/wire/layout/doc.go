// Package layout writes and reads messages that a person describes in a YAML file, with no code: their own sensor's text
// or binary format.
//
// GUIDE.md shows how to write such a file, with an example of text and one of binary; read it first. Then file.go: the
// keys of the file, which are also its JSON Schema. compile.go, and the files compile_*.go for the parts of a field,
// make of a [File] what encoder and decoder work with, and refuse what cannot be, with its place and what is allowed.
// encode.go and decode.go are the two ways, probe.go finds messages among other bytes, number.go holds the rounding,
// requests.go what a sensor answers to.
//
// One file gives both ways: [Layout.New] an encoder, [Layout.Family] the rest.
//
// To add a quantity: one row in quantities.go, time.go (parts of the stamp) or states.go (what is one of several states).
// To add a unit: one row in units.go. To add a way of writing numbers: a word in [Coding], its case in
// compile_coding.go, and both directions in coding.go.
//
// # Rounding
//
// A value is rounded once, from the reading to the count that is sent, half away from zero; see [conv]. Wrapping round the
// circle comes after that. All parts of the time in a message are of one instant, rounded once to the finest of them:
// seconds never show 60 beside a minute that has not moved on.
package layout
