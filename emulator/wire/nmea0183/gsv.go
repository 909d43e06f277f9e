package nmea0183

import (
	"slices"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A GSV is one of up to nine sentences that list the satellites in view. An [Assembler] puts them together.
//
// Source: NMEA Revealed, GSV.
type GSV struct {
	Talker        Talker // zero is GP; normally the system
	Total, Number int    // of sentences, and which this is
	InView        int    // satellites in all sentences together
	Satellites    []SatelliteInView
	Signal        opt.Opt[ID] // since 4.10
}

// A SatelliteInView is one of up to four in a GSV.
type SatelliteInView struct {
	ID           int
	ElevationDeg opt.Opt[int]
	AzimuthDeg   opt.Opt[int] // true
	SNR          opt.Opt[int] // dB-Hz; null if it is not tracked
}

const (
	maxParts     = 9 // of GSV
	perGSV       = 4
	maxSatellite = maxParts * perGSV
)

var (
	gsvTotalSpan  = span{field: "number of sentences", allowed: "1 to 9", lo: 1, hi: maxParts}
	gsvNumberSpan = span{field: "number of the sentence", allowed: "1 to 9, and not more than there are", lo: 1, hi: maxParts}
	inViewSpan    = span{field: "satellites in view", allowed: "0 to 99", lo: 0, hi: 99}
	elevationSpan = span{field: "elevation", allowed: "0° ≤ elevation ≤ 90°", lo: 0, hi: 90}
	azimuthSpan   = span{field: "azimuth", allowed: "0° ≤ azimuth < 360°", lo: 0, hi: 360, open: true}
	azimuthRead   = span{field: "azimuth", allowed: "0° ≤ azimuth ≤ 360°", lo: 0, hi: 360}
	snrSpan       = span{field: "SNR", allowed: "0 to 99 dB-Hz", lo: 0, hi: 99}
)

// Type is GSV.
func (*GSV) Type() string { return "GSV" }

// Append writes the sentence.
func (s *GSV) Append(dst []byte, f *Format) ([]byte, error) {
	var v Version
	if f != nil {
		v = f.Version
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'P'}, "GSV")
	w.plainInteger(s.Total, 1, &gsvTotalSpan)
	w.plainInteger(s.Number, 1, &gsvNumberSpan)
	if s.Number > s.Total {
		w.outOfRange(&gsvNumberSpan, float64(s.Number))
	}
	w.plainInteger(s.InView, 2, &inViewSpan)
	if len(s.Satellites) > perGSV {
		w.badText("satellites", "more than four", "up to four in a sentence")
		return w.end()
	}
	for i := range s.Satellites {
		x := &s.Satellites[i]
		w.plainInteger(x.ID, 2, &idSpan)
		w.integer(x.ElevationDeg, 2, &elevationSpan)
		w.integer(x.AzimuthDeg, 3, &azimuthSpan)
		w.integer(x.SNR, 2, &snrSpan)
	}
	if v.hasSystems() {
		w.id(s.Signal, &signalSpan)
	}
	return w.end()
}

// Parse reads the sentence. It uses the room of the satellites there are. Groups of four empty fields, with which some
// writers fill up, are left out.
func (s *GSV) Parse(f *Fields) error {
	room := s.Satellites[:0]
	var satellites [perGSV]SatelliteInView
	var n int
	var err error
	*s, satellites, n, err = parseGSV(f)
	s.Satellites = append(room, satellites[:n]...)
	return err
}

// parseGSV gives the satellites apart from the sentence, so that they may lie on the stack.
func parseGSV(f *Fields) (s GSV, satellites [perGSV]SatelliteInView, count int, err error) {
	s.Talker = f.Talker()
	c := f.cursor("GSV")
	s.Total = c.integer(&gsvTotalSpan).Or(0)
	s.Number = c.integer(&gsvNumberSpan).Or(0)
	if s.Number < 1 || s.Number > s.Total {
		c.fail("number of the sentence", f.Field(2), gsvNumberSpan.allowed)
	}
	view := c.integer(&inViewSpan)
	if !view.Has() {
		c.fail(inViewSpan.field, nil, inViewSpan.allowed)
	}
	s.InView = view.Or(0)
	n := f.Len() - 3
	for range min(n/4, perGSV) {
		id, elevation, azimuth, snr := c.integer(&idReadSpan), c.integer(&elevationSpan), c.integer(&azimuthRead), c.integer(&snrSpan)
		if azimuth.Or(0) == 360 { // north, in writing that is not ours
			azimuth = opt.Of(0)
		}
		if id.Or(0) != 0 {
			satellites[count] = SatelliteInView{id.Or(0), elevation, azimuth, snr}
			count++
		}
	}
	if n%4 == 1 && n <= 4*perGSV+1 {
		s.Signal = c.id(&signalSpan)
	}
	if c.error != nil {
		return GSV{}, satellites, 0, c.error
	}
	return s, satellites, count, nil
}

