package layout

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A quantity is a number that a reading holds and a field may carry.
type quantity struct {
	name  string
	what  string // for people
	dim   *dimension
	ways  [2]string // the words for its positive and its negative direction; "" if it has none
	turn  turn
	top   float64 // the largest that is usual, in the unit of readings: what the resolution of floating fields is told for
	wire  wire.Quantity
	get   func(*wire.Reading) (float64, bool)
	set   func(*wire.Reading, float64, bool)
	wait  waiting // set has to wait for other fields
	north bool    // it is a direction that may be counted from magnetic north
}

// A turn tells whether a quantity goes round.
type turn uint8

const (
	straight turn = iota
	whole         // 0 to 2π
	halves        // −π to π
)

// A draft is a reading in the making: what has to be put together from several fields waits here.
type draft struct {
	r *wire.Reading
	// Of the position; each 1 is there and known, −1 is there and not known, 0 is not spoken of.
	hasLat, hasLon, hasHeight, hasAltitude int8
	lat, lon, height, altitude             float64
	time                                   timeDraft
	// Of states that speak of other fields.
	void           [voidHeave + 1]bool
	inclination    float64
	hasInclination int8
}

// A waiting is which part of a draft a quantity is, if it has to be put together with others.
type waiting uint8

const (
	waitNone waiting = iota
	waitLatitude
	waitLongitude
	waitHeight
	waitAltitude
	waitInclination
)

// put sets a quantity, or lets it wait. (The draft is not handed to a function value, so that it stays on the stack.)
func (q *quantity) put(d *draft, v float64, ok bool) {
	switch q.wait {
	case waitLatitude:
		d.lat, d.hasLat = v, known(ok && math.Abs(v) <= math.Pi/2+1e-9)
	case waitLongitude:
		d.lon, d.hasLon = v, known(ok)
	case waitHeight:
		d.height, d.hasHeight = v, known(ok)
	case waitAltitude:
		d.altitude, d.hasAltitude = v, known(ok)
	case waitInclination:
		d.inclination, d.hasInclination = v, known(ok)
	default:
		q.set(d.r, v, ok)
	}
}

func known(ok bool) int8 {
	if ok {
		return 1
	}
	return -1
}

// plain makes the row of a quantity that is one field of a reading.
func plain(name, what string, dim *dimension, positive, negative string, turn turn, top float64, field func(*wire.Reading) *opt.Opt[float64]) quantity {
	return quantity{name: name, what: what, dim: dim, ways: [2]string{positive, negative}, turn: turn, top: top, wire: wire.Quantity(name),
		get: func(r *wire.Reading) (float64, bool) { return field(r).Value() },
		set: func(r *wire.Reading, v float64, ok bool) {
			if ok {
				*field(r) = opt.Of(v)
			} else {
				*field(r) = opt.None[float64]()
			}
		}}
}

// along makes the row of one component of a vector.
func along(name, what string, dim *dimension, positive, negative string, top float64, vec func(*wire.Reading) *opt.Opt[r3.Vec], part func(*r3.Vec) *float64) quantity {
	return quantity{name: name, what: what, dim: dim, ways: [2]string{positive, negative}, top: top, wire: wire.Quantity(name),
		get: func(r *wire.Reading) (float64, bool) {
			v, ok := vec(r).Value()
			return *part(&v), ok
		},
		set: func(r *wire.Reading, x float64, ok bool) {
			if !ok {
				*vec(r) = opt.None[r3.Vec]()
				return
			}
			v := vec(r).Or(r3.Vec{})
			*part(&v) = x
			*vec(r) = opt.Of(v)
		}}
}

// flat makes the row of one component of a pair.
func flat(name, what, positive, negative string, pair func(*wire.Reading) *opt.Opt[[2]float64], i int) quantity {
	return quantity{name: name, what: what, dim: speed, ways: [2]string{positive, negative}, top: 100, wire: wire.Quantity(name),
		get: func(r *wire.Reading) (float64, bool) {
			v, ok := pair(r).Value()
			return v[i], ok
		},
		set: func(r *wire.Reading, x float64, ok bool) {
			if !ok {
				*pair(r) = opt.None[[2]float64]()
				return
			}
			v := pair(r).Or([2]float64{})
			v[i] = x
			*pair(r) = opt.Of(v)
		}}
}

