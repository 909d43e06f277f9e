package mavlink

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// A LocalPositionNED is the position in m north, east and down of where the device was when it was switched on, and the
// velocity along the same axes. Down: a heave of 0.5 m up makes z less by 0.5.
//
// The axes are those of the origin, which at 10 km are 1.6 mrad off those at the vessel, and so is the velocity. Source:
// common.xml, LOCAL_POSITION_NED.
type LocalPositionNED struct {
	TimeBootMS uint32  `mav:"time_boot_ms" unit:"ms"`
	X          float32 `mav:"x" unit:"m"`
	Y          float32 `mav:"y" unit:"m"`
	Z          float32 `mav:"z" unit:"m"`
	VX         float32 `mav:"vx" unit:"m/s"`
	VY         float32 `mav:"vy" unit:"m/s"`
	VZ         float32 `mav:"vz" unit:"m/s"`
}

var (
	localPositionNED = define(32, "LOCAL_POSITION_NED", LocalPositionNED{})

	// The origin is not on the wire, so neither are latitude and longitude. Speeds below 16 m/s a component: half a unit in
	// the last place of a float32 is 2^-21.
	localResolutions = []wire.Resolution{{Quantity: wire.Time, Half: 0.5e-3}, {Quantity: wire.Velocity, Half: 1.1 * 0x1p-21}}
)

// Definition is that of LOCAL_POSITION_NED.
func (*LocalPositionNED) Definition() *Definition { return localPositionNED }

func (m *LocalPositionNED) putPayload(p []byte) {
	_ = p[27]
	le.PutUint32(p, m.TimeBootMS)
	putFloat(p[4:], m.X)
	putFloat(p[8:], m.Y)
	putFloat(p[12:], m.Z)
	putFloat(p[16:], m.VX)
	putFloat(p[20:], m.VY)
	putFloat(p[24:], m.VZ)
}

func (m *LocalPositionNED) parsePayload(p []byte) {
	*m = LocalPositionNED{TimeBootMS: le.Uint32(p), X: getFloat(p[4:]), Y: getFloat(p[8:]), Z: getFloat(p[12:]),
		VX: getFloat(p[16:]), VY: getFloat(p[20:]), VZ: getFloat(p[24:])}
}

// appendLocalPositionNED: the message cannot say that the position or the velocity is not known.
func appendLocalPositionNED(e *encoder, p []byte, r *wire.Reading) (bool, error) {
	at, ok1 := r.Position.Value()
	v, ok2 := velocity(r)
	if !ok1 || !ok2 {
		return false, nil
	}
	f := fill{message: "LOCAL_POSITION_NED"}
	m := LocalPositionNED{TimeBootMS: f.boot(r)}
	if origin, ok := r.Origin.Value(); ok {
		o, here := e.localAt(origin), geo.LocalAt(at)
		x := frame.SwapDown(o.ENU(at))
		v = frame.SwapDown(o.FromECEF(here.ToECEF(frame.SwapDown(v))))
		m.X, m.Y, m.Z = f.float("x", x.X), f.float("y", x.Y), f.float("z", x.Z)
		m.VX, m.VY, m.VZ = f.float("vx", v.X), f.float("vy", v.Y), f.float("vz", v.Z)
	} else {
		f.missing("x", "place where it was switched on")
	}
	m.putPayload(p)
	return true, f.err
}

// readLocalPositionNED gives position and velocity where the origin is known, else the velocity, as if at the origin.
func readLocalPositionNED(p fullPayload, r *wire.Reading) (bool, error) {
	var m LocalPositionNED
	m.parsePayload(p[:])
	if !finite(m.X, m.Y, m.Z, m.VX, m.VY, m.VZ) {
		return false, notANumber("LOCAL_POSITION_NED")
	}
	readBoot(m.TimeBootMS, r)
	v := rfu(m.VX, m.VY, m.VZ)
	if origin, ok := r.Origin.Value(); ok {
		o := geo.LocalAt(origin)
		at := o.Position(rfu(m.X, m.Y, m.Z))
		v = geo.LocalAt(at).FromECEF(o.ToECEF(v))
		r.Position = opt.Of(at)
	}
	setVelocity(r, v.Y, v.X, -v.Z)
	return true, nil
}
