package nmea0183

import (
	"math"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A VBW is speed through water and over ground, along and across the vessel.
//
// Source: NMEA Revealed, VBW; the speeds of the stern came with 3.0.
type VBW struct {
	Talker      Talker     // zero is VD
	Water       AlongShip  // through water
	Ground      AlongShip  // over ground
	SternWater  AcrossShip // of the stern, through water
	SternGround AcrossShip // of the stern, over ground
}

// AlongShip is a speed in the vessel's axes.
type AlongShip struct {
	AheadKn     opt.Opt[float64] // negative astern
	StarboardKn opt.Opt[float64] // negative to port
	Status      opt.Opt[Status]
}

// AcrossShip is a speed to starboard.
type AcrossShip struct {
	StarboardKn opt.Opt[float64] // negative to port
	Status      opt.Opt[Status]
}

var (
	vbwDecimals = []Default{{Speed, 2}}
	vbwFormat   = formatOf(vbwDecimals)

	shipSpeedSpan = span{field: "speed", allowed: "-9999 kn ≤ speed ≤ 9999 kn", lo: -9999, hi: 9999}
)

// Type is VBW.
func (*VBW) Type() string { return "VBW" }

// Append writes the sentence.
func (s *VBW) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &vbwFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'V', 'D'}, "VBW")
	for _, v := range [...]*AlongShip{&s.Water, &s.Ground} {
		w.number(v.AheadKn, Speed, &shipSpeedSpan)
		w.number(v.StarboardKn, Speed, &shipSpeedSpan)
		w.statusOpt(v.Status)
	}
	if f.Version.hasStern() {
		for _, v := range [...]*AcrossShip{&s.SternWater, &s.SternGround} {
			w.number(v.StarboardKn, Speed, &shipSpeedSpan)
			w.statusOpt(v.Status)
		}
	}
	return w.end()
}

func (w *writer) statusOpt(v opt.Opt[Status]) {
	if s, ok := v.Value(); ok {
		w.status(s)
		return
	}
	w.null()
}

func (c *cursor) statusOpt() opt.Opt[Status] {
	if l := c.letter("status", "AV"); l != 0 {
		return opt.Of(Status(l))
	}
	return opt.None[Status]()
}

// Parse reads the sentence.
func (s *VBW) Parse(f *Fields) error {
	*s = VBW{Talker: f.Talker()}
	c := f.cursor("VBW")
	for _, v := range [...]*AlongShip{&s.Water, &s.Ground} {
		v.AheadKn, v.StarboardKn, v.Status = c.number(&shipSpeedSpan), c.number(&shipSpeedSpan), c.statusOpt()
	}
	for _, v := range [...]*AcrossShip{&s.SternWater, &s.SternGround} {
		v.StarboardKn, v.Status = c.number(&shipSpeedSpan), c.statusOpt()
	}
	if c.error != nil {
		*s = VBW{}
	}
	return c.err()
}

// appendVBW writes a reading. Speed over ground in the vessel's axes needs a fix and the heading. What the stern does the
// device does not measure.
func appendVBW(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	var w writer
	w.begin(dst, &e.format, e.talker, e.talker, "VBW")
	water, ok := r.WaterSpeed.Value()
	w.alongShip(water[0], water[1], ok)
	east, north, ok := overGround(r)
	h, ok2 := r.Heading.Value()
	sin, cos := math.Sincos(h)
	w.alongShip(float64(east*sin)+float64(north*cos), float64(east*cos)-float64(north*sin), ok && ok2)
	if e.format.Version.hasStern() {
		w.b = append(w.b, ",,V,,V"...)
	}
	return w.end()
}

// alongShip writes a speed ahead and to starboard, in m/s, and its status.
func (w *writer) alongShip(ahead, starboard float64, valid bool) {
	if !valid {
		w.b = append(w.b, ",,,V"...)
		return
	}
	ahead, starboard = ahead*(1/knot), starboard*(1/knot)
	switch {
	case !shipSpeedSpan.has(ahead):
		w.outOfRange(&shipSpeedSpan, ahead)
	case !shipSpeedSpan.has(starboard):
		w.outOfRange(&shipSpeedSpan, starboard)
	default:
		d := w.f.Digits[Speed]
		scale := scales[d.Decimals]
		b := appendFixed(append(w.b, ','), round(ahead, scale), ahead < 0, d)
		b = appendFixed(append(b, ','), round(starboard, scale), starboard < 0, d)
		w.b = append(b, ',', byte(Valid))
	}
}

// overGround is the velocity over ground, east and north, in m/s.
func overGround(r *wire.Reading) (east, north float64, ok bool) {
	if r.Fix == wire.FixNone {
		return 0, 0, false
	}
	if r.VelocityEN.Has() {
		v, _ := r.VelocityEN.Value()
		return v[0], v[1], true
	}
	v, ok := r.SpeedMS.Value()
	c, ok2 := r.CourseRad.Value()
	sin, cos := math.Sincos(c)
	return v * sin, v * cos, ok && ok2
}

// readVBW turns the speed over ground to east and north where the heading is known.
func readVBW(f *Fields, r *wire.Reading) error {
	var s VBW
	if err := s.Parse(f); err != nil {
		return err
	}
	r.WaterSpeed = s.Water.ms()
	v, ok := s.Ground.ms().Value()
	h, ok2 := r.Heading.Value()
	if !ok {
		r.VelocityEN, r.SpeedMS, r.CourseRad = opt.None[[2]float64](), opt.None[float64](), opt.None[float64]()
	} else if ok2 {
		sin, cos := math.Sincos(h)
		readVelocity(r, v[0]*sin+v[1]*cos, v[0]*cos-v[1]*sin)
	}
	return nil
}

// ms is a valid speed ahead and to starboard in m/s.
func (s *AlongShip) ms() opt.Opt[[2]float64] {
	x, ok := s.AheadKn.Value()
	y, ok2 := s.StarboardKn.Value()
	if !ok || !ok2 || s.Status != opt.Of(Valid) {
		return opt.None[[2]float64]()
	}
	return opt.Of([2]float64{x * knot, y * knot})
}

func vbwResolutions(*Format) []wire.Resolution { return nil }
