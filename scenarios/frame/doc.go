// Package frame fixes axes and signs, and holds what follows from them: attitude, mounting angles, lever arms,
// the antenna baseline, rates and accelerations. No other package states these conventions.
//
// # Axes and signs
//
// Vessel and device axes: x right (starboard), y forward (bow), z up. Local level frame: east, north, up.
// Heading clockwise from true north; pitch positive bow up; roll positive starboard side down. Heave positive up,
// surge forward, sway to starboard, rate of turn positive to starboard. Metres, radians and seconds throughout.
//
// The attitude matrix, vessel to east-north-up, is
//
//	C = Rz(-heading) · Rx(pitch) · Ry(roll)
//
//	    | ch cr + sh sp sr    sh cp    ch sr - sh sp cr |
//	C = |-sh cr + ch sp sr    ch cp   -sh sr - ch sp cr |
//	    |     -cp sr           sp           cp cr       |
//
// with s and c for sine and cosine. Mounting angles describe the device relative to the vessel in the same order:
// C_vd. So C_nd = C_nv·C_vd and C_nv = C_nd·C_vdᵀ; angles are never subtracted. It is the z-y-x sequence of the
// aerospace trade (yaw, pitch, roll of forward-right-down in north-east-down) with the same three numbers, see
// [Rotation.NEDFRD].
//
// # Where pitch is ±90°
//
// Bow straight up, only heading − roll can be told from the rotation; bow straight down, only heading + roll. There
// (within 1e-14 rad) this package puts all of it into the heading and sets roll to 0, in [Rotation.Attitude],
// [Attitude.Canonical] and [EulerRates] alike. The rotation that the three angles stand for comes back unharmed,
// there and in the neighbourhood, which is what a device on a bulkhead needs.
//
// # Reading order
//
// Start with attitude.go (angles and the rotation they make), then rotation.go, mounting.go and lever.go. Add a
// quantity as a function of its own in the file of its kind, with its formula, source and a vector in testdata.
//
// Nothing here allocates, fails or panics. What is not finite going in comes out as NaN.
//
// Sources: Groves, Principles of GNSS, Inertial and Multisensor Integrated Navigation Systems, 2nd ed. 2013, ch. 2
// and 5; Diebel, Representing Attitude: Euler Angles, Unit Quaternions, and Rotation Vectors, 2006.
package frame
