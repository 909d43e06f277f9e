// Package nmea0183 writes and reads NMEA 0183 / IEC 61162-1 sentences.
//
// It is for two kinds of callers. The emulator asks [New] for the encoder of a sentence and gives it readings. Who
// listens pushes bytes into a [Decoder] and pulls events out of it, or gives one line of a log to [Parse]; an [Assembler]
// puts groups of sentences together, [Family] is for streams in which other families are mixed, and [Scan] is a fast first
// look at a log.
//
// Read messages.go first: [Messages] is the table of the sentences there are. Then hdt.go, the shortest of them,
// and sentence.go for what all sentences share. fixed.go holds the rounding, decoder.go the framing, options.go and
// tagblock.go what a stream may choose, columns.go how fields are shown to people.
//
// To add a sentence: a file with its struct, its Parse and Append, the function that fills it from a [wire.Reading] and the
// one that reads it into one; its builder in build_test.go, which runs its vectors; one row in [Messages], its case in
// readInto and its columns.
//
// # Rounding
//
// A value is rounded once, at the last digit that is sent: scaled to an integer, half away from zero, and all that
// follows (degrees and minutes, the wrap at 360°, the carry of the time, the sign) works on that integer. So 59.99999′
// never prints as 60′, 359.996° is 0.00, 23:59:59.996 is 00:00:00.00 of the next day (23:59:60.00 where the reading says
// that a leap second follows, see [wire.Leap]) and nothing is ever -0.0.
//
// Readings are in rad, and 0.125° to rad and back may land a hair below 0.125. What lies within a billionth of the
// last digit, or four units in the last place of the double, of a half therefore is a half: 0.125 at two decimals is
// 0.13 and 1.005 is 1.01, as a person with pencil and paper has it, whichever way the conversions fell.
//
// # Sources
//
// The sentences are those of NMEA 0183 versions 2.00 to 4.11 and IEC 61162-1; the standards cost money, so that the
// facts here are from the public page "NMEA Revealed" (gpsd project, 2025-07-12), from the notes of IEC 61162-1 that
// equipment documents reproduce, and where it says so from memory.
package nmea0183
