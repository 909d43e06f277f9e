package inertial

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// A Drift is what the device is off by, computed minus true, at one instant, and what it believes about that. It is zero
// as long as GNSS has always been there.
type Drift struct {
	Active      bool    // position, velocity, level and heading have nothing but the inertial sensor
	HeadingOnly bool    // the heading has nothing but the inertial sensor
	Recovering  bool    // GNSS is back, and more than 1 % of the drift is left
	SinceS      float64 // since the loss, or since GNSS came back, s
	// Share is what is left of the drift: 1 during an outage, fading to 0 once GNSS is back. What the receiver is off by
	// counts with the rest.
	Share float64

	PositionENU, VelocityENU r3.Vec  // m, m/s
	Heading, Pitch, Roll     float64 // rad, to first order; beyond some degrees take Turn
	Phi                      r3.Vec  // the same as a rotation vector east, north, up, rad

	Sigma        Sigma
	HeadingValid bool // the sigma of heading is within the limit
}

// A Sigma is the 1 sigma that the device has for its drift.
type Sigma struct {
	PositionENU, VelocityENU r3.Vec  // m, m/s
	PositionEN               float64 // covariance of east and north, m²
	Heading, Pitch, Roll     float64 // rad
}

// Ellipse returns the error ellipse of the horizontal position as GST has it: semi-axes at 1 sigma, in m, and the
// direction of the larger, in rad clockwise from north, 0 ≤ x < π. Source: eigenvalues of the covariance.
func (s Sigma) Ellipse() (major, minor, direction float64) {
	ee, nn := s.PositionENU.X*s.PositionENU.X, s.PositionENU.Y*s.PositionENU.Y
	mean, half := (ee+nn)/2, math.Hypot((nn-ee)/2, s.PositionEN)
	direction = math.Atan2(s.PositionEN, (nn-ee)/2) / 2
	if direction < 0 {
		direction += math.Pi
	}
	return math.Sqrt(mean + half), math.Sqrt(math.Max(0, mean-half)), direction
}

// Turn returns the attitude that the device reports for a true attitude, of the vessel or of its own axes, exactly: the
// rotation by Phi on top of it.
func (d Drift) Turn(a frame.Attitude) frame.Attitude {
	angle := r3.Norm(d.Phi)
	if angle == 0 {
		return a
	}
	sin, cos := math.Sincos(angle / 2)
	k := sin / angle
	phi := frame.FromQuat(quat.Number{Real: cos, Imag: k * d.Phi.X, Jmag: k * d.Phi.Y, Kmag: k * d.Phi.Z})
	return phi.Mul(a.Rotation()).Attitude()
}

// At returns the drift at scenario time t, in s.
func (n *Navigator) At(t float64) Drift { return n.AtState(t, n.truth(t)) }

// AtState is At for whoever knows the true state at t already; position and attitude of it are enough. The errors of angles
// are those of its attitude.
func (n *Navigator) AtState(t float64, s State) Drift {
	d := Drift{HeadingValid: true}
	i := sort.Search(len(n.phases), func(i int) bool { return !(n.phases[i].From <= t) }) - 1
	if i < 0 {
		return d
	}
	p := n.phases[i]
	var r raw
	if t < p.Until {
		r = p.at(t)
		d.Active, d.HeadingOnly, d.SinceS = !p.HeadingOnly, p.HeadingOnly, t-p.From
		if p.HeadingOnly && p.lastFull >= 0 {
			f := n.phases[p.lastFull]
			r = r.plus(f.end.only(true).fade(n.fading(t - f.Until)))
		}
	} else {
		d.SinceS = t - p.Until
		d.Recovering = n.fading(d.SinceS) > 0.01
		r = n.tail(i, t)
	}
	switch {
	case d.Active:
		d.Share = 1
	case !p.HeadingOnly:
		d.Share = n.fading(t - p.Until)
	case p.lastFull >= 0:
		d.Share = n.fading(t - n.phases[p.lastFull].Until)
	}
	k := metres(s.Position)
	d.PositionENU = r3.Vec{X: r.position.X * k.X, Y: r.position.Y * k.Y, Z: r.position.Z}
	d.VelocityENU, d.Phi = r.velocity, r.tilt
	cov := r.positionCov.scale(k)
	d.Sigma.PositionENU, d.Sigma.PositionEN = cov.roots(), cov.en
	d.Sigma.VelocityENU = r.velocityCov.roots()

	// A small rotation turns the angles as an angular rate changes them: [frame.EulerRates] of Cᵀ·φ. For the sigmas the
	// same, the other way: the row of each angle is what unit rotations do to it.
	back := s.Attitude.Rotation().Inverse()
	e := frame.EulerRates(s.Attitude, back.Apply(d.Phi))
	d.Heading, d.Pitch, d.Roll = e.Heading, e.Pitch, e.Roll
	x, y, z := frame.EulerRates(s.Attitude, back.Apply(r3.Vec{X: 1})), frame.EulerRates(s.Attitude, back.Apply(r3.Vec{Y: 1})), frame.EulerRates(s.Attitude, back.Apply(r3.Vec{Z: 1}))
	d.Sigma.Heading = r.tiltCov.along(r3.Vec{X: x.Heading, Y: y.Heading, Z: z.Heading})
	d.Sigma.Pitch = r.tiltCov.along(r3.Vec{X: x.Pitch, Y: y.Pitch, Z: z.Pitch})
	d.Sigma.Roll = r.tiltCov.along(r3.Vec{X: x.Roll, Y: y.Roll, Z: z.Roll})
	d.HeadingValid = d.Sigma.Heading <= n.limit
	return d
}

// roots returns the standard deviations.
func (s symmetric) roots() r3.Vec {
	return r3.Vec{X: math.Sqrt(math.Max(0, s.ee)), Y: math.Sqrt(math.Max(0, s.nn)), Z: math.Sqrt(math.Max(0, s.uu))}
}
