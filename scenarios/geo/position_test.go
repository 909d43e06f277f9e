package geo

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/scenarios/frame"
)

func TestECEFRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPosition(t, "p")
		if rapid.Bool().Draw(t, "far") {
			p.Height = rapid.Float64Range(-6.2e6, 4e8).Draw(t, "height") // from below the mantle to the Moon
		}
		v := p.ECEF()
		q := FromECEF(v)
		tol := 1e-8 + 1e-15*r3.Norm(v) // m: rounding; the whole is asked for to 0.1 mm
		if d := r3.Norm(r3.Sub(q.ECEF(), v)); d > tol {
			t.Fatalf("%v: %v m off", p, d)
		}
		if !near(q.Height, p.Height, tol) || !near(q.Lat*SemiMajorM, p.Lat*SemiMajorM, 1e-8+tol*SemiMajorM/(SemiMajorM+p.Height)) {
			t.Fatalf("%v comes back as %v", p, q)
		}
		if across := (SemiMajorM + p.Height) * math.Cos(p.Lat) * frame.AngleDiff(q.Lon, p.Lon); !near(across, 0, tol) {
			t.Fatalf("%v comes back as %v, %v m across", p, q, across)
		}
		if !(q.Lon > -math.Pi && q.Lon <= math.Pi) {
			t.Fatalf("longitude %v", q.Lon)
		}
	})
}

// TestFromECEFAnywhere holds for any point whatsoever, the centre of the Earth included: the answer stands for the
// point, and no point of the ellipsoid is nearer than its height says.
func TestFromECEFAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.OneOf(
			rapid.Float64Range(-7e6, 7e6), rapid.Float64Range(-5e4, 5e4), rapid.Float64Range(-1e-3, 1e-3), rapid.Just(0.0),
		)
		v := r3.Vec{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: coordinate.Draw(t, "z")}
		p := FromECEF(v)
		if d := r3.Norm(r3.Sub(p.ECEF(), v)); !(d < 2e-8) {
			t.Fatalf("%v: %v is %v m off", v, p, d)
		}
		if math.Abs(p.Lat) > math.Pi/2 || !(p.Lon > -math.Pi && p.Lon <= math.Pi) {
			t.Fatalf("%v: %v is out of range", v, p)
		}
		for i := range 37 {
			lat := -math.Pi/2 + math.Pi*float64(i)/36
			if d := r3.Norm(r3.Sub(v, Position{Lat: lat, Lon: p.Lon}.ECEF())); d < math.Abs(p.Height)-1e-7 {
				t.Fatalf("%v: height is %v, but latitude %v is only %v m away", v, p.Height, lat, d)
			}
		}
	})
}

func TestFromECEFOnTheAxes(t *testing.T) {
	const a, b = SemiMajorM, SemiMinorM
	negZero := math.Copysign(0, -1)
	for _, c := range []struct {
		name string
		v    r3.Vec
		want Position
	}{
		{"centre", r3.Vec{}, Position{math.Pi / 2, 0, -b}},
		{"centre, negative zeros", r3.Vec{X: negZero, Y: negZero, Z: negZero}, Position{math.Pi / 2, 0, -b}},
		{"north pole", r3.Vec{Z: b + 10}, Position{math.Pi / 2, 0, 10}},
		{"south pole, negative zero", r3.Vec{X: negZero, Z: -b}, Position{-math.Pi / 2, 0, 0}},
		{"axis, deep", r3.Vec{Z: -1000}, Position{-math.Pi / 2, 0, 1000 - b}},
		{"date line from the west", r3.Vec{X: -a, Y: negZero}, Position{0, math.Pi, 0}},
		{"date line", r3.Vec{X: -a - 5}, Position{0, math.Pi, 5}},
		{"equator, deep", r3.Vec{Y: 1e5}, Position{0, math.Pi / 2, 1e5 - a}},
		{"just deep", r3.Vec{X: deepM - 1e-6}, Position{0, 0, deepM - 1e-6 - a}},
		{"just not deep", r3.Vec{X: deepM + 1e-6}, Position{0, 0, deepM + 1e-6 - a}},
	} {
		got := FromECEF(c.v)
		if !near(got.Lat, c.want.Lat, 1e-15) || got.Lon != c.want.Lon || !near(got.Height, c.want.Height, 2e-9) {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for _, v := range []r3.Vec{{X: bad}, {Y: bad, Z: 1}, {Z: bad}, {X: bad, Y: bad, Z: bad}} {
			if p := FromECEF(v); !math.IsNaN(p.Height) {
				t.Errorf("%v: %+v, want NaN", v, p)
			}
		}
	}
}

// TestDeepMeetsNormal: both ways to a latitude agree where one takes over from the other.
func TestDeepMeetsNormal(t *testing.T) {
	for lat := -math.Pi / 2; lat <= math.Pi/2; lat += 0.01 {
		s, c := math.Sincos(lat)
		in := FromECEF(r3.Vec{X: (deepM - 1e-7) * c, Z: (deepM - 1e-7) * s})
		out := FromECEF(r3.Vec{X: (deepM + 1e-7) * c, Z: (deepM + 1e-7) * s})
		if !near(in.Lat, out.Lat, 1e-14) || !near(in.Height, out.Height, 3e-7) {
			t.Errorf("at %v rad: %+v inside, %+v outside", lat, in, out)
		}
	}
}

func TestLocalProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPosition(t, "p")
		l := LocalAt(p)
		reach := rapid.Float64Range(-1e5, 1e5)
		enu := r3.Vec{X: reach.Draw(t, "east"), Y: reach.Draw(t, "north"), Z: reach.Draw(t, "up")}
		q := l.Position(enu)
		if d := r3.Norm(r3.Sub(l.ENU(q), enu)); d > 2e-8 {
			t.Fatalf("%v: %v comes back %v m off", p, enu, d)
		}
		if d := r3.Norm(r3.Sub(l.FromECEF(l.ToECEF(enu)), enu)); d > 1e-10 {
			t.Fatalf("vector %v comes back %v off", enu, d)
		}
		if d := r3.Norm(r3.Sub(l.Rotation().Apply(enu), l.ToECEF(enu))); d > 2e-10 {
			t.Fatalf("rotation and axes are %v apart", d)
		}
		// up is the outer normal: going up changes the height by as much and nothing else
		if up := l.Position(r3.Vec{Z: 100}); !near(up.Height, p.Height+100, 1e-8) || !near(up.Lat, p.Lat, 1e-14) {
			t.Fatalf("100 m above %v is %v", p, up)
		}
	})
}

