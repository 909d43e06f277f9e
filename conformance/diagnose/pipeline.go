package diagnose

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/conformance/compare"
	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/installation"
)

// A field is one number of the messages, as a consumer reads it. SI and rad, but for nothing.
type field int

const (
	rLat field = iota
	rLon
	rAlt // above mean sea level
	rUnd // mean sea level above the ellipsoid
	rSpeed
	rCourse
	rHeading
	rPitch
	rRoll
	rHeave
	rTurn  // rate of turn
	rVar   // magnetic variation, east positive
	rWater // speed ahead through the water
	nFields
)

// raw is what a consumer has read of one epoch.
type raw struct {
	v   [nFields]float64
	has uint16
	fix wire.Fix

	voided bool       // the position fields hold something beside a status that calls it void
	void   [4]float64 // rLat, rLon, rAlt, rUnd
}

func (r *raw) known(fs ...field) bool {
	for _, f := range fs {
		if r.has&(1<<f) == 0 {
			return false
		}
	}
	return true
}

func (r *raw) put(f field, x float64) { r.v[f], r.has = x, r.has|1<<f }
func (r *raw) drop(fs ...field) {
	for _, f := range fs {
		r.has &^= 1 << f
	}
}

// out is what a consumer says: values in SI and rad by quantity.
type out struct {
	v   [compare.NQ]float64
	has uint16
	fix wire.Fix
}

func (o *out) known(q compare.Q) bool     { return o.has&(1<<q) != 0 }
func (o *out) put(q compare.Q, x float64) { o.v[q], o.has = x, o.has|1<<q }
func (o *out) each(f func(float64) float64, qs ...compare.Q) {
	for _, q := range qs {
		if o.known(q) {
			o.v[q] = f(o.v[q])
		}
	}
}

func (r *raw) each(f func(float64) float64, fs ...field) {
	for _, i := range fs {
		if r.known(i) {
			r.v[i] = f(r.v[i])
		}
	}
}

// A source is a group of values that come in messages of their own, and so may have a time of their own.
type source int

const (
	sPosition source = iota
	sVelocity
	sHeading
	sAttitude
	sHeave
	sTurn
	nSources
)

var sourceOf = [nFields]source{rLat: sPosition, rLon: sPosition, rAlt: sPosition, rUnd: sPosition, rSpeed: sVelocity, rCourse: sVelocity,
	rHeading: sHeading, rPitch: sAttitude, rRoll: sAttitude, rHeave: sHeave, rTurn: sTurn, rVar: sPosition, rWater: sVelocity}

var sourceNames = [nSources]string{"position", "speed and course", "heading", "pitch and roll", "heave", "rate of turn"}

// A geometry is the installation as a consumer uses it.
type geometry struct {
	mounting     frame.Rotation // device axes to vessel axes, as far as it is left to the consumer
	mounted      bool
	baseline     r3.Vec
	two          bool   // antennas
	headingDone  bool   // the heading on the wire is the vessel's
	antenna      r3.Vec // primary
	sensor       r3.Vec
	positionAt   r3.Vec // what the position on the wire is of
	heaveAt      r3.Vec
	out          r3.Vec // set for each observation: the point it is about
	entered      bool   // the device carries the position to an output point
	mountEntered bool
}

func newGeometry(in *installation.Installation) geometry {
	rep := in.Reported()
	g := geometry{two: rep.TwoAntennas, headingDone: rep.HeadingOfVessel, positionAt: rep.PositionAt, heaveAt: rep.HeaveAt}
	g.baseline, _ = in.Baseline()
	g.antenna, _ = in.Point(installation.AntennaPrimary)
	g.sensor, _ = in.Point(installation.Sensor)
	g.entered = in.Settings().OutputPoint.Has()
	g.mountEntered = rep.AttitudeOfVessel
	if !rep.AttitudeOfVessel {
		g.mounting = in.MountingRotation()
	}
	g.mounted = g.mounting.AngleTo(frame.Rotation{}) > 1e-12
	return g
}

