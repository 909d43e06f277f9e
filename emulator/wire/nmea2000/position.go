package nmea2000

import (
	"math"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// 129025, Position, Rapid Update: degrees, north and east positive. It has no SID and no height.
//
// Source: canboat PGN database; NMEA2000 C++ library.
var (
	positionLat = Field{Name: "latitude", Width: 32, Type: Signed, Decimals: 7, Unit: "deg"}
	positionLon = Field{Name: "longitude", Bit: 32, Width: 32, Type: Signed, Decimals: 7, Unit: "deg"}

	positionFields = []Field{positionLat, positionLon}
)

func packPosition(e *encoder, r *wire.Reading) (uint64, error) {
	p, ok := r.Position.Value()
	if !ok {
		return 0x7FFFFFFF | 0x7FFFFFFF<<32, nil
	}
	lat, lon, err := e.degrees(p, &positionLat, &positionLon, 1e7)
	if err != nil {
		return 0, err
	}
	return uint64(uint32(lat)) | uint64(uint32(lon))<<32, nil
}

// degrees is latitude and longitude in units of 1/by degrees.
func (e *encoder) degrees(p geo.Position, latField, lonField *Field, by float64) (lat, lon int64, err error) {
	bad := func(f *Field, rad float64, allowed string) error {
		return &wire.RangeError{Message: e.kind, Field: f.Name, Found: frame.Deg(rad), Allowed: allowed}
	}
	lat, ok := scaleDegrees(p.Lat, by)
	if quarter := int64(90 * by); !ok || lat < -quarter || lat > quarter {
		return 0, 0, bad(latField, p.Lat, "-90 to 90 deg")
	}
	lon, ok = scaleDegrees(p.Lon, by)
	if half := int64(180 * by); !ok || lon < -half || lon > half {
		return 0, 0, bad(lonField, p.Lon, "-180 to 180 deg")
	}
	return lat, lon, nil
}

// readPosition sets latitude and longitude. The height stays as the reading has it; without one it is 0.
func readPosition(p []byte, r *wire.Reading) {
	r.Position = placeOf(p, &positionLat, &positionLon, r.Position.Or(geo.Position{}).Height)
}

// placeOf is the position in the payload, absent unless both parts are known and on the globe.
func placeOf(p []byte, latField, lonField *Field, height float64) opt.Opt[geo.Position] {
	lat, ok := latField.known(p).Value()
	lon, ok2 := lonField.known(p).Value()
	if !ok || !ok2 || math.Abs(lat) > 90 || math.Abs(lon) > 180 {
		return opt.None[geo.Position]()
	}
	return opt.Of(geo.Position{Lat: frame.Rad(lat), Lon: frame.WrapPi(frame.Rad(lon)), Height: height})
}

func positionResolutions(*encoder) []wire.Resolution {
	half := frame.Rad(positionLat.half())
	return []wire.Resolution{{Quantity: wire.Latitude, Half: half}, {Quantity: wire.Longitude, Half: half}}
}
