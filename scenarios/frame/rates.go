package frame

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Rates are the time derivatives of an [Attitude], in rad/s; as second derivatives in rad/s².
type Rates struct {
	Heading float64 // positive to starboard: the rate of turn
	Pitch   float64
	Roll    float64
}

// BodyRate returns the angular rate of the vessel relative to the local level frame, along right, forward, up, in
// rad/s, from the rates of its angles. Level, the rate about up is minus the heading rate.
//
// Source: Diebel 2006; with dots for the rates w_right = ṗ cos r + ḣ cos p sin r, w_fwd = ṙ − ḣ sin p,
// w_up = ṗ sin r − ḣ cos p cos r.
func BodyRate(a Attitude, d Rates) r3.Vec {
	sp, cp := math.Sincos(a.Pitch)
	sr, cr := math.Sincos(a.Roll)
	return r3.Vec{
		X: d.Pitch*cr + d.Heading*cp*sr,
		Y: d.Roll - d.Heading*sp,
		Z: d.Pitch*sr - d.Heading*cp*cr,
	}
}

// EulerRates returns the rates of the angles, in rad/s, from the angular rate w relative to the local level frame
// along right, forward, up, in rad/s. It undoes [BodyRate].
//
// Towards a pitch of ±90° heading and roll rate grow without bound. At ±90° (package comment) the roll rate is 0, the
// heading rate is what is left about the vertical, and the part of w that no rates of the angles can stand for is
// lost.
func EulerRates(a Attitude, w r3.Vec) Rates {
	sp, cp := math.Sincos(a.Pitch)
	sr, cr := math.Sincos(a.Roll)
	pitch := w.X*cr + w.Z*sr
	if math.Abs(cp) < singularRad {
		return Rates{Heading: -w.Y * math.Copysign(1, sp), Pitch: pitch}
	}
	heading := (w.X*sr - w.Z*cr) / cp
	return Rates{Heading: heading, Pitch: pitch, Roll: w.Y + heading*sp}
}

// BodyAcceleration returns the time derivative of [BodyRate] along right, forward, up, in rad/s², from the angles,
// their rates d and their second derivatives dd. Source: BodyRate, differentiated.
func BodyAcceleration(a Attitude, d, dd Rates) r3.Vec {
	sp, cp := math.Sincos(a.Pitch)
	sr, cr := math.Sincos(a.Roll)
	// along the line of nodes (n) and across it (m): w_right = n cr + m sr, w_up = n sr − m cr
	n, m := d.Pitch, d.Heading*cp
	nd, md := dd.Pitch, dd.Heading*cp-d.Heading*d.Pitch*sp
	return r3.Vec{
		X: nd*cr + md*sr + d.Roll*(m*cr-n*sr),
		Y: dd.Roll - dd.Heading*sp - d.Heading*d.Pitch*cp,
		Z: nd*sr - md*cr + d.Roll*(n*cr+m*sr),
	}
}

// EulerAccelerations returns the second derivatives of the angles, in rad/s², from the angles, their rates d and the
// angular acceleration alpha along right, forward, up, in rad/s². It undoes [BodyAcceleration], and at a pitch of
// ±90° has the same limits as [EulerRates].
func EulerAccelerations(a Attitude, d Rates, alpha r3.Vec) Rates {
	// alpha is linear in the second derivatives, with the same matrix as the rates
	return EulerRates(a, r3.Sub(alpha, BodyAcceleration(a, d, Rates{})))
}

// GyroRate returns what ideal gyros along right, forward, up read, in rad/s: the angular rate relative to inertial
// space. w is the rate relative to the local level frame along the same axes, c the attitude, frameRate the rate of
// the local level frame itself, east, north, up (package geo: earth rate and transport rate).
//
// Source: Groves 2013, ch. 5: w + Cᵀ(w_ie + w_en).
func GyroRate(w r3.Vec, c Rotation, frameRate r3.Vec) r3.Vec {
	return r3.Add(w, c.Inverse().Apply(frameRate))
}
