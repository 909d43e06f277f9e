package consumer

import (
	"hash/maphash"
	"log/slog"
	"math"
	"strings"
	"time"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios/opt"
)

const (
	perDegree    = math.Pi / 180  // rad
	perKnot      = 1852.0 / 3600  // m/s; the international nautical mile is 1852 m
	perDegMinute = perDegree / 60 // rad/s for a degree a minute
)

// An nmeaDecoder reads NMEA 0183 sentences. What has no right checksum, and what is of a type it does not use, it
// leaves out.
type nmeaDecoder struct {
	log    *slog.Logger
	stages *stages
	dec    nmea0183.Decoder
	typed  map[string]nmea0183.Sentence // one of each type, used again and again
	seed   maphash.Seed

	arrivals
	inside  bool
	started bool // the first event came
	partial bool // the stream began within a sentence, or with the end of a line
	msg     message
}

func newNMEA0183(log *slog.Logger, s *stages) decoder {
	d := &nmeaDecoder{log: log, stages: s, typed: map[string]nmea0183.Sentence{}, seed: maphash.MakeSeed()}
	for _, r := range nmea0183.Messages {
		d.typed[r.Type] = r.Sentence()
	}
	return d
}

func (d *nmeaDecoder) within() bool { return d.inside }
func (d *nmeaDecoder) cut() bool    { return d.partial }

func (d *nmeaDecoder) decode(b []byte, at time.Time, message func(*message)) {
	if len(b) == 0 {
		return
	}
	d.partial = d.partial || d.offset == 0 && (b[0] == '\r' || b[0] == '\n')
	d.came(len(b), at, 2*nmea0183.Limit) // a sentence is at most Limit long
	last := b[len(b)-1]
	d.inside = last != '\n' && last != '\r'
	d.dec.Push(b)
	d.drain(message)
}

// end takes a last sentence that lacks only its line end.
func (d *nmeaDecoder) end(message func(*message)) {
	d.dec.Flush()
	d.drain(message)
	d.inside = false
}

func (d *nmeaDecoder) drain(message func(*message)) {
	for {
		ev, ok := d.dec.Next()
		if !ok {
			return
		}
		if !d.started {
			d.started, d.partial = true, d.partial || ev.Kind != nmea0183.Accepted
		}
		if ev.Kind == nmea0183.Garbage {
			d.log.Debug("left out bytes that are no sentence", "reason", string(ev.Reason), "offset", ev.Offset, "bytes", max(ev.Count, int64(len(ev.Raw))))
			continue
		}
		text := d.stages.sentence(ev.Raw, ev.Reason)
		if text == nil {
			d.log.Debug("left out a sentence", "reason", string(ev.Reason), "offset", ev.Offset, "bytes", len(ev.Raw))
			continue
		}
		if s := d.sentence(ev, text); s != nil {
			d.read(ev, s)
			message(&d.msg)
		}
	}
}

// fit passes what is a sentence by the standard.
func fit(text []byte, wrong nmea0183.Reason) []byte {
	if wrong != "" {
		return nil
	}
	return text
}

// sentence takes a sentence apart; nil if it is of no use here. text is what is to be read of it, as a rule all.
func (d *nmeaDecoder) sentence(ev *nmea0183.Event, text []byte) nmea0183.Sentence {
	if ev.Kind != nmea0183.Accepted || string(text) != string(ev.Raw) {
		s, err := nmea0183.Parse(text)
		if err != nil {
			return nil
		}
		return s
	}
	s, ok := d.typed[ev.Fields.Type()]
	if !ok || ev.Fields.Start != '$' {
		return nil
	}
	if err := s.Parse(&ev.Fields); err != nil {
		d.log.Debug("left out a sentence that cannot be read", "error", err)
		return nil
	}
	return s
}

// read fills msg from a sentence.
func (d *nmeaDecoder) read(ev *nmea0183.Event, s nmea0183.Sentence) {
	m := &d.msg
	*m = message{kind: s.Type(), offset: ev.Offset, digest: maphash.Bytes(d.seed, ev.Raw)}
	m.first, m.last = d.of(ev.Offset)
	d.stages.say(m, s)
}

