package geo

import (
	"fmt"
	"math"
	"math/big"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/internal/vectors"
)

func TestScaledVectors(t *testing.T) {
	table(t, "geodesic_scaled", func(t *testing.T, row vectors.Row) {
		p := Position{Lat: frame.Rad(row.In(t, "lat1_deg")), Lon: frame.Rad(row.In(t, "lon1_deg")), Height: 12}
		switch row.Case {
		case "direct":
			x := DirectScaled(p, frame.Rad(row.In(t, "azi1_deg")), row.In(t, "distance_m"))
			row.Check(t, "lat2_deg", frame.Deg(x.Position.Lat))
			row.Check(t, "lon2_deg", frame.Deg(x.Position.Lon))
			row.Check(t, "azi2_deg", frame.Deg(x.Azimuth))
			row.Check(t, "reduced_length_m", x.ReducedLength)
			row.Check(t, "scale", x.Scale)
			if x.Position.Height != 12 {
				t.Errorf("%s: arrives at height %v m", row.ID, x.Position.Height)
			}
		case "inverse":
			q := Position{Lat: frame.Rad(row.In(t, "lat2_deg")), Lon: frame.Rad(row.In(t, "lon2_deg")), Height: 12}
			s, az1, az2 := Inverse(p, q)
			row.Check(t, "distance_m", s)
			x := DirectScaled(p, az1, s)
			row.Check(t, "reduced_length_m", x.ReducedLength)
			if d := chord(x.Position, q); d > 2e-8 {
				t.Errorf("%s: leaving at %v rad one arrives %v m off", row.ID, az1, d)
			}
			back := DirectScaled(q, az2, -s)
			if d := chord(back.Position, p); d > 2e-8 {
				t.Errorf("%s: going back at %v rad one arrives %v m off", row.ID, az2, d)
			}
		default:
			t.Errorf("%s: no test for case %s", row.ID, row.Case)
		}
	})
}

// TestDirectAgainstCurve follows the straightest curve on the ellipsoid step by step, and beside it Jacobi's equation
// for its neighbours, with nothing in common with the series. Source of the equations: any text on differential
// geometry (a geodesic's acceleration is along the normal; m” = −K·m).
func TestDirectAgainstCurve(t *testing.T) {
	for _, c := range []struct{ lat, lon, az, s float64 }{
		{0, 0, 90, 1e6}, {50, -5, 35, 3e6}, {-72, 120, 250, 1.1e7}, {10, 10, 1, 1.5e7}, {89.99, 0, 70, 4e6}, {30, 170, 100, 250},
	} {
		p := Position{Lat: frame.Rad(c.lat), Lon: frame.Rad(c.lon)}
		az := frame.Rad(c.az)
		got := DirectScaled(p, az, c.s)
		want := follow(p, az, c.s)
		name := fmt.Sprintf("%+v", c)
		if d := r3.Norm(r3.Sub(got.Position.ECEF(), want.at)); d > 2e-8 {
			t.Errorf("%s: %v m off", name, d)
		}
		s, co := math.Sincos(got.Azimuth)
		if d := r3.Norm(r3.Sub(LocalAt(got.Position).ToECEF(r3.Vec{X: s, Y: co}), want.along)); d > 1e-12 {
			t.Errorf("%s: direction is %v rad off", name, d)
		}
		within(t, name+": reduced length", got.ReducedLength, want.m, 2e-8)
		within(t, name+": scale", got.Scale, want.k, 1e-14)
	}
}

// A walk is the state of [follow]: position and direction, and two solutions of Jacobi's equation with their slopes.
type walk struct {
	at, along    r3.Vec
	m, md, k, kd float64
}

