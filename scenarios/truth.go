package scenarios

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// A Truth knows what the vessel really does at scenario time t, in s. Same t, same answer, asked in any order.
type Truth interface{ At(t float64) State }

// A State is the noise-free state of the vessel at one instant. All of it is of the vessel reference point;
// [State.Point] carries it to any other. Axes and signs are those of package frame.
type State struct {
	T            float64        // scenario time, s
	Position     geo.Position   // geodetic, rad and m above the ellipsoid
	Velocity     r3.Vec         // over the ground, east north up, m/s
	Acceleration r3.Vec         // of the velocity over the ground, resolved east north up, m/s²
	Attitude     frame.Attitude // vessel to east north up, rad
	Rate         r3.Vec         // angular rate relative to the local level frame, about right, forward, up, rad/s
	RateDot      r3.Vec         // its derivative along the same axes, rad/s²
	HeaveM       float64        // height above the mean path, m, positive up
	SurgeM       float64        // along the mean heading, m, positive forward
	SwayM        float64        // across the mean heading, m, positive to starboard
}

// A PointState is what one point of the vessel does at one instant.
type PointState struct {
	Position     geo.Position // geodetic, rad and m above the ellipsoid
	Velocity     r3.Vec       // over the ground, east north up at the point, m/s
	Acceleration r3.Vec       // of the velocity over the ground, resolved east north up at the point, m/s²
	HeaveM       float64      // m, positive up
}

// Point carries the state to the point l, in m right, forward, up from the vessel reference point.
//
// The position goes through Earth-centred coordinates and is exact anywhere on Earth. Velocity and acceleration are
// those of that very position: the angular rate is taken over the Earth, with the turning of the local level frame as
// the vessel moves along (1 µm/s for 10 m at 5 m/s, more towards the poles). Source: Groves, Principles of GNSS,
// Inertial and Multisensor Integrated Navigation Systems, 2nd ed. 2013, ch. 2 (v = v + C(ω×l),
// a = a + C(α×l + ω×(ω×l))).
func (s State) Point(l r3.Vec) PointState {
	if l == (r3.Vec{}) {
		return s.reference()
	}
	b := s.Body()
	return b.Point(l)
}

// reference is the state of the vessel reference point itself.
func (s *State) reference() PointState {
	return PointState{Position: s.Position, Velocity: s.Velocity, Acceleration: s.Acceleration, HeaveM: s.HeaveM}
}

// A Body is a state with what all its points share worked out, for who asks for several of them. It is a value, free to
// copy and share; [State.Body] makes one.
type Body struct {
	State
	turned    frame.Rotation
	rate, dot r3.Vec // over the Earth, along right, forward, up
	level     geo.Local
}

// Body works out what all points of the vessel share.
func (s State) Body() Body {
	b := Body{State: s, turned: s.Attitude.Rotation(), level: geo.LocalAt(s.Position)}
	b.rate, b.dot = s.overEarth(b.turned)
	return b
}

// BodyAt is the body of a truth at scenario time t.
func BodyAt(truth Truth, t float64) Body {
	if v, ok := truth.(*vessel); ok { // which has most of it on the way to the state
		return v.body(t, true)
	}
	return truth.At(t).Body()
}

// MotionAt is [BodyAt] for who asks for no acceleration, nor for the derivative of the angular rate: they may be left
// out.
func MotionAt(truth Truth, t float64) Body {
	if v, ok := truth.(*vessel); ok {
		return v.body(t, false)
	}
	return truth.At(t).Body()
}

// Rotation is that of the attitude.
func (b *Body) Rotation() frame.Rotation { return b.turned }

