package mavlink

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// frameOf makes any frame, with extras or flags that AppendFrame would not write.
func frameOf(v Version, flags byte, id uint32, extra byte, payload ...byte) []byte {
	b := []byte{start1, byte(len(payload)), 1, 2, 3, byte(id)}
	if v == V2 {
		b = []byte{start2, byte(len(payload)), flags, 0, 1, 2, 3, byte(id), byte(id >> 8), byte(id >> 16)}
	}
	b = append(b, payload...)
	c := crc(crcStart, b[1:])
	c = c>>8 ^ crcTables[0][byte(c)^extra]
	b = le.AppendUint16(b, c)
	if flags&flagSigned != 0 {
		b = append(b, make([]byte, signatureBytes)...)
	}
	return b
}

func TestProbe(t *testing.T) {
	full := make([]byte, 28)
	full[5] = 7
	for name, c := range map[string]struct {
		in    []byte
		ended bool
		want  wire.Probe
	}{
		"nothing known of the id":  {in: frameOf(V2, 0, 77777, 1, full...)},
		"nor in version 1":         {in: frameOf(V1, 0, 3, 1, full...)},
		"a length it cannot have":  {in: frameOf(V1, 0, 30, 39, full[:20]...)},
		"start byte, then text":    {in: []byte("\xfeGGA,123,456,789")},
		"start byte at the end":    {in: []byte{start2}, ended: true},
		"start byte":               {in: []byte{start2}, want: wire.Probe{Verdict: wire.Partial, Len: header2}},
		"header":                   {in: frameOf(V2, 0, 30, 39, full...)[:header2], want: wire.Probe{Verdict: wire.Partial, Len: 40}},
		"header of version 1":      {in: frameOf(V1, 0, 30, 39, full...)[:header1], want: wire.Probe{Verdict: wire.Partial, Len: 36}},
		"cut off":                  {in: frameOf(V2, 0, 30, 39, full...)[:39], ended: true, want: wire.Probe{Verdict: wire.Broken, Len: 39, Why: "cut off"}},
		"checksum":                 {in: frameOf(V2, 0, 30, 38, full...), want: wire.Probe{Verdict: wire.Broken, Len: 40, Why: "checksum"}},
		"flag":                     {in: frameOf(V2, 2, 30, 39, full...), want: wire.Probe{Verdict: wire.Broken, Len: 40, Why: "unknown incompatibility flag"}},
		"flag and signature":       {in: frameOf(V2, 3, 30, 39, full...), want: wire.Probe{Verdict: wire.Broken, Len: 53, Why: "unknown incompatibility flag"}},
		"signed":                   {in: frameOf(V2, 1, 30, 39, full...), want: wire.Probe{Verdict: wire.Whole, Len: 53}},
		"a later edition":          {in: frameOf(V2, 0, 30, 39, append(full, 1, 2, 3)...), want: wire.Probe{Verdict: wire.Whole, Len: 43}},
		"cut to nothing":           {in: frameOf(V2, 0, 30, 39), want: wire.Probe{Verdict: wire.Whole, Len: 12}},
		"extensions in version 1":  {in: frameOf(V1, 0, 24, 24, make([]byte, 52)...), want: wire.Probe{Verdict: wire.Whole, Len: 60}},
		"a message known by name":  {in: frameOf(V2, 0, 74, 20, 1, 2, 3), want: wire.Probe{Verdict: wire.Whole, Len: 15}}, // VFR_HUD
		"the longest there can be": {in: frameOf(V2, 1, 126, 220, bytes.Repeat([]byte{1}, 255)...), want: wire.Probe{Verdict: wire.Whole, Len: Longest}},
	} {
		if got := probe(c.in, c.ended); got != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
}

// A real stream holds all kinds; those of which only the name is known are whole messages that say nothing.
func TestKnownByName(t *testing.T) {
	b := frameOf(V2, 0, 74, 20, 1, 2, 3)
	r := wire.Reading{T: 5}
	kind, carries, err := Read(b, &r)
	if kind != "VFR_HUD" || carries || err != nil || r.T != 5 {
		t.Errorf("%s %v %v %+v", kind, carries, err, r)
	}
	if kind, fields := describe(b); kind != "VFR_HUD" || fields[len(fields)-2].Raw != "010203" {
		t.Errorf("%s %+v", kind, fields)
	}
	if _, _, err := Parse(b); err == nil || err.Error() != "mavlink: frame of VFR_HUD: a message of which only the name is known" {
		t.Error(err)
	}
}

func TestReadVersion1Extensions(t *testing.T) {
	m := GPSRawInt{TimeUsec: 1, FixType: 3, Alt: 1000, AltEllipsoid: 42_000, Yaw: 9000}
	p := payload(&m)
	var r wire.Reading
	if _, _, err := Read(frameOf(V1, 0, 24, 24, p...), &r); err != nil || r.Heading.Has() || r.Position.Or(geo.Position{}).Height != 1 || r.Undulation.Or(9) != 0 {
		t.Errorf("%+v %v", r, err)
	}
	if _, _, err := Read(frameOf(V2, 0, 24, 24, p...), &r); err != nil || !r.Heading.Has() || r.Position.Or(geo.Position{}).Height != 42 || r.Undulation.Or(9) != 41 {
		t.Errorf("%+v %v", r, err)
	}
	// Now the undulation is known, and what version 1 says is a height above the ellipsoid.
	if _, _, err := Read(frameOf(V1, 0, 24, 24, p...), &r); err != nil || r.Position.Or(geo.Position{}).Height != 42 {
		t.Errorf("%+v %v", r, err)
	}
	// No fix: the position is gone, the undulation is not.
	if _, _, err := Read(frameOf(V1, 0, 24, 24, payload(&GPSRawInt{FixType: 1, EPH: none16, Vel: none16, COG: none16})...), &r); err != nil || r.Position.Has() || r.SpeedMS.Has() || !r.Undulation.Has() {
		t.Errorf("%+v %v", r, err)
	}
}

// A frame may be proven and say nonsense: the reading stays as it was.
func TestReadNonsense(t *testing.T) {
	nan := float32(math.NaN())
	inf := float32(math.Inf(1))
	for _, c := range []struct {
		m    Message
		want string
	}{
		{&GPSRawInt{FixType: 9}, "decode GPS_RAW_INT: fix_type is 9, allowed: 0 to 8"},
		{&GPSRawInt{Lat: 900000001}, "decode GPS_RAW_INT: lat is 9.00000001e+08, allowed: -900000000 to 900000000"},
		{&GPSRawInt{Lon: math.MinInt32}, "decode GPS_RAW_INT: lon is -2.147483648e+09, allowed: -1800000000 to 1800000000"},
		{&GPS2Raw{COG: 36001}, "decode GPS2_RAW: cog is 36001, allowed: 0 to 36000, or 65535 where it is not known"},
		{&GPS2Raw{Yaw: 40000}, "decode GPS2_RAW: yaw is 40000, allowed: 0 to 36000, or 65535 where it is not known"},
		{&GPSRawInt{TimeUsec: math.MaxUint64}, "decode GPS_RAW_INT: time_usec is 1.8446744073709552e+19, allowed: a date, or a time since switch-on"},
		{&SystemTime{TimeUnixUsec: math.MaxUint64}, "decode SYSTEM_TIME: time_unix_usec is 1.8446744073709552e+19, allowed: a date"},
		{&GlobalPositionInt{Hdg: 36001}, "decode GLOBAL_POSITION_INT: hdg is 36001, allowed: 0 to 36000, or 65535 where it is not known"},
		{&Attitude{Roll: nan}, "decode ATTITUDE: one of the fields is NaN, allowed: finite numbers"},
		{&Attitude{YawSpeed: inf}, "decode ATTITUDE: one of the fields is NaN, allowed: finite numbers"},
		{&AttitudeQuaternion{}, "decode ATTITUDE_QUATERNION: the length of q is 0, allowed: 1"},
		{&AttitudeQuaternion{Q1: nan}, "decode ATTITUDE_QUATERNION: one of the fields is NaN, allowed: finite numbers"},
		{&LocalPositionNED{Z: inf}, "decode LOCAL_POSITION_NED: one of the fields is NaN, allowed: finite numbers"},
		{&HighresIMU{XAcc: nan}, "decode HIGHRES_IMU: one of the fields is NaN, allowed: finite numbers"},
	} {
		b, err := AppendFrame(nil, Header{Version: V2}, c.m)
		if err != nil {
			t.Fatal(err)
		}
		r := *fullReading()
		before := fmt.Sprint(r)
		_, carries, err := Read(b, &r)
		if carries || err == nil || err.Error() != c.want || fmt.Sprint(r) != before {
			t.Errorf("%+v: %v\nwant %s", c.m, err, c.want)
		}
		if v, ok := errors.AsType[*ValueError](err); !ok || v.Message == "" {
			t.Errorf("%T", err)
		}
		if kind, fields := describe(b); kind != c.m.Definition().Name || len(fields) == 0 {
			t.Errorf("%s %+v", kind, fields)
		}
	}
}

func TestReadTakesWhatIsSaid(t *testing.T) {
	read := func(r wire.Reading, m Message) wire.Reading {
		b, err := AppendFrame(nil, Header{Version: V2}, m)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := Read(b, &r); err != nil {
			t.Fatal(err)
		}
		return r
	}
	full := *fullReading()
	if r := read(full, &GlobalPositionInt{Hdg: none16}); r.Heading.Has() || !r.Yaw.Has() {
		t.Errorf("%+v", r)
	}
	if r := read(full, &GPSRawInt{FixType: 5, Yaw: none16, Vel: none16, COG: none16, EPH: none16, EPV: 100}); r.Heading.Has() || r.SpeedMS.Has() || r.VelocityEN.Has() || r.HDOP.Has() || r.VDOP.Or(0) != 1 || r.Fix != wire.FixRTKFloat {
		t.Errorf("%+v", r)
	}
	if r := read(full, &HighresIMU{FieldsUpdated: gyroUpdated, XGyro: 1}); r.SpecificForce != full.SpecificForce || r.Rates != opt.Of(r3.Vec{Y: 1}) {
		t.Errorf("%+v", r)
	}
	if r := read(full, &HighresIMU{ID: 1, FieldsUpdated: gyroUpdated}); r.Rates != full.Rates {
		t.Errorf("another sensor: %+v", r)
	}
	if r := read(full, &SystemTime{TimeBootMS: 7000}); r.UTC.Has() || r.T != 7 {
		t.Errorf("%+v", r)
	}
	if r := read(wire.Reading{}, &LocalPositionNED{VX: 1, VZ: -2}); r.Position.Has() || r.VelocityEN.Or([2]float64{}) != [2]float64{0, 1} || r.VelocityUp.Or(0) != 2 {
		t.Errorf("%+v", r)
	}
	if r := read(wire.Reading{}, &Attitude{Pitch: 2}); math.Abs(r.Pitch.Or(0)-(math.Pi-2)) > 1e-7 || math.Abs(r.Yaw.Or(0)-math.Pi) > 1e-7 {
		t.Errorf("pitch beyond 90°: %+v", r)
	}
	q := read(wire.Reading{}, &AttitudeQuaternion{Q1: -1})
	if q.Yaw.Or(9) != 0 || q.Pitch.Or(9) != 0 || q.Roll.Or(9) != 0 {
		t.Errorf("-q: %+v", q)
	}
}

func TestDescribe(t *testing.T) {
	r := fullReading()
	r.Series = 300
	for _, c := range []struct {
		kind    string
		version int
		want    string
	}{
		{"GPS_RAW_INT", 2, `version 2|length 52|incompatibility flags 0|compatibility flags 0|sequence 44|system 1|component 1|message id 24 (GPS_RAW_INT)|` +
			`time_usec 2026-06-01T12:00:00.200001Z UTC|lat 54.2000000 deg|lon -3.7000000 deg|alt 3.623 m|eph 0.70|epv 1.20|vel 5.00 m/s|cog 36.87 deg|fix_type 6 (RTK fixed)|` +
			`satellites_visible 14|alt_ellipsoid 45.123 m|h_acc 0.050 m|v_acc 0.060 m|vel_acc  (not known)|hdg_acc 0.20000 deg|yaw 77.30 deg|checksum *`},
		{"SCALED_IMU", 1, `version 1|length 22|sequence 44|system 1|component 1|message id 26 (SCALED_IMU)|time_boot_ms 12.346 s|xacc -25 mG|yacc 51 mG|zacc -999 mG|` +
			`xgyro 200 mrad/s|ygyro 100 mrad/s|zgyro -300 mrad/s|xmag 0 mgauss|ymag 0 mgauss|zmag 0 mgauss|checksum *`},
		{"HIGHRES_IMU", 2, `version 2|length 61 (of 63; zeros at the end removed)|incompatibility flags 0|compatibility flags 0|sequence 44|system 1|component 1|message id 105 (HIGHRES_IMU)|` +
			`time_usec 2026-06-01T12:00:00.200001Z UTC|xacc -0.25 m/s/s|yacc 0.5 m/s/s|zacc -9.8 m/s/s|xgyro 0.2 rad/s|ygyro 0.1 rad/s|zgyro -0.3 rad/s|xmag 0 gauss|ymag 0 gauss|zmag 0 gauss|` +
			`abs_pressure 0 hPa|diff_pressure 0 hPa|pressure_alt 0|temperature 0 degC|fields_updated 0x003F|checksum *`},
	} {
		e, err := New(c.kind, Options{Version: c.version})
		if err != nil {
			t.Fatal(err)
		}
		b, err := e.Append(nil, r)
		if err != nil {
			t.Fatal(err)
		}
		_, fields := describe(b)
		var got []string
		raw := ""
		for _, f := range fields {
			s := f.Name + " " + f.Value
			if f.Name == "checksum" {
				s = "checksum *"
			}
			if f.Unit != "" {
				s += " " + f.Unit
			}
			if f.Note != "" {
				s += " (" + f.Note + ")"
			}
			got = append(got, s)
			raw += f.Raw
		}
		if strings.Join(got, "|") != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.kind, strings.Join(got, "|"), c.want)
		}
		if !strings.HasPrefix(raw, hex.EncodeToString(b[:len(b)-2])) { // what was cut is shown as zeros
			t.Errorf("%s: %s is not %x", c.kind, raw, b)
		}
	}
}