// follow integrates by Runge and Kutta's rule of fourth order, in steps short enough for its error to vanish.
func follow(p Position, az, s float64) walk {
	const steps = 30000
	sa, ca := math.Sincos(az)
	w := walk{at: p.ECEF(), along: LocalAt(p).ToECEF(r3.Vec{X: sa, Y: ca}), md: 1, k: 1}
	w.at = Position{Lat: p.Lat, Lon: p.Lon}.ECEF()
	ia, ib := 1/(SemiMajorM*SemiMajorM), 1/(SemiMinorM*SemiMinorM)
	slope := func(w walk) walk {
		g := r3.Vec{X: ia * w.at.X, Y: ia * w.at.Y, Z: ib * w.at.Z}
		q := ia*w.along.X*w.along.X + ia*w.along.Y*w.along.Y + ib*w.along.Z*w.along.Z
		g2 := r3.Dot(g, g)
		curvature := ia * ia * ib / (g2 * g2) // of Gauss
		return walk{w.along, r3.Scale(-q/g2, g), w.md, -curvature * w.m, w.kd, -curvature * w.k}
	}
	add := func(a walk, f float64, b walk) walk {
		return walk{r3.Add(a.at, r3.Scale(f, b.at)), r3.Add(a.along, r3.Scale(f, b.along)), a.m + f*b.m, a.md + f*b.md, a.k + f*b.k, a.kd + f*b.kd}
	}
	// Sums are kept in two parts, or the rounding of 30,000 steps would outweigh the tolerance.
	var lost walk
	h := s / steps
	for range steps {
		k1 := slope(w)
		k2 := slope(add(w, h/2, k1))
		k3 := slope(add(w, h/2, k2))
		k4 := slope(add(w, h, k3))
		d := add(add(add(add(lost, h/6, k1), h/3, k2), h/3, k3), h/6, k4)
		next := add(w, 1, d)
		lost = add(d, -1, add(next, -1, w))
		w = next
	}
	return w
}

func TestGeodesicProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawPosition(t, "p"), drawPosition(t, "q")
		if rapid.Bool().Draw(t, "opposite") { // where the problem is hard
			off := rapid.Float64Range(-1e-2, 1e-2)
			q = Position{Lat: math.Max(-math.Pi/2, math.Min(math.Pi/2, off.Draw(t, "dlat")-p.Lat)), Lon: frame.WrapPi(p.Lon + math.Pi + off.Draw(t, "dlon"))}
		}
		if rapid.Bool().Draw(t, "near") {
			off := rapid.SampledFrom([]float64{-1e-3, -1e-6, 0, 1e-9, 1e-7, 2e-5, 1e-2})
			q = Position{Lat: math.Max(-math.Pi/2, math.Min(math.Pi/2, p.Lat+off.Draw(t, "dlat"))), Lon: frame.WrapPi(p.Lon + off.Draw(t, "dlon"))}
		}
		p.Height, q.Height = 0, 0
		s, az1, az2 := Inverse(p, q)
		if !(s >= 0 && s <= math.Pi*SemiMajorM) || !(az1 >= 0 && az1 < 2*math.Pi) || !(az2 >= 0 && az2 < 2*math.Pi) {
			t.Fatalf("%v to %v: %v m, %v, %v", p, q, s, az1, az2)
		}
		l := LineFrom(p, az1)
		x := l.At(s)
		if d := chord(x.Position, q); d > 2e-8 {
			t.Fatalf("%v to %v: direct arrives %v m off", p, q, d)
		}
		// m12 times an error of the azimuth is how far aside the line passes; towards a pole, azimuth goes with longitude
		if across := frame.AngleDiff(x.Azimuth, az2) * x.ReducedLength; math.Abs(across)*math.Cos(q.Lat) > 2e-8 {
			t.Fatalf("%v to %v: azimuth %v, but direct arrives at %v", p, q, az2, x.Azimuth)
		}
		// No point is so close to where the line arrives that a shorter one could leave earlier: m12 ≥ 0 up to there.
		if x.ReducedLength < -1e-3 {
			t.Fatalf("%v to %v: passes a conjugate point, reduced length %v m", p, q, x.ReducedLength)
		}
		back, _, _ := Inverse(q, p)
		if !near(back, s, 2e-8) {
			t.Fatalf("%v to %v: %v m there, %v m back", p, q, s, back)
		}
		// the straight way through the Earth is shorter, the way over any third point longer
		if c := chord(p, q); c > s+1e-8 {
			t.Fatalf("%v to %v: %v m, but the chord is %v m", p, q, s, c)
		}
		via := drawPosition(t, "via")
		a, _, _ := Inverse(p, via)
		b, _, _ := Inverse(via, q)
		if a+b < s-2e-8 {
			t.Fatalf("%v to %v: %v m, over %v %v m", p, q, s, via, a+b)
		}
	})
}

