package nmea0183

import (
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// An RMC is the recommended minimum: time and date, position, course and speed.
//
// Source: NMEA Revealed, RMC; that status, mode and navigational status are never null: notes of IEC 61162-1.
type RMC struct {
	Talker       Talker                 // zero is GN
	Time         opt.Opt[time.Duration] // UTC since midnight; 24 h and more is second 60 of a leap second
	Status       Status
	LatDeg       opt.Opt[float64] // north positive
	LonDeg       opt.Opt[float64] // east positive; the position is null unless both are there
	SpeedKn      opt.Opt[float64] // over ground
	CourseDeg    opt.Opt[float64] // over ground, true
	Date         opt.Opt[Date]    // two digits of the year are sent: 80 to 99 are read as 1980 to 1999
	VariationDeg opt.Opt[float64] // magnetic, east positive
	Mode         opt.Opt[Mode]    // since 2.3
	NavStatus    opt.Opt[NavStatus]
}

var (
	rmcDecimals = []Default{{Seconds, 2}, {Minutes, 5}, {Speed, 2}, {Course, 2}, {Variation, 1}}
	rmcFormat   = formatOf(rmcDecimals)

	speedSpan     = span{field: "speed", allowed: "0 ≤ speed ≤ 9999 kn or km/h", lo: 0, hi: 9999}
	courseSpan    = span{field: "course", allowed: "0° ≤ course < 360°", lo: 0, hi: 360, open: true}
	variationSpan = span{field: "variation", allowed: "-180° ≤ variation ≤ 180°", lo: -180, hi: 180}
	// Readers take 360.0, which some writers send for north.
	courseRead = span{field: "course", allowed: "0° ≤ course ≤ 360°", lo: 0, hi: 360}
	// The sign is in the letter.
	variationRead = span{field: "variation", allowed: "0° ≤ variation ≤ 180°", lo: 0, hi: 180}
)

// Type is RMC.
func (*RMC) Type() string { return "RMC" }

// Append writes the sentence.
func (s *RMC) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &rmcFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "RMC")
	nextDay := w.time(s.Time)
	w.status(s.Status)
	w.position(s.LatDeg, s.LonDeg)
	w.number(s.SpeedKn, Speed, &speedSpan)
	w.bearing(s.CourseDeg, Course, &courseSpan)
	w.shortDate(s.Date, nextDay)
	w.lettered(s.VariationDeg, Variation, &variationSpan, 'E', 'W')
	w.mode(s.Mode)
	if f.Version.hasNavStatus() {
		w.navStatus(s.NavStatus)
	}
	return w.end()
}

func (w *writer) navStatus(v opt.Opt[NavStatus]) {
	s, ok := v.Value()
	if !ok {
		w.null()
		return
	}
	if s != 'S' && s != 'C' && s != 'U' && s != 'V' {
		w.badText("navigational status", string([]byte{byte(s)}), "one of SCUV")
	}
	w.letter(byte(s))
}

// Parse reads the sentence.
func (s *RMC) Parse(f *Fields) error {
	*s = RMC{Talker: f.Talker()}
	c := f.cursor("RMC")
	s.Time = c.time()
	s.Status = c.status()
	s.LatDeg, s.LonDeg = c.position()
	s.SpeedKn = c.number(&speedSpan)
	s.CourseDeg = c.number(&courseRead)
	s.Date = c.shortDate()
	s.VariationDeg = c.lettered(&variationRead, 'E', 'W')
	s.Mode = c.mode()
	s.NavStatus = c.navStatus()
	if c.error != nil {
		*s = RMC{}
	}
	return c.err()
}

func (c *cursor) navStatus() opt.Opt[NavStatus] {
	if l := c.letter("navigational status", "SCUV"); l != 0 {
		return opt.Of(NavStatus(l))
	}
	return opt.None[NavStatus]()
}

// appendRMC writes a reading. Without a fix it is void, and has no position, speed and course.
func appendRMC(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := RMC{Talker: e.talker, NavStatus: opt.Of(NavStatus('V')), VariationDeg: degOpt(r.Variation)}
	s.Date, s.Time = stamp(r, &e.format)
	q, err := e.fix("RMC", r.Fix)
	if err != nil {
		return dst, err
	}
	s.Status = status(q.mode, e.literalStatus)
	s.Mode = opt.Of(q.mode.in(e.format.Version))
	s.LatDeg, s.LonDeg = positionDeg(r)
	if r.Fix != wire.FixNone {
		s.SpeedKn = scaled(r.SpeedMS, 1/knot)
		s.CourseDeg = headingOpt(r.CourseRad)
	}
	return s.Append(dst, &e.format)
}

func readRMC(f *Fields, r *wire.Reading) error {
	var s RMC
	if err := s.Parse(f); err != nil {
		return err
	}
	readStamp(r, s.Date, s.Time)
	readPosition(r, s.LatDeg, s.LonDeg)
	readCourse(r, scaled(s.SpeedKn, knot), radOpt(s.CourseDeg))
	r.Variation = radOpt(s.VariationDeg)
	readFix(r, fixSaid(s.Status, s.Mode))
	return nil
}

func rmcResolutions(f *Format) []wire.Resolution {
	return append(fixResolutions(f),
		wire.Resolution{Quantity: wire.Speed, Half: f.half(Speed) * knot},
		wire.Resolution{Quantity: wire.Course, Half: f.half(Course) * degree})
}
