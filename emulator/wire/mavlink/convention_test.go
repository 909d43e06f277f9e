package mavlink

import (
	"encoding/hex"
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

func deg(x float64) opt.Opt[float64] { return opt.Of(frame.Rad(x)) }

// Readings whose frames are those of vectors from outside: signs, axes, units, codes and truncation, all the way.
func TestReadingsOfVectors(t *testing.T) {
	at := opt.Of(time.UnixMicro(1813047302200000).UTC())
	place := geo.Position{Lat: frame.Rad(54.0582687), Lon: frame.Rad(-3.3166798), Height: 1.234 + 51.2}
	tracked := wire.Satellite{SNR: opt.Of(40.0)}
	for _, c := range []struct {
		id, kind string
		version  int
		system   Options
		r        wire.Reading
	}{
		{id: "mav-heartbeat-v1", kind: "HEARTBEAT", version: 1, r: wire.Reading{Yaw: deg(1), Pitch: deg(1), Roll: deg(1)}},
		{id: "mav-system-time-v1", kind: "SYSTEM_TIME", version: 1, r: wire.Reading{UTC: at, T: 123.456}},
		{id: "mav-system-time-v2", kind: "SYSTEM_TIME", r: wire.Reading{UTC: at, T: 123.456}},
		{id: "mav-system-time-v2-truncated", kind: "SYSTEM_TIME", r: wire.Reading{UTC: at}},
		{id: "mav-system-time-v2-all-zero", kind: "SYSTEM_TIME"},
		{id: "mav-system-time-v1-all-zero", kind: "SYSTEM_TIME", version: 1},
		{id: "mav-gps-raw-v1", kind: "GPS_RAW_INT", version: 1, r: wire.Reading{UTC: at, Fix: wire.FixRTKFixed, Position: opt.Of(place),
			Undulation: opt.Of(51.2), HDOP: opt.Of(0.6), VDOP: opt.Of(1.1), SpeedMS: opt.Of(3.1), CourseRad: deg(12.45), Satellites: opt.Of(19)}},
		{id: "mav-gps-raw-v1-no-fix", kind: "GPS_RAW_INT", version: 1, r: wire.Reading{T: 5, Sky: []wire.Satellite{tracked, {}, tracked, tracked}}},
		{id: "mav-attitude-v2-rates-zero-truncated", kind: "ATTITUDE",
			r: wire.Reading{T: 123.458, Roll: opt.Of(0.5), Pitch: opt.Of(-0.25), Yaw: opt.Of(0.0), Rates: opt.Of(r3.Vec{})}},
		{id: "mav-attitude-v1", kind: "ATTITUDE", version: 1, r: wire.Reading{T: 123.456, Roll: opt.Of(0.05), Pitch: opt.Of(-0.1234), Yaw: opt.Of(0.2173),
			Rates: opt.Of(r3.Vec{X: -0.02, Y: 0.01, Z: -0.0087266})}},
		{id: "mav-attitude-v2-negative-roll", kind: "ATTITUDE", r: wire.Reading{T: 123.457, Roll: opt.Of(-0.5), Pitch: opt.Of(0.25), Yaw: opt.Of(2*math.Pi - 3.125),
			Rates: opt.Of(r3.Vec{X: 0.03125, Y: -0.0625, Z: 0.0032667})}},
		{id: "mav-global-position-v1", kind: "GLOBAL_POSITION_INT", version: 1, r: wire.Reading{T: 123.464, Position: opt.Of(place), Undulation: opt.Of(51.2),
			Origin: opt.Of(geo.Position{Height: place.Height + 0.056}), VelocityEN: opt.Of([2]float64{-0.67, 3.02}), VelocityUp: opt.Of(0.12), Heading: deg(12.45)}},
		{id: "mav-quaternion-v1", kind: "ATTITUDE_QUATERNION", version: 1, r: wire.Reading{T: 123.46, Roll: opt.Of(2 * math.Asin(0.1305262)), Pitch: deg(0), Yaw: deg(0),
			Rates: opt.Of(r3.Vec{Y: 0.01, Z: -0.5})}}, // roll speed about forward, yaw speed about down
	} {
		t.Run(c.id, func(t *testing.T) {
			var want vector
			for _, v := range vectors(t, "mavlink-frames.jsonl") {
				if v.ID == c.id {
					want = v
				}
			}
			f := want.frame(t)
			e, err := New(c.kind, Options{Version: c.version, System: int(f.System), Component: int(f.Component)})
			if err != nil {
				t.Fatal(err)
			}
			c.r.Series = uint32(f.Sequence) + 512
			got, err := e.Append(nil, &c.r)
			if hex.EncodeToString(got) != want.Input || err != nil {
				_, m, _ := Parse(got)
				t.Errorf("got  %x, %v\nwant %s\n%+v\n%+v", got, err, want.Input, m, f.Fields)
			}
		})
	}
}

func encode(t testing.TB, kind string, version int, r *wire.Reading) Message {
	t.Helper()
	e, err := New(kind, Options{Version: version})
	if err != nil {
		t.Fatal(err)
	}
	b, err := e.Append(nil, r)
	if err != nil {
		t.Fatal(err)
	}
	if len(b) == 0 {
		return nil
	}
	_, m, err := Parse(b)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// fullReading is a reading with all that there is.
func fullReading() *wire.Reading {
	return &wire.Reading{T: 12.3456, UTC: opt.Of(time.Date(2026, 6, 1, 12, 0, 0, 200_000_500, time.UTC)), Fix: wire.FixRTKFixed,
		Position: opt.Of(geo.Position{Lat: frame.Rad(54.2), Lon: frame.Rad(-3.7), Height: 45.1234}), Undulation: opt.Of(41.5),
		SpeedMS: opt.Of(5.0), CourseRad: opt.Of(math.Atan2(3, 4)), VelocityEN: opt.Of([2]float64{3, 4}), VelocityUp: opt.Of(0.25),
		Satellites: opt.Of(14), HDOP: opt.Of(0.7), VDOP: opt.Of(1.2), PDOP: opt.Of(1.4), DiffAge: opt.Of(1.5),
		Sigma: opt.Of(r3.Vec{X: 0.03, Y: 0.04, Z: 0.06}), Heading: deg(77.3), HeadingSigma: deg(0.2), Yaw: deg(200), Pitch: deg(4), Roll: deg(-7),
		RateOfTurn: opt.Of(0.01), Rates: opt.Of(r3.Vec{X: 0.1, Y: 0.2, Z: 0.3}), SpecificForce: opt.Of(r3.Vec{X: 0.5, Y: -0.25, Z: 9.8}),
		Origin: opt.Of(geo.Position{Lat: frame.Rad(54.2), Lon: frame.Rad(-3.7), Height: 44.6234}), HeaveM: opt.Of(0.5)}
}

func f32(deg float64) float32 { return float32(frame.Rad(deg)) }

// What goes out for a reading, worked out by hand from the definitions.
func TestConventions(t *testing.T) {
	r := fullReading()
	for _, c := range []struct {
		kind    string
		version int
		want    Message
	}{
		{"HEARTBEAT", 2, &Heartbeat{Type: 11, Autopilot: 8, SystemStatus: 4, Version: 3}},
		{"SYSTEM_TIME", 2, &SystemTime{TimeUnixUsec: 1780315200200001, TimeBootMS: 12346}},
		{"GPS_RAW_INT", 1, &GPSRawInt{TimeUsec: 1780315200200001, FixType: 6, Lat: 542000000, Lon: -37000000, Alt: 3623, EPH: 70, EPV: 120, Vel: 500, COG: 3687, SatellitesVisible: 14}},
		{"GPS_RAW_INT", 2, &GPSRawInt{TimeUsec: 1780315200200001, FixType: 6, Lat: 542000000, Lon: -37000000, Alt: 3623, EPH: 70, EPV: 120, Vel: 500, COG: 3687, SatellitesVisible: 14,
			AltEllipsoid: 45123, HAcc: 50, VAcc: 60, HdgAcc: 20000, Yaw: 7730}},
		{"GPS2_RAW", 2, &GPS2Raw{TimeUsec: 1780315200200001, FixType: 6, Lat: 542000000, Lon: -37000000, Alt: 3623, EPH: 70, EPV: 120, Vel: 500, COG: 3687, SatellitesVisible: 14,
			DGPSNumCh: 14, DGPSAge: 1500, AltEllipsoid: 45123, HAcc: 50, VAcc: 60, HdgAcc: 20000, Yaw: 7730}},
		{"ATTITUDE", 2, &Attitude{TimeBootMS: 12346, Roll: f32(-7), Pitch: f32(4), Yaw: f32(-160), RollSpeed: 0.2, PitchSpeed: 0.1, YawSpeed: -0.3}},
		{"GLOBAL_POSITION_INT", 2, &GlobalPositionInt{TimeBootMS: 12346, Lat: 542000000, Lon: -37000000, Alt: 3623, RelativeAlt: 500, VX: 400, VY: 300, VZ: -25, Hdg: 7730}},
		{"HIGHRES_IMU", 2, &HighresIMU{TimeUsec: 1780315200200001, XAcc: -0.25, YAcc: 0.5, ZAcc: -9.8, XGyro: 0.2, YGyro: 0.1, ZGyro: -0.3, FieldsUpdated: 0x3F}},
		{"SCALED_IMU", 2, &ScaledIMU{TimeBootMS: 12346, XAcc: -25, YAcc: 51, ZAcc: -999, XGyro: 200, YGyro: 100, ZGyro: -300}},
	} {
		got := encode(t, c.kind, c.version, r)
		if g, w := payload(got), payload(c.want); !slices.Equal(g, w) {
			t.Errorf("%s v%d:\ngot  %+v\nwant %+v", c.kind, c.version, got, c.want)
		}
	}
	// Half a metre above the origin: z is negative.
	l := encode(t, "LOCAL_POSITION_NED", 2, r).(*LocalPositionNED)
	if math.Abs(float64(l.Z)+0.5) > 1e-6 || math.Abs(float64(l.X)) > 1e-6 || math.Abs(float64(l.Y)) > 1e-6 || l.VX != 4 || l.VY != 3 || l.VZ != -0.25 {
		t.Errorf("%+v", l)
	}
	// 100 m north and 60 m east: geodetic arithmetic by the radii of curvature.
	p := r.Origin.Or(geo.Position{})
	p.Lat += 100 / (geo.MeridianRadius(p.Lat) + p.Height)
	p.Lon += 60 / ((geo.PrimeVerticalRadius(p.Lat) + p.Height) * math.Cos(p.Lat))
	r.Position = opt.Of(p)
	l = encode(t, "LOCAL_POSITION_NED", 2, r).(*LocalPositionNED)
	if math.Abs(float64(l.X)-100) > 2e-3 || math.Abs(float64(l.Y)-60) > 2e-3 || math.Abs(float64(l.Z)) > 2e-3 {
		t.Errorf("%+v", l)
	}
}

// GGA has 4 for RTK fixed and 5 for float, MAVLink 6 and 5. Source: common.xml, GPS_FIX_TYPE.
func TestFixTypes(t *testing.T) {
	for f, want := range map[wire.Fix]uint8{wire.FixNone: 1, wire.FixEstimated: 1, wire.FixAutonomous: 3, wire.FixDifferential: 4, wire.FixRTKFloat: 5,
		wire.FixRTKFixed: 6, wire.FixPrecise: 8, wire.FixManual: 7, wire.FixSimulated: 3} {
		r := fullReading()
		r.Fix = f
		m := encode(t, "GPS_RAW_INT", 2, r).(*GPSRawInt)
		if m.FixType != want || (m.Lat == 0) != (want == 1) || (m.Vel == none16) != (want == 1) || (m.AltEllipsoid == 0) != (want == 1) {
			t.Errorf("%v: %+v", f, m)
		}
		// The device as a whole still knows where it is.
		if g := encode(t, "GLOBAL_POSITION_INT", 2, r).(*GlobalPositionInt); g.Lat != 542000000 {
			t.Errorf("%v: %+v", f, g)
		}
	}
}

// What rounds, wraps or cannot be said.
func TestEdges(t *testing.T) {
	r := fullReading()
	r.Heading, r.CourseRad = deg(359.996), deg(359.995)
	m := encode(t, "GPS_RAW_INT", 2, r).(*GPSRawInt)
	if m.Yaw != 36000 || m.COG != 0 {
		t.Errorf("north is yaw 36000 and course 0: %+v", m)
	}
	if g := encode(t, "GLOBAL_POSITION_INT", 2, r).(*GlobalPositionInt); g.Hdg != 0 {
		t.Errorf("north is heading 0: %+v", g)
	}
	r.Heading = deg(123.455) // a half, whatever became of it on the way through rad
	if g := encode(t, "GLOBAL_POSITION_INT", 2, r).(*GlobalPositionInt); g.Hdg != 12346 {
		t.Errorf("%+v", g)
	}
	r.HeadingEstimated = true
	if m = encode(t, "GPS_RAW_INT", 2, r).(*GPSRawInt); m.Yaw != none16 || m.HdgAcc != 0 {
		t.Errorf("a heading that is not of GNSS: %+v", m)
	}
	r.Sigma = opt.Of(r3.Vec{X: 1e-5, Y: 1e-5, Z: 1e-5})
	if m = encode(t, "GPS_RAW_INT", 2, r).(*GPSRawInt); m.HAcc != 1 || m.VAcc != 1 {
		t.Errorf("0 would say not known: %+v", m)
	}
	r.Position = opt.Of(geo.Position{Lat: -math.Pi / 2, Lon: -math.Pi * (1 - 1e-12)})
	if m = encode(t, "GPS_RAW_INT", 2, r).(*GPSRawInt); m.Lat != -900000000 || m.Lon != 1800000000 {
		t.Errorf("%+v", m)
	}
	r.T = (1<<32 + 5) / 1e3 // 49.7 days
	if a := encode(t, "ATTITUDE", 2, r).(*Attitude); a.TimeBootMS != 5 {
		t.Errorf("%+v", a)
	}
	r.UTC = opt.None[time.Time]()
	if m = encode(t, "GPS_RAW_INT", 2, r).(*GPSRawInt); m.TimeUsec != (1<<32+5)*1000 {
		t.Errorf("time since switch-on: %+v", m)
	}
	if s := encode(t, "SYSTEM_TIME", 2, r).(*SystemTime); s.TimeUnixUsec != 0 {
		t.Errorf("%+v", s)
	}
	r.Sky = []wire.Satellite{}
	if m = encode(t, "GPS_RAW_INT", 2, r).(*GPSRawInt); m.SatellitesVisible != 0 {
		t.Errorf("none in view: %+v", m)
	}
	r.Sky, r.Satellites = nil, opt.None[int]()
	if m = encode(t, "GPS_RAW_INT", 2, r).(*GPSRawInt); m.SatellitesVisible != 255 {
		t.Errorf("not known: %+v", m)
	}
	r.Heading, r.Yaw = opt.None[float64](), opt.None[float64]()
	if g := encode(t, "GLOBAL_POSITION_INT", 1, r).(*GlobalPositionInt); g.Hdg != none16 {
		t.Errorf("%+v", g)
	}
	if h := encode(t, "HEARTBEAT", 1, r).(*Heartbeat); h.SystemStatus != 2 {
		t.Errorf("%+v", h)
	}
	for _, kind := range []string{"ATTITUDE", "ATTITUDE_QUATERNION"} {
		if m := encode(t, kind, 1, r); m != nil {
			t.Errorf("without yaw: %+v", m)
		}
	}
	r.VelocityEN = opt.None[[2]float64]() // speed and course say the same
	r.SpeedMS, r.CourseRad = opt.Of(2.0), deg(90)
	if g := encode(t, "GLOBAL_POSITION_INT", 1, r).(*GlobalPositionInt); g.VX != 0 || g.VY != 200 {
		t.Errorf("%+v", g)
	}
	r.Rates, r.SpecificForce = opt.None[r3.Vec](), opt.None[r3.Vec]()
	if h := encode(t, "HIGHRES_IMU", 1, r).(*HighresIMU); h.FieldsUpdated != 0 || h.ZAcc != 0 {
		t.Errorf("%+v", h)
	}
	r.Position = opt.None[geo.Position]()
	for _, kind := range []string{"LOCAL_POSITION_NED", "GLOBAL_POSITION_INT"} {
		if m := encode(t, kind, 1, r); m != nil {
			t.Errorf("without position: %+v", m)
		}
	}
}

func TestEncodeErrors(t *testing.T) {
	for _, c := range []struct {
		kind string
		set  func(r *wire.Reading)
		want string
	}{
		{"GPS_RAW_INT", func(r *wire.Reading) { r.SpeedMS = opt.Of(655.35) }, "encode GPS_RAW_INT: vel is 65535, allowed: 0 to 65534"},
		{"GPS_RAW_INT", func(r *wire.Reading) { r.HDOP = opt.Of(math.NaN()) }, "encode GPS_RAW_INT: eph is NaN, allowed: 0 to 65534"},
		{"GPS_RAW_INT", func(r *wire.Reading) { r.Position = opt.Of(geo.Position{Lat: frame.Rad(90.1)}) }, "encode GPS_RAW_INT: lat is 9.01e+08, allowed: -900000000 to 900000000"},
		{"GPS_RAW_INT", func(r *wire.Reading) { r.Fix = 9 }, "encode GPS_RAW_INT: fix_type is 9, allowed: a fix of package wire, 0 (none) to 8 (simulated)"},
		{"GPS_RAW_INT", func(r *wire.Reading) { r.UTC = opt.Of(time.Date(1979, 1, 1, 0, 0, 0, 0, time.UTC)) }, "encode GPS_RAW_INT: time_usec is 2.839968e+14, allowed: from 1980-01-06 on"},
		{"GPS_RAW_INT", func(r *wire.Reading) { r.Undulation = opt.None[float64]() }, "encode GPS_RAW_INT: alt needs the undulation of the geoid, which the device does not know; leave the message out"},
		{"GPS2_RAW", func(r *wire.Reading) { r.DiffAge = opt.Of(-1.0) }, "encode GPS2_RAW: dgps_age is -1000, allowed: 0 to 4294967295"},
		{"GLOBAL_POSITION_INT", func(r *wire.Reading) { r.VelocityUp = opt.Of(400.0) }, "encode GLOBAL_POSITION_INT: vz is -40000, allowed: -32768 to 32767"},
		{"GLOBAL_POSITION_INT", func(r *wire.Reading) { r.Origin = opt.None[geo.Position]() }, "encode GLOBAL_POSITION_INT: relative_alt needs the place where it was switched on, which the device does not know; leave the message out"},
		{"ATTITUDE", func(r *wire.Reading) { r.Roll = opt.Of(math.NaN()) }, "encode ATTITUDE: roll is NaN, allowed: a number that a float32 can hold"},
		{"ATTITUDE", func(r *wire.Reading) { r.T = -1 }, "encode ATTITUDE: time_boot_ms is -1000, allowed: 0 or more, and less than a century"},
		{"ATTITUDE", func(r *wire.Reading) { r.Rates = opt.None[r3.Vec]() }, "encode ATTITUDE: rollspeed needs the angular rates, which the device does not know; leave the message out"},
		{"ATTITUDE_QUATERNION", func(r *wire.Reading) { r.Yaw = opt.Of(math.Inf(1)) }, "encode ATTITUDE_QUATERNION: q1 is NaN, allowed: a number that a float32 can hold"},
		{"HIGHRES_IMU", func(r *wire.Reading) { r.SpecificForce = opt.Of(r3.Vec{Z: 1e39}) }, "encode HIGHRES_IMU: zacc is -1e+39, allowed: a number that a float32 can hold"},
		{"SCALED_IMU", func(r *wire.Reading) { r.Rates = opt.Of(r3.Vec{Z: -40}) }, "encode SCALED_IMU: zgyro is 40000, allowed: -32768 to 32767"},
		{"LOCAL_POSITION_NED", func(r *wire.Reading) { r.VelocityUp = opt.Of(math.NaN()) }, "encode LOCAL_POSITION_NED: vx is NaN, allowed: a number that a float32 can hold"},
	} {
		r := fullReading()
		c.set(r)
		e, err := New(c.kind, Options{})
		if err != nil {
			t.Fatal(err)
		}
		dst := []byte("before")
		got, err := e.Append(dst, r)
		if err == nil || err.Error() != c.want || string(got) != "before" {
			t.Errorf("%s: %q, %v\nwant %s", c.kind, got, err, c.want)
		}
		if _, ok := errors.AsType[*wire.RangeError](err); !ok {
			if _, ok := errors.AsType[*MissingError](err); !ok {
				t.Errorf("%T", err)
			}
		}
	}
}

func TestOptions(t *testing.T) {
	for _, c := range []struct {
		kind string
		o    Options
		want string
	}{
		{"VFR_HUD", Options{}, `mavlink: type is "VFR_HUD", allowed: HEARTBEAT, SYSTEM_TIME, GPS_RAW_INT, SCALED_IMU, ATTITUDE, ATTITUDE_QUATERNION, LOCAL_POSITION_NED, GLOBAL_POSITION_INT, HIGHRES_IMU, GPS2_RAW`},
		{"ATTITUDE", Options{Version: 3, System: 256, Component: -1}, "mavlink: version is \"3\", allowed: 1 or 2\nmavlink: system is \"256\", allowed: 1 to 255\nmavlink: component is \"-1\", allowed: 1 to 255"},
	} {
		if _, err := New(c.kind, c.o); err == nil || err.Error() != c.want {
			t.Errorf("%v\nwant %s", err, c.want)
		}
	}
	if _, err := AppendFrame(nil, Header{Version: 2, Incompatible: flagSigned}, new(Attitude)); err == nil {
		t.Error("a frame is said to be signed that is not")
	}
	if _, err := AppendFrame(nil, Header{}, new(Attitude)); err == nil {
		t.Error("version 0")
	}
}
