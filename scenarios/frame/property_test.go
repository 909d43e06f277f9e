package frame_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/scenarios/frame"
)

// angle draws any angle within three turns, the multiples of 90° and their close neighbourhood more often.
func angle(t *rapid.T, label string) float64 {
	special := rapid.Custom(func(t *rapid.T) float64 {
		a := float64(rapid.IntRange(-8, 8).Draw(t, "quarter")) * math.Pi / 2
		return a + rapid.SampledFrom([]float64{0, 0, 1e-17, -1e-15, 1e-14, -1e-13, 1e-11, -1e-8, 1e-5}).Draw(t, "off")
	})
	return rapid.OneOf(rapid.Float64Range(-19, 19), special).Draw(t, label)
}

func attitude(t *rapid.T, label string) frame.Attitude {
	return frame.Attitude{Heading: angle(t, label+".h"), Pitch: angle(t, label+".p"), Roll: angle(t, label+".r")}
}

func vec(t *rapid.T, label string, size float64) r3.Vec {
	c := rapid.Float64Range(-size, size)
	return r3.Vec{X: c.Draw(t, label+".x"), Y: c.Draw(t, label+".y"), Z: c.Draw(t, label+".z")}
}

func apart(a, b r3.Vec) float64 { return r3.Norm(r3.Sub(a, b)) }

// product returns a·b of row-major matrices.
func product(a, b [9]float64) (c [9]float64) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				c[3*i+j] += a[3*i+k] * b[3*k+j]
			}
		}
	}
	return c
}

// elementary returns Rz(−h)·Rx(p)·Ry(r), each written out: right-handed turns about one axis.
func elementary(a frame.Attitude) [9]float64 {
	sh, ch := math.Sincos(-a.Heading)
	sp, cp := math.Sincos(a.Pitch)
	sr, cr := math.Sincos(a.Roll)
	rz := [9]float64{ch, -sh, 0, sh, ch, 0, 0, 0, 1}
	rx := [9]float64{1, 0, 0, 0, cp, -sp, 0, sp, cp}
	ry := [9]float64{cr, 0, sr, 0, 1, 0, -sr, 0, cr}
	return product(product(rz, rx), ry)
}

func canonical(a frame.Attitude) bool {
	return a.Heading >= 0 && a.Heading < 2*math.Pi && math.Abs(a.Pitch) <= math.Pi/2 && a.Roll > -math.Pi && a.Roll <= math.Pi
}

func TestAttitudeRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := attitude(t, "a")
		r := a.Rotation()
		m, want := r.Matrix(), elementary(a)
		for i := range m {
			if !near(m[i], want[i], 1e-14) {
				t.Fatalf("matrix %v, want %v", m, want)
			}
		}
		for name, back := range map[string]frame.Attitude{
			"quaternion": r.Attitude(), "matrix": frame.FromMatrix(m).Attitude(), "folding": a.Canonical(),
		} {
			if !canonical(back) {
				t.Fatalf("by %s: %+v is out of range", name, back)
			}
			if d := back.Rotation().AngleTo(r); d > 3e-14 {
				t.Fatalf("by %s: %+v is %v rad off", name, back, d)
			}
			// Away from the singularity the angles themselves are unique.
			f := a.Canonical()
			cp := math.Cos(f.Pitch)
			tol := 2e-14 / cp
			if cp > 1e-3 && (!near(frame.AngleDiff(back.Heading, f.Heading), 0, tol) || !near(back.Pitch, f.Pitch, tol) || !near(frame.AngleDiff(back.Roll, f.Roll), 0, tol)) {
				t.Fatalf("by %s: %+v, want %+v", name, back, f)
			}
			if math.Pi/2-math.Abs(back.Pitch) == 0 && back.Roll != 0 {
				t.Fatalf("by %s: straight up or down, but roll is %v", name, back.Roll)
			}
		}
	})
}