// TestGuessIsGood: from its guess, Newton's method needs few steps everywhere, also where it is easily led astray.
func TestGuessIsGood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := drawPosition(t, "p"), drawPosition(t, "q")
		if rapid.Bool().Draw(t, "opposite") {
			off := rapid.Float64Range(-1e-2, 1e-2)
			q = Position{Lat: math.Max(-math.Pi/2, math.Min(math.Pi/2, off.Draw(t, "dlat")-p.Lat)), Lon: frame.WrapPi(p.Lon + math.Pi + off.Draw(t, "dlon"))}
		}
		tr, _ := wgs84.triangle(p, q)
		if tr.slam12 == 0 || tr.cbet1 == tiny || tr.sbet1 == 0 {
			return // a meridian or the equator: nothing to solve
		}
		s, c := tr.guess()
		if a, steps := tr.solve(s, c); steps > 7 {
			t.Fatalf("%v to %v: %d steps from %v to %v", p, q, steps, math.Atan2(s, c), math.Atan2(a.salp1, a.calp1))
		}
	})
}

// TestBisection: even the worst guess ends at the same line.
func TestBisection(t *testing.T) {
	p, q := Position{Lat: -0.7}, Position{Lat: 0.69, Lon: 3.1}
	tr, _ := wgs84.triangle(p, q)
	s, c := tr.guess()
	want, _ := tr.solve(s, c)
	for _, az := range []float64{1e-12, 1e-3, 1, 2, 3, math.Pi - 1e-12} {
		s, c := math.Sincos(az)
		got, steps := tr.solve(s, c)
		if d := math.Atan2(got.salp1*want.calp1-got.calp1*want.salp1, got.calp1*want.calp1+got.salp1*want.salp1); !near(d, 0, 1e-12) {
			t.Errorf("from %v rad: %v rad off after %d steps", az, d, steps)
		}
	}
}

// TestAstroid compares with the equation that the root is to solve. Karney 2013, eq. 55.
func TestAstroid(t *testing.T) {
	for x := -3.0; x <= 0; x += 0.125 {
		for y := -3.0; y <= 0; y += 0.125 {
			k := astroid(x, y)
			if y == 0 && x >= -1 {
				if k != 0 {
					t.Errorf("x %v, y %v: %v, want 0", x, y, k)
				}
				continue
			}
			// x²/(1+κ)² + y²/κ² = 1, which has one positive root
			if k <= 0 || !near(x*x/((1+k)*(1+k))+y*y/(k*k), 1, 1e-12) {
				t.Errorf("x %v, y %v: %v is no root", x, y, k)
			}
		}
	}
}

