package track

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/geo"
	"swellbench/scenarios/strictyaml"
)

// A Path knows the mean position of the vessel reference point at scenario time t, in s. Same t, same answer, asked
// in any order; it allocates nothing and may be shared.
type Path interface{ At(t float64) PathState }

// A PathState is the mean path at one instant.
//
// At a pole, where north has no direction, Heading and its derivatives are of the meridian that the position names;
// all else goes through a pole smoothly. Rate and RateDot belong to the level frame that turns with the heading (x to
// starboard, y along the heading, z up).
type PathState struct {
	Position     geo.Position // of the vessel reference point at rest
	Velocity     r3.Vec       // over the ground, east north up, m/s
	Acceleration r3.Vec       // derivative of the velocity over the ground, resolved east north up, m/s²
	Heading      float64      // true, rad, 0 ≤ x < 2π
	HeadingRate  float64      // rad/s, positive to starboard
	HeadingAccel float64      // rad/s²
	Rate         r3.Vec       // angular rate of the level frame over the Earth, along starboard, heading, up, rad/s
	RateDot      r3.Vec       // its derivative along the same axes, rad/s²
}

// New makes the path of a section. It is an error where [Spec.Validate] finds any.
func New(s Spec) (Path, error) {
	v := s.plan()
	if len(v.problems) > 0 {
		return nil, asError(v.problems)
	}
	if v.path != nil {
		return v.path, nil
	}
	start := geo.Position{Lat: float64(s.Position.Latitude), Lon: float64(s.Position.Longitude)}
	height := float64(s.Position.Height)
	course, crab := s.courseAndCrab()
	speed := float64(s.Speed)
	switch rate := s.turnRate(); {
	case speed == 0:
		return &path{plan: planAt(start), height: height, curve: spot{heading: course + crab, rate: rate}}, nil
	case rate == 0:
		return &segments{height, []segment{newSegment(0, start, line{course: course, speed: speed, crab: crab})}}, nil
	default:
		// The anchor is the middle of the circle, a quarter turn to the side to which the vessel turns.
		side := math.Copysign(math.Pi/2, rate)
		radius := speed / math.Abs(rate)
		g := geo.DirectScaled(start, course+side, radius)
		return &path{plan: planAt(g.Position), height: height, curve: circle{
			radius:  radius,
			bearing: g.Azimuth + math.Pi,
			rate:    math.Copysign(speed/g.ReducedLength, rate),
			side:    side,
			crab:    crab,
		}}, nil
	}
}

// Timetable lists the stages of a track with manoeuvres, in order of time, without a gap; none for one without. It is
// an error where [Spec.Validate] finds any.
func Timetable(s Spec) ([]Stage, error) {
	v := s.plan()
	return v.stages, asError(v.problems)
}

// asError joins problems to an error, nil where there are none.
func asError(ps []strictyaml.Problem) error {
	var errs []error
	for _, p := range ps {
		errs = append(errs, errors.New("track: "+p.Path+": "+p.Text))
	}
	return errors.Join(errs...)
}

// path is a curve in a plan, at a constant height.
type path struct {
	plan   plan
	height float64
	curve  curve
}

// At implements [Path].
func (p *path) At(t float64) PathState {
	c := p.curve.at(t)
	s := p.plan.surface(&c)
	return s.atHeight(p.height)
}