// number makes the row of a whole number.
func number(name, what string, field func(*wire.Reading) *opt.Opt[int]) quantity {
	return quantity{name: name, what: what, dim: pure, top: 100, wire: wire.Quantity(name),
		get: func(r *wire.Reading) (float64, bool) {
			n, ok := field(r).Value()
			return float64(n), ok
		},
		set: func(r *wire.Reading, v float64, ok bool) {
			if ok && math.Abs(v) < 1<<31 {
				*field(r) = opt.Of(int(math.Round(v)))
			} else {
				*field(r) = opt.None[int]()
			}
		}}
}

func x(v *r3.Vec) *float64 { return &v.X }
func y(v *r3.Vec) *float64 { return &v.Y }
func z(v *r3.Vec) *float64 { return &v.Z }

func rates(r *wire.Reading) *opt.Opt[r3.Vec]      { return &r.Rates }
func force(r *wire.Reading) *opt.Opt[r3.Vec]      { return &r.SpecificForce }
func sigma(r *wire.Reading) *opt.Opt[r3.Vec]      { return &r.Sigma }
func ground(r *wire.Reading) *opt.Opt[[2]float64] { return &r.VelocityEN }
func water(r *wire.Reading) *opt.Opt[[2]float64]  { return &r.WaterSpeed }

// magnetic is what turns a direction from true north into one from magnetic north: the variation, east positive.
func magnetic(r *wire.Reading) (float64, bool) { return r.Variation.Value() }

// quantities is the table of numbers. Signs and axes are those of package frame.
var quantities = []quantity{
	{name: "latitude", what: "geodetic latitude", dim: angle, ways: [2]string{"north", "south"}, top: math.Pi / 2, wire: wire.Latitude,
		get:  func(r *wire.Reading) (float64, bool) { p, ok := r.Position.Value(); return p.Lat, ok },
		wait: waitLatitude},
	{name: "longitude", what: "geodetic longitude", dim: angle, ways: [2]string{"east", "west"}, turn: halves, top: math.Pi, wire: wire.Longitude,
		get:  func(r *wire.Reading) (float64, bool) { p, ok := r.Position.Value(); return p.Lon, ok },
		wait: waitLongitude},
	{name: "height", what: "height above the ellipsoid", dim: length, ways: [2]string{"up", "down"}, top: 10000, wire: wire.Height,
		get:  func(r *wire.Reading) (float64, bool) { p, ok := r.Position.Value(); return p.Height, ok },
		wait: waitHeight},
	{name: "altitude", what: "height above mean sea level", dim: length, ways: [2]string{"up", "down"}, top: 10000, wire: "altitude",
		get: func(r *wire.Reading) (float64, bool) {
			p, ok := r.Position.Value()
			n, has := r.Undulation.Value()
			return p.Height - n, ok && has
		},
		wait: waitAltitude},
	plain("undulation", "mean sea level above the ellipsoid", length, "up", "down", straight, 150, func(r *wire.Reading) *opt.Opt[float64] { return &r.Undulation }),
	plain("magnetic-variation", "magnetic variation", angle, "east", "west", halves, math.Pi, func(r *wire.Reading) *opt.Opt[float64] { return &r.Variation }),

	plain("speed", "speed over ground", speed, "", "", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.SpeedMS }),
	bearing(plain("course", "course over ground", angle, "clockwise", "anticlockwise", whole, 2*math.Pi, func(r *wire.Reading) *opt.Opt[float64] { return &r.CourseRad })),
	flat("velocity-east", "velocity over ground to the east", "east", "west", ground, 0),
	flat("velocity-north", "velocity over ground to the north", "north", "south", ground, 1),
	plain("velocity-up", "velocity upwards", speed, "up", "down", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.VelocityUp }),
	flat("water-speed-forward", "speed through water ahead", "forward", "aft", water, 0),
	flat("water-speed-starboard", "speed through water to starboard", "starboard", "port", water, 1),

	bearing(plain("heading", "heading as heading messages carry it", angle, "clockwise", "anticlockwise", whole, 2*math.Pi, func(r *wire.Reading) *opt.Opt[float64] { return &r.Heading })),
	bearing(plain("yaw", "heading of the attitude", angle, "clockwise", "anticlockwise", whole, 2*math.Pi, func(r *wire.Reading) *opt.Opt[float64] { return &r.Yaw })),
	plain("pitch", "pitch", angle, "bow-up", "bow-down", straight, math.Pi/2, func(r *wire.Reading) *opt.Opt[float64] { return &r.Pitch }),
	plain("roll", "roll", angle, "starboard-down", "port-down", halves, math.Pi, func(r *wire.Reading) *opt.Opt[float64] { return &r.Roll }),
	{name: "inclination-right", what: "how far the right axis points below the horizontal, which is not the roll", dim: angle,
		ways: [2]string{"starboard-down", "port-down"}, top: math.Pi / 2, wire: "inclination-right",
		get: func(r *wire.Reading) (float64, bool) {
			p, ok := r.Pitch.Value()
			q, has := r.Roll.Value()
			return math.Asin(math.Cos(p) * math.Sin(q)), ok && has
		},
		wait: waitInclination},
	plain("rate-of-turn", "rate of turn", rate, "starboard", "port", straight, 10, func(r *wire.Reading) *opt.Opt[float64] { return &r.RateOfTurn }),
	plain("heading-sigma", "standard deviation of the heading", angle, "", "", straight, math.Pi, func(r *wire.Reading) *opt.Opt[float64] { return &r.HeadingSigma }),

	plain("heave", "heave", length, "up", "down", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.HeaveM }),
	plain("surge", "surge", length, "forward", "aft", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.SurgeM }),
	plain("sway", "sway", length, "starboard", "port", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.SwayM }),

	along("rate-about-right", "angular rate about the axis to the right, bow up", rate, "bow-up", "bow-down", 10, rates, x),
	along("rate-about-forward", "angular rate about the axis ahead, starboard down", rate, "starboard-down", "port-down", 10, rates, y),
	along("rate-about-up", "angular rate about the axis upwards, to port", rate, "port", "starboard", 10, rates, z),
	along("force-right", "specific force to the right", acceleration, "right", "left", 100, force, x),
	along("force-forward", "specific force ahead", acceleration, "forward", "aft", 100, force, y),
	along("force-up", "specific force upwards; g at rest", acceleration, "up", "down", 100, force, z),

	along("sigma-east", "standard deviation of the position to the east", length, "", "", 1000, sigma, x),
	along("sigma-north", "standard deviation of the position to the north", length, "", "", 1000, sigma, y),
	along("sigma-up", "standard deviation of the height", length, "", "", 1000, sigma, z),
	plain("hdop", "horizontal dilution of precision", pure, "", "", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.HDOP }),
	plain("vdop", "vertical dilution of precision", pure, "", "", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.VDOP }),
	plain("pdop", "dilution of precision of the position", pure, "", "", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.PDOP }),
	plain("tdop", "dilution of precision of the time", pure, "", "", straight, 100, func(r *wire.Reading) *opt.Opt[float64] { return &r.TDOP }),
	number("satellites", "satellites used", func(r *wire.Reading) *opt.Opt[int] { return &r.Satellites }),
	plain("correction-age", "age of the corrections", duration, "", "", straight, 1000, func(r *wire.Reading) *opt.Opt[float64] { return &r.DiffAge }),
	number("correction-station", "number of the station that the corrections are from", func(r *wire.Reading) *opt.Opt[int] { return &r.DiffStation }),
	{name: "running-time", what: "time since the device was switched on", dim: duration, top: 1e6, wire: "running-time",
		get: func(r *wire.Reading) (float64, bool) { return r.T, true },
		set: func(r *wire.Reading, v float64, ok bool) {
			if ok {
				r.T = v
			}
		}},
}

