package mavlink

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// A GPSRawInt is the fix as GNSS alone has it: while the inertial sensor goes on without GNSS it says that there is none.
//
// Source: common.xml, GPS_RAW_INT. The fields from alt_ellipsoid on are extensions, which version 1 does not have. There
// 0 says that the value is not known; of alt_ellipsoid that is not said, and a height of exactly 0 mm cannot be told from
// none. The satellites visible are those that are tracked; where the reading has no list of them, those used.
type GPSRawInt struct {
	TimeUsec          uint64 `mav:"time_usec" unit:"us"`
	FixType           uint8  `mav:"fix_type"`
	Lat               int32  `mav:"lat" unit:"degE7"`
	Lon               int32  `mav:"lon" unit:"degE7"`
	Alt               int32  `mav:"alt" unit:"mm"`                // above mean sea level
	EPH               uint16 `mav:"eph" unit:"0.01" none:"65535"` // HDOP, not a length
	EPV               uint16 `mav:"epv" unit:"0.01" none:"65535"` // VDOP
	Vel               uint16 `mav:"vel" unit:"cm/s" none:"65535"`
	COG               uint16 `mav:"cog" unit:"cdeg" none:"65535"`
	SatellitesVisible uint8  `mav:"satellites_visible" none:"255"`
	AltEllipsoid      int32  `mav:"alt_ellipsoid" unit:"mm" ext:""`
	HAcc              uint32 `mav:"h_acc" unit:"mm" ext:"" none:"0"`
	VAcc              uint32 `mav:"v_acc" unit:"mm" ext:"" none:"0"`
	VelAcc            uint32 `mav:"vel_acc" unit:"mm/s" ext:"" none:"0"`
	HdgAcc            uint32 `mav:"hdg_acc" unit:"degE5" ext:"" none:"0"`
	Yaw               uint16 `mav:"yaw" unit:"cdeg" ext:"" none:"0 65535"` // 36000 is north, 0 not provided at all
}

// A GPS2Raw is the fix of a second receiver, with the age of its corrections. We send in it what [GPSRawInt] has.
//
// Source: common.xml, GPS2_RAW. Without corrections, dgps_numch is 0 and dgps_age says nothing.
type GPS2Raw struct {
	TimeUsec          uint64 `mav:"time_usec" unit:"us"`
	FixType           uint8  `mav:"fix_type"`
	Lat               int32  `mav:"lat" unit:"degE7"`
	Lon               int32  `mav:"lon" unit:"degE7"`
	Alt               int32  `mav:"alt" unit:"mm"`
	EPH               uint16 `mav:"eph" unit:"0.01" none:"65535"`
	EPV               uint16 `mav:"epv" unit:"0.01" none:"65535"`
	Vel               uint16 `mav:"vel" unit:"cm/s" none:"65535"`
	COG               uint16 `mav:"cog" unit:"cdeg" none:"65535"`
	SatellitesVisible uint8  `mav:"satellites_visible" none:"255"`
	DGPSNumCh         uint8  `mav:"dgps_numch"` // satellites with corrections
	DGPSAge           uint32 `mav:"dgps_age" unit:"ms"`
	Yaw               uint16 `mav:"yaw" unit:"cdeg" ext:"" none:"0 65535"`
	AltEllipsoid      int32  `mav:"alt_ellipsoid" unit:"mm" ext:""`
	HAcc              uint32 `mav:"h_acc" unit:"mm" ext:"" none:"0"`
	VAcc              uint32 `mav:"v_acc" unit:"mm" ext:"" none:"0"`
	VelAcc            uint32 `mav:"vel_acc" unit:"mm/s" ext:"" none:"0"`
	HdgAcc            uint32 `mav:"hdg_acc" unit:"degE5" ext:"" none:"0"`
}

var (
	gpsRawInt = define(24, "GPS_RAW_INT", GPSRawInt{})
	gps2Raw   = define(124, "GPS2_RAW", GPS2Raw{})

	gpsResolutions = []wire.Resolution{
		{Quantity: wire.Time, Half: 0.5e-6},
		{Quantity: wire.Latitude, Half: halfDegE7}, {Quantity: wire.Longitude, Half: halfDegE7}, {Quantity: wire.Height, Half: 0.5e-3},
		{Quantity: wire.FixState},
		{Quantity: wire.Speed, Half: 0.5e-2}, {Quantity: wire.Course, Half: 0.005 * math.Pi / 180},
		{Quantity: wire.Heading, Half: 0.005 * math.Pi / 180},
	}
)

