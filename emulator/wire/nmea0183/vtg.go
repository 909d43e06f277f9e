package nmea0183

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A VTG is course and speed over ground.
//
// Source: NMEA Revealed, VTG; there also the old form of four plain numbers, which Parse takes.
type VTG struct {
	Talker      Talker           // zero is GN
	CourseDeg   opt.Opt[float64] // true
	MagneticDeg opt.Opt[float64] // the same course from magnetic north
	SpeedKn     opt.Opt[float64]
	SpeedKmh    opt.Opt[float64]
	Mode        opt.Opt[Mode] // since 2.3
}

var (
	vtgDecimals = []Default{{Course, 2}, {Speed, 3}}
	vtgFormat   = formatOf(vtgDecimals)

	magneticSpan = span{field: "magnetic course", allowed: "0° ≤ course < 360°", lo: 0, hi: 360, open: true}
)

// Type is VTG.
func (*VTG) Type() string { return "VTG" }

// Append writes the sentence.
func (s *VTG) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &vtgFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "VTG")
	w.bearing(s.CourseDeg, Course, &courseSpan)
	w.unit('T', s.CourseDeg.Has())
	w.bearing(s.MagneticDeg, Course, &magneticSpan)
	w.unit('M', s.MagneticDeg.Has())
	w.number(s.SpeedKn, Speed, &speedSpan)
	w.unit('N', s.SpeedKn.Has())
	w.number(s.SpeedKmh, Speed, &speedSpan)
	w.unit('K', s.SpeedKmh.Has())
	w.mode(s.Mode)
	return w.end()
}

// Parse reads the sentence.
func (s *VTG) Parse(f *Fields) error {
	*s = VTG{Talker: f.Talker()}
	c := f.cursor("VTG")
	plainNumbers := f.Len() <= 4 && string(f.Field(2)) != "T"
	unit := func(field string, letter byte) {
		if !plainNumbers {
			c.unit(field, letter)
		}
	}
	s.CourseDeg = c.number(&courseRead)
	unit("true course", 'T')
	s.MagneticDeg = c.number(&courseRead)
	unit("magnetic course", 'M')
	s.SpeedKn = c.number(&speedSpan)
	unit("speed", 'N')
	s.SpeedKmh = c.number(&speedSpan)
	unit("speed", 'K')
	s.Mode = c.mode()
	if c.error != nil {
		*s = VTG{}
	}
	return c.err()
}

// appendVTG writes a reading. Without a fix all values are null. The magnetic course is there if the variation is.
func appendVTG(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := VTG{Talker: e.talker}
	q, err := e.fix("VTG", r.Fix)
	if err != nil {
		return dst, err
	}
	s.Mode = opt.Of(q.mode.in(e.format.Version))
	if r.Fix != wire.FixNone {
		s.CourseDeg = headingOpt(r.CourseRad)
		if c, ok := s.CourseDeg.Value(); ok && courseSpan.has(c) {
			if v, ok := degOpt(r.Variation).Value(); ok && variationSpan.has(v) {
				s.MagneticDeg = opt.Of(wrap360(c - v))
			}
		}
		s.SpeedKn = scaled(r.SpeedMS, 1/knot)
		s.SpeedKmh = scaled(r.SpeedMS, 1/kmh)
	}
	return s.Append(dst, &e.format)
}

// readVTG takes km/h where there are no knots.
func readVTG(f *Fields, r *wire.Reading) error {
	var s VTG
	if err := s.Parse(f); err != nil {
		return err
	}
	speed := scaled(s.SpeedKn, knot)
	if !speed.Has() {
		speed = scaled(s.SpeedKmh, kmh)
	}
	readCourse(r, speed, radOpt(s.CourseDeg))
	if m, ok := s.Mode.Value(); ok {
		r.Fix = m.Fix()
	}
	return nil
}

func vtgResolutions(f *Format) []wire.Resolution {
	return []wire.Resolution{
		{Quantity: wire.Course, Half: f.half(Course) * degree},
		{Quantity: wire.Speed, Half: f.half(Speed) * knot},
		{Quantity: wire.FixState},
	}
}
