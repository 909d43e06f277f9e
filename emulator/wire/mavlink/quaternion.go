package mavlink

import (
	"math"

	"gonum.org/v1/gonum/num/quat"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// An AttitudeQuaternion is the attitude as the quaternion, w x y z, that turns forward-right-down into north-east-down,
// and the angular rates as in [Attitude].
//
// q and -q are the same attitude. We send the one whose first component that is not zero is positive; readers must take
// both. Source: common.xml, ATTITUDE_QUATERNION.
type AttitudeQuaternion struct {
	TimeBootMS  uint32     `mav:"time_boot_ms" unit:"ms"`
	Q1          float32    `mav:"q1"`
	Q2          float32    `mav:"q2"`
	Q3          float32    `mav:"q3"`
	Q4          float32    `mav:"q4"`
	RollSpeed   float32    `mav:"rollspeed" unit:"rad/s"`
	PitchSpeed  float32    `mav:"pitchspeed" unit:"rad/s"`
	YawSpeed    float32    `mav:"yawspeed" unit:"rad/s"`
	ReprOffsetQ [4]float32 `mav:"repr_offset_q" ext:"" none:"0"` // for display only; all zero: there is none
}

var (
	attitudeQuaternion = define(31, "ATTITUDE_QUATERNION", AttitudeQuaternion{})

	// Each component is within 2^-25, so all four are within 2^-24, and the angle is twice that; heading and roll divide
	// it by the cosine of the pitch, which is taken as at most 60°.
	quaternionResolutions = []wire.Resolution{
		{Quantity: wire.Time, Half: 0.5e-3},
		{Quantity: wire.Yaw, Half: 0x1p-22}, {Quantity: wire.Roll, Half: 0x1p-22}, {Quantity: wire.Pitch, Half: 0x1p-23},
	}
)

// Definition is that of ATTITUDE_QUATERNION.
func (*AttitudeQuaternion) Definition() *Definition { return attitudeQuaternion }

func (m *AttitudeQuaternion) putPayload(p []byte) {
	_ = p[47]
	le.PutUint32(p, m.TimeBootMS)
	putFloat(p[4:], m.Q1)
	putFloat(p[8:], m.Q2)
	putFloat(p[12:], m.Q3)
	putFloat(p[16:], m.Q4)
	putFloat(p[20:], m.RollSpeed)
	putFloat(p[24:], m.PitchSpeed)
	putFloat(p[28:], m.YawSpeed)
	putFloat(p[32:], m.ReprOffsetQ[0])
	putFloat(p[36:], m.ReprOffsetQ[1])
	putFloat(p[40:], m.ReprOffsetQ[2])
	putFloat(p[44:], m.ReprOffsetQ[3])
}

func (m *AttitudeQuaternion) parsePayload(p []byte) {
	*m = AttitudeQuaternion{TimeBootMS: le.Uint32(p), Q1: getFloat(p[4:]), Q2: getFloat(p[8:]), Q3: getFloat(p[12:]), Q4: getFloat(p[16:]),
		RollSpeed: getFloat(p[20:]), PitchSpeed: getFloat(p[24:]), YawSpeed: getFloat(p[28:]),
		ReprOffsetQ: [4]float32{getFloat(p[32:]), getFloat(p[36:]), getFloat(p[40:]), getFloat(p[44:])}}
}

// appendAttitudeQuaternion: the message cannot say that the attitude is not known.
func appendAttitudeQuaternion(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	yaw, ok1 := r.Yaw.Value()
	pitch, ok2 := r.Pitch.Value()
	roll, ok3 := r.Roll.Value()
	if !ok1 || !ok2 || !ok3 {
		return false, nil
	}
	f := fill{message: "ATTITUDE_QUATERNION"}
	q := frame.Attitude{Heading: yaw, Pitch: pitch, Roll: roll}.Rotation().NEDFRD().Quat()
	m := AttitudeQuaternion{TimeBootMS: f.boot(r), Q1: f.float("q1", q.Real), Q2: f.float("q2", q.Imag), Q3: f.float("q3", q.Jmag), Q4: f.float("q4", q.Kmag)}
	if negative(m.Q1, m.Q2, m.Q3, m.Q4) {
		m.Q1, m.Q2, m.Q3, m.Q4 = 0-m.Q1, 0-m.Q2, 0-m.Q3, 0-m.Q4
	}
	m.RollSpeed, m.PitchSpeed, m.YawSpeed = f.rates(r)
	m.putPayload(p)
	return true, f.err
}

// negative tells that the first that is not zero is negative.
func negative(all ...float32) bool {
	for _, x := range all {
		if x != 0 {
			return x < 0
		}
	}
	return false
}

// readAttitudeQuaternion takes a quaternion whose length is off by no more than a thousandth, which careless arithmetic
// explains. The offset is for display and changes nothing here.
func readAttitudeQuaternion(p fullPayload, r *wire.Reading) (bool, error) {
	var m AttitudeQuaternion
	m.parsePayload(p[:])
	if !finite(m.Q1, m.Q2, m.Q3, m.Q4, m.RollSpeed, m.PitchSpeed, m.YawSpeed) {
		return false, notANumber("ATTITUDE_QUATERNION")
	}
	q := quat.Number{Real: float64(m.Q1), Imag: float64(m.Q2), Jmag: float64(m.Q3), Kmag: float64(m.Q4)}
	if n := quat.Abs(q); !(math.Abs(n-1) <= 1e-3) {
		return false, &ValueError{"ATTITUDE_QUATERNION", "the length of q", n, "1"}
	}
	readBoot(m.TimeBootMS, r)
	a := frame.FromNEDFRD(frame.FromQuat(q)).Attitude()
	r.Yaw, r.Pitch, r.Roll = opt.Of(a.Heading), opt.Of(a.Pitch), opt.Of(a.Roll)
	r.Rates = opt.Of(rfu(m.RollSpeed, m.PitchSpeed, m.YawSpeed))
	return true, nil
}