// The fix types. Source: common.xml, GPS_FIX_TYPE. RTK float and fixed are the other way round than in GGA, where 4 is
// fixed and 5 is float.
const (
	fixNoReceiver = iota
	fixNone
	fix2D
	fix3D
	fixDifferential
	fixRTKFloat
	fixRTKFixed
	fixStatic
	fixPPP
)

// fixTypes is in the order of [wire.Fix]. GNSS knows nothing of an estimated position; that the fix is simulated has no
// type of its own; a position that was typed in is the static one.
var fixTypes = [...]uint8{fixNone, fixNone, fix3D, fixDifferential, fixRTKFloat, fixRTKFixed, fixPPP, fixStatic, fix3D}

// fixes is the way back.
var fixes = [...]wire.Fix{wire.FixNone, wire.FixNone, wire.FixAutonomous, wire.FixAutonomous, wire.FixDifferential,
	wire.FixRTKFloat, wire.FixRTKFixed, wire.FixManual, wire.FixPrecise}

var fixWords = [...]string{"no receiver", "no fix", "2D", "3D", "differential", "RTK float", "RTK fixed", "static", "PPP"}

// Definition is that of GPS_RAW_INT.
func (*GPSRawInt) Definition() *Definition { return gpsRawInt }

func (m *GPSRawInt) putPayload(p []byte) {
	_ = p[51]
	le.PutUint64(p, m.TimeUsec)
	le.PutUint32(p[8:], uint32(m.Lat))
	le.PutUint32(p[12:], uint32(m.Lon))
	le.PutUint32(p[16:], uint32(m.Alt))
	le.PutUint16(p[20:], m.EPH)
	le.PutUint16(p[22:], m.EPV)
	le.PutUint16(p[24:], m.Vel)
	le.PutUint16(p[26:], m.COG)
	p[28] = m.FixType
	p[29] = m.SatellitesVisible
	le.PutUint32(p[30:], uint32(m.AltEllipsoid))
	le.PutUint32(p[34:], m.HAcc)
	le.PutUint32(p[38:], m.VAcc)
	le.PutUint32(p[42:], m.VelAcc)
	le.PutUint32(p[46:], m.HdgAcc)
	le.PutUint16(p[50:], m.Yaw)
}

func (m *GPSRawInt) parsePayload(p []byte) {
	*m = GPSRawInt{TimeUsec: le.Uint64(p), Lat: getInt32(p[8:]), Lon: getInt32(p[12:]), Alt: getInt32(p[16:]), EPH: le.Uint16(p[20:]),
		EPV: le.Uint16(p[22:]), Vel: le.Uint16(p[24:]), COG: le.Uint16(p[26:]), FixType: p[28], SatellitesVisible: p[29],
		AltEllipsoid: getInt32(p[30:]), HAcc: le.Uint32(p[34:]), VAcc: le.Uint32(p[38:]), VelAcc: le.Uint32(p[42:]), HdgAcc: le.Uint32(p[46:]), Yaw: le.Uint16(p[50:])}
}

// Definition is that of GPS2_RAW.
func (*GPS2Raw) Definition() *Definition { return gps2Raw }

func (m *GPS2Raw) putPayload(p []byte) {
	_ = p[56]
	le.PutUint64(p, m.TimeUsec)
	le.PutUint32(p[8:], uint32(m.Lat))
	le.PutUint32(p[12:], uint32(m.Lon))
	le.PutUint32(p[16:], uint32(m.Alt))
	le.PutUint32(p[20:], m.DGPSAge)
	le.PutUint16(p[24:], m.EPH)
	le.PutUint16(p[26:], m.EPV)
	le.PutUint16(p[28:], m.Vel)
	le.PutUint16(p[30:], m.COG)
	p[32] = m.FixType
	p[33] = m.SatellitesVisible
	p[34] = m.DGPSNumCh
	le.PutUint16(p[35:], m.Yaw)
	le.PutUint32(p[37:], uint32(m.AltEllipsoid))
	le.PutUint32(p[41:], m.HAcc)
	le.PutUint32(p[45:], m.VAcc)
	le.PutUint32(p[49:], m.VelAcc)
	le.PutUint32(p[53:], m.HdgAcc)
}

