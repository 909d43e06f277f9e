package mavlink

import (
	"swellbench/emulator/wire"
)

// A Row is one message of the table: what it is, how it is made of a reading, and what it makes of one.
type Row struct {
	Type   string // such as ATTITUDE
	Title  string
	Source string
	*Definition
	// New makes an empty message of the type.
	New func() Message

	// append writes the payload in full length into p. sent is false where the message has no way to say that something is not
	// known, and it is not: then it is not sent.
	append func(e *encoder, p []byte, r *wire.Reading) (sent bool, err error)
	// read is given the payload in full length.
	read        func(p fullPayload, r *wire.Reading) (carries bool, err error)
	resolutions []wire.Resolution
}

const common = "MAVLink common.xml, "

// Messages is the table of the messages that a stream can send, by id.
var Messages = []Row{
	{Type: "HEARTBEAT", Title: "who is there, and its state; to be sent at 1 Hz", Source: "MAVLink minimal.xml, HEARTBEAT", Definition: heartbeat,
		New: func() Message { return new(Heartbeat) }, append: appendHeartbeat, read: readHeartbeat},
	{Type: "SYSTEM_TIME", Title: "UTC against time since switch-on", Source: common + "SYSTEM_TIME", Definition: systemTime,
		New: func() Message { return new(SystemTime) }, append: appendSystemTime, read: readSystemTime, resolutions: systemTimeResolutions},
	{Type: "GPS_RAW_INT", Title: "GNSS fix: time, position, heights, speed and course, yaw", Source: common + "GPS_RAW_INT", Definition: gpsRawInt,
		New: func() Message { return new(GPSRawInt) }, append: appendGPSRawInt, read: readGPSRawInt, resolutions: gpsResolutions},
	{Type: "SCALED_IMU", Title: "specific force and angular rates, in thousandths", Source: common + "SCALED_IMU", Definition: scaledIMU,
		New: func() Message { return new(ScaledIMU) }, append: appendScaledIMU, read: readScaledIMU, resolutions: bootResolutions},
	{Type: "ATTITUDE", Title: "roll, pitch, yaw and angular rates", Source: common + "ATTITUDE", Definition: attitude,
		New: func() Message { return new(Attitude) }, append: appendAttitude, read: readAttitude, resolutions: attitudeResolutions},
	{Type: "ATTITUDE_QUATERNION", Title: "attitude as a quaternion, and angular rates", Source: common + "ATTITUDE_QUATERNION", Definition: attitudeQuaternion,
		New: func() Message { return new(AttitudeQuaternion) }, append: appendAttitudeQuaternion, read: readAttitudeQuaternion, resolutions: quaternionResolutions},
	{Type: "LOCAL_POSITION_NED", Title: "position from where the device was switched on, and velocity", Source: common + "LOCAL_POSITION_NED", Definition: localPositionNED,
		New: func() Message { return new(LocalPositionNED) }, append: appendLocalPositionNED, read: readLocalPositionNED, resolutions: localResolutions},
	{Type: "GLOBAL_POSITION_INT", Title: "position, velocity and heading of the whole device, not of GNSS alone", Source: common + "GLOBAL_POSITION_INT", Definition: globalPositionInt,
		New: func() Message { return new(GlobalPositionInt) }, append: appendGlobalPositionInt, read: readGlobalPositionInt, resolutions: globalResolutions},
	{Type: "HIGHRES_IMU", Title: "specific force and angular rates", Source: common + "HIGHRES_IMU", Definition: highresIMU,
		New: func() Message { return new(HighresIMU) }, append: appendHighresIMU, read: readHighresIMU, resolutions: usecResolutions},
	{Type: "GPS2_RAW", Title: "GNSS fix as in GPS_RAW_INT, and the age of corrections", Source: common + "GPS2_RAW", Definition: gps2Raw,
		New: func() Message { return new(GPS2Raw) }, append: appendGPS2Raw, read: readGPS2Raw, resolutions: gpsResolutions},
}

// others are messages that are read and shown, and never sent: the units of RAW_IMU are a matter of each device, and
// there is no second inertial sensor.
var others = []Row{
	{Type: "RAW_IMU", Title: "inertial sensor in its own units", Source: common + "RAW_IMU", Definition: rawIMU,
		New: func() Message { return new(RawIMU) }, read: readNothing},
	{Type: "SCALED_IMU2", Title: "SCALED_IMU of a second sensor", Source: common + "SCALED_IMU2", Definition: scaledIMU2,
		New: func() Message { return new(ScaledIMU2) }, read: readNothing},
}

var rowsLow = func() (low [256]*Row) {
	for _, rows := range [][]Row{Messages, others} {
		for i := range rows {
			low[rows[i].ID] = &rows[i] // all there are are below 256; a test holds it
		}
	}
	return low
}()

func rowByID(id uint32) *Row {
	if id < uint32(len(rowsLow)) {
		return rowsLow[id]
	}
	return nil
}

// Kinds are the types in the table, in its order.
func Kinds() []string {
	kinds := make([]string, len(Messages))
	for i, r := range Messages {
		kinds[i] = r.Type
	}
	return kinds
}

// RowOf is the row of a type.
func RowOf(kind string) (Row, bool) {
	for _, r := range Messages {
		if r.Type == kind {
			return r, true
		}
	}
	return Row{}, false
}

func readNothing(fullPayload, *wire.Reading) (bool, error) { return false, nil }
