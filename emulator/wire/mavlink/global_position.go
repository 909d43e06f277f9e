package mavlink

import (
	"math"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// A GlobalPositionInt is the position, velocity and heading as the whole device believes them, also while GNSS is gone.
//
// alt counts from mean sea level, relative_alt from where the device was switched on. Source: common.xml,
// GLOBAL_POSITION_INT.
type GlobalPositionInt struct {
	TimeBootMS  uint32 `mav:"time_boot_ms" unit:"ms"`
	Lat         int32  `mav:"lat" unit:"degE7"`
	Lon         int32  `mav:"lon" unit:"degE7"`
	Alt         int32  `mav:"alt" unit:"mm"`
	RelativeAlt int32  `mav:"relative_alt" unit:"mm"`
	VX          int16  `mav:"vx" unit:"cm/s"` // north
	VY          int16  `mav:"vy" unit:"cm/s"` // east
	VZ          int16  `mav:"vz" unit:"cm/s"` // down
	Hdg         uint16 `mav:"hdg" unit:"cdeg" none:"65535"`
}

const halfDegE7 = 0.5e-7 * math.Pi / 180 // rad

var (
	globalPositionInt = define(33, "GLOBAL_POSITION_INT", GlobalPositionInt{})

	globalResolutions = []wire.Resolution{
		{Quantity: wire.Time, Half: 0.5e-3},
		{Quantity: wire.Latitude, Half: halfDegE7}, {Quantity: wire.Longitude, Half: halfDegE7}, {Quantity: wire.Height, Half: 0.5e-3},
		{Quantity: wire.Velocity, Half: 0.5e-2},
		{Quantity: wire.Heading, Half: 0.005 * math.Pi / 180},
	}
)

// Definition is that of GLOBAL_POSITION_INT.
func (*GlobalPositionInt) Definition() *Definition { return globalPositionInt }

func (m *GlobalPositionInt) putPayload(p []byte) {
	_ = p[27]
	le.PutUint32(p, m.TimeBootMS)
	le.PutUint32(p[4:], uint32(m.Lat))
	le.PutUint32(p[8:], uint32(m.Lon))
	le.PutUint32(p[12:], uint32(m.Alt))
	le.PutUint32(p[16:], uint32(m.RelativeAlt))
	le.PutUint16(p[20:], uint16(m.VX))
	le.PutUint16(p[22:], uint16(m.VY))
	le.PutUint16(p[24:], uint16(m.VZ))
	le.PutUint16(p[26:], m.Hdg)
}

func (m *GlobalPositionInt) parsePayload(p []byte) {
	*m = GlobalPositionInt{TimeBootMS: le.Uint32(p), Lat: getInt32(p[4:]), Lon: getInt32(p[8:]), Alt: getInt32(p[12:]), RelativeAlt: getInt32(p[16:]),
		VX: getInt16(p[20:]), VY: getInt16(p[22:]), VZ: getInt16(p[24:]), Hdg: le.Uint16(p[26:])}
}

// appendGlobalPositionInt: the message can say that the heading is not known, but neither of position and velocity.
func appendGlobalPositionInt(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	at, ok1 := r.Position.Value()
	v, ok2 := velocity(r)
	if !ok1 || !ok2 {
		return false, nil
	}
	f := fill{message: "GLOBAL_POSITION_INT"}
	m := GlobalPositionInt{TimeBootMS: f.boot(r), Hdg: none16}
	m.Lat, m.Lon = f.latLon(at.Lat, at.Lon)
	if u, ok := r.Undulation.Value(); ok {
		m.Alt = f.height("alt", at.Height-u)
	} else {
		f.missing("alt", "undulation of the geoid")
	}
	if o, ok := r.Origin.Value(); ok {
		m.RelativeAlt = f.height("relative_alt", at.Height-o.Height)
	} else {
		f.missing("relative_alt", "place where it was switched on")
	}
	cm := func(field string, x float64) int16 {
		return int16(f.whole(field, x, 100, math.MinInt16, math.MaxInt16))
	}
	m.VX, m.VY, m.VZ = cm("vx", v.X), cm("vy", v.Y), cm("vz", v.Z)
	if h, ok := r.Heading.Value(); ok {
		m.Hdg = f.angle("hdg", h)
	}
	m.putPayload(p)
	return true, f.err
}

func readGlobalPositionInt(p fullPayload, r *wire.Reading) (bool, error) {
	var m GlobalPositionInt
	m.parsePayload(p[:])
	if err := checkPosition("GLOBAL_POSITION_INT", m.Lat, m.Lon); err != nil {
		return false, err
	}
	heading, err := bearing("GLOBAL_POSITION_INT", "hdg", m.Hdg)
	if err != nil {
		return false, err
	}
	readBoot(m.TimeBootMS, r)
	setPosition(r, m.Lat, m.Lon, m.Alt)
	setVelocity(r, float64(m.VX)/100, float64(m.VY)/100, float64(m.VZ)/100)
	r.Heading = heading
	return true, nil
}

func checkPosition(message string, lat, lon int32) error {
	if lat < -90e7 || lat > 90e7 {
		return &ValueError{message, "lat", float64(lat), "-900000000 to 900000000"}
	}
	if lon < -180e7 || lon > 180e7 {
		return &ValueError{message, "lon", float64(lon), "-1800000000 to 1800000000"}
	}
	return nil
}

// setPosition takes a height above mean sea level. The height above the ellipsoid follows from the undulation that the
// reading has from elsewhere; where it has none the undulation is set to 0, so that the two differ by what the message
// says.
func setPosition(r *wire.Reading, lat, lon, alt int32) {
	u := r.Undulation.Or(0)
	r.Undulation = opt.Of(u)
	r.Position = opt.Of(geo.Position{Lat: frame.Rad(float64(lat) / 1e7), Lon: frame.WrapPi(frame.Rad(float64(lon) / 1e7)), Height: float64(alt)/1e3 + u})
}

// bearing reads hundredths of a degree, 36000 too.
func bearing(message, field string, n uint16) (opt.Opt[float64], error) {
	switch {
	case n == none16:
		return opt.None[float64](), nil
	case n > turn:
		return opt.None[float64](), &ValueError{message, field, float64(n), "0 to 36000, or 65535 where it is not known"}
	}
	return opt.Of(frame.Rad(float64(n%turn) / 100)), nil
}