// A context is where a pipeline stands: at which observation, and at which time of validity.
type context struct {
	k   *kase
	row *row
	t   float64
}

// A pipeline is a consumer: from what is on the wire to what it says. Hypotheses replace its stages.
type pipeline struct {
	stamp    []func(c *context, s float64) float64 // from the stamp of an observation to what it should have been
	arrived  bool                                  // timed observations are stamped on arrival
	lag      [nSources]float64                     // how much older than the observation each source is, s
	gather   []func(c *context, r *raw)            // what an epoch holds: before anything is read
	read     []func(c *context, r *raw)            // values of messages
	g        func(g *geometry)                     // the installation, once for each observation
	attitude func(g *geometry, device frame.Attitude) frame.Attitude
	heading  func(g *geometry, azimuth float64, tilt frame.Attitude) float64
	via      bool                     // goes back to the antenna by what the device has applied, rightly, and on from there
	arm      func(g *geometry) r3.Vec // along vessel axes
	armAt    func(c *context, r *raw) // values by which the arm is turned, where they are others
	turn     func(t *turning) r3.Vec
	carry    func(p geo.Position, enu r3.Vec) geo.Position
	lift     func(g *geometry, h float64, vessel frame.Attitude) float64
	blur     [compare.NQ]float64 // by how much less well than it should a quantity is known: rounding is multiplied with it
	inside   inside              // where the wrong attitude or heading is used
	publish  []func(c *context, r *raw, o *out)
}

// inside says which of two uses of the attitude a mistake of attitude or heading spoils.
type inside int

const (
	everywhere   inside = iota
	onlyShown           // positions and heave are carried by the right one
	onlyInternal        // what is published is right
	onlyTilt            // pitch and roll that are published, and nothing else
)

// turning is what it takes to turn an arm.
type turning struct {
	g      *geometry
	vessel frame.Attitude
	device frame.Attitude // with the heading of the vessel where the device has none of its own
	arm    r3.Vec
}

func correct() *pipeline {
	return &pipeline{
		attitude: func(g *geometry, d frame.Attitude) frame.Attitude {
			return frame.VesselFromDevice(d.Rotation(), g.mounting).Attitude()
		},
		heading: func(g *geometry, azimuth float64, tilt frame.Attitude) float64 {
			return frame.HeadingFromBaseline(azimuth, tilt.Pitch, tilt.Roll, g.baseline)
		},
		arm:  func(g *geometry) r3.Vec { return r3.Sub(g.out, g.positionAt) },
		turn: func(t *turning) r3.Vec { return t.vessel.Rotation().Apply(t.arm) },
		carry: func(p geo.Position, enu r3.Vec) geo.Position {
			return geo.LocalAt(p).Position(enu)
		},
		lift: func(g *geometry, h float64, v frame.Attitude) float64 {
			return h + frame.InducedHeaveM(v, r3.Sub(g.out, g.heaveAt))
		},
	}
}

// oriented is the attitude of the vessel from what was read; tilted and headed tell what of it is known.
func (p *pipeline) oriented(g *geometry, r *raw) (vessel, device frame.Attitude, tilted, headed bool) {
	tilted, headed = r.known(rPitch, rRoll), r.known(rHeading)
	device = frame.Attitude{Heading: r.v[rHeading], Pitch: r.v[rPitch], Roll: r.v[rRoll]}
	vessel = device
	direct := g.headingDone || g.two
	if direct {
		device.Heading = 0
	}
	if !tilted {
		ahead := g.two && g.baseline.Y > 0 && math.Hypot(g.baseline.X, g.baseline.Z) < 1e-9*g.baseline.Y
		return vessel, device, false, headed && (g.headingDone || ahead || !direct && !g.mounted)
	}
	if g.mounted {
		vessel = p.attitude(g, device)
	} else {
		vessel.Pitch, vessel.Roll = device.Pitch, device.Roll
	}
	switch {
	case !direct:
	case g.headingDone:
		vessel.Heading = r.v[rHeading]
	default:
		vessel.Heading = p.heading(g, r.v[rHeading], vessel)
	}
	if direct && headed { // the axes of the device, with the heading they have
		device.Heading = vessel.Heading
		if g.mounted {
			device.Heading = frame.Wrap2Pi(vessel.Heading + g.mounting.Attitude().Heading)
		}
	}
	return vessel, device, true, headed && !math.IsNaN(vessel.Heading)
}

