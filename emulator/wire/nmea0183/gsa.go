package nmea0183

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A GSA is the satellites in use and the dilutions of precision.
//
// Source: NMEA Revealed, GSA: with talker GN one a system, which since 4.10 has an id.
type GSA struct {
	Talker    Talker  // zero is GN
	Selection byte    // M manual or A automatic choice of 2D or 3D; 0 is null
	Fix       int     // 1 none, 2 2D, 3 3D
	Slots     [12]int // ids of satellites; 0 is null
	PDOP      opt.Opt[float64]
	HDOP      opt.Opt[float64]
	VDOP      opt.Opt[float64]
	System    opt.Opt[ID] // since 4.10
}

var (
	gsaDecimals = []Default{{HDOP, 2}}
	gsaFormat   = formatOf(gsaDecimals)

	gsaFixSpan = span{field: "fix", allowed: "1 none, 2 2D, 3 3D", lo: 1, hi: 3}
	pdopSpan   = span{field: "PDOP", allowed: "0 ≤ PDOP ≤ 9999", lo: 0, hi: 9999}
	vdopSpan   = span{field: "VDOP", allowed: "0 ≤ VDOP ≤ 9999", lo: 0, hi: 9999}
	idSpan     = span{field: "satellite", allowed: "1 to 999", lo: 1, hi: 999}
)

// Type is GSA.
func (*GSA) Type() string { return "GSA" }

// Append writes the sentence.
func (s *GSA) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &gsaFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "GSA")
	if s.Selection == 0 {
		w.null()
	} else {
		w.oneOf("selection", s.Selection, "MA")
	}
	w.plainInteger(s.Fix, 1, &gsaFixSpan)
	for _, id := range s.Slots {
		if id == 0 {
			w.null()
		} else {
			w.plainInteger(id, 2, &idSpan)
		}
	}
	w.number(s.PDOP, HDOP, &pdopSpan)
	w.number(s.HDOP, HDOP, &hdopSpan)
	w.number(s.VDOP, HDOP, &vdopSpan)
	if f.Version.hasSystems() {
		w.id(s.System, &systemSpan)
	}
	return w.end()
}

// Parse reads the sentence.
func (s *GSA) Parse(f *Fields) error {
	*s = GSA{Talker: f.Talker()}
	c := f.cursor("GSA")
	s.Selection = c.letter("selection", "MA")
	fix := c.integer(&gsaFixSpan)
	if !fix.Has() {
		c.fail("fix", nil, gsaFixSpan.allowed)
	}
	s.Fix = fix.Or(0)
	for i := range s.Slots {
		s.Slots[i] = c.integer(&idReadSpan).Or(0)
	}
	s.PDOP = c.number(&pdopSpan)
	s.HDOP = c.number(&hdopSpan)
	s.VDOP = c.number(&vdopSpan)
	s.System = c.id(&systemSpan)
	if c.error != nil {
		*s = GSA{}
	}
	return c.err()
}

// idReadSpan takes 00, which some writers send for none.
var idReadSpan = span{field: "satellite", allowed: "0 to 999", lo: 0, hi: 999}

// of tells of which system the sentence is, false if of several.
func (s *GSA) of() (wire.System, bool) {
	if id, ok := s.System.Value(); ok {
		if sys, ok := systemOfID(id); ok {
			return sys, true
		}
	}
	return systemOfTalker(s.Talker)
}

// appendGSA writes a reading: a sentence for each system in use, and another where one has more than twelve satellites in
// use. A talker of one system speaks of that alone. Fixes from one epoch to the next are 3D; an estimated position is none
// of satellites.
func appendGSA(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	q, err := e.fix("GSA", r.Fix)
	if err != nil {
		return dst, err
	}
	base := GSA{Talker: e.talker, Selection: 'A', Fix: 1}
	if q.fix != wire.FixNone && q.fix != wire.FixEstimated {
		base.Fix = 3
		base.PDOP, base.HDOP, base.VDOP = r.PDOP, r.HDOP, r.VDOP
	}
	only, single := systemOfTalker(e.talker)
	start, wrote := len(dst), false
	for sys := range wire.Systems {
		if single && sys != only {
			continue
		}
		s, n := base, 0
		add := systems[sys].own
		if !single && !e.format.Version.hasSystems() {
			add = systems[sys].common
		}
		s.System = opt.Of(systems[sys].id)
		for i := range r.Sky {
			x := &r.Sky[i]
			if x.System != sys || !x.Used {
				continue
			}
			if n == len(s.Slots) {
				if dst, err = s.Append(dst, &e.format); err != nil {
					return dst[:start], err
				}
				s.Slots, n = base.Slots, 0
			}
			if x.Number < 1 {
				return dst[:start], &wire.RangeError{Message: "GSA", Field: idSpan.field, Allowed: idSpan.allowed, Found: float64(x.Number)}
			}
			s.Slots[n] = x.Number + add
			n++
		}
		if n > 0 {
			if dst, err = s.Append(dst, &e.format); err != nil {
				return dst[:start], err
			}
			wrote = true
		}
	}
	if wrote {
		return dst, nil
	}
	base.System = opt.Of(systems[only].id)
	return base.Append(dst, &e.format)
}

// clearGSA makes the satellites of which the sentence speaks no longer in use: it goes before [readGSA], over all sentences
// of a message.
func clearGSA(f *Fields, r *wire.Reading) {
	var s GSA
	if s.Parse(f) != nil {
		return
	}
	sys, single := s.of()
	for i := range r.Sky {
		if x := &r.Sky[i]; !single || x.System == sys {
			x.Used = false
		}
	}
}

// readGSA marks the satellites of the sky that are in use.
func readGSA(f *Fields, r *wire.Reading) error {
	var s GSA
	if err := s.Parse(f); err != nil {
		return err
	}
	r.PDOP, r.HDOP, r.VDOP = s.PDOP, s.HDOP, s.VDOP
	s.mark(r.Sky)
	return nil
}

// mark marks the satellites that are in use.
func (s *GSA) mark(sky []wire.Satellite) {
	sys, single := s.of()
	for _, id := range s.Slots {
		of, number := sys, numberOf(sys, id)
		if !single {
			of, number = fromCommon(id)
		}
		for i := range sky {
			if x := &sky[i]; id != 0 && x.System == of && x.Number == number {
				x.Used = true
			}
		}
	}
}

func gsaResolutions(*Format) []wire.Resolution { return nil }