// TestRadiiAreSlopes compares the radii with what they are meant for, by differences.
func TestRadiiAreSlopes(t *testing.T) {
	for lat := -1.5; lat <= 1.5; lat += 0.25 {
		const d = 1e-4
		at := func(dlat, dlon float64) r3.Vec { return Position{Lat: lat + dlat, Lon: dlon}.ECEF() }
		within(t, "meridian radius", r3.Norm(r3.Sub(at(d, 0), at(-d, 0)))/(2*d), MeridianRadius(lat), 0.05)
		within(t, "prime vertical radius", r3.Norm(r3.Sub(at(0, d), at(0, -d)))/(2*d*math.Cos(lat)), PrimeVerticalRadius(lat), 0.05)
		within(t, "gaussian radius", GaussianRadius(lat), math.Sqrt(MeridianRadius(lat)*PrimeVerticalRadius(lat)), 1e-8)
	}
}

// TestTransportRate compares with the turn of the local frame between two positions a second apart.
func TestTransportRate(t *testing.T) {
	p := Position{Lat: frame.Rad(58), Lon: frame.Rad(-3), Height: 40}
	v := r3.Vec{X: 6, Y: -4, Z: 0.5}
	const dt = 1.0
	a, b := LocalAt(p).Position(r3.Scale(-dt/2, v)), LocalAt(p).Position(r3.Scale(dt/2, v))
	turn := LocalAt(a).Rotation().Inverse().Mul(LocalAt(b).Rotation()).Quat()
	got := TransportRate(p, v)
	for i, c := range []struct{ got, want float64 }{{got.X, 2 * turn.Imag}, {got.Y, 2 * turn.Jmag}, {got.Z, 2 * turn.Kmag}} {
		if !near(c.got, c.want/dt, 1e-12) {
			t.Errorf("component %d: %v rad/s, want %v", i, c.got, c.want/dt)
		}
	}
}

// TestGravityAgainstPotential compares with the closed form of the normal potential, and the derived constants with the
// defining ones. Source: Heiskanen & Moritz, Physical Geodesy, 1967, ch. 2 (eq. 2-62 and 2-70 ff., from memory).
func TestGravityAgainstPotential(t *testing.T) {
	for lat := -math.Pi / 2; lat <= math.Pi/2; lat += 0.1 {
		for _, h := range []float64{-10e3, -1000, 0, 100, 1000, 10e3} {
			got, want := NormalGravity(lat, h), potentialGravity(lat, h)
			if tol := 1e-9 + 2e-10*math.Abs(h); !near(got, want, tol) {
				t.Errorf("%v rad, %v m: %.10f, want %.10f, allowed: %v m/s²", lat, h, got, want, tol)
			}
		}
	}
	k := SemiMinorM*GravityPoleMS2/(SemiMajorM*GravityEquatorMS2) - 1
	within(t, "Somigliana's k", SomiglianaK, k, 2e-11)
}