// run says what the consumer would say at an observation whose values are valid at c.t.
func (p *pipeline) run(c *context) out {
	r := c.k.assembled(c.t, &p.lag)
	for _, f := range p.gather {
		f(c, &r)
	}
	for _, f := range p.read {
		f(c, &r)
	}
	g := c.k.geo
	g.out = c.row.at
	if p.g != nil {
		p.g(&g)
	}
	vessel, device, tilted, headed := p.oriented(&g, &r)
	used := vessel
	if p.inside != everywhere {
		right, _, _, _ := c.k.right.oriented(&g, &r)
		switch p.inside {
		case onlyShown:
			used = right
		case onlyTilt:
			used, vessel.Heading = right, right.Heading
		default:
			vessel = right
		}
	}
	o := out{fix: r.fix}
	if tilted {
		o.put(compare.Pitch, vessel.Pitch)
		o.put(compare.Roll, vessel.Roll)
	} else if !g.mounted {
		for _, x := range [...]struct {
			f field
			q compare.Q
		}{{rPitch, compare.Pitch}, {rRoll, compare.Roll}} {
			if r.known(x.f) {
				o.put(x.q, r.v[x.f])
			}
		}
	}
	if headed {
		o.put(compare.Heading, frame.Wrap2Pi(vessel.Heading))
	}
	if r.known(rSpeed) {
		o.put(compare.Speed, r.v[rSpeed])
	}
	if r.known(rCourse) {
		o.put(compare.Course, r.v[rCourse])
	}
	if r.known(rTurn) {
		o.put(compare.RateOfTurn, r.v[rTurn])
	}
	if r.known(rLat, rLon) {
		p.place(c, &g, &r, &o, used, device, tilted && headed)
	}
	if r.known(rHeave) {
		switch {
		case r3.Norm(r3.Sub(g.out, g.heaveAt)) < 1e-9:
			o.put(compare.Heave, r.v[rHeave])
		case tilted:
			o.put(compare.Heave, p.lift(&g, r.v[rHeave], used))
		}
	}
	for _, f := range p.publish {
		f(c, &r, &o)
	}
	return o
}

// place carries the position to the output point.
func (p *pipeline) place(c *context, g *geometry, r *raw, o *out, vessel, device frame.Attitude, whole bool) {
	pos := geo.Position{Lat: r.v[rLat], Lon: r.v[rLon]}
	deep := r.known(rAlt)
	if deep {
		pos.Height = r.v[rAlt] + r.v[rUnd]
	}
	if p.via && whole {
		pos = geo.LocalAt(pos).Position(vessel.Rotation().Apply(r3.Sub(g.antenna, g.positionAt)))
		g.positionAt = g.antenna
	}
	arm := p.arm(g)
	if r3.Norm(arm) > 1e-9 {
		if !whole {
			return
		}
		if p.armAt != nil {
			other := *r
			p.armAt(c, &other)
			vessel, device, _, _ = p.oriented(g, &other)
		}
		pos = p.carry(pos, p.turn(&turning{g: g, vessel: vessel, device: device, arm: arm}))
	}
	o.put(compare.Lat, pos.Lat)
	o.put(compare.Lon, frame.WrapPi(pos.Lon))
	if deep {
		o.put(compare.Height, pos.Height)
	}
}
