package track

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/internal/deriv"
	"swellbench/scenarios/units"
)

func ptr[T any](v T) *T { return &v }

func knots(x float64) *units.Speed { return ptr(units.Speed(x * geo.KnotMS)) }

func metres(x float64) *units.Length { return ptr(units.Length(x)) }

func degrees(x float64) *units.Angle { return ptr(deg(x)) }

// from is the place so far from the start, in m, in the direction, in degrees.
func from(p Position, distance, azimuth float64) *WayPoint {
	to, _ := geo.Direct(geo.Position{Lat: float64(p.Latitude), Lon: float64(p.Longitude)}, frame.Rad(azimuth), distance)
	return &WayPoint{Latitude: units.Angle(to.Lat), Longitude: units.Angle(to.Lon)}
}

// outing is a track with every manoeuvre, in all the ways of going from one to the next.
func outing(p Position) Spec {
	return Spec{Position: p, Heading: degrees(210), Manoeuvres: []Manoeuvre{
		{Hold: &Hold{For: 12}},
		{Turn: &TurnTo{By: degrees(-30)}},
		{Run: &Run{To: from(p, 300, 140), Speed: knots(6)}},
		{Run: &Run{To: from(p, 420, 190)}},
		{Run: &Run{To: from(p, 900, 200), Speed: knots(9), Radius: metres(80)}},
		{Turn: &TurnTo{To: degrees(80), Direction: Port, Rate: ptr(units.AngularRate(frame.Rad(3)))}},
		{Run: &Run{Distance: metres(200), Speed: knots(5)}},
		{Lines: &Lines{Count: 3, Length: 150, Spacing: 25, RunIn: 20, Radius: metres(30), Course: degrees(10)}},
		{Lines: &Lines{Count: 3, Length: 120, Spacing: 64, Side: Port, Radius: metres(30), Speed: knots(4.5)}},
		{Lines: &Lines{Count: 2, Length: 120, Spacing: 150, Radius: metres(30)}},
		{Calibration: &Calibration{Length: 200, RunIn: 30, Radius: metres(40), Course: degrees(300)}},
		{Run: &Run{For: ptr(units.Duration(60)), Course: degrees(20)}},
		{Keep: &Keep{For: 150, Radius: 4, Period: ptr(units.Duration(35)), Heading: degrees(275)}},
		{Run: &Run{Distance: metres(100), Speed: knots(4)}},
		{Eight: &Eight{Radius: 35, Rounds: ptr(2), Direction: Port, Speed: knots(7)}},
		{Turn: &TurnTo{By: degrees(500), Radius: metres(60)}},
		{Turn: &TurnTo{By: degrees(-3)}},
	}}
}

// sailed are tracks with manoeuvres in all sorts of places.
func sailed(t testing.TB) map[string]*segments {
	all := map[string]*segments{}
	for name, p := range map[string]Position{
		"temperate": at(50.1, -4.2, 51), "equator": at(0, 17.3, -20), "south": at(-78.4, 166.1, -12), "mountain lake": at(-15.8, -69.3, 3812),
		"antimeridian": at(61.2, 179.9999, 14), "1 km from the pole": at(89.991, 12, 21), "at the south pole": at(-90, 40, 2800),
	} {
		all[name] = mustNew(t, outing(p)).(*segments)
		s := outing(p)
		s.Current, s.WindDrift = &Drift{deg(60), 0.8}, &Drift{deg(200), 0.4}
		all[name+", with drift"] = mustNew(t, s).(*segments)
		s.Heading, s.Speed = degrees(145), 2
		all[name+", with drift, under way"] = mustNew(t, s).(*segments)
	}
	return all
}

// Each part is differentiated as in TestDerivatives, at its beginning, in its middle and at its end, itself carried on a
// little beyond; that the parts meet is for TestManoeuvresMeet.
func TestManoeuvreDerivatives(t *testing.T) {
	for name, p := range sailed(t) {
		t.Run(name, func(t *testing.T) {
			for i := range p.all {
				begin, length := p.all[i].from, 10.0
				if i+1 < len(p.all) {
					length = p.all[i+1].from - begin
				}
				if length < 1e-3 {
					continue
				}
				part := &segments{p.height, p.all[i : i+1]}
				h := min(step, length/20)
				times := []float64{begin, begin + length/2, begin + length}
				if _, ok := p.all[i].curve.(*station); ok { // it does not go on beyond its ends
					times = []float64{begin + 4*h, begin + length/2, begin + length - 4*h}
				}
				for _, at := range times {
					differentiate(t, part, at, h, tolVel, tolAcc, tolRate, tolDot)
				}
			}
		})
	}
}