// potentialGravity returns the gradient of the normal potential in ellipsoidal coordinates.
func potentialGravity(lat, h float64) float64 {
	v := Position{Lat: lat, Height: h}.ECEF()
	potential := func(x, z float64) float64 {
		e := math.Sqrt(SemiMajorM*SemiMajorM - SemiMinorM*SemiMinorM)
		d := x*x + z*z - e*e
		u2 := d / 2 * (1 + math.Sqrt(1+4*e*e*z*z/(d*d)))
		u := math.Sqrt(u2)
		sb := z / u
		q := func(u float64) float64 { return ((1+3*u*u/(e*e))*math.Atan(e/u) - 3*u/e) / 2 }
		const w2 = EarthRateRadS * EarthRateRadS
		return GravitationalM3S2/e*math.Atan(e/u) + w2*SemiMajorM*SemiMajorM/2*q(u)/q(SemiMinorM)*(sb*sb-1.0/3) + w2/2*x*x
	}
	// a sixth-order difference along each axis
	slope := func(f func(float64) float64) float64 {
		const d = 3e4
		return (45*(f(d)-f(-d)) - 9*(f(2*d)-f(-2*d)) + (f(3*d) - f(-3*d))) / (60 * d)
	}
	gx := slope(func(d float64) float64 { return potential(v.X+d, v.Z) })
	gz := slope(func(d float64) float64 { return potential(v.X, v.Z+d) })
	return math.Hypot(gx, gz)
}

func TestNothingAllocates(t *testing.T) {
	p, q := Position{0.9, -0.1, 20}, Position{-0.8, 3.0, 20}
	l := LocalAt(p)
	line := LineFrom(p, 1)
	var sink float64
	for name, f := range map[string]func(){
		"ECEF":          func() { sink += p.ECEF().X },
		"FromECEF":      func() { sink += FromECEF(r3.Vec{X: 6e6, Y: 1e6, Z: 2e6}).Lat },
		"FromECEF deep": func() { sink += FromECEF(r3.Vec{X: 6e3, Y: 1e3, Z: 2e6}).Lat },
		"Local":         func() { sink += LocalAt(p).Position(r3.Vec{X: 1}).Lat + l.ENU(q).X },
		"Rotation":      func() { sink += l.Rotation().Quat().Real },
		"Direct":        func() { _, az := Direct(p, 1, 1000); sink += az },
		"Line":          func() { sink += line.At(1000).Scale },
		"Inverse":       func() { s, _, _ := Inverse(p, q); sink += s },
		"rates":         func() { sink += EarthRate(1).Y + TransportRate(p, r3.Vec{X: 1}).Y + NormalGravity(1, 2) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s allocates %v times a call", name, n)
		}
	}
	_ = sink
}

// TestNorthAndEast: on the meridian and on the parallel of the origin, the short ways give what the long one gives.
func TestNorthAndEast(t *testing.T) {
	for _, at := range []Position{{}, {Lat: 0.9, Lon: -2.1, Height: 55}, {Lat: -1.2, Lon: 3.1, Height: -30}, {Lat: 1.5707, Lon: 0.3, Height: 1000}} {
		l := LocalAt(at)
		for _, d := range []float64{0, 1e-9, -3e-7, 2e-4, -0.01, 0.3} {
			p := at
			p.Lat += d
			if got, want := l.North(p.Lat, p.Height), l.ENU(p).Y; math.Abs(got-want) > 4e-9 {
				t.Errorf("%v: %g rad north: %.12g m, want %.12g", at, d, got, want)
			}
			p = at
			p.Lon += d
			if got, want := l.East(d), l.ENU(p).X; math.Abs(got-want) > 4e-9 {
				t.Errorf("%v: %g rad east: %.12g m, want %.12g", at, d, got, want)
			}
		}
		// The frame of a point that is moved to is that of its position.
		m, p := l.Move(r3.Vec{X: 12, Y: -40, Z: 3})
		if d := r3.Norm(m.ENU(p)); d > 1e-8 {
			t.Errorf("%v: moved, the origin is %g m off its position", at, d)
		}
		v := r3.Vec{X: 1, Y: 2, Z: 3}
		x := LocalAt(p)
		if d := r3.Norm(r3.Sub(m.ToECEF(v), x.ToECEF(v))); d > 1e-9 {
			t.Errorf("%v: moved, the axes are off by %g", at, d)
		}
	}
}
