package frame_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// The hand-written alternative, a row-major matrix, stands beside each, so that the ratio is visible.

var (
	benchA   = frame.Attitude{Heading: 1, Pitch: 0.1, Roll: -0.2}
	benchB   = frame.Attitude{Heading: 2, Pitch: -0.3, Roll: 0.1}
	benchV   = r3.Vec{X: 1.5, Y: -3, Z: 6}
	benchSum float64
)

// closed returns the matrix of the package comment, element by element.
func closed(a frame.Attitude) [9]float64 {
	sh, ch := math.Sincos(a.Heading)
	sp, cp := math.Sincos(a.Pitch)
	sr, cr := math.Sincos(a.Roll)
	return [9]float64{
		ch*cr + sh*sp*sr, sh * cp, ch*sr - sh*sp*cr,
		-sh*cr + ch*sp*sr, ch * cp, -sh*sr - ch*sp*cr,
		-cp * sr, sp, cp * cr,
	}
}

func times(m *[9]float64, v r3.Vec) r3.Vec {
	return r3.Vec{X: m[0]*v.X + m[1]*v.Y + m[2]*v.Z, Y: m[3]*v.X + m[4]*v.Y + m[5]*v.Z, Z: m[6]*v.X + m[7]*v.Y + m[8]*v.Z}
}

func angles(m *[9]float64) frame.Attitude {
	return frame.Attitude{
		Heading: math.Atan2(m[1], m[4]), Pitch: math.Atan2(m[7], math.Sqrt(m[1]*m[1]+m[4]*m[4])), Roll: math.Atan2(-m[6], m[8]),
	}
}

func BenchmarkRotation(b *testing.B) {
	for range b.N {
		benchSum += benchA.Rotation().Quat().Real
	}
}

func BenchmarkRotationByMatrix(b *testing.B) {
	for range b.N {
		m := closed(benchA)
		benchSum += m[0]
	}
}

func BenchmarkApply(b *testing.B) {
	r := benchA.Rotation()
	for range b.N {
		benchSum += r.Apply(benchV).X
	}
}

func BenchmarkApplyByMatrix(b *testing.B) {
	m := closed(benchA)
	for range b.N {
		benchSum += times(&m, benchV).X
	}
}

func BenchmarkMul(b *testing.B) {
	r, s := benchA.Rotation(), benchB.Rotation()
	for range b.N {
		benchSum += r.Mul(s).Quat().Real
	}
}

func BenchmarkMulByMatrix(b *testing.B) {
	m, n := closed(benchA), closed(benchB)
	for range b.N {
		p := product(m, n)
		benchSum += p[0]
	}
}

func BenchmarkAttitude(b *testing.B) {
	r := benchA.Rotation()
	for range b.N {
		benchSum += r.Attitude().Heading
	}
}

func BenchmarkAttitudeByMatrix(b *testing.B) {
	m := closed(benchA)
	for range b.N {
		benchSum += angles(&m).Heading
	}
}

// BenchmarkEpoch is what a device does at each epoch: attitude through a mounting, antenna and its velocity.
func BenchmarkEpoch(b *testing.B) {
	mount := benchB.Rotation()
	for range b.N {
		c := benchA.Rotation()
		d := frame.DeviceFromVessel(c, mount).Attitude()
		v := frame.PointVelocity(benchV, c, benchV, benchV)
		benchSum += d.Heading + c.Apply(benchV).X + v.X
	}
}

func BenchmarkEpochByMatrix(b *testing.B) {
	mount := closed(benchB)
	for range b.N {
		c := closed(benchA)
		p := product(c, mount)
		d := angles(&p)
		v := r3.Add(benchV, times(&c, r3.Cross(benchV, benchV)))
		benchSum += d.Heading + times(&c, benchV).X + v.X
	}
}

func BenchmarkInducedHeave(b *testing.B) {
	for range b.N {
		benchSum += frame.InducedHeaveM(benchA, benchV)
	}
}

// TestAlternatives: the alternatives do the same job; otherwise the ratios say nothing.
func TestAlternatives(t *testing.T) {
	m := closed(benchA)
	if d := apart(times(&m, benchV), benchA.Rotation().Apply(benchV)); d > 1e-14 {
		t.Errorf("Apply: %v apart", d)
	}
	n := closed(benchB)
	p := product(m, n)
	got, want := benchA.Rotation().Mul(benchB.Rotation()).Attitude(), angles(&p)
	if !near(frame.AngleDiff(got.Heading, want.Heading), 0, 1e-14) || !near(got.Pitch, want.Pitch, 1e-14) || !near(got.Roll, want.Roll, 1e-14) {
		t.Errorf("angles: %+v, by the matrix %+v", got, want)
	}
}
