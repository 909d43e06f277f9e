package scenarios

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/sea"
	"swellbench/scenarios/track"
)

// newVessel puts the vessel on its track and into its motion. It is an error where the scenario is not valid.
func newVessel(s *Scenario) (Truth, error) {
	path, err := track.New(s.Track)
	if err != nil {
		return nil, err
	}
	motion, err := sea.New(s.Motion)
	if err != nil {
		return nil, err
	}
	if s.hasSea() {
		waves, err := newInWaves(s, path)
		if err != nil {
			return nil, err
		}
		motion = both{motion, waves}
	}
	v := &vessel{path: path, motion: motion}
	if about := s.Motion.About; about != "" {
		l, ok := s.Installation.Point(about)
		if !ok {
			return nil, fmt.Errorf("motion: about: %q is no point of the installation", about)
		}
		v.about = l
	}
	return v, nil
}

// vessel composes the mean path and the motion about it.
//
// The motion lives in the level frame T of the path (x to starboard of the track heading, y along it, z up): yaw,
// pitch and roll turn the vessel against T by C, and the point P at the lever arm l does exactly the sway, the surge
// and the heave s = (sway, surge, heave). With the vessel level and on its path P is at l, so the vessel reference
// point is displaced by
//
//	d = s + l − C·l
//
// and everything else follows by differentiation, with Ω the rate of T over the Earth (package track):
//
//	velocity      path + ḋ + Ω×d
//	acceleration  path + d̈ + 2Ω×ḋ + Ω̇×d + Ω×(Ω×d)
//	rate          Cᵀ·Ω + ω, in vessel axes over the Earth; ω is that of yaw, pitch and roll
//
// In the end all is turned from the level frame of the path's point into that of the displaced reference point: they
// differ by d/R, which is nothing here and much at a pole.
type vessel struct {
	path   track.Path
	motion sea.Motion
	about  r3.Vec // the lever arm of P, m right, forward, up
}

// At implements [Truth]. It allocates nothing.
func (v *vessel) At(t float64) State {
	b := v.body(t, true)
	return b.State
}

// body is the body at t; not forced: without accelerations and the derivative of the angular rate.
func (v *vessel) body(t float64, forced bool) (b Body) {
	p, m := v.path.At(t), v.motion.At(t)

	angles := frame.Attitude{Heading: m.Yaw.Value, Pitch: m.Pitch.Value, Roll: m.Roll.Value}
	rates := frame.Rates{Heading: m.Yaw.Rate, Pitch: m.Pitch.Rate, Roll: m.Roll.Rate}
	c := angles.Rotation()
	w := frame.BodyRate(angles, rates)

	l := v.about
	d := r3.Add(r3.Vec{X: m.Sway.Value, Y: m.Surge.Value, Z: m.Heave.Value}, r3.Sub(l, c.Apply(l)))
	dd := r3.Sub(r3.Vec{X: m.Sway.Rate, Y: m.Surge.Rate, Z: m.Heave.Rate}, frame.PointVelocity(r3.Vec{}, c, w, l))

	// From T, which turns, to its own axes at this instant.
	vel := r3.Add(dd, r3.Cross(p.Rate, d))
	level := c.Inverse().Apply(p.Rate)
	rate := r3.Add(level, w)
	var acc, dot r3.Vec
	if forced {
		accels := frame.Rates{Heading: m.Yaw.Accel, Pitch: m.Pitch.Accel, Roll: m.Roll.Accel}
		alpha := frame.BodyAcceleration(angles, rates, accels)
		ddd := r3.Sub(r3.Vec{X: m.Sway.Accel, Y: m.Surge.Accel, Z: m.Heave.Accel}, frame.PointAcceleration(r3.Vec{}, c, w, alpha, l))
		acc = r3.Add(ddd, r3.Add(r3.Scale(2, r3.Cross(p.Rate, dd)),
			r3.Add(r3.Cross(p.RateDot, d), r3.Cross(p.Rate, r3.Cross(p.Rate, d)))))
		dot = r3.Add(r3.Sub(c.Inverse().Apply(p.RateDot), r3.Cross(w, level)), alpha)
	}

	// From T to the level frame of the path's point, and from there to that of the reference point.
	heading := frame.Attitude{Heading: p.Heading}.Rotation()
	s := &b.State
	*s = State{
		T:        t,
		Position: p.Position,
		Velocity: r3.Add(p.Velocity, heading.Apply(vel)),
		Attitude: frame.Attitude{Heading: p.Heading + angles.Heading, Pitch: angles.Pitch, Roll: angles.Roll}.Canonical(),
		HeaveM:   d.Z,
		SurgeM:   d.Y,
		SwayM:    d.X,
	}
	if forced {
		s.Acceleration = r3.Add(p.Acceleration, heading.Apply(acc))
	}
	c = heading.Mul(c)
	switch {
	case d.X != 0 || d.Y != 0:
		from := geo.LocalAt(p.Position)
		b.level, s.Position = from.Move(heading.Apply(d))
		s.Velocity = b.level.FromECEF(from.ToECEF(s.Velocity))
		s.Acceleration = b.level.FromECEF(from.ToECEF(s.Acceleration))
		c = b.level.Rotation().Inverse().Mul(from.Rotation()).Mul(c)
		s.Attitude = c.Attitude()
	default:
		s.Position.Height += d.Z
		b.level = geo.LocalAt(s.Position)
	}
	b.turned, b.rate, b.dot = c, rate, dot
	s.fromOverEarth(c, rate, dot)
	if !forced {
		s.RateDot = r3.Vec{}
	}
	return b
}