// Point is [State.Point].
func (b *Body) Point(l r3.Vec) PointState {
	if l == (r3.Vec{}) {
		return b.reference()
	}
	to, at := b.level.Move(b.turned.Apply(l))
	return PointState{
		Position:     at,
		Velocity:     to.FromECEF(b.level.ToECEF(frame.PointVelocity(b.Velocity, b.turned, b.rate, l))),
		Acceleration: to.FromECEF(b.level.ToECEF(frame.PointAcceleration(b.Acceleration, b.turned, b.rate, b.dot, l))),
		HeaveM:       b.HeaveM + frame.InducedHeaveM(b.Attitude, l),
	}
}

// Place is position and velocity of [Body.Point] alone, which costs half, with the local level frame there.
func (b *Body) Place(l r3.Vec) (geo.Local, geo.Position, r3.Vec) {
	if l == (r3.Vec{}) {
		return b.level, b.Position, b.Velocity
	}
	to, at := b.level.Move(b.turned.Apply(l))
	return to, at, to.FromECEF(b.level.ToECEF(frame.PointVelocity(b.Velocity, b.turned, b.rate, l)))
}

// EulerRates returns the rates of heading, pitch and roll, rad/s. The heading rate is the vessel's rate of turn.
func (s State) EulerRates() frame.Rates { return frame.EulerRates(s.Attitude, s.Rate) }

// RateOverEarth returns the angular rate of the vessel relative to the Earth and its derivative, along right, forward,
// up, in rad/s and rad/s². Less the rate of the Earth itself it is what gyros sense.
func (s State) RateOverEarth() (rate, dot r3.Vec) { return s.overEarth(s.Attitude.Rotation()) }

func (s State) overEarth(c frame.Rotation) (rate, dot r3.Vec) {
	level, levelDot := levelRate(s.Position, s.Velocity, s.Acceleration)
	back := c.Inverse()
	level, levelDot = back.Apply(level), back.Apply(levelDot)
	return r3.Add(s.Rate, level), r3.Add(s.RateDot, r3.Sub(levelDot, r3.Cross(s.Rate, level)))
}

// fromOverEarth sets Rate and RateDot of a state that has all else. It undoes overEarth.
func (s *State) fromOverEarth(c frame.Rotation, rate, dot r3.Vec) {
	level, levelDot := levelRate(s.Position, s.Velocity, s.Acceleration)
	back := c.Inverse()
	level, levelDot = back.Apply(level), back.Apply(levelDot)
	s.Rate = r3.Sub(rate, level)
	s.RateDot = r3.Add(r3.Sub(dot, levelDot), r3.Cross(s.Rate, level))
}

// poleCos keeps the turning of the local level frame finite at a pole: it stands for 6 µm from it.
const poleCos = 1e-12

// levelRate returns the angular rate of the local level frame at p over the Earth and its derivative component by
// component, east, north, up, in rad/s and rad/s², where velocity and acceleration over the ground are v and a.
//
// Source: transport rate (−vN/(M+h), vE/(N+h), vE·tan L/(N+h)), Groves 2013, ch. 5, differentiated; dM/dL = 3M·f and
// dN/dL = N·f with f = e²·sin L·cos L/(1 − e²·sin² L).
func levelRate(p geo.Position, v, a r3.Vec) (rate, dot r3.Vec) {
	sin, cos := math.Sincos(p.Lat)
	tan := sin / max(cos, poleCos)
	m, n := geo.Radii(sin)
	f := geo.EccentricitySquared * sin * cos / (1 - geo.EccentricitySquared*sin*sin)

	pe, qn := v.X/(n+p.Height), v.Y/(m+p.Height)
	rate = r3.Vec{X: -qn, Y: pe, Z: pe * tan}
	a = r3.Sub(a, r3.Cross(rate, v)) // the derivative of the components of v
	peDot := (a.X - pe*(n*f*qn+v.Z)) / (n + p.Height)
	qnDot := (a.Y - qn*(3*m*f*qn+v.Z)) / (m + p.Height)
	return rate, r3.Vec{X: -qnDot, Y: peDot, Z: peDot*tan + pe*qn*(1+tan*tan)}
}