func TestSingularity(t *testing.T) {
	for _, c := range []struct {
		name string
		in   frame.Attitude // degrees
		want float64        // heading, degrees
	}{
		{"bow up: heading less roll", frame.Attitude{Heading: 40, Pitch: 90, Roll: 15}, 25},
		{"bow up, negative", frame.Attitude{Heading: 10, Pitch: 90, Roll: 30}, 340},
		{"bow up, roll past 180", frame.Attitude{Heading: 0, Pitch: 90, Roll: -170}, 170},
		{"bow down: heading and roll", frame.Attitude{Heading: 40, Pitch: -90, Roll: 15}, 55},
		{"bow down, over north", frame.Attitude{Heading: 350, Pitch: -90, Roll: 20}, 10},
		{"folded: three quarters", frame.Attitude{Heading: 40, Pitch: 270, Roll: 15}, 55},
	} {
		a := frame.Attitude{Heading: frame.Rad(c.in.Heading), Pitch: frame.Rad(c.in.Pitch), Roll: frame.Rad(c.in.Roll)}
		for _, got := range []frame.Attitude{a.Rotation().Attitude(), a.Canonical(), frame.FromMatrix(a.Rotation().Matrix()).Attitude()} {
			if !near(frame.Deg(got.Heading), c.want, 1e-12) || got.Roll != 0 || !near(math.Abs(got.Pitch), math.Pi/2, 1e-15) {
				t.Errorf("%s: %+v, want heading %v°, roll 0", c.name, got, c.want)
			}
		}
	}
}

func TestRotationProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, s := attitude(t, "r").Rotation(), attitude(t, "s").Rotation()
		v := vec(t, "v", 100)
		m := r.Matrix()
		p := product(m, [9]float64{m[0], m[3], m[6], m[1], m[4], m[7], m[2], m[5], m[8]})
		for i, want := range [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1} {
			if !near(p[i], want, 5e-15) {
				t.Fatalf("C·Cᵀ is %v", p)
			}
		}
		if det := m[0]*(m[4]*m[8]-m[5]*m[7]) - m[1]*(m[3]*m[8]-m[5]*m[6]) + m[2]*(m[3]*m[7]-m[4]*m[6]); !near(det, 1, 1e-14) {
			t.Fatalf("determinant is %v", det)
		}
		byHand := r3.Vec{X: m[0]*v.X + m[1]*v.Y + m[2]*v.Z, Y: m[3]*v.X + m[4]*v.Y + m[5]*v.Z, Z: m[6]*v.X + m[7]*v.Y + m[8]*v.Z}
		if d := apart(r.Apply(v), byHand); d > 1e-12 {
			t.Fatalf("Apply and the matrix are %v apart", d)
		}
		if d := apart(r.Mul(s).Apply(v), r.Apply(s.Apply(v))); d > 1e-12 {
			t.Fatalf("the product is %v off", d)
		}
		if d := apart(r.Inverse().Apply(r.Apply(v)), v); d > 1e-12 {
			t.Fatalf("the inverse is %v off", d)
		}
		same(t, "matrix there and back", frame.FromMatrix(m), r, 5e-15)
		q := quat.Scale(rapid.SampledFrom([]float64{-1, 1e-300, -1e300, 7}).Draw(t, "scale"), r.Quat())
		same(t, "quaternion of another length", frame.FromQuat(q), r, 5e-15)
		same(t, "NED/FRD", frame.FromNEDFRD(r.NEDFRD()), r, 5e-15)
		if d := apart(frame.SwapDown(r.NEDFRD().Apply(frame.SwapDown(v))), r.Apply(v)); d > 1e-12 {
			t.Fatalf("through NED/FRD: %v off", d)
		}
		rf := r.RollFirst()
		same(t, "roll first", rf.Rotation(), r, 3e-14)
		if math.Abs(rf.Roll) > math.Pi/2 || rf.Heading < 0 || rf.Heading >= 2*math.Pi || rf.Pitch <= -math.Pi || rf.Pitch > math.Pi {
			t.Fatalf("roll first: %+v is out of range", rf)
		}

		// the shortest way, evenly
		f := rapid.Float64Range(0, 1).Draw(t, "f")
		between, whole := frame.Interpolate(r, s, f), r.AngleTo(s)
		if whole < 3.1 {
			if !near(r.AngleTo(between), f*whole, 1e-14) || !near(between.AngleTo(s), (1-f)*whole, 1e-14) {
				t.Fatalf("at %v of %v rad: %v done, %v left", f, whole, r.AngleTo(between), between.AngleTo(s))
			}
			same(t, "interpolated backwards", frame.Interpolate(s, r, 1-f), between, 1e-14)
		}
	})
}