// However frames are hurt, cut and mixed with rubbish, each that is whole is found, in any pieces.
func TestResynchronises(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	all := readings()
	es := append(encoders(t, 1), encoders(t, 2)...)
	for range 400 {
		var in []byte
		var good []int
		for k := range 1 + rnd.IntN(15) {
			b, err := es[rnd.IntN(len(es))].Append(nil, &all[k])
			if err != nil {
				t.Fatal(err)
			}
			switch rnd.IntN(6) {
			case 0:
				b = b[:rnd.IntN(len(b))]
			case 1:
				b[rnd.IntN(len(b))] ^= 1 << rnd.IntN(8)
			case 2:
				b = make([]byte, rnd.IntN(60))
				for i := range b {
					b[i] = byte(rnd.Uint32())
					if rnd.IntN(4) == 0 {
						b[i] = start1 + byte(rnd.IntN(2))*0xFF
					}
				}
			default:
				good = append(good, len(in))
			}
			in = append(in, b...)
		}
		var first []string
		for _, piece := range []int{len(in) + 1, 1 + rnd.IntN(9)} {
			s := mixed.New(Family)
			var found []int
			var events []string
			drain := func() {
				for e, ok := s.Next(); ok; e, ok = s.Next() {
					events = append(events, fmt.Sprint(e.Kind, e.Offset, e.Count, e.Why))
					if e.Kind == mixed.Message {
						found = append(found, int(e.Offset))
					}
				}
			}
			for p := in; len(p) > 0; p = p[min(piece, len(p)):] {
				s.Push(p[:min(piece, len(p))])
				drain()
			}
			s.Flush()
			drain()
			for _, g := range good {
				if !slices.Contains(found, g) {
					t.Fatalf("the frame at %d of %x is lost; found %v", g, in, found)
				}
			}
			if first != nil && !slices.Equal(first, events) {
				t.Fatalf("%x:\n%v\nin pieces\n%v", in, first, events)
			}
			first = events
		}
	}
}
