package frame_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/scenarios/frame"
)

func TestWrap(t *testing.T) {
	const turn = 2 * math.Pi
	below := math.Nextafter(turn, 0)
	for _, c := range []struct{ in, positive, signed float64 }{
		{0, 0, 0}, {math.Copysign(0, -1), 0, 0}, {turn, 0, 0}, {-turn, 0, 0}, {3 * turn, 0, 0},
		{math.Pi, math.Pi, math.Pi}, {-math.Pi, math.Pi, math.Pi},
		{-1e-20, 0, -1e-20}, // rounds up into the full turn, which is north
		{below, below, below - turn}, {-1, turn - 1, -1}, {4, 4, 4 - turn}, {-4, turn - 4, turn - 4},
	} {
		if got := frame.Wrap2Pi(c.in); !near(got, c.positive, 1e-15) || got < 0 || got >= turn {
			t.Errorf("Wrap2Pi(%v) = %v, want %v", c.in, got, c.positive)
		}
		if got := frame.WrapPi(c.in); !near(got, c.signed, 1e-15) || got <= -math.Pi || got > math.Pi {
			t.Errorf("WrapPi(%v) = %v, want %v", c.in, got, c.signed)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if a, b := frame.Wrap2Pi(v), frame.WrapPi(v); !math.IsNaN(a) || !math.IsNaN(b) {
			t.Errorf("wrapped %v: %v, %v, want NaN", v, a, b)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		a, b := frame.Wrap2Pi(x), frame.WrapPi(x)
		if a < 0 || a >= turn || b <= -math.Pi || b > math.Pi {
			t.Fatalf("%v, %v out of range", a, b)
		}
		// whole turns of the float64 2π, however many
		if !near(math.Remainder(x-a, turn), 0, 1e-9) || !near(math.Remainder(x-b, turn), 0, 1e-9) {
			t.Fatalf("%v, %v are other angles than %v", a, b, x)
		}
	})
}

func TestMeanAngleUndefined(t *testing.T) {
	for name, list := range map[string][]float64{
		"none": nil, "opposite": {0.3, 0.3 + math.Pi}, "three ways": {0, 2 * math.Pi / 3, 4 * math.Pi / 3}, "not a number": {1, math.NaN()},
	} {
		if m := frame.MeanAngle(list...); !math.IsNaN(m) {
			t.Errorf("%s: %v, want NaN", name, m)
		}
	}
	if m := frame.MeanAngle(-0.25); !near(m, 2*math.Pi-0.25, 1e-15) {
		t.Errorf("mean of one is %v", m)
	}
}

// TestNotANumber: what is not finite comes out as NaN, and nothing panics.
func TestNotANumber(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		a := frame.Attitude{Heading: v, Pitch: v, Roll: v}
		r := a.Rotation()
		for name, x := range map[string]float64{
			"Attitude":         r.Attitude().Heading,
			"Canonical":        a.Canonical().Heading,
			"Apply":            r.Apply(r3.Vec{X: 1}).X,
			"Mul":              r.Mul(frame.Rotation{}).Quat().Real,
			"AngleTo":          r.AngleTo(frame.Rotation{}),
			"RollFirst":        r.RollFirst().Heading,
			"FromMatrix":       frame.FromMatrix([9]float64{v, v, v, v, v, v, v, v, v}).Quat().Real,
			"FromQuat":         frame.FromQuat(quat.Number{Real: v}).Quat().Real,
			"Interpolate":      frame.Interpolate(frame.Rotation{}, frame.Attitude{Roll: 1}.Rotation(), v).Quat().Real,
			"InterpolateAngle": frame.InterpolateAngle(0, 1, v),
			"EulerRates":       frame.EulerRates(a, r3.Vec{X: 1}).Heading,
			"InducedHeave":     frame.InducedHeaveM(a, r3.Vec{X: 1}),
			"TiltTotal":        a.TiltTotal(),
		} {
			if !math.IsNaN(x) {
				t.Errorf("%s of %v: %v, want NaN", name, v, x)
			}
		}
		if pitch, roll := frame.TiltFromInclinations(v, 0); !math.IsNaN(pitch) || !math.IsNaN(roll) {
			t.Errorf("TiltFromInclinations(%v): %v, %v", v, pitch, roll)
		}
	}
	if pitch, roll := frame.TiltFromInclinations(1, 1); !math.IsNaN(pitch) || !math.IsNaN(roll) {
		t.Errorf("two axes 57° off the horizontal each: %v, %v, want NaN", pitch, roll)
	}
	if pitch, roll := frame.TiltFromInclinations(math.Pi/6, math.Pi/3); !near(pitch, math.Pi/3, 1e-15) || !near(roll, math.Pi/2, 1e-7) {
		t.Errorf("at the edge of what is possible: %v, %v", pitch, roll)
	}
}

func TestNothingAllocates(t *testing.T) {
	a := frame.Attitude{Heading: 1, Pitch: 0.1, Roll: 0.2}
	d := frame.Rates{Heading: 0.1, Pitch: 0.2, Roll: 0.3}
	r, v := a.Rotation(), r3.Vec{X: 1, Y: 2, Z: 3}
	var sum float64
	for name, f := range map[string]func(){
		"rotation": func() {
			sum += a.Rotation().Mul(r).Inverse().Attitude().Heading + r.Apply(v).X + a.Canonical().Roll + r.AngleTo(frame.Rotation{})
		},
		"matrix":      func() { sum += frame.FromMatrix(r.Matrix()).Quat().Real },
		"interpolate": func() { sum += frame.Interpolate(r, frame.Rotation{}, 0.3).Quat().Real },
		"mounting": func() {
			p, q := frame.TiltFromDevice(0.1, 0.2, r)
			sum += p + q + frame.VesselFromDevice(frame.DeviceFromVessel(r, r), r).Quat().Real + frame.LeverToDevice(frame.LeverFromDevice(v, r, v), r, v).X
		},
		"rates": func() {
			sum += frame.EulerRates(a, frame.BodyRate(a, d)).Roll + frame.EulerAccelerations(a, d, frame.BodyAcceleration(a, d, d)).Roll + frame.GyroRate(v, r, v).X
		},
		"baseline": func() {
			sum += frame.BaselineAzimuth(r, frame.BaselineOf(v).Vec()) + frame.HeadingFromBaseline(1, 0.1, 0.2, v)
		},
		"lever": func() {
			sum += frame.InducedHeaveM(a, v) + frame.PointVelocity(v, r, v, v).X + frame.PointAcceleration(v, r, v, v, v).X + frame.SpecificForce(v, r, 9.8).X
		},
		"conventions": func() {
			p, q := frame.TiltFromInclinations(a.Inclinations())
			sum += p + q + frame.FromNEDFRD(r.NEDFRD().RollFirst().Rotation()).Quat().Real + a.TiltTotal()
		},
		"angles": func() { sum += frame.MeanAngle(1, 2, 3) + frame.InterpolateAngle(1, 2, 3) + frame.WrapPi(12) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s allocates %v times a call", name, n)
		}
	}
	_ = sum
}