func TestZeroRotationIsIdentity(t *testing.T) {
	var zero frame.Rotation
	v, s := r3.Vec{X: 1, Y: 2, Z: 3}, frame.Attitude{Heading: 1, Pitch: 0.2, Roll: 0.3}.Rotation()
	if zero.Apply(v) != v || zero.Inverse().Apply(v) != v || zero.Quat() != (quat.Number{Real: 1}) {
		t.Error("the zero Rotation moves vectors")
	}
	if zero.Matrix() != [9]float64{0: 1, 4: 1, 8: 1} || zero.Attitude() != (frame.Attitude{}) || zero.RollFirst() != (frame.RollFirst{}) {
		t.Errorf("the zero Rotation has matrix %v, attitude %v", zero.Matrix(), zero.Attitude())
	}
	same(t, "0·s", zero.Mul(s), s, 0)
	same(t, "s·0", s.Mul(zero), s, 0)
	same(t, "NED/FRD", zero.NEDFRD(), zero, 0)
	same(t, "from the zero quaternion", frame.FromQuat(quat.Number{}), zero, 0)
	same(t, "half way", frame.Interpolate(zero, s, 0.5), frame.Interpolate(s, zero, 0.5), 1e-15)
	same(t, "no way", frame.Interpolate(zero, zero, 0.5), zero, 0)
	same(t, "mounted level", frame.VesselFromDevice(s, zero), s, 0)
}

// TestLongChain: unit length must survive a million products.
func TestLongChain(t *testing.T) {
	step := frame.Attitude{Heading: 1e-3, Pitch: 2e-3, Roll: -1e-3}.Rotation()
	var r frame.Rotation
	for range 1_000_000 {
		r = r.Mul(step)
	}
	if n := quat.Abs(r.Quat()); !near(n, 1, 1e-15) {
		t.Errorf("length is %v", n)
	}
}

func TestMountingProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		vessel, mount := attitude(t, "vessel"), attitude(t, "mount")
		device := frame.DeviceFromVessel(vessel.Rotation(), mount.Rotation())
		// by way of the three angles a device sends, at its own singularity too
		sent := device.Attitude()
		same(t, "vessel attitude", frame.VesselFromDevice(sent.Rotation(), mount.Rotation()), vessel.Rotation(), 5e-14)

		pitch, roll := frame.TiltFromDevice(sent.Pitch, sent.Roll, mount.Rotation())
		got, want := (frame.Attitude{Pitch: pitch, Roll: roll}), vessel.Canonical()
		want.Heading = 0
		if math.Abs(want.Pitch) > math.Pi/2-1e-7 { // roll is heading there, and only the zenith can be compared
			got.Roll, want.Roll = 0, 0
		}
		same(t, "tilt without heading", got.Rotation(), want.Rotation(), 1e-13/math.Max(1e-6, math.Cos(want.Pitch)))

		l, at := vec(t, "lever", 100), vec(t, "device", 100)
		p := frame.LeverFromDevice(l, mount.Rotation(), at)
		if d := apart(frame.LeverToDevice(p, mount.Rotation(), at), l); d > 1e-12 {
			t.Fatalf("lever comes back %v m off", d)
		}
		// The same point, whichever axes the lever was entered in.
		byVessel := vessel.Rotation().Apply(p)
		byDevice := r3.Add(vessel.Rotation().Apply(at), device.Apply(l))
		if d := apart(byVessel, byDevice); d > 1e-12 {
			t.Fatalf("the two ways to the point are %v m apart", d)
		}
	})
}

