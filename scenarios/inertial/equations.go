package inertial

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// A State is the true state of the sensor at one instant, with axes and signs of package frame.
type State struct {
	Position     geo.Position
	Velocity     r3.Vec         // over the ground, east north up, m/s
	Acceleration r3.Vec         // of the velocity over the ground, resolved east north up, m/s²
	Attitude     frame.Attitude // of the axes that biases are along, to east north up
}

// The states of the error equations.
const (
	tiltE, tiltN, tiltU = 0, 1, 2    // φ, rad: computed attitude = (I + [φ×])·true attitude
	velE, velN, velU    = 3, 4, 5    // δv, m/s
	posE, posN, posU    = 6, 7, 8    // a·δλ, a·δL (a the semi-major axis), δh, m
	gyroR               = 9          // b_g along right, forward, up, rad/s
	accelR              = gyroR + 3  // b_a, m/s²
	states              = accelR + 3 // all
)

type vector [states]float64

// A matrix is the F of x' = F·x.
type matrix [states]vector

// equations returns F at the true state s. Where the height is held, nothing moves the states of up.
//
// Source: Groves 2013, ch. 14; Titterton & Weston 2004, ch. 12; Farrell 2008, ch. 11 (chapters from memory); errors are
// computed minus true, sensors read true plus bias:
//
//	φ'  = −ω_in×φ − δω_in + C·b_g
//	δv' = φ×f + C·b_a − (2ω_ie + ω_en)×δv − (2δω_ie + δω_en)×v + δg
//	δL' = δvN/(M+h) − vN·δh/(M+h)²
//	δλ' = (δvE + vE·tan L·δL − vE·δh/(N+h))/((N+h)·cos L)
//	δh' = δvU
//
// with f = a + 2ω_ie×v + g·up what accelerometers read, δω the changes of Earth rate and transport rate with δv and
// position, and δg the change of normal gravity with position. The change of M and N with latitude is left out (0.7 % of
// the transport terms). At a pole tan L is cut off 6 m from it.
func equations(s State, free bool) matrix {
	var f matrix
	p := s.Position
	sin, cos := math.Sincos(p.Lat)
	cos = math.Max(cos, 1e-6)
	tan := sin / cos
	m, n := geo.MeridianRadius(p.Lat)+p.Height, geo.PrimeVerticalRadius(p.Lat)+p.Height
	const a = geo.SemiMajorM
	v := s.Velocity
	earth := geo.EarthRate(p.Lat)
	transport := r3.Vec{X: -v.Y / m, Y: v.X / n, Z: v.X * tan / n}
	g := geo.NormalGravity(p.Lat, p.Height)
	force := r3.Add(s.Acceleration, r3.Scale(2, r3.Cross(earth, v)))
	force.Z += g

	// Changes of the rates of the frame, as rows over the states.
	var dEarth, dTransport [3]vector
	omega := math.Hypot(earth.Y, earth.Z)
	dEarth[1][posN] = -omega * sin / a
	dEarth[2][posN] = omega * cos / a
	dTransport[0][velN] = -1 / m
	dTransport[0][posU] = v.Y / (m * m)
	dTransport[1][velE] = 1 / n
	dTransport[1][posU] = -v.X / (n * n)
	dTransport[2][velE] = tan / n
	dTransport[2][posN] = v.X / (n * cos * cos) / a
	dTransport[2][posU] = -v.X * tan / (n * n)

	c := s.Attitude.Rotation().Matrix()
	turning := cross(r3.Add(earth, transport))
	coriolis := cross(r3.Add(r3.Scale(2, earth), transport))
	byForce, byVelocity := cross(force), cross(v)
	for i := range 3 {
		for j := range 3 {
			f[tiltE+i][tiltE+j] -= turning[i][j]
			f[tiltE+i][gyroR+j] = c[3*i+j]
			f[velE+i][tiltE+j] = -byForce[i][j] // φ×f = −f×φ
			f[velE+i][accelR+j] = c[3*i+j]
			f[velE+i][velE+j] -= coriolis[i][j]
			for k := range states { // −(2δω_ie + δω_en)×v = v×(2δω_ie + δω_en)
				f[velE+i][k] += byVelocity[i][j] * (2*dEarth[j][k] + dTransport[j][k])
			}
		}
		for k := range states {
			f[tiltE+i][k] -= dEarth[i][k] + dTransport[i][k]
		}
	}
	f[posN][velN] = a / m
	f[posN][posU] = -a * v.Y / (m * m)
	f[posE][velE] = a / (n * cos)
	f[posE][posN] = v.X * tan / (n * cos)
	f[posE][posU] = -a * v.X / (n * n * cos)
	if free {
		const dl, dh = 1e-4, 100.0
		f[posU][velU] = 1
		f[velU][posN] -= (geo.NormalGravity(p.Lat+dl, p.Height) - geo.NormalGravity(p.Lat-dl, p.Height)) / (2 * dl) / a
		f[velU][posU] -= (geo.NormalGravity(p.Lat, p.Height+dh) - geo.NormalGravity(p.Lat, p.Height-dh)) / (2 * dh)
	} else {
		f[velU] = vector{}
	}
	return f
}

// cross returns the matrix of v×.
func cross(v r3.Vec) [3][3]float64 {
	return [3][3]float64{{0, -v.Z, v.Y}, {v.Z, 0, -v.X}, {-v.Y, v.X, 0}}
}

// headingOnly leaves of F what moves the error of heading while GNSS keeps position, velocity and level.
func headingOnly(f matrix) matrix {
	var h matrix
	h[tiltU] = f[tiltU]
	for _, j := range [...]int{velE, velN, velU, posE, posN, posU} {
		h[tiltU][j] = 0
	}
	return h
}

// times returns F·x + w.
func (f *matrix) times(x, w *vector) vector {
	y := *w
	for i := range gyroR { // biases stay
		for j, v := range f[i] {
			y[i] += v * x[j]
		}
	}
	return y
}
