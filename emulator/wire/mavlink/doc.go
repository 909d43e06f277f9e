// Package mavlink writes and reads MAVLink frames, versions 1 and 2, with the messages of position, attitude and inertial
// sensors.
//
// Read messages.go first: [Messages] is the table of the messages that can be sent. Then attitude.go, a plain one of them,
// and frame.go for what all share. definition.go works out from the fields of a struct what the wire needs: their order,
// the lengths and CRC_EXTRA. quantise.go has the rounding, the times and the axes; family.go is how a mixed stream finds
// frames; known.go is what proves and names the messages of which no more is known.
//
// To add a message: a file with its struct, whose fields stand as in the open definitions, its putPayload and
// parsePayload, and the functions that fill it from a [wire.Reading] and back; one row in [Messages]. Its vectors go into
// testdata; a test compares its layout and CRC_EXTRA with the table of known.go.
//
// # Conventions
//
// Body axes are forward, right, down, local ones north, east, down: [frame.SwapDown] of ours. Heave of 0.5 m up makes z
// less by 0.5. Roll, pitch and yaw are ours but for the range of yaw. Angular rates are about the body's axes. Values are
// rounded once, half away from zero, see quantise.go; floats are the nearest float32, never NaN and never -0.
//
// What is not known is sent as the code of the definitions for it. Where there is none (an attitude, a position in
// GLOBAL_POSITION_INT and LOCAL_POSITION_NED), the message is not sent: Append adds nothing, without an error. What a
// device never knows (the geoid, its rates) is an error, [*MissingError].
//
// The sequence number is [wire.Reading].Series: it counts the frames of one sender.
//
// # Reading
//
// A signature is passed over, not checked; a frame with another incompatibility flag is not read. Version 1 frames with
// extension fields, which some writers send, are read without these; frames of version 2 may be cut, uncut, or longer
// than is known.
//
// # Sources
//
// The MAVLink developer guide (packet serialization, message signing, message definitions) and the open definitions
// minimal.xml, standard.xml and common.xml of 2026, as carried by mavlink-mappings 1.0.21.
package mavlink
