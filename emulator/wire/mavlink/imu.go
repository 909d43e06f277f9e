package mavlink

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// A HighresIMU is what the inertial sensor measures along forward, right and down: the specific force (at rest -9.8 m/s²
// along down) and the angular rates. What is not measured is 0, and its bit of fields_updated is not set.
//
// Source: common.xml, HIGHRES_IMU and HIGHRES_IMU_UPDATED_FLAGS.
type HighresIMU struct {
	TimeUsec      uint64  `mav:"time_usec" unit:"us"`
	XAcc          float32 `mav:"xacc" unit:"m/s/s"`
	YAcc          float32 `mav:"yacc" unit:"m/s/s"`
	ZAcc          float32 `mav:"zacc" unit:"m/s/s"`
	XGyro         float32 `mav:"xgyro" unit:"rad/s"`
	YGyro         float32 `mav:"ygyro" unit:"rad/s"`
	ZGyro         float32 `mav:"zgyro" unit:"rad/s"`
	XMag          float32 `mav:"xmag" unit:"gauss"`
	YMag          float32 `mav:"ymag" unit:"gauss"`
	ZMag          float32 `mav:"zmag" unit:"gauss"`
	AbsPressure   float32 `mav:"abs_pressure" unit:"hPa"`
	DiffPressure  float32 `mav:"diff_pressure" unit:"hPa"`
	PressureAlt   float32 `mav:"pressure_alt"`
	Temperature   float32 `mav:"temperature" unit:"degC"`
	FieldsUpdated uint16  `mav:"fields_updated"`
	ID            uint8   `mav:"id" ext:""` // 0 is the first sensor
}

const (
	accUpdated  = 0x007 // x, y and z
	gyroUpdated = 0x038
)

var highresIMU = define(105, "HIGHRES_IMU", HighresIMU{})

// Definition is that of HIGHRES_IMU.
func (*HighresIMU) Definition() *Definition { return highresIMU }

func (m *HighresIMU) putPayload(p []byte) {
	_ = p[62]
	le.PutUint64(p, m.TimeUsec)
	putFloat(p[8:], m.XAcc)
	putFloat(p[12:], m.YAcc)
	putFloat(p[16:], m.ZAcc)
	putFloat(p[20:], m.XGyro)
	putFloat(p[24:], m.YGyro)
	putFloat(p[28:], m.ZGyro)
	putFloat(p[32:], m.XMag)
	putFloat(p[36:], m.YMag)
	putFloat(p[40:], m.ZMag)
	putFloat(p[44:], m.AbsPressure)
	putFloat(p[48:], m.DiffPressure)
	putFloat(p[52:], m.PressureAlt)
	putFloat(p[56:], m.Temperature)
	le.PutUint16(p[60:], m.FieldsUpdated)
	p[62] = m.ID
}

func (m *HighresIMU) parsePayload(p []byte) {
	*m = HighresIMU{TimeUsec: le.Uint64(p), XAcc: getFloat(p[8:]), YAcc: getFloat(p[12:]), ZAcc: getFloat(p[16:]),
		XGyro: getFloat(p[20:]), YGyro: getFloat(p[24:]), ZGyro: getFloat(p[28:]), XMag: getFloat(p[32:]), YMag: getFloat(p[36:]), ZMag: getFloat(p[40:]),
		AbsPressure: getFloat(p[44:]), DiffPressure: getFloat(p[48:]), PressureAlt: getFloat(p[52:]), Temperature: getFloat(p[56:]),
		FieldsUpdated: le.Uint16(p[60:]), ID: p[62]}
}

func appendHighresIMU(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	f := fill{message: "HIGHRES_IMU"}
	m := HighresIMU{TimeUsec: f.usec("time_usec", r)}
	if a, ok := r.SpecificForce.Value(); ok {
		a = frame.SwapDown(a)
		m.XAcc, m.YAcc, m.ZAcc = f.float("xacc", a.X), f.float("yacc", a.Y), f.float("zacc", a.Z)
		m.FieldsUpdated |= accUpdated
	}
	if w, ok := r.Rates.Value(); ok {
		w = frame.SwapDown(w)
		m.XGyro, m.YGyro, m.ZGyro = f.float("xgyro", w.X), f.float("ygyro", w.Y), f.float("zgyro", w.Z)
		m.FieldsUpdated |= gyroUpdated
	}
	m.putPayload(p)
	return true, f.err
}