func (m *GPS2Raw) parsePayload(p []byte) {
	*m = GPS2Raw{TimeUsec: le.Uint64(p), Lat: getInt32(p[8:]), Lon: getInt32(p[12:]), Alt: getInt32(p[16:]), DGPSAge: le.Uint32(p[20:]), EPH: le.Uint16(p[24:]),
		EPV: le.Uint16(p[26:]), Vel: le.Uint16(p[28:]), COG: le.Uint16(p[30:]), FixType: p[32], SatellitesVisible: p[33], DGPSNumCh: p[34],
		Yaw: le.Uint16(p[35:]), AltEllipsoid: getInt32(p[37:]), HAcc: le.Uint32(p[41:]), VAcc: le.Uint32(p[45:]), VelAcc: le.Uint32(p[49:]), HdgAcc: le.Uint32(p[53:])}
}

func appendGPSRawInt(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	f := fill{message: "GPS_RAW_INT"}
	var m GPSRawInt
	f.gps(&m, r)
	m.putPayload(p)
	return true, f.err
}

func appendGPS2Raw(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	f := fill{message: "GPS2_RAW"}
	var g GPSRawInt
	f.gps(&g, r)
	m := GPS2Raw{TimeUsec: g.TimeUsec, FixType: g.FixType, Lat: g.Lat, Lon: g.Lon, Alt: g.Alt, EPH: g.EPH, EPV: g.EPV, Vel: g.Vel, COG: g.COG,
		SatellitesVisible: g.SatellitesVisible, Yaw: g.Yaw, AltEllipsoid: g.AltEllipsoid, HAcc: g.HAcc, VAcc: g.VAcc, VelAcc: g.VelAcc, HdgAcc: g.HdgAcc}
	if age, ok := r.DiffAge.Value(); ok && g.FixType > fixNone {
		m.DGPSAge = uint32(f.whole("dgps_age", age, 1e3, 0, math.MaxUint32))
		m.DGPSNumCh = uint8(min(max(1, r.Satellites.Or(1)), 255))
	}
	m.putPayload(p)
	return true, f.err
}

// gps fills in what GNSS knows.
func (f *fill) gps(m *GPSRawInt, r *wire.Reading) {
	*m = GPSRawInt{TimeUsec: f.usec("time_usec", r), FixType: fixNone, EPH: none16, EPV: none16, Vel: none16, COG: none16,
		SatellitesVisible: satellites(r), Yaw: none16}
	if r.Fix < 0 || int(r.Fix) >= len(fixTypes) {
		f.fail("fix_type", float64(r.Fix), "a fix of package wire, 0 (none) to 8 (simulated)")
		return
	}
	if h, ok := r.Heading.Value(); ok && !r.HeadingEstimated {
		if m.Yaw = f.angle("yaw", h); m.Yaw == 0 {
			m.Yaw = turn
		}
		if s, ok := r.HeadingSigma.Value(); ok {
			m.HdgAcc = f.accuracy("hdg_acc", s, degE5)
		}
	}
	p, ok := r.Position.Value()
	if t := fixTypes[r.Fix]; ok && t > fixNone {
		m.FixType = t
	} else {
		return
	}
	m.Lat, m.Lon = f.latLon(p.Lat, p.Lon)
	if u, ok := r.Undulation.Value(); ok {
		m.Alt = f.height("alt", p.Height-u)
	} else {
		f.missing("alt", "undulation of the geoid")
	}
	m.AltEllipsoid = f.height("alt_ellipsoid", p.Height)
	if x, ok := r.HDOP.Value(); ok {
		m.EPH = uint16(f.whole("eph", x, 100, 0, none16-1))
	}
	if x, ok := r.VDOP.Value(); ok {
		m.EPV = uint16(f.whole("epv", x, 100, 0, none16-1))
	}
	if x, ok := r.SpeedMS.Value(); ok {
		m.Vel = uint16(f.whole("vel", x, 100, 0, none16-1))
	}
	if x, ok := r.CourseRad.Value(); ok {
		m.COG = f.angle("cog", x)
	}
	if s, ok := r.Sigma.Value(); ok { // of the horizontal position the root mean square distance
		m.HAcc, m.VAcc = f.accuracy("h_acc", math.Sqrt(s.X*s.X+s.Y*s.Y), 1e3), f.accuracy("v_acc", s.Z, 1e3)
	}
}