// say puts what a sentence says into a message.
func say(m *message, s nmea0183.Sentence) {
	v := &m.values
	switch s := s.(type) {
	case *nmea0183.GGA:
		m.rank, m.time, m.fix = 3, s.Time, opt.Of(s.Quality.Fix())
		v[latitude], v[longitude] = told(s.LatDeg, perDegree), told(s.LonDeg, perDegree)
		v[altitude], v[undulation] = told(s.AltitudeM, 1), told(s.UndulationM, 1)
	case *nmea0183.RMC:
		m.rank, m.time, m.date = 1, s.Time, midnight(s.Date)
		m.fix = opt.Of(fixOf(s.Status, s.Mode))
		m.void = m.fix.Or(wire.FixNone) == wire.FixNone
		v[latitude], v[longitude] = told(s.LatDeg, perDegree), told(s.LonDeg, perDegree)
		v[speed], v[course] = told(s.SpeedKn, perKnot), told(s.CourseDeg, perDegree)
	case *nmea0183.VTG:
		m.rank = 2
		if mode, ok := s.Mode.Value(); ok {
			m.fix = opt.Of(mode.Fix())
		}
		v[speed], v[course] = told(s.SpeedKn, perKnot), told(s.CourseDeg, perDegree)
	case *nmea0183.ZDA:
		m.time, m.date = s.Time, midnight(s.Date)
	case *nmea0183.GNS:
		m.rank, m.time, m.fix = 3, s.Time, opt.Of(s.Modes.Fix())
		v[latitude], v[longitude] = told(s.LatDeg, perDegree), told(s.LonDeg, perDegree)
		v[altitude], v[undulation] = told(s.AltitudeM, 1), told(s.UndulationM, 1)
	case *nmea0183.GLL:
		m.time, m.fix = s.Time, opt.Of(fixOf(s.Status, s.Mode))
		v[latitude], v[longitude] = told(s.LatDeg, perDegree), told(s.LonDeg, perDegree)
	case *nmea0183.HDG:
		v[heading] = told(s.TrueDeg(), perDegree)
	case *nmea0183.THS:
		m.rank, v[heading] = 1, told(s.HeadingDeg, perDegree)
	case *nmea0183.HDT:
		m.rank = 1
		v[heading] = told(s.HeadingDeg, perDegree)
	case *nmea0183.ROT:
		v[rateOfTurn] = null
		if s.Status == nmea0183.Valid {
			v[rateOfTurn] = told(s.RateDegMin, perDegMinute)
		}
	case *nmea0183.XDR:
		for _, t := range s.Measurements {
			switch name := strings.ToUpper(t.Name); {
			case t.Type == 'A' && t.Unit == 'D' && (name == "PITCH" || name == "PTCH"):
				v[pitch] = told(t.Value, perDegree)
			case t.Type == 'A' && t.Unit == 'D' && name == "ROLL":
				v[roll] = told(t.Value, perDegree)
			case t.Type == 'D' && t.Unit == 'M' && name == "HEAVE":
				v[heave] = told(t.Value, 1)
			}
		}
	}
}

// fixOf reads status and mode together. The mode tells more; before it came, and where it is left out, the status
// alone counts. A void status with a mode that must be valid (A, D) means no fix; with R, F and P it is the wording
// of an old text of the standard, and with E, M and S it is what it should be.
func fixOf(status nmea0183.Status, mode opt.Opt[nmea0183.Mode]) wire.Fix {
	m, ok := mode.Value()
	switch {
	case ok && status == nmea0183.Void && (m == 'A' || m == 'D'):
		return wire.FixNone
	case ok:
		return m.Fix()
	case status == nmea0183.Valid:
		return wire.FixAutonomous
	}
	return wire.FixNone
}

func midnight(d opt.Opt[nmea0183.Date]) opt.Opt[time.Time] {
	if day, ok := d.Value(); ok {
		return opt.Of(day.Time(0))
	}
	return opt.None[time.Time]()
}
