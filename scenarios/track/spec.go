package track

import (
	"fmt"
	"math"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// Limits of what a file may ask for.
const (
	maxSpeed  = units.Speed(100)                   // m/s; no vessel runs faster
	maxRate   = units.AngularRate(math.Pi / 2)     // rad/s
	minRadius = units.Length(0.1)                  // m
	maxRadius = units.Length(1e6)                  // m; a wider turn is a straight track for all purposes
	minHeight = units.Length(-1000)                // m, below any water's surface
	maxHeight = units.Length(10000)                // m, above any lake
	full      = units.Angle(2 * math.Pi)           // rad
	half      = units.Angle(math.Pi)               // rad
	quarter   = units.Angle(math.Pi / 2)           // rad
	slackRad  = units.Angle(1e-12 * math.Pi / 180) // rounding of an angle written in another unit
)

// A Spec is the `track:` section of a scenario file: the vessel stands, runs straight along a geodesic, or turns in
// a circle, at constant speed; or it goes through manoeuvres one after the other.
//
// With manoeuvres, heading, course and speed are the state at scenario time 0, from which they go on.
type Spec struct {
	Position Position `yaml:"position,required" doc:"where the vessel reference point is at scenario time 0, at rest"`
	// Heading is the true heading at scenario time 0. Where it is nil the bow points along the course.
	Heading *units.Angle `yaml:"heading" doc:"true heading at scenario time 0; needed when the vessel moves. Default: along the course"`
	Speed   units.Speed  `yaml:"speed" doc:"over the ground, or through the water where there is a current or wind drift; constant until a manoeuvre changes it. Default: at rest"`
	// Course is the true course over ground at scenario time 0. Where it is nil it is the heading.
	Course *units.Angle `yaml:"course" doc:"true course over ground at scenario time 0, where it differs from the heading (crab, which the vessel keeps). Default: the heading"`
	Turn   *Turn        `yaml:"turn" doc:"turn in a circle; default: run straight, along a geodesic"`
	// Manoeuvres follow one another; after the last the vessel goes on as it was.
	Manoeuvres []Manoeuvre `yaml:"manoeuvres" doc:"what the vessel does, one after the other; after the last it goes on as it was"`
	Handling   Handling    `yaml:"handling" doc:"how the vessel speeds up and turns in manoeuvres"`
	Current    *Drift      `yaml:"current" doc:"motion of the water. The vessel keeps its own speed and crabs, so that it makes good its course"`
	WindDrift  *Drift      `yaml:"wind-drift" doc:"motion through the water that the wind gives the vessel, taken up as that of a current"`
}

// A Position is where the track starts.
type Position struct {
	Latitude  units.Angle  `yaml:"latitude,required" doc:"geodetic, WGS 84, positive north, -90 deg to 90 deg"`
	Longitude units.Angle  `yaml:"longitude,required" doc:"positive east, -180 deg to 180 deg"`
	Height    units.Length `yaml:"height" doc:"above the ellipsoid, of the vessel reference point at rest"`
}

// A Turn is a turn at constant rate: either the rate, or the radius of the circle and the direction.
type Turn struct {
	Rate      units.AngularRate `yaml:"rate" doc:"over the ground, positive to starboard; also turns a vessel that does not move"`
	Radius    units.Length      `yaml:"radius" doc:"of the circle that the vessel reference point runs, instead of the rate"`
	Direction Direction         `yaml:"direction" doc:"with a radius: to which side"`
}

// Direction is the side to which a vessel turns.
type Direction string

// The directions.
const (
	Starboard Direction = "starboard"
	Port      Direction = "port"
)

// SchemaEnum lists the words.
func (Direction) SchemaEnum() []string { return []string{string(Starboard), string(Port)} }

// courseAndCrab gives the course at time 0 and the heading's lead on it, rad.
func (s Spec) courseAndCrab() (course, crab float64) {
	switch {
	case s.Course != nil && s.Heading != nil:
		return float64(*s.Course), float64(*s.Heading - *s.Course)
	case s.Course != nil:
		return float64(*s.Course), 0
	case s.Heading != nil:
		return float64(*s.Heading), 0
	}
	return 0, 0
}

// turnRate gives the rate of turn over the ground, rad/s, positive to starboard; 0 for a straight track.
func (s Spec) turnRate() float64 {
	switch {
	case s.Turn == nil:
		return 0
	case s.Turn.Rate != 0:
		return float64(s.Turn.Rate)
	case s.Turn.Direction == Port:
		return -float64(s.Speed) / float64(s.Turn.Radius)
	}
	return float64(s.Speed) / float64(s.Turn.Radius)
}

// Validate returns all that is wrong, with paths relative to the section. What only shows as the manoeuvres are gone
// through, such as way-points closer than the turn allows, it returns where nothing else is wrong, and the first only.
func (s Spec) Validate() []strictyaml.Problem { return s.plan().problems }

// Warnings returns what is possible but probably not meant, for a run of that length in scenario time; 0 is unknown. It
// returns nothing where [Spec.Validate] does.
func (s Spec) Warnings(run units.Duration) []strictyaml.Problem {
	v := s.plan()
	ps := v.warnings
	if n := len(v.stages); n > 1 && run > 0 && v.stages[n-1].From > float64(run) {
		ps = append(ps, strictyaml.Problem{Path: "manoeuvres", Text: fmt.Sprintf("the manoeuvres last until %.1f s, longer than the run, which ends at %v; make it longer, or leave some out", v.stages[n-1].From, run)})
	}
	if len(v.problems) == 0 && len(s.Manoeuvres) == 0 && s.Speed == 0 {
		for _, d := range []struct {
			key string
			*Drift
		}{{"current", s.Current}, {"wind-drift", s.WindDrift}} {
			if d.Drift != nil {
				ps = append(ps, strictyaml.Problem{Path: d.key, Text: d.key + " has no effect on a vessel that lies still; add a speed or manoeuvres, or remove it"})
			}
		}
	}
	return ps
}

// plan sails a section with manoeuvres or drift; nothing comes of one without.
func (s Spec) plan() voyage {
	if ps := s.check(); len(ps) > 0 {
		return voyage{problems: ps}
	}
	if len(s.Manoeuvres) == 0 && s.Current == nil && s.WindDrift == nil {
		return voyage{}
	}
	return sail(s)
}

// check returns all that is wrong with the values.
func (s Spec) check() []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	angle := func(path, name string, a *units.Angle, lo, hi units.Angle) {
		if a != nil && !(*a >= lo-slackRad && *a <= hi+slackRad) {
			add(path, "%s is %v; allowed: %v to %v", name, a.In("deg"), lo.In("deg"), hi.In("deg"))
		}
	}
	angle("position.latitude", "latitude", &s.Position.Latitude, -quarter, quarter)
	angle("position.longitude", "longitude", &s.Position.Longitude, -half, half)
	if !(s.Position.Height >= minHeight && s.Position.Height <= maxHeight) {
		add("position.height", "height is %v; allowed: %v to %v above the ellipsoid", s.Position.Height.In("m"), minHeight.In("m"), maxHeight.In("m"))
	}
	angle("heading", "heading", s.Heading, -half, full)
	angle("course", "course", s.Course, -half, full)
	switch {
	case s.Speed < 0:
		add("speed", "speed is %v; allowed: 0 kn or more, and a course opposite to the heading makes sternway", s.Speed)
	case !(s.Speed <= maxSpeed):
		add("speed", "speed is %v; allowed: at most %v", s.Speed, maxSpeed.In("m/s"))
	case s.Speed > 0 && s.Heading == nil && s.Course == nil:
		add("speed", "speed is %v but there is no heading; add one, such as heading: 42 deg", s.Speed)
	case s.Speed == 0 && s.Course != nil:
		add("course", "course is given but the speed is 0; add a speed, or give a heading instead")
	}
	s.checkTurn(add)
	ps = append(ps, s.checkManoeuvres()...)
	return ps
}

