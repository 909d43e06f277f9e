package track

import (
	"math"

	"swellbench/scenarios/units"
)

// A Manoeuvre is one entry of the list `manoeuvres:`: exactly one of its fields is set. They follow one another without
// a break; the vessel steers as [Handling] says. To add one: a type here, a check in check.go, what to do in pilot.go.
type Manoeuvre struct {
	Hold        *Hold        `yaml:"hold" doc:"lie still, as alongside a quay; a vessel that moves loses its way first"`
	Run         *Run         `yaml:"run" doc:"run straight, along a geodesic: to a way-point, over a distance or for a time"`
	Turn        *TurnTo      `yaml:"turn" doc:"turn, or swing on the spot where the vessel does not move"`
	Lines       *Lines       `yaml:"lines" doc:"survey lines side by side, run to and fro; the first begins where the vessel is"`
	Calibration *Calibration `yaml:"calibration" doc:"one line, run in opposite directions; it begins where the vessel is"`
	Eight       *Eight       `yaml:"eight" doc:"figure of eight, with its crossing where the vessel is; it ends there on the same course"`
	Keep        *Keep        `yaml:"keep" doc:"keep station: wander about the place, slowly, the bow on its heading; a vessel that moves loses its way first"`
	Route       *Route       `yaml:"route" doc:"run along the way-points of a file"`
}

// Hold lies still.
type Hold struct {
	For units.Duration `yaml:"for,required" doc:"how long the vessel lies still"`
}

// Run runs straight. One of To, Distance and For is set.
type Run struct {
	To       *WayPoint       `yaml:"to" doc:"way-point. Where the next manoeuvre runs to a way-point too, the corner between them is rounded on its inner side; where it lies still, the vessel comes to rest at the way-point"`
	Distance *units.Length   `yaml:"distance" doc:"along the ground, from the end of the turn where there is one"`
	For      *units.Duration `yaml:"for" doc:"time, from the end of the turn where there is one"`
	Course   *units.Angle    `yaml:"course" doc:"with distance or for: true course over ground, to which the vessel turns first. Default: as it goes, or where the bow points"`
	Speed    *units.Speed    `yaml:"speed" doc:"of the vessel itself: through the water where there is a drift, else over ground. Default: as before"`
	Radius   *units.Length   `yaml:"radius" doc:"least radius of the turn towards the way-point or the course. Default: turn-radius of the handling"`
}

// A WayPoint is a place to run to.
type WayPoint struct {
	Latitude  units.Angle `yaml:"latitude,required" doc:"geodetic, WGS 84, positive north, -90 deg to 90 deg"`
	Longitude units.Angle `yaml:"longitude,required" doc:"positive east, -180 deg to 180 deg"`
}

// TurnTo turns. One of By and To is set, and one at most of Radius and Rate.
type TurnTo struct {
	By        *units.Angle       `yaml:"by" doc:"change of course over ground, positive to starboard, at most ten rounds"`
	To        *units.Angle       `yaml:"to" doc:"true course over ground to turn to; the heading where the vessel does not move"`
	Direction Direction          `yaml:"direction" doc:"with to: to which side. Default: the shorter way"`
	Radius    *units.Length      `yaml:"radius" doc:"least radius, over the ground. Default: turn-radius of the handling"`
	Rate      *units.AngularRate `yaml:"rate" doc:"greatest rate of turn, instead of the radius, which is then the vessel's own speed over the rate; without way the default is swing-rate of the handling"`
}

// Lines are survey lines side by side.
type Lines struct {
	Count   int           `yaml:"count,required" doc:"how many"`
	Length  units.Length  `yaml:"length,required" doc:"of each"`
	Spacing units.Length  `yaml:"spacing,required" doc:"from one to the next"`
	Side    Direction     `yaml:"side" doc:"on which side of the first the others lie. Default: starboard"`
	RunIn   units.Length  `yaml:"run-in" doc:"straight way before and after each line. Default: 0 m"`
	Course  *units.Angle  `yaml:"course" doc:"true course over ground of the first; the vessel turns to it first. Default: as it goes, or where the bow points"`
	Speed   *units.Speed  `yaml:"speed" doc:"of the vessel itself, reached before the first line. Default: as before"`
	Radius  *units.Length `yaml:"radius" doc:"least radius of the turns. Default: turn-radius of the handling"`
}