// readHighresIMU takes what has been updated on all three axes; of another sensor than the first it takes nothing.
func readHighresIMU(p fullPayload, r *wire.Reading) (bool, error) {
	var m HighresIMU
	m.parsePayload(p[:])
	if m.ID != 0 {
		return false, nil
	}
	if !finite(m.XAcc, m.YAcc, m.ZAcc, m.XGyro, m.YGyro, m.ZGyro) {
		return false, notANumber("HIGHRES_IMU")
	}
	if err := checkUsec("HIGHRES_IMU", m.TimeUsec); err != nil {
		return false, err
	}
	readUsec(m.TimeUsec, r)
	if m.FieldsUpdated&accUpdated == accUpdated {
		r.SpecificForce = opt.Of(rfu(m.XAcc, m.YAcc, m.ZAcc))
	}
	if m.FieldsUpdated&gyroUpdated == gyroUpdated {
		r.Rates = opt.Of(rfu(m.XGyro, m.YGyro, m.ZGyro))
	}
	return true, nil
}

// A ScaledIMU is what the inertial sensor measures along forward, right and down, in thousandths of the standard gravity
// and of rad/s. It cannot say that there is no magnetometer: we send zeros.
//
// Source: common.xml, SCALED_IMU.
type ScaledIMU struct {
	TimeBootMS  uint32 `mav:"time_boot_ms" unit:"ms"`
	XAcc        int16  `mav:"xacc" unit:"mG"`
	YAcc        int16  `mav:"yacc" unit:"mG"`
	ZAcc        int16  `mav:"zacc" unit:"mG"`
	XGyro       int16  `mav:"xgyro" unit:"mrad/s"`
	YGyro       int16  `mav:"ygyro" unit:"mrad/s"`
	ZGyro       int16  `mav:"zgyro" unit:"mrad/s"`
	XMag        int16  `mav:"xmag" unit:"mgauss"`
	YMag        int16  `mav:"ymag" unit:"mgauss"`
	ZMag        int16  `mav:"zmag" unit:"mgauss"`
	Temperature int16  `mav:"temperature" unit:"cdegC" ext:"" none:"0"` // 0 °C is sent as 1
}

var scaledIMU = define(26, "SCALED_IMU", ScaledIMU{})

// Definition is that of SCALED_IMU.
func (*ScaledIMU) Definition() *Definition { return scaledIMU }

func (m *ScaledIMU) putPayload(p []byte) {
	_ = p[23]
	le.PutUint32(p, m.TimeBootMS)
	le.PutUint16(p[4:], uint16(m.XAcc))
	le.PutUint16(p[6:], uint16(m.YAcc))
	le.PutUint16(p[8:], uint16(m.ZAcc))
	le.PutUint16(p[10:], uint16(m.XGyro))
	le.PutUint16(p[12:], uint16(m.YGyro))
	le.PutUint16(p[14:], uint16(m.ZGyro))
	le.PutUint16(p[16:], uint16(m.XMag))
	le.PutUint16(p[18:], uint16(m.YMag))
	le.PutUint16(p[20:], uint16(m.ZMag))
	le.PutUint16(p[22:], uint16(m.Temperature))
}

func (m *ScaledIMU) parsePayload(p []byte) {
	*m = ScaledIMU{TimeBootMS: le.Uint32(p), XAcc: getInt16(p[4:]), YAcc: getInt16(p[6:]), ZAcc: getInt16(p[8:]), XGyro: getInt16(p[10:]),
		YGyro: getInt16(p[12:]), ZGyro: getInt16(p[14:]), XMag: getInt16(p[16:]), YMag: getInt16(p[18:]), ZMag: getInt16(p[20:]), Temperature: getInt16(p[22:])}
}

func appendScaledIMU(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	f := fill{message: "SCALED_IMU"}
	m := ScaledIMU{TimeBootMS: f.boot(r)}
	short := func(field string, x, scale float64) int16 {
		return int16(f.whole(field, x, scale, math.MinInt16, math.MaxInt16))
	}
	if a, ok := r.SpecificForce.Value(); ok {
		a = frame.SwapDown(a)
		m.XAcc, m.YAcc, m.ZAcc = short("xacc", a.X, mG), short("yacc", a.Y, mG), short("zacc", a.Z, mG)
	} else {
		f.missing("xacc", "specific force")
	}
	if w, ok := r.Rates.Value(); ok {
		w = frame.SwapDown(w)
		m.XGyro, m.YGyro, m.ZGyro = short("xgyro", w.X, 1e3), short("ygyro", w.Y, 1e3), short("zgyro", w.Z, 1e3)
	} else {
		f.missing("xgyro", "angular rates")
	}
	m.putPayload(p)
	return true, f.err
}