// checkTurn adds what is wrong with the turn.
func (s Spec) checkTurn(add func(path, format string, args ...any)) {
	if s.Turn == nil {
		return
	}
	t := *s.Turn
	switch {
	case t.Rate != 0 && t.Radius != 0:
		add("turn", "turn has both a rate and a radius; keep one of them")
		return
	case t.Rate == 0 && t.Radius == 0:
		add("turn", "turn has neither a rate nor a radius; give one, such as rate: 2 deg/s, or leave the turn out")
		return
	case t.Radius != 0:
		if !(t.Radius >= minRadius && t.Radius <= maxRadius) {
			add("turn.radius", "radius is %v; allowed: %v to %v", t.Radius, minRadius.In("m"), maxRadius.In("km"))
			return
		}
		if t.Direction != Starboard && t.Direction != Port {
			add("turn", "turn has a radius but no direction; add direction: starboard or direction: port")
		}
		if s.Speed == 0 {
			add("turn.radius", "radius is %v but the speed is 0; add a speed, or give a rate instead", t.Radius)
		}
	case t.Direction != "":
		add("turn.direction", "direction goes with a radius; the sign of the rate says the side, positive to starboard")
	case s.Speed > 0 && s.Speed <= maxSpeed && float64(s.Speed) > math.Abs(float64(t.Rate))*float64(maxRadius):
		add("turn.rate", "rate is %v, which at %v makes a circle wider than %v; allowed: a faster turn, or none", t.Rate, s.Speed, maxRadius.In("km"))
	}
	if rate := s.turnRate(); s.Speed >= 0 && s.Speed <= maxSpeed && !(math.Abs(rate) <= float64(maxRate)) {
		if t.Rate != 0 {
			add("turn.rate", "rate is %v; allowed: at most %v to either side", t.Rate.In("deg/s"), maxRate.In("deg/s"))
		} else {
			add("turn.radius", "a radius of %v at %v turns by %.4g deg/s; allowed: at most %v", t.Radius, s.Speed, math.Abs(rate)*180/math.Pi, maxRate.In("deg/s"))
		}
	}
}