func TestLeverFromDevice(t *testing.T) {
	at := r3.Vec{X: 0.35, Y: -1.8, Z: 0.6}
	for _, c := range []struct {
		name    string
		mount   frame.Attitude // degrees
		l, want r3.Vec
	}{
		{"as the vessel", frame.Attitude{}, r3.Vec{X: 1, Y: 2, Z: 3}, r3.Vec{X: 1.35, Y: 0.2, Z: 3.6}},
		{"facing starboard: its forward is right", frame.Attitude{Heading: 90}, r3.Vec{Y: 2}, r3.Vec{X: 2.35, Y: -1.8, Z: 0.6}},
		{"upside-down: its up is down", frame.Attitude{Roll: 180}, r3.Vec{X: 1, Z: 2}, r3.Vec{X: -0.65, Y: -1.8, Z: -1.4}},
		{"on its back: its forward is up", frame.Attitude{Pitch: 90}, r3.Vec{Y: 2}, r3.Vec{X: 0.35, Y: -1.8, Z: 2.6}},
		{"on its side: its right is down", frame.Attitude{Roll: 90}, r3.Vec{X: 2}, r3.Vec{X: 0.35, Y: -1.8, Z: -1.4}},
	} {
		m := frame.Attitude{Heading: frame.Rad(c.mount.Heading), Pitch: frame.Rad(c.mount.Pitch), Roll: frame.Rad(c.mount.Roll)}.Rotation()
		if got := frame.LeverFromDevice(c.l, m, at); apart(got, c.want) > 1e-14 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestRateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := attitude(t, "a")
		a.Pitch = rapid.Float64Range(-1.5, 1.5).Draw(t, "pitch")
		three := func(label string) frame.Rates {
			v := vec(t, label, 2)
			return frame.Rates{Heading: v.X, Pitch: v.Y, Roll: v.Z}
		}
		d, dd := three("rates"), three("second")
		diff := func(x, y frame.Rates) float64 {
			return math.Max(math.Abs(x.Heading-y.Heading), math.Max(math.Abs(x.Pitch-y.Pitch), math.Abs(x.Roll-y.Roll)))
		}
		tol := 1e-14 / math.Cos(a.Pitch)
		if back := frame.EulerRates(a, frame.BodyRate(a, d)); diff(back, d) > tol {
			t.Fatalf("rates %+v come back as %+v", d, back)
		}
		alpha := frame.BodyAcceleration(a, d, dd)
		if back := frame.EulerAccelerations(a, d, alpha); diff(back, dd) > 10*tol {
			t.Fatalf("second derivatives %+v come back as %+v", dd, back)
		}

		// against the turning rotation itself, and the rate's own difference
		at := func(s float64) (frame.Attitude, frame.Rates) {
			return frame.Attitude{
					Heading: a.Heading + s*(d.Heading+s/2*dd.Heading), Pitch: a.Pitch + s*(d.Pitch+s/2*dd.Pitch), Roll: a.Roll + s*(d.Roll+s/2*dd.Roll),
				}, frame.Rates{
					Heading: d.Heading + s*dd.Heading, Pitch: d.Pitch + s*dd.Pitch, Roll: d.Roll + s*dd.Roll,
				}
		}
		const h = 1e-5
		a0, d0 := at(-h)
		a1, d1 := at(h)
		q := a0.Rotation().Inverse().Mul(a1.Rotation()).Quat()
		turned := r3.Scale(math.Copysign(2, q.Real)/(2*h), r3.Vec{X: q.Imag, Y: q.Jmag, Z: q.Kmag})
		if e := apart(frame.BodyRate(a, d), turned); e > 1e-8 {
			t.Fatalf("body rate is %v off what the rotation does", e)
		}
		slope := r3.Scale(1/(2*h), r3.Sub(frame.BodyRate(a1, d1), frame.BodyRate(a0, d0)))
		if e := apart(alpha, slope); e > 1e-8 {
			t.Fatalf("body acceleration is %v off the slope of the rate", e)
		}
	})
}

func TestRatesAtTheSingularity(t *testing.T) {
	// Bow straight up and turning about the vertical, which is the forward axis: all of it is heading.
	for _, sign := range []float64{1, -1} {
		a := frame.Attitude{Heading: 1, Pitch: sign * math.Pi / 2}
		got := frame.EulerRates(a, r3.Vec{X: 0.1, Y: 0.2})
		if want := (frame.Rates{Heading: -sign * 0.2, Pitch: 0.1}); got != want {
			t.Errorf("pitch %v: %+v, want %+v", a.Pitch, got, want)
		}
		const dt = 1e-4
		next := a.Rotation().Mul(frame.FromQuat(quat.Number{Real: 1, Jmag: 0.2 * dt / 2})).Attitude()
		if rate := frame.AngleDiff(next.Heading, a.Heading) / dt; !near(rate, got.Heading, 1e-9) {
			t.Errorf("pitch %v: heading changes by %v rad/s, the rate says %v", a.Pitch, rate, got.Heading)
		}
	}
}

func TestLeverProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, l := attitude(t, "a"), vec(t, "l", 100)
		c := a.Rotation()
		if got, want := frame.InducedHeaveM(a, l), c.Apply(l).Z-l.Z; !near(got, want, 1e-12) {
			t.Fatalf("induced heave is %v, want %v", got, want)
		}
		if up := frame.InducedHeaveM(a, r3.Vec{Z: math.Abs(l.Z)}); up > 0 {
			t.Fatalf("a tilt lifts a point straight above by %v m", up)
		}
		f := frame.SpecificForce(r3.Vec{}, c, 9.8)
		if pitch, roll := frame.TiltFromSpecificForce(f); math.Cos(a.Pitch) > 1e-3 {
			want := a.Canonical()
			if !near(pitch, want.Pitch, 1e-12) || !near(frame.AngleDiff(roll, want.Roll), 0, 1e-11) {
				t.Fatalf("at rest accelerometers say %v, %v, want %+v", pitch, roll, want)
			}
		}
		acc := vec(t, "acc", 20)
		if d := apart(c.Apply(frame.SpecificForce(acc, c, 9.8)), r3.Vec{X: acc.X, Y: acc.Y, Z: acc.Z + 9.8}); d > 1e-12 {
			t.Fatalf("specific force is %v off", d)
		}
	})
}

// TestTinyTiltOfATallMast: the second-order drop must not drown in rounding.
func TestTinyTiltOfATallMast(t *testing.T) {
	const p = 1e-7
	if got, want := frame.InducedHeaveM(frame.Attitude{Pitch: p}, r3.Vec{Z: 30}), -30*p*p/2; math.Abs(got/want-1) > 1e-12 {
		t.Errorf("drop is %v m, want %v", got, want)
	}
}

func TestBaselineProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := frame.Baseline{
			Azimuth: rapid.Float64Range(0, 6.28).Draw(t, "az"), Elevation: rapid.Float64Range(-1.5, 1.5).Draw(t, "el"),
			Length: rapid.Float64Range(0.1, 50).Draw(t, "length"),
		}
		back := frame.BaselineOf(b.Vec())
		if !near(frame.AngleDiff(back.Azimuth, b.Azimuth), 0, 1e-13) || !near(back.Elevation, b.Elevation, 1e-13) || !near(back.Length, b.Length, 1e-13) {
			t.Fatalf("%+v comes back as %+v", b, back)
		}
		a := attitude(t, "a")
		az := frame.BaselineAzimuth(a.Rotation(), b.Vec())
		seen := frame.BaselineOf(a.Rotation().Apply(b.Vec()))
		if math.Abs(seen.Elevation) > 1.57 {
			return // nearly vertical: the azimuth is what rounding makes of it
		}
		if got := frame.HeadingFromBaseline(az, a.Pitch, a.Roll, b.Vec()); !near(frame.AngleDiff(got, a.Heading), 0, 1e-11) {
			t.Fatalf("heading %v comes back as %v", a.Heading, got)
		}
	})
}

func TestBaselineWithoutAzimuth(t *testing.T) {
	mast := r3.Vec{Z: 2}
	level := frame.Rotation{}
	side := frame.Attitude{Roll: math.Pi / 2}
	for name, got := range map[string]float64{
		"upright":           frame.BaselineAzimuth(level, mast),
		"upright, back":     frame.HeadingFromBaseline(1, 0, 0, mast),
		"no length":         frame.BaselineAzimuth(level, r3.Vec{}),
		"no length, back":   frame.HeadingFromBaseline(1, 0.1, 0.1, r3.Vec{}),
		"hung on its side":  frame.BaselineAzimuth(side.Rotation(), r3.Vec{X: 1}),
		"not a number":      frame.BaselineAzimuth(level, r3.Vec{X: math.NaN()}),
		"no azimuth to use": frame.HeadingFromBaseline(math.NaN(), 0, 0, r3.Vec{X: 1}),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: %v, want NaN", name, got)
		}
	}
	if b := frame.BaselineOf(mast); b != (frame.Baseline{Elevation: math.Pi / 2, Length: 2}) {
		t.Errorf("mast is %+v", b)
	}
	if b := frame.BaselineOf(r3.Vec{}); b != (frame.Baseline{}) {
		t.Errorf("nothing is %+v", b)
	}
}
