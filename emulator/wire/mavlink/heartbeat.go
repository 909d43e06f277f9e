package mavlink

import "swellbench/emulator/wire"

// A Heartbeat says who is there. It goes out at 1 Hz.
//
// Source: minimal.xml, HEARTBEAT.
type Heartbeat struct {
	Type         uint8  `mav:"type"`      // MAV_TYPE
	Autopilot    uint8  `mav:"autopilot"` // MAV_AUTOPILOT
	BaseMode     uint8  `mav:"base_mode"`
	CustomMode   uint32 `mav:"custom_mode"`
	SystemStatus uint8  `mav:"system_status"`   // MAV_STATE
	Version      uint8  `mav:"mavlink_version"` // 3, in both versions of frames
}

var heartbeat = define(0, "HEARTBEAT", Heartbeat{})

// What the device says of itself. Source: minimal.xml, MAV_TYPE, MAV_AUTOPILOT, MAV_STATE.
const (
	typeSurfaceBoat  = 11
	autopilotNone    = 8 // not a flight controller
	stateCalibrating = 2
	stateActive      = 4
	heartbeatEdition = 3
)

// Definition is that of HEARTBEAT.
func (*Heartbeat) Definition() *Definition { return heartbeat }

func (m *Heartbeat) putPayload(p []byte) {
	_ = p[8]
	le.PutUint32(p, m.CustomMode)
	p[4] = m.Type
	p[5] = m.Autopilot
	p[6] = m.BaseMode
	p[7] = m.SystemStatus
	p[8] = m.Version
}

func (m *Heartbeat) parsePayload(p []byte) {
	*m = Heartbeat{CustomMode: le.Uint32(p), Type: p[4], Autopilot: p[5], BaseMode: p[6], SystemStatus: p[7], Version: p[8]}
}

// appendHeartbeat: a boat without flight controller; until the attitude is known it is calibrating, then active.
func appendHeartbeat(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	m := Heartbeat{Type: typeSurfaceBoat, Autopilot: autopilotNone, SystemStatus: stateActive, Version: heartbeatEdition}
	if !r.Yaw.Has() || !r.Pitch.Has() || !r.Roll.Has() {
		m.SystemStatus = stateCalibrating
	}
	m.putPayload(p)
	return true, nil
}

// A reading has no place for what a heartbeat says.
func readHeartbeat(fullPayload, *wire.Reading) (bool, error) { return false, nil }
