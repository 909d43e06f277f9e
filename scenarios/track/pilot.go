package track

import (
	"errors"
	"fmt"
	"math"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// A Stage is a part of a track made of manoeuvres.
type Stage struct {
	Name        string  // such as "line 2 of 5"
	Path        string  // of the manoeuvre in the section, such as "manoeuvres[3].lines"
	From, Until float64 // scenario time, s; the last, in which the vessel goes on as it was, ends at +Inf
}

// A goal is a manoeuvre, or one way-point of a route.
type goal struct {
	path   string     // for errors, such as manoeuvres[2].run
	name   string     // such as "run", or of a way-point "way-point survey.csv:3"
	m      *Manoeuvre // nil for a way-point of a route
	to     *geo.Position
	first  bool // the first way-point of a route, which may be where the vessel is
	speed  *units.Speed
	radius *units.Length
}

// rests tells whether the vessel lies still in it.
func (g *goal) rests() bool { return g.m != nil && (g.m.Hold != nil || g.m.Keep != nil) }

// hereM is how near the first way-point of a route may be to count as the place where the vessel is, m.
const hereM = 1.0

// A pilot takes a helm through goals.
type pilot struct {
	*helm
	goals    []goal
	stages   []Stage
	warnings []strictyaml.Problem
	last     float64 // the vessel's own speed when it last moved, m/s; 0 where it never did
	free     bool    // the heading is open: it stands, and nothing says where the bow points
}

// A voyage is what comes of a section with manoeuvres or drift; without a path where there are problems.
type voyage struct {
	path     *segments
	stages   []Stage
	warnings []strictyaml.Problem
	problems []strictyaml.Problem
}

// refusal is why a manoeuvre cannot be done.
type refusal strictyaml.Problem

func (r *refusal) Error() string { return r.Path + ": " + r.Text }

func (g *goal) refuse(key, format string, args ...any) error {
	r := refusal(g.problem(key, format, args...))
	return &r
}

// problem gives a text its place: the key of the manoeuvre, or the way-point of the route.
func (g *goal) problem(key, format string, args ...any) strictyaml.Problem {
	path := g.path
	if key != "" && g.m != nil {
		path += "." + key
	}
	text := fmt.Sprintf(format, args...)
	if g.m == nil {
		text = g.name + ": " + text
	}
	return strictyaml.Problem{Path: path, Text: text}
}

// goalsOf lays out the manoeuvres.
func goalsOf(ms []Manoeuvre) (gs []goal) {
	for i := range ms {
		m := &ms[i]
		name, _ := m.kind()
		g := goal{path: fmt.Sprintf("manoeuvres[%d].%s", i, name), name: name, m: m}
		switch {
		case m.Route != nil:
			for k, p := range m.Route.points {
				to := geo.Position{Lat: p.lat, Lon: p.lon}
				speed := p.speed
				if speed == nil {
					speed = m.Route.Speed
				}
				gs = append(gs, goal{path: g.path, name: "way-point " + p.where, to: &to, first: k == 0, speed: speed, radius: m.Route.Radius})
			}
			continue
		case m.Run != nil:
			g.speed, g.radius = m.Run.Speed, m.Run.Radius
			if to := m.Run.To; to != nil {
				g.to = &geo.Position{Lat: float64(to.Latitude), Lon: float64(to.Longitude)}
			}
		case m.Lines != nil:
			g.speed, g.radius = m.Lines.Speed, m.Lines.Radius
		case m.Calibration != nil:
			g.speed, g.radius = m.Calibration.Speed, m.Calibration.Radius
		case m.Eight != nil:
			g.speed, g.radius = m.Eight.Speed, &m.Eight.Radius
		}
		gs = append(gs, g)
	}
	return gs
}

// sail goes through a section that has nothing wrong as far as can be seen without sailing it.
func sail(s Spec) voyage {
	p := &pilot{helm: &helm{
		at:       geo.Position{Lat: float64(s.Position.Latitude), Lon: float64(s.Position.Longitude)},
		own:      float64(s.Speed),
		drift:    newDrift(s.Current, s.WindDrift),
		handling: s.Handling.handling(),
	}, goals: goalsOf(s.Manoeuvres), last: float64(s.Speed)}
	err := p.sail(s)
	if err == nil {
		p.done()
		return voyage{path: &segments{float64(s.Position.Height), p.segments}, stages: p.stages, warnings: p.warnings}
	}
	if r := (*refusal)(nil); errors.As(err, &r) {
		return voyage{problems: []strictyaml.Problem{strictyaml.Problem(*r)}}
	}
	return voyage{problems: []strictyaml.Problem{{Path: "manoeuvres", Text: err.Error()}}}
}

func (p *pilot) sail(s Spec) error {
	if err := p.begin(s); err != nil {
		return err
	}
	for i := range p.goals {
		g := &p.goals[i]
		if err := p.do(i, g); errors.Is(err, errTooLong) {
			return g.refuse("", "%v", err)
		} else if err != nil {
			return err
		}
	}
	p.stage("as it was", "")
	return p.steady(0)
}

// begin sets the state at scenario time 0 and adds what was before it.
func (p *pilot) begin(s Spec) error {
	if p.own != 0 && p.drift.ms > maxDriftRatio*p.own {
		return &refusal{"speed", p.tooSlow(p.own)}
	}
	switch {
	case p.own == 0 && s.Heading != nil:
		p.heading = float64(*s.Heading)
		p.course = p.heading
	case p.own == 0:
		p.free = true
	case s.Course != nil:
		p.course = float64(*s.Course)
	default:
		p.course = p.drift.courseOf(p.own, float64(*s.Heading))
	}
	return p.steady(0)
}

func (p *pilot) tooSlow(own float64) string {
	return fmt.Sprintf("speed is %v, too slow for current and wind drift of together %.4g m/s; allowed: at least %.4g m/s",
		units.Speed(own), p.drift.ms, math.Ceil(p.drift.ms/maxDriftRatio*1000)/1000)
}

// stage begins a stage.
func (p *pilot) stage(name, path string) {
	p.done()
	p.stages = append(p.stages, Stage{Name: name, Path: path, From: p.now, Until: math.Inf(1)})
}

// done ends the stage before, and leaves it out where it took no time.
func (p *pilot) done() {
	if n := len(p.stages); n > 0 && math.IsInf(p.stages[n-1].Until, 1) && p.stages[n-1].Path != "" {
		p.stages[n-1].Until = p.now
		if p.stages[n-1].From == p.now {
			p.stages = p.stages[:n-1]
		}
	}
}

// ordered is the own speed that a goal asks for.
func (p *pilot) ordered(g *goal) (float64, error) {
	own := p.own
	if own == 0 {
		own = p.last
	}
	if g.speed != nil {
		own = float64(*g.speed)
	}
	if own == 0 {
		return 0, g.refuse("", "%s has no speed and the vessel has none yet; add a speed, such as speed: 6 kn", g.name)
	}
	if p.drift.ms > maxDriftRatio*own {
		return 0, g.refuse("speed", "%s", p.tooSlow(own))
	}
	p.last = own
	return own, nil
}

// radiusOf is that of the goal's turns.
func (p *pilot) radiusOf(g *goal) float64 {
	return float64(or(g.radius, units.Length(p.handling.radius)))
}

// unusualMS2 is an acceleration across the keel that no displacement vessel reaches in a turn; common practice, no source.
const unusualMS2 = 2.0

// tooTight refuses turns of a radius that the vessel would run too fast at its present speed.
func (p *pilot) tooTight(g *goal, radius float64) error {
	own := p.own
	if a := own * own / radius; a > unusualMS2 {
		w := g.problem("", "a turn of radius %.4g m at %v accelerates the vessel by up to %.3g m/s2 sideways, more than %g m/s2, which is unusual; a wider or slower turn would be more like a vessel",
			radius, units.Speed(own), a, unusualMS2)
		if n := len(p.warnings); n == 0 || p.warnings[n-1] != w {
			p.warnings = append(p.warnings, w)
		}
	}
	if rate := (own + p.drift.ms) / radius; !(rate <= float64(maxRate)) {
		return g.refuse("", "a radius of %.4g m at %v turns by %.4g deg/s; allowed: at most %v", radius, units.Speed(own), frame.Deg(rate), maxRate.In("deg/s"))
	}
	return nil
}

// depart gets a vessel at rest under way on the course.
func (p *pilot) depart(course, own float64) error {
	p.course = course
	_, crab := p.over(own)
	if p.free { // where nothing has happened yet, the bow points there from the beginning
		p.free = false
		if len(p.segments) == 1 && p.now == 0 {
			p.segments = p.segments[:0]
			p.heading = course + crab
			if err := p.steady(0); err != nil {
				return err
			}
		}
	}
	if err := p.swing(frame.AngleDiff(course+crab, p.heading), p.handling.spotRate); err != nil {
		return err
	}
	p.course = course
	return p.ramp(own)
}

// stop brings the vessel to rest straight ahead.
func (p *pilot) stop() error { return p.ramp(0) }

// stopLength is the way that it takes, m.
func (p *pilot) stopLength() float64 {
	speed, _ := p.over(p.own)
	return p.rampLength(speed, 0)
}

// setOff turns to the course, or from rest swings to it, and takes up the goal's speed. Where there is no course it is
// the present one, or where the bow points.
func (p *pilot) setOff(g *goal, course *units.Angle) error {
	own, err := p.ordered(g)
	if err != nil {
		return err
	}
	switch {
	case p.own == 0 && course == nil:
		return p.depart(p.drift.courseOf(own, p.heading), own)
	case p.own == 0:
		return p.depart(float64(*course), own)
	case course != nil:
		radius := p.radiusOf(g)
		if err := p.tooTight(g, radius); err != nil {
			return err
		}
		if err := p.steer(float64(*course), "", radius); err != nil {
			return err
		}
	}
	return p.ramp(own)
}

// steer turns until the course is the one given, true at the end of the turn, to the side given.
func (p *pilot) steer(course float64, side Direction, radius float64) error {
	turn := frame.AngleDiff(course, p.course)
	switch {
	case side == Starboard && turn < 0:
		turn += 2 * math.Pi
	case side == Port && turn > 0:
		turn -= 2 * math.Pi
	}
	if math.Abs(turn) < aimTol || 2*math.Pi-math.Abs(turn) < aimTol { // on it, but for rounding
		return nil
	}
	for range 3 { // north turns a little meanwhile
		m := p.mark()
		if err := p.turn(p.bend(turn, radius)); err != nil {
			return err
		}
		miss := frame.AngleDiff(course, p.course)
		if math.Abs(miss) < 1e-12 || math.Abs(miss) > 0.5 { // or a pole is near, and no course lasts
			return nil
		}
		p.back(m)
		turn += miss
	}
	return p.turn(p.bend(turn, radius))
}