// appendGSV writes a reading: a group of sentences for each system with satellites in view. With talker GP each has the
// talker of its system; that of another system speaks of that alone, and GN of all. No satellite in view is a sentence too.
func appendGSV(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	var room [perGSV]SatelliteInView
	start, wrote := len(dst), false
	only, single := systemOfTalker(e.talker)
	single = single && only != wire.GPS
	for sys := range wire.Systems {
		n := 0
		for i := range r.Sky {
			if r.Sky[i].System == sys && (!single || sys == only) {
				n++
			}
		}
		if n == 0 && (sys+1 < wire.Systems || wrote) {
			continue
		}
		if n == 0 {
			sys = only
		}
		wrote = true
		if n > maxSatellite {
			return dst[:start], &wire.RangeError{Message: "GSV", Field: inViewSpan.field, Allowed: "0 to 36, as nine sentences hold", Found: float64(n)}
		}
		s := GSV{Talker: e.talker, Total: max((n+perGSV-1)/perGSV, 1), Number: 1, InView: n, Satellites: room[:0], Signal: opt.Of(systems[sys].signal)}
		add := systems[sys].own
		if s.Talker == systems[wire.GPS].talker {
			s.Talker = systems[sys].talker
		} else if _, single := systemOfTalker(s.Talker); !single {
			add = systems[sys].common
		}
		for i := range r.Sky {
			x := &r.Sky[i]
			if x.System != sys {
				continue
			}
			v, err := inView(x, add)
			if err != nil {
				return dst[:start], err
			}
			if s.Satellites = append(s.Satellites, v); len(s.Satellites) == perGSV && s.Number < s.Total {
				if dst, err = s.Append(dst, &e.format); err != nil {
					return dst[:start], err
				}
				s.Number++
				s.Satellites = room[:0]
			}
		}
		var err error
		if dst, err = s.Append(dst, &e.format); err != nil {
			return dst[:start], err
		}
	}
	return dst, nil
}

// inView rounds a satellite to what is sent of it.
func inView(x *wire.Satellite, add int) (SatelliteInView, error) {
	v := SatelliteInView{ID: x.Number + add}
	if x.Number < 1 {
		return v, &wire.RangeError{Message: "GSV", Field: idSpan.field, Allowed: idSpan.allowed, Found: float64(x.Number)}
	}
	if deg := x.Elevation / degree; elevationSpan.has(deg) {
		v.ElevationDeg = opt.Of(int(round(deg, 1)))
	} else {
		return v, &wire.RangeError{Message: "GSV", Field: elevationSpan.field, Allowed: elevationSpan.allowed, Found: deg}
	}
	if deg := headingDeg(x.Azimuth); azimuthSpan.has(deg) {
		n := int(round(deg, 1))
		if n == 360 {
			n = 0
		}
		v.AzimuthDeg = opt.Of(n)
	} else {
		return v, &wire.RangeError{Message: "GSV", Field: azimuthSpan.field, Allowed: azimuthSpan.allowed, Found: deg}
	}
	if snr, ok := x.SNR.Value(); ok {
		if !snrSpan.has(snr) {
			return v, &wire.RangeError{Message: "GSV", Field: snrSpan.field, Allowed: snrSpan.allowed, Found: snr}
		}
		v.SNR = opt.Of(int(round(snr, 1)))
	}
	return v, nil
}

// of is the system and the number in it of a satellite in view.
func (s *GSV) of(id int) (wire.System, int) {
	if sys, single := systemOfTalker(s.Talker); single {
		return sys, numberOf(sys, id)
	}
	return fromCommon(id)
}

// readGSV puts satellites into the sky: in the order of the sentences, those that were there before keep whether they are
// in use, and with the last sentence those of the system that are not in view any more go. A sentence that does not go on
// where the one before ended changes nothing.
func readGSV(f *Fields, r *wire.Reading) error {
	s, satellites, n, err := parseGSV(f)
	if err != nil {
		return err
	}
	sys, single := systemOfTalker(s.Talker)
	if !single && n > 0 {
		sys, _ = s.of(satellites[0].ID)
	}
	from, have := segment(r.Sky, sys)
	at := (s.Number - 1) * perGSV
	if have < at {
		return nil
	}
	for i := range satellites[:n] {
		x := &satellites[i]
		of, number := s.of(x.ID)
		if of != sys {
			continue
		}
		y := wire.Satellite{System: sys, Number: number, Elevation: float64(x.ElevationDeg.Or(0)) * degree, Azimuth: float64(x.AzimuthDeg.Or(0)) * degree}
		if n, ok := x.SNR.Value(); ok {
			y.SNR = opt.Of(float64(n))
		}
		if old := slices.IndexFunc(r.Sky[from+at:from+have], func(z wire.Satellite) bool { return z.Number == number }); old >= 0 {
			old += from + at
			y.Used = r.Sky[old].Used
			r.Sky[from+at], r.Sky[old] = r.Sky[old], r.Sky[from+at]
		} else {
			r.Sky = slices.Insert(r.Sky, from+at, y)
			have++
		}
		r.Sky[from+at] = y
		at++
	}
	if s.Number < s.Total {
		at = max(at, min(have, maxSatellite)) // who never sends the last sentence fills no memory
	}
	r.Sky = slices.Delete(r.Sky, from+at, from+have)
	return nil
}

func gsvResolutions(*Format) []wire.Resolution { return nil }
