package mavlink

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// An Attitude is roll, pitch and yaw, turned in the order yaw, pitch, roll from north-east-down to forward-right-down, and
// the angular rates about forward, right and down.
//
// Package frame turns in the same order, and its signs are those of the aeronautical axes: the angles are the same but
// that yaw is -π to π. That the speeds are rates about the body's axes, not of the angles, is common practice, no source.
// Source: common.xml, ATTITUDE.
type Attitude struct {
	TimeBootMS uint32  `mav:"time_boot_ms" unit:"ms"`
	Roll       float32 `mav:"roll" unit:"rad"`
	Pitch      float32 `mav:"pitch" unit:"rad"`
	Yaw        float32 `mav:"yaw" unit:"rad"`
	RollSpeed  float32 `mav:"rollspeed" unit:"rad/s"`
	PitchSpeed float32 `mav:"pitchspeed" unit:"rad/s"`
	YawSpeed   float32 `mav:"yawspeed" unit:"rad/s"`
}

var (
	attitude = define(30, "ATTITUDE", Attitude{})

	// Half a unit in the last place of a float32 between 2 and 4, and between 1 and 2.
	attitudeResolutions = []wire.Resolution{
		{Quantity: wire.Time, Half: 0.5e-3},
		{Quantity: wire.Yaw, Half: 0x1p-23}, {Quantity: wire.Roll, Half: 0x1p-23}, {Quantity: wire.Pitch, Half: 0x1p-24},
	}
)

// Definition is that of ATTITUDE.
func (*Attitude) Definition() *Definition { return attitude }

func (m *Attitude) putPayload(p []byte) {
	_ = p[27]
	le.PutUint32(p, m.TimeBootMS)
	putFloat(p[4:], m.Roll)
	putFloat(p[8:], m.Pitch)
	putFloat(p[12:], m.Yaw)
	putFloat(p[16:], m.RollSpeed)
	putFloat(p[20:], m.PitchSpeed)
	putFloat(p[24:], m.YawSpeed)
}

func (m *Attitude) parsePayload(p []byte) {
	*m = Attitude{TimeBootMS: le.Uint32(p), Roll: getFloat(p[4:]), Pitch: getFloat(p[8:]), Yaw: getFloat(p[12:]),
		RollSpeed: getFloat(p[16:]), PitchSpeed: getFloat(p[20:]), YawSpeed: getFloat(p[24:])}
}

// appendAttitude: the message cannot say that the attitude is not known.
func appendAttitude(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	yaw, ok1 := r.Yaw.Value()
	pitch, ok2 := r.Pitch.Value()
	roll, ok3 := r.Roll.Value()
	if !ok1 || !ok2 || !ok3 {
		return false, nil
	}
	f := fill{message: "ATTITUDE"}
	m := Attitude{TimeBootMS: f.boot(r), Roll: f.pm180("roll", roll), Pitch: f.pm180("pitch", pitch), Yaw: f.pm180("yaw", yaw)}
	m.RollSpeed, m.PitchSpeed, m.YawSpeed = f.rates(r)
	m.putPayload(p)
	return true, f.err
}

func readAttitude(p fullPayload, r *wire.Reading) (bool, error) {
	var m Attitude
	m.parsePayload(p[:])
	if !finite(m.Roll, m.Pitch, m.Yaw, m.RollSpeed, m.PitchSpeed, m.YawSpeed) {
		return false, notANumber("ATTITUDE")
	}
	readBoot(m.TimeBootMS, r)
	a := frame.Attitude{Heading: frame.Wrap2Pi(within(m.Yaw, math.Pi)), Pitch: within(m.Pitch, math.Pi/2), Roll: frame.WrapPi(within(m.Roll, math.Pi))}
	if math.Abs(a.Pitch) > math.Pi/2 { // the definition allows it: the same attitude in the usual range
		a = a.Canonical()
	}
	r.Yaw, r.Pitch, r.Roll = opt.Of(a.Heading), opt.Of(a.Pitch), opt.Of(a.Roll)
	r.Rates = opt.Of(rfu(m.RollSpeed, m.PitchSpeed, m.YawSpeed))
	return true, nil
}

// within undoes that the float32 next to an end lies a hair beyond it; -π itself is π in a reading, and stays below 0.
func within(x float32, end float64) float64 {
	switch {
	case x == float32(end):
		return end
	case x == -float32(end) && end == math.Pi:
		return math.Nextafter(-end, 0)
	case x == -float32(end):
		return -end
	}
	return float64(x)
}

// pm180 is an angle within -π and π. The float32 next to π is a hair beyond it, as everybody sends it.
func (f *fill) pm180(field string, rad float64) float32 {
	if rad > math.Pi || rad <= -math.Pi {
		rad = frame.WrapPi(rad)
	}
	return f.float(field, rad)
}

// rates are those about forward, right and down.
func (f *fill) rates(r *wire.Reading) (x, y, z float32) {
	w, ok := r.Rates.Value()
	if !ok {
		f.missing("rollspeed", "angular rates")
		return 0, 0, 0
	}
	w = frame.SwapDown(w)
	return f.float("rollspeed", w.X), f.float("pitchspeed", w.Y), f.float("yawspeed", w.Z)
}

// rfu is along right, forward, up what was along forward, right, down.
func rfu(x, y, z float32) r3.Vec {
	v := frame.SwapDown(r3.Vec{X: float64(x), Y: float64(y), Z: float64(z)})
	v.Z += 0
	return v
}
