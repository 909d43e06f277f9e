package nmea0183

import (
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A GGA is the fix: time, position, quality and height.
//
// Ellipsoidal height is AltitudeM + UndulationM. Source: NMEA Revealed, GGA.
type GGA struct {
	Talker      Talker                 // zero is GN
	Time        opt.Opt[time.Duration] // UTC since midnight; 24 h and more is second 60 of a leap second
	LatDeg      opt.Opt[float64]       // north positive
	LonDeg      opt.Opt[float64]       // east positive; the position is null unless both are there
	Quality     Quality
	Satellites  opt.Opt[int] // in use
	HDOP        opt.Opt[float64]
	AltitudeM   opt.Opt[float64] // of the antenna above mean sea level
	UndulationM opt.Opt[float64] // of mean sea level above the ellipsoid
	AgeS        opt.Opt[float64] // of the corrections
	Station     opt.Opt[int]     // that sent them
}

var (
	ggaDecimals = []Default{{Seconds, 2}, {Minutes, 5}, {HDOP, 1}, {Altitude, 2}, {Undulation, 2}, {Age, 0}}
	ggaFormat   = formatOf(ggaDecimals)

	satelliteSpan  = span{field: "satellites in use", allowed: "0 to 99", lo: 0, hi: 99}
	hdopSpan       = span{field: "HDOP", allowed: "0 ≤ HDOP ≤ 9999", lo: 0, hi: 9999}
	altitudeSpan   = span{field: "altitude", allowed: "-99999 m ≤ altitude ≤ 99999 m", lo: -99999, hi: 99999}
	undulationSpan = span{field: "undulation", allowed: "-999 m ≤ undulation ≤ 999 m", lo: -999, hi: 999}
	ageSpan        = span{field: "age of corrections", allowed: "0 s ≤ age ≤ 99999 s", lo: 0, hi: 99999}
	stationSpan    = span{field: "station", allowed: "0 to 4095", lo: 0, hi: 4095}
	qualitySpan    = span{field: "quality", allowed: "0 to 8", lo: 0, hi: 8}
)

// Type is GGA.
func (*GGA) Type() string { return "GGA" }

// Append writes the sentence.
func (s *GGA) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &ggaFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "GGA")
	w.time(s.Time)
	w.position(s.LatDeg, s.LonDeg)
	if q := float64(s.Quality); !qualitySpan.has(q) {
		w.outOfRange(&qualitySpan, q)
	}
	w.letter('0' + byte(s.Quality))
	w.integer(s.Satellites, 2, &satelliteSpan)
	w.number(s.HDOP, HDOP, &hdopSpan)
	w.number(s.AltitudeM, Altitude, &altitudeSpan)
	w.unit('M', s.AltitudeM.Has())
	w.number(s.UndulationM, Undulation, &undulationSpan)
	w.unit('M', s.UndulationM.Has())
	w.number(s.AgeS, Age, &ageSpan)
	w.integer(s.Station, 4, &stationSpan)
	return w.end()
}

// Parse reads the sentence.
func (s *GGA) Parse(f *Fields) error {
	*s = GGA{Talker: f.Talker()}
	c := f.cursor("GGA")
	s.Time = c.time()
	s.LatDeg, s.LonDeg = c.position()
	q := c.integer(&qualitySpan)
	if !q.Has() {
		c.fail("quality", nil, qualitySpan.allowed)
	}
	s.Quality = Quality(q.Or(0))
	s.Satellites = c.integer(&satelliteSpan)
	s.HDOP = c.number(&hdopSpan)
	s.AltitudeM = c.number(&altitudeSpan)
	c.unit("altitude", 'M')
	s.UndulationM = c.number(&undulationSpan)
	c.unit("undulation", 'M')
	s.AgeS = c.number(&ageSpan)
	s.Station = c.integer(&stationSpan)
	if c.error != nil {
		*s = GGA{}
	}
	return c.err()
}

// appendGGA writes a reading. Without a fix there is no position and no height; without an undulation there is no
// height above mean sea level.
func appendGGA(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := GGA{Talker: e.talker, Time: sinceMidnight(r, &e.format), Satellites: r.Satellites, HDOP: r.HDOP}
	q, err := e.fix("GGA", r.Fix)
	if err != nil {
		return dst, err
	}
	s.Quality = q.quality
	s.LatDeg, s.LonDeg = positionDeg(r)
	s.AltitudeM, s.UndulationM = heights(r)
	if r.Fix != wire.FixNone {
		s.AgeS, s.Station = r.DiffAge, r.DiffStation
	}
	n := len(dst)
	dst, err = s.Append(dst, &e.format)
	if e.keep82 && len(dst)-n > MaxLength && s.Station.Has() {
		s.Station = opt.None[int]()
		dst, err = s.Append(dst[:n], &e.format)
	}
	return dst, err
}

func readGGA(f *Fields, r *wire.Reading) error {
	var s GGA
	if err := s.Parse(f); err != nil {
		return err
	}
	readClock(r, s.Time)
	r.Satellites, r.HDOP, r.DiffAge, r.DiffStation, r.Undulation = s.Satellites, s.HDOP, s.AgeS, s.Station, s.UndulationM
	readPosition(r, s.LatDeg, s.LonDeg)
	readHeight(r, s.AltitudeM, s.UndulationM)
	readFix(r, s.Quality.Fix())
	return nil
}

func ggaResolutions(f *Format) []wire.Resolution {
	return append(fixResolutions(f),
		wire.Resolution{Quantity: wire.Height, Half: f.half(Altitude) + f.half(Undulation)})
}
