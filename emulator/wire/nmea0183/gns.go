package nmea0183

import (
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A GNS is the fix of a receiver of several systems.
//
// Ellipsoidal height is AltitudeM + UndulationM. Source: NMEA Revealed, GNS; the order of the modes: the library of
// signal names that the reference page of the project names.
type GNS struct {
	Talker      Talker                 // zero is GN
	Time        opt.Opt[time.Duration] // UTC since midnight; 24 h and more is second 60 of a leap second
	LatDeg      opt.Opt[float64]       // north positive
	LonDeg      opt.Opt[float64]       // east positive; the position is null unless both are there
	Modes       Modes
	Satellites  opt.Opt[int] // in use
	HDOP        opt.Opt[float64]
	AltitudeM   opt.Opt[float64] // of the antenna above mean sea level
	UndulationM opt.Opt[float64] // of mean sea level above the ellipsoid
	AgeS        opt.Opt[float64] // of the corrections
	Station     opt.Opt[int]     // that sent them
	NavStatus   opt.Opt[NavStatus]
}

// Modes are mode indicators, one a system in the order GPS, GLONASS, Galileo, BeiDou, QZSS, then others. What is zero is
// not sent.
type Modes [8]Mode

// Len is how many systems there are.
func (m *Modes) Len() int {
	n := 0
	for n < len(m) && m[n] != 0 {
		n++
	}
	return n
}

// String is the letters.
func (m Modes) String() string {
	b := make([]byte, m.Len())
	for i := range b {
		b[i] = byte(m[i])
	}
	return string(b)
}

// Fix is the best state that a system has.
func (m *Modes) Fix() wire.Fix {
	best := wire.FixNone
	for _, x := range m[:m.Len()] {
		if f := x.Fix(); rank[f] > rank[best] {
			best = f
		}
	}
	return best
}

// rank orders the states of the fix by what they are worth, where systems differ.
var rank = [...]int{wire.FixNone: 0, wire.FixSimulated: 1, wire.FixManual: 2, wire.FixEstimated: 3, wire.FixAutonomous: 4, wire.FixPrecise: 5,
	wire.FixDifferential: 6, wire.FixRTKFloat: 7, wire.FixRTKFixed: 8}

var (
	gnsDecimals = []Default{{Seconds, 2}, {Minutes, 5}, {HDOP, 1}, {Altitude, 2}, {Undulation, 2}, {Age, 0}}
	gnsFormat   = formatOf(gnsDecimals)
)

// Type is GNS.
func (*GNS) Type() string { return "GNS" }

// Append writes the sentence.
func (s *GNS) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &gnsFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "GNS")
	w.time(s.Time)
	w.position(s.LatDeg, s.LonDeg)
	n := s.Modes.Len()
	if n == 0 {
		w.badText("mode", "", "one letter a system, one at least")
	}
	w.b = append(w.b, ',')
	for _, m := range s.Modes[:n] {
		w.checkMode(m)
		w.b = append(w.b, byte(m))
	}
	w.integer(s.Satellites, 2, &satelliteSpan)
	w.number(s.HDOP, HDOP, &hdopSpan)
	w.number(s.AltitudeM, Altitude, &altitudeSpan)
	w.number(s.UndulationM, Undulation, &undulationSpan)
	w.number(s.AgeS, Age, &ageSpan)
	w.integer(s.Station, 4, &stationSpan)
	if f.Version.hasNavStatus() {
		w.navStatus(s.NavStatus)
	}
	return w.end()
}

// Parse reads the sentence.
func (s *GNS) Parse(f *Fields) error {
	*s = GNS{Talker: f.Talker()}
	c := f.cursor("GNS")
	s.Time = c.time()
	s.LatDeg, s.LonDeg = c.position()
	s.Modes = c.modes()
	s.Satellites = c.integer(&satelliteSpan)
	s.HDOP = c.number(&hdopSpan)
	s.AltitudeM = c.number(&altitudeSpan)
	s.UndulationM = c.number(&undulationSpan)
	s.AgeS = c.number(&ageSpan)
	s.Station = c.integer(&stationSpan)
	s.NavStatus = c.navStatus()
	if c.error != nil {
		*s = GNS{}
	}
	return c.err()
}

func (c *cursor) modes() (m Modes) {
	b := c.next()
	if len(b) == 0 || len(b) > len(m) {
		c.fail("mode", b, "one letter of "+modeLetters+" a system, up to eight")
		return Modes{}
	}
	for i, l := range b {
		if !isMode(l) {
			c.fail("mode", b, "one letter of "+modeLetters+" a system, up to eight")
			return Modes{}
		}
		m[i] = Mode(l)
	}
	return m
}

// systemsIn is of how many systems an edition tells the modes with talker GN: the text up to 3.01 knows two, 4.11 has a
// fixed list of six (from memory).
func (v Version) systems() int {
	switch v {
	case V410:
		return 4
	case V411:
		return 6
	}
	return 2
}

// appendGNS writes a reading. Without a fix there is no position and no height; without an undulation there is no height
// above mean sea level. A talker of one system tells one mode, GN one for each system of the edition.
func appendGNS(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := GNS{Talker: e.talker, Time: sinceMidnight(r, &e.format), Satellites: r.Satellites, HDOP: r.HDOP, NavStatus: opt.Of(NavStatus('V'))}
	q, err := e.fix("GNS", r.Fix)
	if err != nil {
		return dst, err
	}
	s.Modes = e.modes(q.mode.in(e.format.Version), r.Sky)
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
	if e.keep82 && len(dst)-n > MaxLength && s.AgeS.Has() {
		s.AgeS = opt.None[float64]()
		dst, err = s.Append(dst[:n], &e.format)
	}
	return dst, err
}

// modes gives the mode to the systems in use, and to the first if none is that the edition tells of.
func (e *encoder) modes(m Mode, sky []wire.Satellite) (all Modes) {
	all[0] = m
	if e.talker != (Talker{'G', 'N'}) {
		return all
	}
	n := e.format.Version.systems()
	used := uint(0)
	for i := range sky {
		if sky[i].Used && int(sky[i].System) < n {
			used |= 1 << sky[i].System
		}
	}
	used = max(used, 1)
	for i := range all[:n] {
		if all[i] = m; used>>i&1 == 0 {
			all[i] = 'N'
		}
	}
	return all
}

func readGNS(f *Fields, r *wire.Reading) error {
	var s GNS
	if err := s.Parse(f); err != nil {
		return err
	}
	readClock(r, s.Time)
	r.Satellites, r.HDOP, r.DiffAge, r.DiffStation, r.Undulation = s.Satellites, s.HDOP, s.AgeS, s.Station, s.UndulationM
	readPosition(r, s.LatDeg, s.LonDeg)
	readHeight(r, s.AltitudeM, s.UndulationM)
	readFix(r, s.Modes.Fix())
	return nil
}

func gnsResolutions(f *Format) []wire.Resolution { return ggaResolutions(f) }
