// Package consumer is the reference consumer: an ordinary, correct integrator's program that reads a stream, and the
// seeded defects that it can be told to make, by which the judge is judged.
//
// It knows what any integrator knows: the bytes, the installation file, the host's clock. It shares no truth with the
// judge. testdata/tideline_consumer.py does the same job in another language and shares no code with it.
//
// Read consumer.go first, then follow the data: message.go (what one message says, what an epoch holds), nmea0183.go
// (from sentences to messages), framed.go and reading.go (the same for all other formats, and for mixtures), grouping.go (from messages to epochs), stamp.go (their time), geometry.go and solve.go
// (the installation), observation.go (what is printed).
//
// To add a defect: a row in the table of defects.go and a function in the file of its stage; stages.go lists the
// stages. To add a format: a row in formatOf, in framed.go.
//
// # What is published
//
// One observation an epoch, when the epoch is over. A quantity that no message of the epoch speaks about is left out.
// One that a message says is unknown is null; so is one that was received but cannot be delivered for the output
// point, because what it takes to apply the installation is missing in that epoch, and then a note says why. The
// position is taken from GGA where there is one, else from RMC (which has no height); speed and course from VTG, else
// from RMC.
//
// Position, height and heave are those of the output point. Speed and course are those of the point whose position is
// on the wire: to carry them to another point needs angular rates about all axes, which NMEA 0183 does not bring. The
// rate of turn is that of the axes whose attitude is on the wire.
//
// A heading is taken from messages that carry one, else from the attitude. The time since switch-on of MAVLink is related to
// UTC by SYSTEM_TIME. Of NMEA 2000, messages with the same sequence identifier belong together where epochs bear that out.
// What a message says of the height above mean sea level alone comes to nothing until the undulation is known.
//
// Transducer values are taken with the signs of package frame, since the standard does not settle them.
package consumer
