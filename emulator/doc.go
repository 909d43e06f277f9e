// Package emulator is the device: it turns the truth of a scenario into readings, readings into messages on a
// schedule, and drives them over a line into a port.
//
// Start with device.go (what the device believes at an instant), then schedule.go (which message is due when),
// then render.go (virtual time, into files) and play.go (real time, into ports). The messages themselves are in
// wire and its families, the serial line in line, the places where bytes come out in port.
//
// To add a message family: a sub-package of wire and one row in formats.go.
package emulator
