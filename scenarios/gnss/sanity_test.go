package gnss

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// The published sanity of the constellation: with all 24 slots and a mask of 5° the PDOP is 6 or less for at least 98 %
// of the time over the globe, and 4 to 12 satellites stand above the mask anywhere. Source: GPS SPS Performance
// Standard, October 2001, 3.1 and 2.3 (from memory).
//
// Places lie on a Fibonacci sphere (each stands for the same area), times every 6 minutes of a day.
func TestPublishedCoverage(t *testing.T) {
	sats := Nominal()
	const places, times = 150, 240
	golden := math.Pi * (3 - math.Sqrt(5))
	good, least, most := 0, 99, 0
	for i := range places {
		z := 1 - (2*float64(i)+1)/places
		p := geo.Position{Lat: math.Asin(z), Lon: frame.WrapPi(golden * float64(i))}
		local, at := geo.LocalAt(p), p.ECEF()
		for k := range times {
			unix := sats[0].Orbit.EpochUnix + 360*float64(k)
			var sight []r3.Vec
			for s := range sats {
				u := r3.Unit(local.FromECEF(r3.Sub(sats[s].Orbit.At(unix), at)))
				if u.Z >= math.Sin(frame.Rad(5)) {
					sight = append(sight, u)
				}
			}
			least, most = min(least, len(sight)), max(most, len(sight))
			if g, ok := NewGeometry(sight); ok && g.DOP.Position <= 6 {
				good++
			}
		}
	}
	share := float64(good) / (places * times)
	t.Logf("PDOP ≤ 6: %.3f %%, %d to %d satellites", 100*share, least, most)
	if share < 0.98 {
		t.Errorf("PDOP is 6 or less for %.2f %% of the globe and day, published: at least 98 %%", 100*share)
	}
	if least < 4 || most > 12 {
		t.Errorf("%d to %d satellites above 5°, published: 4 to 12", least, most)
	}
}

// Random directions: the closed form is the inverse that gonum computes from the geometry matrix.
func TestDOPAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 20).Draw(t, "n")
		sight := make([]r3.Vec, n)
		g := mat.NewDense(n, 4, nil)
		for i := range sight {
			az := rapid.Float64Range(0, 2*math.Pi).Draw(t, "azimuth")
			el := rapid.Float64Range(0, math.Pi/2).Draw(t, "elevation")
			sight[i] = frame.Baseline{Azimuth: az, Elevation: el, Length: 1}.Vec()
			g.SetRow(i, []float64{-sight[i].X, -sight[i].Y, -sight[i].Z, 1})
		}
		var n4, q mat.Dense
		n4.Mul(g.T(), g)
		err := q.Inverse(&n4)
		got, ok := NewGeometry(sight)
		cond := mat.Cond(&n4, 2)
		if err != nil || cond > 1e8 {
			return // gonum's own inverse is no yardstick there
		}
		tol := 1e-12 * cond
		if pdop := math.Sqrt(q.At(0, 0) + q.At(1, 1) + q.At(2, 2)); !ok && pdop < 1000 {
			t.Fatalf("no geometry, gonum has one with a PDOP of %g", pdop)
		} else if !ok {
			return
		}
		want := []float64{q.At(0, 0), q.At(1, 1), q.At(2, 2), q.At(0, 1), q.At(0, 2), q.At(1, 2)}
		scale := mat.Trace(&q)
		for i, w := range want {
			if math.Abs(got.Cofactor[i]-w) > tol*scale {
				t.Errorf("cofactor %d is %g, gonum has %g", i, got.Cofactor[i], w)
			}
		}
		d := got.DOP
		for name, pair := range map[string][2]float64{
			"GDOP": {d.Geometric, math.Sqrt(scale)},
			"PDOP": {d.Position, math.Sqrt(want[0] + want[1] + want[2])},
			"HDOP": {d.Horizontal, math.Sqrt(want[0] + want[1])},
			"VDOP": {d.Vertical, math.Sqrt(want[2])},
			"TDOP": {d.Time, math.Sqrt(q.At(3, 3))},
		} {
			if math.Abs(pair[0]-pair[1]) > tol*pair[1] {
				t.Errorf("%s is %g, gonum has %g", name, pair[0], pair[1])
			}
		}
		l := got.shape() // L·Lᵀ gives the cofactors back
		back := []float64{l[0] * l[0], l[1]*l[1] + l[2]*l[2], l[3]*l[3] + l[4]*l[4] + l[5]*l[5], l[0] * l[1], l[0] * l[3], l[1]*l[3] + l[2]*l[4]}
		for i := range back {
			if math.Abs(back[i]-got.Cofactor[i]) > tol*scale {
				t.Errorf("the shape gives %g for cofactor %d, want %g", back[i], i, got.Cofactor[i])
			}
		}
	})
}