// Calibration is one line run in opposite directions.
type Calibration struct {
	Length units.Length  `yaml:"length,required" doc:"of the line"`
	Pairs  *int          `yaml:"pairs" doc:"how often it is run there and back. Default: once"`
	Side   Direction     `yaml:"side" doc:"on which side of the line the vessel turns round, seen as it leaves it. Default: starboard"`
	RunIn  units.Length  `yaml:"run-in" doc:"straight way before and after the line. Default: 0 m"`
	Course *units.Angle  `yaml:"course" doc:"true course over ground of the first run; the vessel turns to it first. Default: as it goes, or where the bow points"`
	Speed  *units.Speed  `yaml:"speed" doc:"of the vessel itself, reached before the line. Default: as before"`
	Radius *units.Length `yaml:"radius" doc:"least radius of the turns. Default: turn-radius of the handling"`
}

// Eight is a figure of eight.
type Eight struct {
	Radius    units.Length `yaml:"radius,required" doc:"least radius of its two loops"`
	Rounds    *int         `yaml:"rounds" doc:"how often. Default: once"`
	Direction Direction    `yaml:"direction" doc:"side of the first loop. Default: starboard"`
	Speed     *units.Speed `yaml:"speed" doc:"of the vessel itself, reached before the figure. Default: as before"`
}

// Keep keeps station.
type Keep struct {
	For     units.Duration  `yaml:"for,required" doc:"how long, from when the bow is on its heading"`
	Radius  units.Length    `yaml:"radius" doc:"within which the vessel wanders. Default: 0 m"`
	Period  *units.Duration `yaml:"period" doc:"of the wander. Default: 60 s"`
	Heading *units.Angle    `yaml:"heading" doc:"true heading to which the vessel swings first. Default: as it is"`
}

// Route runs along the way-points of a file, each as [Run] does. The first may be where the vessel is, within a metre. One of CSV and GPX is set. [Spec.Resolve] reads it.
type Route struct {
	CSV    string        `yaml:"csv" doc:"file of way-points: a first row lat,lon or lat,lon,speed, then one way-point a row, in degrees, and a speed such as 6 kn or nothing"`
	GPX    string        `yaml:"gpx" doc:"file in GPX 1.1 with a route"`
	Name   string        `yaml:"name" doc:"which route of a GPX file, where it holds several"`
	Speed  *units.Speed  `yaml:"speed" doc:"of the vessel itself, where the file has none. Default: as before"`
	Radius *units.Length `yaml:"radius" doc:"least radius of the turns. Default: turn-radius of the handling"`

	points []routePoint // what Resolve read
	read   bool
}

// defaultPeriod is that of the wander while keeping station.
const defaultPeriod = units.Duration(60)

// Handling is how the vessel speeds up and turns in manoeuvres. The defaults are common practice for a launch, without
// a source.
type Handling struct {
	Acceleration *units.Acceleration `yaml:"acceleration" doc:"greatest change of speed over ground, 0.001 m/s2 to 10 m/s2. Default: 0.2 m/s2"`
	TurnIn       *units.Duration     `yaml:"turn-in" doc:"time in which a rate of turn builds up and dies away; no change of speed takes less. 0.1 s to 60 s. Default: 4 s"`
	TurnRadius   *units.Length       `yaml:"turn-radius" doc:"least radius of turns that do not say their own, 1 m to 10 km. Default: 50 m"`
	SwingRate    *units.AngularRate  `yaml:"swing-rate" doc:"greatest rate of turn without way, 0.001 deg/s to 90 deg/s. Default: 2 deg/s"`
}

// handling fills in the defaults.
func (h Handling) handling() handling {
	return handling{
		acceleration: float64(or(h.Acceleration, 0.2)),
		turnIn:       float64(or(h.TurnIn, 4)),
		radius:       float64(or(h.TurnRadius, 50)),
		spotRate:     float64(or(h.SwingRate, units.AngularRate(math.Pi/90))),
	}
}

// or is what p points to, or the default.
func or[T any](p *T, otherwise T) T {
	if p == nil {
		return otherwise
	}
	return *p
}

// A routePoint is a way-point of a file.
type routePoint struct {
	lat, lon float64      // rad
	speed    *units.Speed // nil: as the route says
	where    string       // such as survey.csv:3
}
