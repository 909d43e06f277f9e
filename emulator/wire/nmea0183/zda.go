package nmea0183

import (
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A ZDA is time and date in UTC, and the local zone.
//
// Source: NMEA Revealed, ZDA. By the standard local time + zone = UTC, so that zones east of Greenwich are negative (from
// memory); many writers have it the other way round. ZoneMin is what was sent.
type ZDA struct {
	Talker  Talker                 // zero is GP
	Time    opt.Opt[time.Duration] // UTC since midnight; 24 h and more is second 60 of a leap second
	Date    opt.Opt[Date]          // UTC
	ZoneMin opt.Opt[int]           // hours and minutes of the zone in minutes, with the sign of the hours
}

var (
	zdaDecimals = []Default{{Seconds, 2}}
	zdaFormat   = formatOf(zdaDecimals)

	zoneSpan       = span{field: "zone", allowed: "-839 min ≤ zone ≤ 839 min", lo: -839, hi: 839}
	zoneHourSpan   = span{field: "zone hours", allowed: "-13 to 13", lo: 0, hi: 13}
	zoneMinuteSpan = span{field: "zone minutes", allowed: "0 to 59", lo: 0, hi: 59}
)

// Type is ZDA.
func (*ZDA) Type() string { return "ZDA" }

// Append writes the sentence.
func (s *ZDA) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &zdaFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'P'}, "ZDA")
	nextDay := w.time(s.Time)
	w.longDate(s.Date, nextDay)
	if z, ok := s.ZoneMin.Value(); !ok {
		w.b = append(w.b, ",,"...)
	} else if !zoneSpan.has(float64(z)) {
		w.outOfRange(&zoneSpan, float64(z))
	} else {
		w.b = append(w.b, ',')
		if z < 0 {
			z = -z
			w.b = append(w.b, '-')
		}
		w.b = appendDigits(w.b, uint64(z/60), 2)
		w.b = appendDigits(append(w.b, ','), uint64(z%60), 2)
	}
	return w.end()
}

// Parse reads the sentence. A date of which a part is null is none.
func (s *ZDA) Parse(f *Fields) error {
	*s = ZDA{Talker: f.Talker()}
	c := f.cursor("ZDA")
	s.Time = c.time()
	s.Date = c.longDate()
	s.ZoneMin = c.zone()
	if c.error != nil {
		*s = ZDA{}
	}
	return c.err()
}

func (c *cursor) zone() opt.Opt[int] {
	hours := c.next()
	minutes := c.integer(&zoneMinuteSpan)
	if len(hours) == 0 {
		return opt.None[int]()
	}
	digits := hours
	if digits[0] == '-' || digits[0] == '+' {
		digits = digits[1:]
	}
	n, ok := decimalInt(digits)
	if !ok || !zoneHourSpan.has(float64(n)) {
		c.fail(zoneHourSpan.field, hours, zoneHourSpan.allowed)
		return opt.None[int]()
	}
	n = n*60 + minutes.Or(0)
	if hours[0] == '-' {
		n = -n
	}
	return opt.Of(n)
}

// appendZDA writes a reading. The device keeps UTC: its zone is 00,00.
func appendZDA(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := ZDA{Talker: e.talker, ZoneMin: opt.Of(0)}
	s.Date, s.Time = stamp(r, &e.format)
	return s.Append(dst, &e.format)
}

func readZDA(f *Fields, r *wire.Reading) error {
	var s ZDA
	if err := s.Parse(f); err != nil {
		return err
	}
	readStamp(r, s.Date, s.Time)
	return nil
}

func zdaResolutions(f *Format) []wire.Resolution {
	return []wire.Resolution{{Quantity: wire.Time, Half: f.half(Seconds)}}
}
