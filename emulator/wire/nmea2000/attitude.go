package nmea2000

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// 127257, Attitude: yaw, the heading as a signed angle; pitch, positive bow up; roll, positive starboard down.
//
// Source: canboat PGN database; NMEA2000 C++ library, which has the signs.
var (
	attitudeYaw   = Field{Name: "yaw", Bit: 8, Width: 16, Type: Signed, Decimals: 4, Unit: "rad"}
	attitudePitch = Field{Name: "pitch", Bit: 24, Width: 16, Type: Signed, Decimals: 4, Unit: "rad"}
	attitudeRoll  = Field{Name: "roll", Bit: 40, Width: 16, Type: Signed, Decimals: 4, Unit: "rad"}

	attitudeFields = []Field{sid, attitudeYaw, attitudePitch, attitudeRoll, reserved(56, 8)}
)

func packAttitude(e *encoder, r *wire.Reading) (uint64, error) {
	yaw, ok := angle16(r.Yaw)
	if !ok {
		return 0, e.tooLarge(&attitudeYaw, r.Yaw)
	}
	pitch, ok := signed16(r.Pitch, 1e4)
	if !ok {
		return 0, e.tooLarge(&attitudePitch, r.Pitch)
	}
	roll, ok := angle16(r.Roll)
	if !ok {
		return 0, e.tooLarge(&attitudeRoll, r.Roll)
	}
	return e.sidOf(r) | yaw<<8 | pitch<<24 | roll<<40 | 0xFF<<56, nil
}

func readAttitude(p []byte, r *wire.Reading) {
	r.Yaw = turned(attitudeYaw.known(p), opt.Of(0.0), 1)
	r.Pitch = attitudePitch.known(p)
	r.Roll = attitudeRoll.known(p)
	if roll, ok := r.Roll.Value(); ok {
		r.Roll = opt.Of(frame.WrapPi(roll))
	}
}

func attitudeResolutions(*encoder) []wire.Resolution {
	return []wire.Resolution{attitudeYaw.resolution(wire.Yaw), attitudePitch.resolution(wire.Pitch), attitudeRoll.resolution(wire.Roll)}
}