func readScaledIMU(p fullPayload, r *wire.Reading) (bool, error) {
	var m ScaledIMU
	m.parsePayload(p[:])
	readBoot(m.TimeBootMS, r)
	r.SpecificForce = opt.Of(scaled(m.XAcc, m.YAcc, m.ZAcc, mG))
	r.Rates = opt.Of(scaled(m.XGyro, m.YGyro, m.ZGyro, 1e3))
	return true, nil
}

// scaled is along right, forward, up what was along forward, right, down, in parts of a unit.
func scaled(x, y, z int16, parts float64) r3.Vec {
	v := frame.SwapDown(r3.Vec{X: float64(x) / parts, Y: float64(y) / parts, Z: float64(z) / parts})
	v.Z += 0
	return v
}

// A ScaledIMU2 is the [ScaledIMU] of a second sensor.
//
// Source: common.xml, SCALED_IMU2.
type ScaledIMU2 ScaledIMU

var scaledIMU2 = define(116, "SCALED_IMU2", ScaledIMU2{})

// Definition is that of SCALED_IMU2.
func (*ScaledIMU2) Definition() *Definition { return scaledIMU2 }

func (m *ScaledIMU2) putPayload(p []byte)   { (*ScaledIMU)(m).putPayload(p) }
func (m *ScaledIMU2) parsePayload(p []byte) { (*ScaledIMU)(m).parsePayload(p) }

// A RawIMU is what an inertial sensor measures, in units of its own.
//
// Source: common.xml, RAW_IMU.
type RawIMU struct {
	TimeUsec    uint64 `mav:"time_usec" unit:"us"`
	XAcc        int16  `mav:"xacc"`
	YAcc        int16  `mav:"yacc"`
	ZAcc        int16  `mav:"zacc"`
	XGyro       int16  `mav:"xgyro"`
	YGyro       int16  `mav:"ygyro"`
	ZGyro       int16  `mav:"zgyro"`
	XMag        int16  `mav:"xmag"`
	YMag        int16  `mav:"ymag"`
	ZMag        int16  `mav:"zmag"`
	ID          uint8  `mav:"id" ext:""`
	Temperature int16  `mav:"temperature" unit:"cdegC" ext:"" none:"0"` // 0 °C is sent as 1
}

var rawIMU = define(27, "RAW_IMU", RawIMU{})

// Definition is that of RAW_IMU.
func (*RawIMU) Definition() *Definition { return rawIMU }

func (m *RawIMU) putPayload(p []byte) {
	_ = p[28]
	le.PutUint64(p, m.TimeUsec)
	le.PutUint16(p[8:], uint16(m.XAcc))
	le.PutUint16(p[10:], uint16(m.YAcc))
	le.PutUint16(p[12:], uint16(m.ZAcc))
	le.PutUint16(p[14:], uint16(m.XGyro))
	le.PutUint16(p[16:], uint16(m.YGyro))
	le.PutUint16(p[18:], uint16(m.ZGyro))
	le.PutUint16(p[20:], uint16(m.XMag))
	le.PutUint16(p[22:], uint16(m.YMag))
	le.PutUint16(p[24:], uint16(m.ZMag))
	p[26] = m.ID
	le.PutUint16(p[27:], uint16(m.Temperature))
}

func (m *RawIMU) parsePayload(p []byte) {
	*m = RawIMU{TimeUsec: le.Uint64(p), XAcc: getInt16(p[8:]), YAcc: getInt16(p[10:]), ZAcc: getInt16(p[12:]), XGyro: getInt16(p[14:]),
		YGyro: getInt16(p[16:]), ZGyro: getInt16(p[18:]), XMag: getInt16(p[20:]), YMag: getInt16(p[22:]), ZMag: getInt16(p[24:]), ID: p[26], Temperature: getInt16(p[27:])}
}