// TestLonBetween compares with the difference in 200 bits, π to 50 digits.
func TestLonBetween(t *testing.T) {
	parse := func(s string) *big.Float {
		f, _, err := big.ParseFloat(s, 10, 200, big.ToNearestEven)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	pi := parse("3.1415926535897932384626433832795028841971693993751")
	turn := new(big.Float).Add(pi, pi)
	for _, c := range [][2]float64{
		{1, 2}, {2, 1}, {3.1, -3.1}, {-3.1, 3.1}, {math.Pi - 1e-9, 1e-9 - math.Pi}, {1e-9 - math.Pi, math.Pi - 1e-9}, {0, 3.14159},
		{-1.5, 1.6415}, {1.5, -1.6415}, {0.1, math.Pi - 1e-12}, {-1.1, 2.0415}, {3, -0.1415926}, {-3, 0.1415926}, {1e-17, 1e-3},
	} {
		d := new(big.Float).SetPrec(200).SetFloat64(c[1])
		d.Sub(d, new(big.Float).SetFloat64(c[0]))
		if d.Cmp(pi) > 0 {
			d.Sub(d, turn)
		} else if d.Cmp(new(big.Float).Neg(pi)) < 0 {
			d.Add(d, turn)
		}
		want, _ := d.Float64()
		rest, _ := new(big.Float).Sub(pi, d.Abs(d)).Float64()
		gotD, gotRest := lonBetween(c[0], c[1])
		if !near(gotD, want, 3e-16*math.Abs(want)) || !near(gotRest, rest, 3e-16*rest) {
			t.Errorf("%v: %.17g and %.17g, want %.17g and %.17g", c, gotD, gotRest, want, rest)
		}
	}
	if d, rest := lonBetween(-math.Pi/2, math.Pi/2); math.Abs(d) != math.Pi || rest != 0 {
		t.Errorf("opposite meridians: %v and %v", d, rest)
	}
}

func TestReducedLengthIsASpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Position{Lat: rapid.Float64Range(-1.5, 1.5).Draw(t, "lat"), Lon: drawLon(t, "lon")}
		az, s := rapid.Float64Range(-7, 7).Draw(t, "az"), rapid.Float64Range(1, 1.9e7).Draw(t, "s")
		x := DirectScaled(p, az, s)
		const d = 1e-5
		a, b := DirectScaled(p, az-d, s), DirectScaled(p, az+d, s)
		sin, cos := math.Sincos(x.Azimuth)
		right := LocalAt(x.Position).ToECEF(r3.Vec{X: cos, Y: -sin})
		m := r3.Dot(r3.Sub(b.Position.ECEF(), a.Position.ECEF()), right) / (2 * d)
		if !near(m, x.ReducedLength, 2e-3) { // rounding of 2 nm over 2e-5, and the third derivative
			t.Fatalf("spread %v m, reduced length %v m", m, x.ReducedLength)
		}
	})
}

func TestGeodesicOddInput(t *testing.T) {
	for _, p := range []Position{{Lat: math.NaN()}, {Lat: math.Inf(1)}, {Lat: 1.6}, {Lon: math.NaN()}, {Lon: math.Inf(-1)}} {
		if q, az := Direct(p, 1, 1000); !math.IsNaN(q.Lat+q.Lon) || (p.Lon == 0 && !math.IsNaN(az)) {
			t.Errorf("Direct from %v: %v, %v, want NaN", p, q, az)
		}
		for _, other := range []Position{{}, {Lat: 1, Lon: 2}, p} {
			if s, _, _ := Inverse(p, other); !math.IsNaN(s) {
				t.Errorf("Inverse %v to %v: %v, want NaN", p, other, s)
			}
			if s, _, _ := Inverse(other, p); !math.IsNaN(s) {
				t.Errorf("Inverse %v to %v: %v, want NaN", other, p, s)
			}
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1)} {
		if q, _ := Direct(Position{Lat: 1}, v, 1000); !math.IsNaN(q.Lat) {
			t.Errorf("Direct at azimuth %v: %v", v, q)
		}
		if q, _ := Direct(Position{Lat: 1}, 1, v); !math.IsNaN(q.Lat) {
			t.Errorf("Direct over %v m: %v", v, q)
		}
	}
	// longitudes beyond the usual range are the same meridians
	a, az := Direct(Position{Lat: 0.5, Lon: 3}, 1, 1e6)
	b, bz := Direct(Position{Lat: 0.5, Lon: 3 - 4*math.Pi}, 1, 1e6)
	if chord(a, b) > 2e-8 || !near(az, bz, 1e-15) {
		t.Errorf("two turns further: %v, want %v", b, a)
	}
}

func drawLon(t *rapid.T, label string) float64 {
	return rapid.OneOf(rapid.Float64Range(-math.Pi+1e-15, math.Pi), rapid.SampledFrom([]float64{0, math.Pi, math.Pi / 2, -math.Pi / 2, -math.Pi + 1e-9})).Draw(t, label)
}

func drawPosition(t *rapid.T, label string) Position {
	lat := rapid.OneOf(
		rapid.Float64Range(-math.Pi/2, math.Pi/2),
		rapid.SampledFrom([]float64{0, math.Pi / 2, -math.Pi / 2, math.Pi/2 - 1e-9, -math.Pi/2 + 1e-12, 1e-12}),
	)
	return Position{lat.Draw(t, label+".lat"), drawLon(t, label+".lon"), rapid.Float64Range(-11e3, 1e6).Draw(t, label+".height")}
}
