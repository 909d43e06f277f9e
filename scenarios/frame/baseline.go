package frame

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Baseline is the vector from the primary to the secondary antenna as a person enters it. In vessel axes its azimuth
// counts from forward towards right and its elevation above the lateral plane; in the local level frame from north
// towards east and above the horizontal.
type Baseline struct {
	Azimuth   float64 // rad
	Elevation float64 // rad
	Length    float64 // m
}

// Vec returns the baseline as a vector, in m: right, forward, up, or east, north, up.
func (b Baseline) Vec() r3.Vec {
	sa, ca := math.Sincos(b.Azimuth)
	se, ce := math.Sincos(b.Elevation)
	return r3.Vec{X: b.Length * sa * ce, Y: b.Length * ca * ce, Z: b.Length * se}
}

// BaselineOf returns azimuth (0 ≤ x < 2π), elevation (−π/2 to π/2) and length of the vector v, in m. Of a vector along
// up or down, and of none, the azimuth is 0.
func BaselineOf(v r3.Vec) Baseline {
	h := math.Hypot(v.X, v.Y)
	b := Baseline{Elevation: math.Atan2(v.Z, h), Length: math.Hypot(h, v.Z)}
	if h > 0 {
		b.Azimuth = Wrap2Pi(math.Atan2(v.X, v.Y))
	}
	return b
}

// azimuthOf returns the azimuth of v about its third axis, NaN where v is (but for rounding) along that axis.
func azimuthOf(v r3.Vec) float64 {
	if math.Hypot(v.X, v.Y) <= singularRad*math.Abs(v.Z) {
		return math.NaN()
	}
	return math.Atan2(v.X, v.Y)
}

// BaselineAzimuth returns the true azimuth, in rad, 0 ≤ x < 2π, of the baseline b, in m along right, forward, up, on a
// vessel of attitude c: what two antennas see. NaN where the baseline stands vertical or has no length.
func BaselineAzimuth(c Rotation, b r3.Vec) float64 { return Wrap2Pi(azimuthOf(c.Apply(b))) }

// HeadingFromBaseline returns the heading of the vessel, in rad, 0 ≤ x < 2π, from the true azimuth of the baseline b
// (in m along right, forward, up) and the vessel's pitch and roll. It undoes [BaselineAzimuth].
//
// The tilt turns the baseline first: heading = azimuth − azimuth of Rx(pitch)·Ry(roll)·b. Subtracting the entered
// azimuth instead is right only for a level vessel or a baseline along forward in the lateral plane. NaN where the
// tilted baseline stands vertical or has no length.
func HeadingFromBaseline(azimuth, pitch, roll float64, b r3.Vec) float64 {
	level := Attitude{Pitch: pitch, Roll: roll}.Rotation().Apply(b)
	return Wrap2Pi(azimuth - azimuthOf(level))
}