// The same over the meetings, for the whole path. Where the change of the acceleration leaps, by no more than 0.1 m/s³
// and 0.1 rad/s³ here, differences with the step h are off by h times that.
func TestManoeuvreDerivativesAcross(t *testing.T) {
	const h, leap = 0.002, 0.1
	for name, p := range sailed(t) {
		t.Run(name, func(t *testing.T) {
			for i := 1; i < len(p.all); i++ {
				differentiate(t, p, p.all[i].from, h, 0.1*leap*h*h, leap*h, 0.1*leap*h*h, leap*h)
			}
		})
	}
}

// differentiate holds velocity, acceleration and rates at one time against differences with the step h. The tolerances
// come on top of the rounding, which grows as the step shrinks.
func differentiate(t *testing.T, p Path, at, h, vTol, aTol, rTol, dTol float64) {
	t.Helper()
	s := p.At(at)
	local := geo.LocalAt(s.Position)
	pos := func(t float64) r3.Vec { return local.ENU(p.At(t).Position) }
	vel := func(t float64) r3.Vec {
		s := p.At(t)
		return local.FromECEF(geo.LocalAt(s.Position).ToECEF(s.Velocity))
	}
	label := func(what string) string { return fmt.Sprintf("at %.6f s: %s", at, what) }
	near(t, label("velocity"), s.Velocity, deriv.OfVec(pos, at, h), vTol+2e-8/h)
	near(t, label("acceleration"), s.Acceleration, deriv.OfVec(vel, at, h), aTol+1e-9/h)
	axes := func(t float64) (right, forward, up r3.Vec) {
		s := p.At(t)
		l := geo.LocalAt(s.Position)
		sin, cos := math.Sincos(s.Heading)
		return l.ToECEF(r3.Vec{X: cos, Y: -sin}), l.ToECEF(r3.Vec{X: sin, Y: cos}), l.ToECEF(r3.Vec{Z: 1})
	}
	near(t, label("rate of the level frame"), s.Rate, deriv.Rate(axes, at, h), rTol+1e-11/h)
	near(t, label("its derivative"), s.RateDot, deriv.OfVec(func(t float64) r3.Vec { return p.At(t).Rate }, at, h), dTol+1e-11/h)
}

// Where two parts meet nothing leaps: not position, velocity, acceleration, course or heading, nor the rate of turn and
// its derivative.
func TestManoeuvresMeet(t *testing.T) {
	worst := map[string]float64{}
	for name, p := range sailed(t) {
		for i := 1; i < len(p.all); i++ {
			a, b := p.all[i-1].state(p.all[i].from-p.all[i-1].from), p.all[i].state(0)
			sa, sb := a.atHeight(p.height), b.atHeight(p.height)
			local, other := geo.LocalAt(sa.Position), geo.LocalAt(sb.Position)
			same := func(v r3.Vec) r3.Vec { return local.FromECEF(other.ToECEF(v)) }
			heading := func(s PathState, l geo.Local) r3.Vec {
				sin, cos := math.Sincos(s.Heading)
				return l.ToECEF(r3.Vec{X: sin, Y: cos})
			}
			for _, q := range []struct {
				what string
				leap float64
				tol  float64
			}{
				{"position, m", r3.Norm(local.ENU(sb.Position)), 1e-8},
				{"velocity, m/s", r3.Norm(r3.Sub(same(sb.Velocity), sa.Velocity)), 1e-8},
				{"acceleration, m/s²", r3.Norm(r3.Sub(same(sb.Acceleration), sa.Acceleration)), 1e-9},
				{"heading, rad", r3.Norm(r3.Sub(heading(sb, other), heading(sa, local))), 1e-9},
				{"rate, rad/s", r3.Norm(r3.Sub(sb.Rate, sa.Rate)), 1e-10},
				{"derivative of the rate, rad/s²", r3.Norm(r3.Sub(sb.RateDot, sa.RateDot)), 2e-9},
			} {
				worst[q.what] = max(worst[q.what], q.leap)
				if !(q.leap <= q.tol) {
					t.Errorf("%s: at %.3f s, part %d (%T after %T): %s leaps by %.3g, tolerance %g", name, p.all[i].from, i, p.all[i].curve, p.all[i-1].curve, q.what, q.leap, q.tol)
				}
			}
		}
	}
	t.Logf("greatest leaps: %v", worst)
}

func BenchmarkManoeuvres(b *testing.B) {
	s := outing(at(50.1, -4.2, 51))
	s.Current = &Drift{deg(60), 0.8}
	b.Run("make", func(b *testing.B) {
		for b.Loop() {
			mustNew(b, s)
		}
	})
	p := mustNew(b, s)
	for name, step := range map[string]float64{"in order": 0.01, "random": 2700 * (math.Sqrt(5) - 1) / 2} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			t := 0.0
			for b.Loop() {
				p.At(t)
				t = math.Mod(t+step, 2700)
			}
		})
	}
}