// A textbook geometry, worked by hand: three satellites on the horizon 120° apart and one overhead. P = diag(1.5, 1.5,
// 0.75), so HDOP² = 4/3, VDOP² = 4/3, TDOP² = 1/4 + (1/4)²·4/3 = 1/3.
func TestDOPByHand(t *testing.T) {
	sight := []r3.Vec{{Z: 1}}
	for _, az := range []float64{0, 120, 240} {
		sight = append(sight, frame.Baseline{Azimuth: frame.Rad(az), Length: 1}.Vec())
	}
	g, ok := NewGeometry(sight)
	want := DOP{Geometric: math.Sqrt(3), Position: math.Sqrt(8. / 3), Horizontal: math.Sqrt(4. / 3), Vertical: math.Sqrt(4. / 3), Time: math.Sqrt(1. / 3)}
	for _, pair := range [][2]float64{{g.DOP.Geometric, want.Geometric}, {g.DOP.Position, want.Position},
		{g.DOP.Horizontal, want.Horizontal}, {g.DOP.Vertical, want.Vertical}, {g.DOP.Time, want.Time}} {
		if !ok || math.Abs(pair[0]-pair[1]) > 1e-12 {
			t.Errorf("DOPs are %+v (%v), by hand %+v", g.DOP, ok, want)
		}
	}
}

func TestNoGeometry(t *testing.T) {
	cone := []r3.Vec{}
	for az := 0.0; az < 360; az += 40 {
		cone = append(cone, frame.Baseline{Azimuth: frame.Rad(az), Elevation: frame.Rad(30), Length: 1}.Vec())
	}
	up := r3.Vec{Z: 1}
	for _, c := range []struct {
		name  string
		sight []r3.Vec
	}{
		{"none", nil},
		{"three", cone[:3]},
		{"all at one elevation", cone}, // height and clock cannot be told apart
		{"all in one spot", []r3.Vec{up, up, up, up, up}},
		{"not a number", []r3.Vec{up, cone[0], cone[1], cone[2], {X: math.NaN()}}},
	} {
		if g, ok := NewGeometry(c.sight); ok {
			t.Errorf("%s: a geometry %+v, want none", c.name, g)
		}
	}
}

// The period of a slot is half a sidereal day to a few seconds, and its ground track repeats after two revolutions.
// Source: 11 h 58 min in any textbook (Kaplan & Hegarty, 2.3), here to the 5 s the nominal axis leaves.
func TestPeriodAndGroundTrack(t *testing.T) {
	for _, s := range Nominal() {
		period := 2 * math.Pi / s.Orbit.MeanMotion
		if want := 11*3600 + 58*60.; math.Abs(period-want) > 5 {
			t.Fatalf("%s: period is %.1f s, want %.0f s", s.Slot, period, want)
		}
		start := s.Orbit.EpochUnix + 1234
		sidereal := 86164.0905 // s; a sidereal day, Groves 2013, ch. 2
		if d := r3.Norm(r3.Sub(s.Orbit.At(start), s.Orbit.At(start+sidereal))); d > 50e3 {
			t.Errorf("%s: %.0f km off its track after a sidereal day, want less than 50 km", s.Slot, d/1e3)
		}
		if half := r3.Norm(r3.Sub(s.Orbit.At(start), s.Orbit.At(start+sidereal/4))); half < 20000e3 {
			t.Errorf("%s: moved %.0f km in a quarter of a day; the test could not fail", s.Slot, half/1e3)
		}
	}
}

// At its epoch the argument of latitude of each slot is that of the table: latitude by sin φ = sin i·sin u, and the
// longitude by spherical trigonometry, both apart from the code's rotation matrices.
func TestSlotsAtEpoch(t *testing.T) {
	for _, c := range []struct {
		slot    string
		raan, u float64
	}{{"A1", 272.847, 268.126}, {"B4", 332.847, 204.376}, {"D3", 92.847, 35.156}, {"F4", 212.847, 135.346}} {
		for _, s := range Nominal() {
			if s.Slot != c.slot {
				continue
			}
			v := s.Orbit.At(unixSeconds(nominalEpoch))
			lat := math.Asin(math.Sin(frame.Rad(55)) * math.Sin(frame.Rad(c.u)))
			lon := math.Atan2(math.Cos(frame.Rad(55))*math.Sin(frame.Rad(c.u)), math.Cos(frame.Rad(c.u))) + frame.Rad(c.raan) - frame.Rad(279.06)
			got, dlon := math.Asin(v.Z/r3.Norm(v)), frame.AngleDiff(math.Atan2(v.Y, v.X), lon)
			if math.Abs(r3.Norm(v)-26559.7e3) > 1e-3 || math.Abs(got-lat) > 1e-9 || math.Abs(dlon) > 1e-9 {
				t.Errorf("%s stands at %v, want latitude %g, longitude %g", c.slot, v, frame.Deg(lat), frame.Deg(lon))
			}
		}
	}
}
