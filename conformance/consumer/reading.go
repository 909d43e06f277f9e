package consumer

import (
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

// A background is what earlier messages have told that later ones are read with.
type background struct {
	utc        opt.Opt[time.Time]
	undulation opt.Opt[float64]
	variation  opt.Opt[float64]
}

// untold marks what a message says nothing of in a reading that it was read into: numbers that are none, a fix that is
// none, a stamp of a zone of its own.
const untoldFix = wire.Fix(-1)

var (
	untold     = math.NaN()
	untoldZone = time.FixedZone("untold", 0)
)

// blank is a reading in which nothing is told but what is in the background.
func (c *background) blank() wire.Reading {
	nothing := opt.Of(untold)
	r := wire.Reading{T: untold, Fix: untoldFix, Position: opt.Of(geo.Position{Lat: untold, Lon: untold, Height: untold}),
		Undulation: opt.Of(c.undulation.Or(untold)), Variation: c.variation,
		SpeedMS: nothing, CourseRad: nothing, VelocityEN: opt.Of([2]float64{untold, untold}), VelocityUp: nothing,
		Heading: nothing, Yaw: nothing, Pitch: nothing, Roll: nothing, RateOfTurn: nothing, HeaveM: nothing,
		Sigma: opt.Of(r3.Vec{X: untold, Y: untold, Z: untold})}
	if t, ok := c.utc.Value(); ok {
		r.UTC = opt.Of(t.In(untoldZone))
	}
	return r
}

// take puts into m what a message has told in r, and keeps what belongs into it.
func (c *background) take(m *message, r *wire.Reading) {
	if u, ok := r.Undulation.Value(); ok && !math.IsNaN(u) {
		c.undulation = opt.Of(u)
	}
	if v, ok := r.Variation.Value(); ok {
		c.variation = opt.Of(v)
	}
	v := &m.values
	takePlace(v, r, c.undulation)
	v[speed], v[course] = heard(r.SpeedMS), heard(r.CourseRad)
	if en, ok := r.VelocityEN.Value(); ok && !v[speed].said && !v[course].said && !math.IsNaN(en[0]+en[1]) {
		v[speed] = number(math.Hypot(en[0], en[1]))
		if v[course] = null; en[0] != 0 || en[1] != 0 {
			v[course] = number(math.Mod(math.Atan2(en[0], en[1])+2*math.Pi, 2*math.Pi))
		}
	}
	v[heading], v[yaw] = heard(r.Heading), heard(r.Yaw)
	v[pitch], v[roll] = heard(r.Pitch), heard(r.Roll)
	v[heave], v[rateOfTurn] = heard(r.HeaveM), heard(r.RateOfTurn)
	if r.Fix != untoldFix {
		m.fix = opt.Of(r.Fix)
	}
	c.stamp(m, r)
}

// heard is what a message has told about one quantity.
func heard(o opt.Opt[float64]) value {
	x, ok := o.Value()
	switch {
	case !ok:
		return null
	case math.IsNaN(x):
		return value{}
	}
	return number(x)
}

// told64 is a number that was told.
func told64(x float64) opt.Opt[float64] {
	if math.IsNaN(x) {
		return opt.None[float64]()
	}
	return opt.Of(x)
}

// takePlace takes the position. The height in a reading is above the ellipsoid; where the undulation is known it is split, as
// it is in formats that count from mean sea level.
func takePlace(v *[quantities]value, r *wire.Reading, undulated opt.Opt[float64]) {
	p, ok := r.Position.Value()
	if !ok {
		v[latitude], v[longitude] = null, null
		return
	}
	v[latitude], v[longitude] = heard(opt.Of(p.Lat)), heard(opt.Of(p.Lon))
	if math.IsNaN(p.Height) {
		return
	}
	u := undulated.Or(0)
	v[altitude], v[undulation] = number(p.Height-u), number(u)
}

// stamp takes the time. A time of day alone is of the day nearest to the stamp before, if there was one.
func (c *background) stamp(m *message, r *wire.Reading) {
	t, ok := r.UTC.Value()
	if !ok || t.Location() == untoldZone {
		return
	}
	l, _ := r.Label().Value()
	m.time = opt.Of(l.OfDay)
	if l.Day < firstDay && !c.utc.Has() {
		return // a time of day
	}
	m.date = opt.Of(utc.Label{Day: l.Day}.Time())
	c.utc = opt.Of(t)
}

// firstDay is before anything could be told in these formats: the beginning of GPS time, 1980-01-06, as a number of days
// since 1970.
const firstDay = 3657

// stamp sets the time of a message to an instant.
func (m *message) stamp(t time.Time) {
	l := utc.LabelOf(t)
	m.time, m.date = opt.Of(l.OfDay), opt.Of(utc.Label{Day: l.Day}.Time())
}

// A sinceStart relates the time since the device was switched on, in s, to UTC: a message that has both tells.
type sinceStart struct {
	told bool
	s    float64
	at   time.Time
	last float64 // time since switch-on of the message before
}

const (
	// wrap is when a count of ms in 32 bits begins again, s.
	wrap = 1 << 32 / 1000.0
	// restarted is by how much the time since switch-on may be less than before, s, as when messages are out of order.
	restarted = 5
)

// learn takes what a message tells of both. A count that has begun again, but for its wrap, is that of a device that was
// switched on anew: what was told before is of no use.
func (c *sinceStart) learn(m *message) {
	s, ok := m.since.Value()
	if !ok {
		return
	}
	if c.told && s < c.last-restarted && s > c.last-wrap/2 {
		c.told = false
	}
	c.last = s
	if tod, timed := m.time.Value(); timed && m.date.Has() {
		c.told, c.s, c.at = true, s, m.date.Or(time.Time{}).Add(tod)
	}
}

// utc is the instant at s after the device was switched on.
func (c *sinceStart) utc(s float64) (time.Time, bool) {
	if !c.told {
		return time.Time{}, false
	}
	d := s - c.s
	if d < -wrap/2 {
		d += wrap
	}
	return c.at.Add(time.Duration(math.Round(d*1e6)) * time.Microsecond), true
}