func satellites(r *wire.Reading) uint8 {
	if r.Sky == nil {
		return uint8(min(max(0, r.Satellites.Or(none8)), none8))
	}
	n := 0
	for i := range r.Sky {
		if r.Sky[i].SNR.Has() {
			n++
		}
	}
	return uint8(min(n, none8-1))
}

func readGPSRawInt(p fullPayload, r *wire.Reading) (bool, error) {
	var m GPSRawInt
	m.parsePayload(p[:])
	if err := m.read("GPS_RAW_INT", r); err != nil {
		return false, err
	}
	return true, nil
}

func readGPS2Raw(p fullPayload, r *wire.Reading) (bool, error) {
	var m GPS2Raw
	m.parsePayload(p[:])
	g := GPSRawInt{TimeUsec: m.TimeUsec, FixType: m.FixType, Lat: m.Lat, Lon: m.Lon, Alt: m.Alt, EPH: m.EPH, EPV: m.EPV, Vel: m.Vel, COG: m.COG,
		SatellitesVisible: m.SatellitesVisible, Yaw: m.Yaw, AltEllipsoid: m.AltEllipsoid, HAcc: m.HAcc, VAcc: m.VAcc, VelAcc: m.VelAcc, HdgAcc: m.HdgAcc}
	if err := g.read("GPS2_RAW", r); err != nil {
		return false, err
	}
	r.DiffAge = opt.None[float64]()
	if m.DGPSNumCh > 0 {
		r.DiffAge = opt.Of(float64(m.DGPSAge) / 1e3)
	}
	return true, nil
}

// read sets what the message says. Extension fields that are 0 say nothing. satellites_visible is not the number used,
// which is what a reading has.
func (m *GPSRawInt) read(message string, r *wire.Reading) error {
	if int(m.FixType) >= len(fixes) {
		return &ValueError{message, "fix_type", float64(m.FixType), "0 to 8"}
	}
	if err := checkPosition(message, m.Lat, m.Lon); err != nil {
		return err
	}
	course, err := bearing(message, "cog", m.COG)
	if err != nil {
		return err
	}
	heading, err := bearing(message, "yaw", m.Yaw)
	if err != nil {
		return err
	}
	if err := checkUsec(message, m.TimeUsec); err != nil {
		return err
	}
	readUsec(m.TimeUsec, r)
	r.Fix = fixes[m.FixType]
	r.HDOP, r.VDOP, r.SpeedMS, r.CourseRad = hundredths(m.EPH), hundredths(m.EPV), hundredths(m.Vel), course
	r.VelocityEN = opt.None[[2]float64]()
	if speed, ok := r.SpeedMS.Value(); ok && course.Has() {
		s, c := math.Sincos(course.Or(0))
		r.VelocityEN = opt.Of([2]float64{speed * s, speed * c})
	}
	if m.FixType <= fixNone {
		r.Position = opt.None[geo.Position]()
	} else {
		if m.AltEllipsoid != 0 {
			r.Undulation = opt.Of(float64(int64(m.AltEllipsoid)-int64(m.Alt)) / 1e3)
		}
		setPosition(r, m.Lat, m.Lon, m.Alt)
		if m.AltEllipsoid != 0 {
			p, _ := r.Position.Value()
			p.Height = float64(m.AltEllipsoid) / 1e3
			r.Position = opt.Of(p)
		}
	}
	if m.HAcc != 0 && m.VAcc != 0 {
		h := float64(m.HAcc) / 1e3 / math.Sqrt2
		r.Sigma, r.SigmaEN = opt.Of(r3.Vec{X: h, Y: h, Z: float64(m.VAcc) / 1e3}), 0
	}
	if m.Yaw != 0 {
		r.Heading, r.HeadingEstimated, r.HeadingSigma = heading, false, opt.None[float64]()
		if m.HdgAcc != 0 {
			r.HeadingSigma = opt.Of(frame.Rad(float64(m.HdgAcc) / 1e5))
		}
	}
	return nil
}

func hundredths(n uint16) opt.Opt[float64] {
	if n == none16 {
		return opt.None[float64]()
	}
	return opt.Of(float64(n) / 100)
}

func checkUsec(message string, n uint64) error {
	if n > maxUnix*1_000_000 {
		return &ValueError{message, "time_usec", float64(n), "a date, or a time since switch-on"}
	}
	return nil
}
