package nmea0183

import (
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A GLL is the position and its time.
//
// Source: NMEA Revealed, GLL; that status and mode are never null: notes of IEC 61162-1.
type GLL struct {
	Talker Talker                 // zero is GN
	LatDeg opt.Opt[float64]       // north positive
	LonDeg opt.Opt[float64]       // east positive; the position is null unless both are there
	Time   opt.Opt[time.Duration] // UTC since midnight; 24 h and more is second 60 of a leap second
	Status Status
	Mode   opt.Opt[Mode] // since 2.3
}

var (
	gllDecimals = []Default{{Minutes, 5}, {Seconds, 2}}
	gllFormat   = formatOf(gllDecimals)
)

// Type is GLL.
func (*GLL) Type() string { return "GLL" }

// Append writes the sentence.
func (s *GLL) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &gllFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "GLL")
	w.position(s.LatDeg, s.LonDeg)
	w.time(s.Time)
	w.status(s.Status)
	w.mode(s.Mode)
	return w.end()
}

// Parse reads the sentence.
func (s *GLL) Parse(f *Fields) error {
	*s = GLL{Talker: f.Talker()}
	c := f.cursor("GLL")
	s.LatDeg, s.LonDeg = c.position()
	s.Time = c.time()
	s.Status = c.status()
	s.Mode = c.mode()
	if c.error != nil {
		*s = GLL{}
	}
	return c.err()
}

// appendGLL writes a reading. Without a fix it is void and has no position.
func appendGLL(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := GLL{Talker: e.talker, Time: sinceMidnight(r, &e.format)}
	q, err := e.fix("GLL", r.Fix)
	if err != nil {
		return dst, err
	}
	s.Status = status(q.mode, e.literalStatus)
	s.Mode = opt.Of(q.mode.in(e.format.Version))
	s.LatDeg, s.LonDeg = positionDeg(r)
	return s.Append(dst, &e.format)
}

func readGLL(f *Fields, r *wire.Reading) error {
	var s GLL
	if err := s.Parse(f); err != nil {
		return err
	}
	readClock(r, s.Time)
	readPosition(r, s.LatDeg, s.LonDeg)
	readFix(r, fixSaid(s.Status, s.Mode))
	return nil
}

func gllResolutions(f *Format) []wire.Resolution { return fixResolutions(f) }
