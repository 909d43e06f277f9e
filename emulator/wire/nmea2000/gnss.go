package nmea2000

import (
	"encoding/binary"
	"math"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// 129029, GNSS Position Data: a fast packet of 43 bytes, and 4 for each reference station. Latitude and longitude come
// in steps of 1e-16 degrees, finer than a double holds. The altitude is above the ellipsoid, the separation of the geoid
// from that a field of its own. Where there are corrections one reference station stands for them.
//
// Source: canboat PGN database; NMEA2000 C++ library.
var (
	gnssDate      = Field{Name: "date", Bit: 8, Width: 16, Unit: "d"}
	gnssTime      = Field{Name: "time", Bit: 24, Width: 32, Decimals: 4, Unit: "s"}
	gnssLat       = Field{Name: "latitude", Bit: 56, Width: 64, Type: Signed, Decimals: 16, Unit: "deg"}
	gnssLon       = Field{Name: "longitude", Bit: 120, Width: 64, Type: Signed, Decimals: 16, Unit: "deg"}
	gnssAltitude  = Field{Name: "altitude", Bit: 184, Width: 64, Type: Signed, Decimals: 6, Unit: "m"}
	gnssType      = Field{Name: "GNSS type", Bit: 248, Width: 4, Type: Lookup, Words: gnssTypes}
	gnssMethod    = Field{Name: "method", Bit: 252, Width: 4, Type: Lookup, Words: []string{"no fix", "fix", "differential", "precise", "RTK fixed", "RTK float", "estimated", "manual", "simulated"}}
	gnssIntegrity = Field{Name: "integrity", Bit: 256, Width: 2, Type: Lookup, Full: true, Words: []string{"no checking", "safe", "caution", "unsafe"}}
	gnssUsed      = Field{Name: "satellites used", Bit: 264, Width: 8}
	gnssHDOP      = Field{Name: "HDOP", Bit: 272, Width: 16, Type: Signed, Decimals: 2}
	gnssPDOP      = Field{Name: "PDOP", Bit: 288, Width: 16, Type: Signed, Decimals: 2}
	gnssGeoid     = Field{Name: "geoidal separation", Bit: 304, Width: 32, Type: Signed, Decimals: 2, Unit: "m"}
	gnssStations  = Field{Name: "reference stations", Bit: 336, Width: 8}

	gnssFields = []Field{sid, gnssDate, gnssTime, gnssLat, gnssLon, gnssAltitude, gnssType, gnssMethod, gnssIntegrity,
		reserved(258, 6), gnssUsed, gnssHDOP, gnssPDOP, gnssGeoid, gnssStations}

	// Of each reference station; bits count from its first byte.
	stationType = Field{Name: "station type", Width: 4, Type: Lookup, Words: gnssTypes}
	stationID   = Field{Name: "station id", Bit: 4, Width: 12}
	stationAge  = Field{Name: "age of corrections", Bit: 16, Width: 16, Decimals: 2, Unit: "s"}

	stationFields = []Field{stationType, stationID, stationAge}

	gnssTypes = []string{"GPS", "GLONASS", "GPS+GLONASS", "GPS+SBAS", "GPS+SBAS+GLONASS", "Chayka", "integrated", "surveyed", "Galileo"}
)

// gnssLength is the bytes before the reference stations.
const gnssLength = 43

// methods are the codes of the fix states; they differ from those of NMEA 0183 GGA in nothing but that 0 is "no fix".
var methods = [...]uint8{
	wire.FixNone: 0, wire.FixAutonomous: 1, wire.FixDifferential: 2, wire.FixPrecise: 3, wire.FixRTKFixed: 4,
	wire.FixRTKFloat: 5, wire.FixEstimated: 6, wire.FixManual: 7, wire.FixSimulated: 8,
}

const methodUnknown = 15

func packGNSS(e *encoder, r *wire.Reading) (b long, n int, err error) {
	day, ticks, err := e.label(r, &gnssDate)
	if err != nil {
		return b, 0, err
	}
	lat, lon, altitude := int64(math.MaxInt64), int64(math.MaxInt64), int64(math.MaxInt64)
	if p, ok := r.Position.Value(); ok {
		if lat, lon, err = e.degrees(p, &gnssLat, &gnssLon, 1e16); err != nil {
			return b, 0, err
		}
		if altitude, ok = scale(p.Height, 1e6); !ok {
			return b, 0, e.tooLarge(&gnssAltitude, opt.Of(p.Height))
		}
	}
	method := uint8(methodUnknown)
	if r.Fix >= 0 && int(r.Fix) < len(methods) {
		method = methods[r.Fix]
	}
	used := 0xFF
	if n, ok := r.Satellites.Value(); ok {
		if used = n; n < 0 || n > 0xFC {
			return b, 0, e.tooLarge(&gnssUsed, opt.Of(float64(n)))
		}
	}
	hdop, ok := dilution16(r.HDOP)
	if !ok {
		return b, 0, e.tooLarge(&gnssHDOP, r.HDOP)
	}
	pdop, ok := dilution16(r.PDOP)
	if !ok {
		return b, 0, e.tooLarge(&gnssPDOP, r.PDOP)
	}
	geoid, ok := signed32(r.Undulation, 100)
	if !ok {
		return b, 0, e.tooLarge(&gnssGeoid, r.Undulation)
	}
	for i := gnssLength; i < len(b); i++ {
		b[i] = 0xFF
	}
	b[0] = byte(e.sidOf(r))
	binary.LittleEndian.PutUint16(b[1:], uint16(day))
	binary.LittleEndian.PutUint32(b[3:], uint32(ticks))
	binary.LittleEndian.PutUint64(b[7:], uint64(lat))
	binary.LittleEndian.PutUint64(b[15:], uint64(lon))
	binary.LittleEndian.PutUint64(b[23:], uint64(altitude))
	b[31] = byte(e.gnss) | method<<4
	b[32] = byte(e.integrity) | 0xFC
	b[33] = byte(used)
	binary.LittleEndian.PutUint16(b[34:], uint16(hdop))
	binary.LittleEndian.PutUint16(b[36:], uint16(pdop))
	binary.LittleEndian.PutUint32(b[38:], uint32(geoid))
	if !r.DiffAge.Has() && !r.DiffStation.Has() {
		return b, gnssLength, nil // no reference stations: b[42] is 0
	}
	id := 0xFFF
	if n, ok := r.DiffStation.Value(); ok {
		if id = n; n < 0 || n > 0xFFC {
			return b, 0, e.tooLarge(&stationID, opt.Of(float64(n)))
		}
	}
	age, ok := unsigned16(r.DiffAge, 100)
	if !ok {
		return b, 0, e.tooLarge(&stationAge, r.DiffAge)
	}
	b[42] = 1
	binary.LittleEndian.PutUint16(b[43:], uint16(e.stations)|uint16(id)<<4)
	binary.LittleEndian.PutUint16(b[45:], uint16(age))
	return b, maxPayload, nil
}

// readGNSS sets time, fix, position, satellites, dilutions, geoid and the first reference station. Where the altitude is
// not known the height is 0. A position that comes with "no fix" is set all the same: the fix tells.
func readGNSS(p []byte, r *wire.Reading) {
	readLabel(p, &gnssDate, &gnssTime, r)
	r.Fix = wire.FixNone
	if code, ok := gnssMethod.code(p); ok {
		for fix, m := range methods {
			if int(m) == code {
				r.Fix = wire.Fix(fix)
			}
		}
	}
	r.Position = placeOf(p, &gnssLat, &gnssLon, gnssAltitude.known(p).Or(0))
	r.Satellites = opt.None[int]()
	if n, ok := gnssUsed.code(p); ok {
		r.Satellites = opt.Of(n)
	}
	r.HDOP, r.PDOP, r.Undulation = gnssHDOP.known(p), gnssPDOP.known(p), gnssGeoid.known(p)
	r.DiffAge, r.DiffStation = opt.None[float64](), opt.None[int]()
	if n, ok := gnssStations.code(p); ok && n > 0 && len(p) > gnssLength {
		station := p[gnssLength:]
		r.DiffAge = stationAge.known(station)
		if id, ok := stationID.code(station); ok {
			r.DiffStation = opt.Of(id)
		}
	}
}

// gnssResolutions: a double in rad is coarser than the degrees of the message.
func gnssResolutions(*encoder) []wire.Resolution {
	const half = 0x1p-51 // the next double from π on
	return []wire.Resolution{timeOfDay.resolution(wire.Time), {Quantity: wire.Latitude, Half: half},
		{Quantity: wire.Longitude, Half: half}, gnssAltitude.resolution(wire.Height), {Quantity: wire.FixState}}
}