func bearing(q quantity) quantity { q.north = true; return q }

// magneticOf makes the row of a direction from magnetic north.
func magneticOf(q quantity) quantity {
	get, set := q.get, q.set
	q.name, q.what = "magnetic-"+q.name, q.what+", from magnetic north"
	q.wire = wire.Quantity(q.name)
	q.get = func(r *wire.Reading) (float64, bool) {
		v, ok := get(r)
		m, has := magnetic(r)
		return v - m, ok && has
	}
	q.set = func(r *wire.Reading, v float64, ok bool) {
		m, has := magnetic(r)
		v += m
		if v -= 2 * math.Pi * math.Floor(v/(2*math.Pi)); v >= 2*math.Pi {
			v = 0
		}
		set(r, v, ok && has)
	}
	return q
}

func findQuantity(name string) *quantity {
	for i := range quantities {
		if quantities[i].name == name {
			return &quantities[i]
		}
		if quantities[i].north && "magnetic-"+quantities[i].name == name {
			q := magneticOf(quantities[i])
			return &q
		}
	}
	return nil
}

// quantityNames lists all that a field may carry.
func quantityNames() (all []string) {
	for _, q := range quantities {
		all = append(all, q.name)
		if q.north {
			all = append(all, "magnetic-"+q.name)
		}
	}
	for _, q := range times {
		all = append(all, q.name)
	}
	for _, q := range statuses {
		all = append(all, q.name)
	}
	return append(all, "count", "series")
}
