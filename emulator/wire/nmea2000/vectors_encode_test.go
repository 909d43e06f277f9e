package nmea2000

import (
	"bytes"
	"encoding/hex"
	"math"
	"slices"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

func num(v any) opt.Opt[float64] {
	if x, ok := v.(float64); ok {
		return opt.Of(x)
	}
	return opt.None[float64]()
}

func code(v any) opt.Opt[int] {
	if x, ok := v.(float64); ok {
		return opt.Of(int(x))
	}
	return opt.None[int]()
}

// testEncoder has the encoder write the message from a reading with the values of the vector, where a device could.
func testEncoder(t *testing.T, row *Row, e *message, lines []byte) {
	f := e.Fields
	if e.Source > MaxAddress {
		return // a device without an address
	}
	o := Options{Source: opt.Of(e.Source), Priority: opt.Of(e.Priority), SID: SIDNone}
	if n, ok := code(f["sid"]).Value(); ok {
		o.SID = SIDFixed(n)
	}
	r := wire.Reading{Count: e.Sequence, Heading: num(f["heading_rad"]), Variation: num(f["variation_rad"]), RateOfTurn: num(f["rate_rad_s"]),
		HeaveM: num(f["heave_m"]), Yaw: num(f["yaw_rad"]), Pitch: num(f["pitch_rad"]), Roll: num(f["roll_rad"]),
		CourseRad: num(f["cog_rad"]), SpeedMS: num(f["sog_m_s"]), HDOP: num(f["hdop"]), PDOP: num(f["pdop"]), VDOP: num(f["vdop"]),
		TDOP: num(f["tdop"]), Undulation: num(f["geoidal_separation_m"]), Satellites: code(f["satellites_used"])}
	if lat, ok := num(f["latitude_deg"]).Value(); ok {
		r.Position = opt.Of(geo.Position{Lat: frame.Rad(lat), Lon: frame.Rad(f["longitude_deg"].(float64)), Height: num(f["altitude_m"]).Or(0)})
	}
	if days, ok := code(f["date_days_since_1970"]).Value(); ok {
		r.UTC = opt.Of(time.Unix(int64(days)*86400, 0).UTC().Add(time.Duration(math.Round(f["time_s"].(float64)*1e4)) * tick))
	}
	switch row.PGN {
	case 126992:
		o.TimeSource = code(f["source"])
	case 127258:
		o.VariationSource, o.VariationDay = code(f["source"]), code(f["age_of_service_days_since_1970"])
	case 127250, 129026:
		if f["deviation_rad"] != nil || f["reference"] == nil && row.PGN == 127250 {
			return // a compass, or a device that knows no reference
		}
		if f["reference"] == 1.0 || f["cog_reference"] == 1.0 {
			o.Magnetic = true
			r.Variation = opt.Of(num(f["variation_rad"]).Or(0.1))
			r.Heading = turned(r.Heading, r.Variation, 1)
			r.CourseRad = turned(r.CourseRad, r.Variation, 1)
		}
	case 129029:
		if f["method"] == nil {
			return // no fix state of a device
		}
		method := uint8(f["method"].(float64))
		r.Fix = wire.Fix(slices.Index(methods[:], method))
		o.GNSS, o.Integrity = code(f["gnss_type"]), code(f["integrity"])
		stations := f["stations"].([]any)
		if len(stations) > 1 {
			return
		}
		for _, s := range stations {
			s := s.(map[string]any)
			o.Stations, r.DiffStation, r.DiffAge = code(s["type"]), code(s["id"]), num(s["age_s"])
		}
	case 129539:
		o.DesiredMode = code(f["desired_mode"])
		r.Fix = wire.FixAutonomous
		if f["actual_mode"] == 1.0 {
			r.Satellites = opt.Of(3)
		}
	case 60928:
		o.Name = Name{Unique: code(f["unique_number"]), Manufacturer: code(f["manufacturer_code"]),
			DeviceInstance: opt.Of(code(f["device_instance_lower"]).Or(0) + 8*code(f["device_instance_upper"]).Or(0)),
			Function:       code(f["device_function"]), Class: code(f["device_class"]), SystemInstance: code(f["system_instance"]),
			Industry: code(f["industry_group"]), Fixed: f["arbitrary_address_capable"] == 0.0}
	}
	enc, err := New(row.Type, o)
	if err != nil {
		t.Fatal(err)
	}
	got, err := enc.Append(nil, &r)
	if err != nil {
		t.Fatal(err)
	}
	if row.PGN == 129029 && r.Position.Has() { // a double holds the degrees to some 1e-14 only
		got, lines = withoutDegrees(t, got), withoutDegrees(t, lines)
	}
	if !bytes.Equal(got, lines) {
		t.Errorf("encoded %q, expected %q", got, lines)
	}
}

// withoutDegrees is the payload with latitude and longitude rounded to 1e-13 degrees.
func withoutDegrees(t *testing.T, lines []byte) []byte {
	t.Helper()
	var a Assembler
	var payload []byte
	for line := range bytes.SplitAfterSeq(lines, []byte{'\r'}) {
		if len(line) == 0 {
			continue
		}
		l, err := ParseLine(line)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, payload, err = a.take(&l); err != nil {
			t.Fatal(err)
		}
	}
	payload = slices.Clone(payload)
	for _, f := range []*Field{&gnssLat, &gnssLon} {
		raw, _ := f.Raw(payload)
		f.Put(payload, int64(math.Round(float64(raw)/1000)))
	}
	return []byte(hex.EncodeToString(payload))
}
