package inertial

import (
	"math"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/internal/deriv"
	"swellbench/scenarios/internal/vectors"
	"swellbench/scenarios/units"
)

func standing(lat, heading float64) func(float64) State {
	s := State{Position: geo.Position{Lat: lat}, Attitude: frame.Attitude{Heading: heading}}
	return func(float64) State { return s }
}

func navigator(t *testing.T, spec Spec, truth func(float64) State, seed uint64, outages ...Outage) *Navigator {
	t.Helper()
	n, err := NewWith(spec, truth, outages, seed)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func near(got, want, abs, rel float64) bool { return math.Abs(got-want) <= abs+rel*math.Abs(want) }

// Under way in a seaway, weaving, with all biases: against a full navigator in Earth-centred axes. The published rows
// only know a sensor at rest.
func TestUnderWay(t *testing.T) {
	for _, lat := range []float64{55, -72} {
		w := world{lat0: lat * degree, speed: 9}
		gyro, accel := r3.Vec{X: 2 * degPerHour, Y: -1.5 * degPerHour, Z: 3 * degPerHour}, r3.Vec{X: 300 * microG, Y: -200 * microG, Z: 250 * microG}
		spec := Spec{
			GyroBias:  &Gyros{units.AngularRate(gyro.X), units.AngularRate(gyro.Y), units.AngularRate(gyro.Z)},
			AccelBias: &Accelerometers{units.Acceleration(accel.X), units.Acceleration(accel.Y), units.Acceleration(accel.Z)},
			Alignment: Perfect, Height: Free,
		}
		const until = 240.5
		n := navigator(t, spec, w.state, 1, Outage{From: 0, Until: 300})
		p, v, heading, pitch, roll := w.navigate(offs{gyro: gyro, accel: accel}, until, 0.1)
		d := n.At(until)
		for _, c := range []struct {
			name           string
			got, want, abs float64
		}{
			{"east, m", d.PositionENU.X, p.X, 0.05}, {"north, m", d.PositionENU.Y, p.Y, 0.05}, {"up, m", d.PositionENU.Z, p.Z, 0.05},
			{"velocity east, m/s", d.VelocityENU.X, v.X, 1e-3}, {"velocity north, m/s", d.VelocityENU.Y, v.Y, 1e-3}, {"velocity up, m/s", d.VelocityENU.Z, v.Z, 1e-3},
			{"heading, rad", d.Heading, heading, 2e-5}, {"pitch, rad", d.Pitch, pitch, 5e-6}, {"roll, rad", d.Roll, roll, 5e-6},
		} {
			if !near(c.got, c.want, c.abs, 0.005) {
				t.Errorf("lat %g: %s: %.6g by the linear equations, %.6g by the full navigator", lat, c.name, c.got, c.want)
			}
		}
	}
}

// At the speed of an aircraft, with only position, velocity and heading off at the loss: the terms of transport rate and
// of the Coriolis acceleration, which a vessel hardly shows. M and N count as constant, which is 0.7 % of them.
func TestTransport(t *testing.T) {
	for _, c := range []struct {
		name string
		off  offs
	}{
		{"north of where it is", offs{north: 2000}},
		{"too fast to the east", offs{east: 0.5}},
		{"heading", offs{headingU: 0.2 * degree}},
	} {
		for _, lat := range []float64{66, -71} {
			w := world{lat0: lat * degree, speed: 250}
			const until = 240.0
			o := Outage{From: 0, Until: 300, Start: &Start{PositionENU: r3.Vec{Y: c.off.north}, VelocityENU: r3.Vec{X: c.off.east}, Heading: c.off.headingU}}
			n := navigator(t, Spec{Alignment: Perfect, Height: Free}, w.state, 1, o)
			p, v, heading, pitch, roll := w.navigate(c.off, until, 0.1)
			d := n.At(until)
			for _, x := range []struct {
				name           string
				got, want, abs float64
			}{
				{"east, m", d.PositionENU.X, p.X, 0.05}, {"north, m", d.PositionENU.Y, p.Y, 0.05}, {"up, m", d.PositionENU.Z, p.Z, 0.05},
				{"velocity east, m/s", d.VelocityENU.X, v.X, 2e-4}, {"velocity north, m/s", d.VelocityENU.Y, v.Y, 2e-4}, {"velocity up, m/s", d.VelocityENU.Z, v.Z, 5e-4},
				{"heading, rad", d.Heading, heading, 2e-7}, {"pitch, rad", d.Pitch, pitch, 2e-7}, {"roll, rad", d.Roll, roll, 2e-7},
			} {
				if !near(x.got, x.want, x.abs, 0.01) {
					t.Errorf("%s, lat %g: %s: %.6g by the linear equations, %.6g by the full navigator", c.name, lat, x.name, x.got, x.want)
				}
			}
		}
	}
}

// 84.4 minutes: an accelerometer bias at the equator comes back to where it began. Source: Schuler 1923, in any textbook.
func TestSchulerPeriod(t *testing.T) {
	for axis, name := range []string{"east", "north"} {
		bias := Accelerometers{}
		bias[axis] = 100 * microG
		n := navigator(t, Spec{AccelBias: &bias, Alignment: Perfect}, standing(0, 0), 1, Outage{From: 0, Until: 7000})
		best, low := 0.0, math.Inf(1)
		for at := 3000.0; at < 7000; at += 0.5 {
			d := n.At(at).PositionENU
			if x := math.Abs([...]float64{d.X, d.Y}[axis]); x < low {
				best, low = at, x
			}
		}
		north, east, _ := SchulerPeriods(0)
		want := [...]float64{east, north}[axis]
		if !near(best, want, 2, 0.001) || !near(best/60, 84.4, 0.25, 0) {
			t.Errorf("%s: period is %.1f s (%.2f min), want %.1f s and 84.4 min", name, best, best/60, want)
		}
	}
}

// A quarter of the Foucault period turns an oscillation that began north and south into one of east and west.
func TestFoucault(t *testing.T) {
	lat := 60 * degree
	_, _, foucault := SchulerPeriods(lat)
	quarter := foucault / 4
	n := navigator(t, Spec{}, standing(lat, 1), 1, Outage{From: 0, Until: quarter + 6000, Start: &Start{VelocityENU: r3.Vec{Y: 0.1}}})
	amplitude := func(from float64) (east, north float64) {
		for at := from - 2540; at < from+2540; at += 20 {
			v := n.At(at).VelocityENU
			east, north = math.Max(east, math.Abs(v.X)), math.Max(north, math.Abs(v.Y))
		}
		return east, north
	}
	if e, n := amplitude(2540); e > 0.5*n {
		t.Errorf("at first %.3g m/s east and %.3g m/s north, want mostly north", e, n)
	}
	if e, n := amplitude(quarter); n > 0.35*e {
		t.Errorf("after a quarter of the Foucault period %.3g m/s east and %.3g m/s north, want mostly east", e, n)
	}
}

// The sigmas of pure noise are those of the closed forms (rows random_walk), as long as the Schuler loop hardly turns.
func TestNoiseSigmas(t *testing.T) {
	for _, row := range vectors.Load(t, "testdata/inertial_formulas.jsonl") {
		if row.Case != "random_walk" {
			continue
		}
		at := row.In(t, "time_s")
		accel := AccelerometerNoise(row.In(t, "accel_noise_ug_per_sqrthz") * microG)
		gyro := AngleRandomWalk(row.In(t, "angle_random_walk_deg_per_sqrth") * degPerRootHour)
		sigma := func(s Spec) Sigma {
			s.Alignment = Perfect
			return navigator(t, s, standing(0.7, 0.3), 1, Outage{From: 5, Until: at + 10}).At(5 + at).Sigma
		}
		a, g := sigma(Spec{Accel: &accel}), sigma(Spec{Gyro: &gyro})
		loop := 1.5e-6 * at * at // (ωs·t)², the share of the loop
		for _, c := range []struct {
			field string
			got   float64
		}{
			{"sigma_pos_accel_noise_m", a.PositionENU.X}, {"sigma_vel_accel_noise_mps", a.VelocityENU.Y},
			{"sigma_pos_gyro_noise_m", g.PositionENU.Y}, {"sigma_vel_gyro_noise_mps", g.VelocityENU.X},
			{"sigma_angle_deg", frame.Deg(g.Heading)},
		} {
			if want := row.Expected[c.field].(float64); !near(c.got, want, 0, 0.002+loop/3) {
				t.Errorf("%s: %s is %.6g, want %.6g within %.2g %%", row.ID, c.field, c.got, want, 100*(0.002+loop/3))
			}
		}
	}
}

func tactical() Spec { return Spec{Grade: "tactical", Recovery: 4} }

func TestRandomAccess(t *testing.T) {
	w := world{lat0: 50 * degree, speed: 5}
	outages := []Outage{{From: 20, Until: 80}, {From: 200, Until: 260, HeadingOnly: true}, {From: 230, Until: 240}}
	a, b := navigator(t, tactical(), w.quick, 7, outages...), navigator(t, tactical(), w.quick, 7, outages[2], outages[0], outages[1])
	other := navigator(t, tactical(), w.quick, 8, outages...)
	var wg sync.WaitGroup
	for g := range 2 {
		wg.Go(func() {
			for i := 299; i >= 0; i-- {
				at := float64(i) + float64(g)*0.37
				if a.At(at) != b.At(at) {
					t.Errorf("at %g s: %+v, and %+v by another", at, a.At(at), b.At(at))
				}
			}
		})
	}
	wg.Wait()
	if a.At(70) == other.At(70) {
		t.Error("another seed gives the same drift")
	}
	// What happens later does not change what happened before.
	alone := navigator(t, tactical(), w.quick, 7, outages[0])
	if a.At(70) != alone.At(70) {
		t.Error("an outage that is added later changes the first one")
	}
	if n := testing.AllocsPerRun(100, func() { a.AtState(70.3, State{}); a.At(82) }); n != 0 {
		t.Errorf("%g allocations, want 0", n)
	}
}

// The position goes where the velocity says, and nothing jumps at the loss, between nodes or on the way back.
func TestContinuous(t *testing.T) {
	w := world{lat0: 50 * degree, speed: 5}
	start := &Start{PositionENU: r3.Vec{X: 0.4, Y: -0.3}, VelocityENU: r3.Vec{X: 0.02}, PositionSigma: r3.Vec{X: 0.5, Y: 0.5}, Heading: 0.002, HeadingSigma: 0.003}
	spec := tactical()
	zero := units.Speed(0)
	spec.AtLoss.Velocity = &zero
	n := navigator(t, spec, w.quick, 3, Outage{From: 20, Until: 80, Start: start}, Outage{From: 84, Until: 120})
	d := n.At(20)
	if !near(d.PositionENU.X, 0.4, 1e-9, 0) || !near(d.PositionENU.Y, -0.3, 1e-9, 0) || d.VelocityENU.X != 0.02 || !near(d.Phi.Z, -0.002, 1e-12, 0) ||
		!near(d.Sigma.PositionENU.X, 0.5, 1e-9, 0) || !near(d.Sigma.Heading, 0.003, 1e-4, 0) {
		t.Errorf("at the loss: %+v, want what the aided device was off by", d)
	}
	for _, at := range []float64{25.5, 50.3, 77.77, 100.1} {
		v := deriv.OfVec(func(t float64) r3.Vec { return n.At(t).PositionENU }, at, 0.02)
		if got := n.At(at).VelocityENU; r3.Norm(r3.Sub(v, got)) > 1e-4+0.002*r3.Norm(got) {
			t.Errorf("at %g s the velocity is off by %v, the position moves by %v", at, got, v)
		}
	}
	for _, at := range []float64{40, 41, 77, 80, 84} {
		a, b := n.At(at-1e-7), n.At(at+1e-7)
		if r3.Norm(r3.Sub(a.PositionENU, b.PositionENU)) > 1e-5 || at != 84 && math.Abs(a.Heading-b.Heading) > 1e-7 {
			t.Errorf("at %g s something jumps: %+v, %+v", at, a, b)
		}
	}
}

func TestRecovery(t *testing.T) {
	w := world{lat0: 50 * degree, speed: 5}
	n := navigator(t, tactical(), w.quick, 3, Outage{From: 20, Until: 80})
	last, back := n.At(80-1e-9), n.At(84)
	if !last.Active || last.Recovering || back.Active || !back.Recovering || !near(back.SinceS, 4, 1e-9, 0) {
		t.Errorf("flags: %+v, %+v", last, back)
	}
	if r3.Norm(last.PositionENU) < 0.05 || !near(r3.Norm(back.PositionENU), r3.Norm(last.PositionENU)/math.E, 0, 1e-3) ||
		!near(back.Sigma.PositionENU.X, last.Sigma.PositionENU.X/math.E, 0, 1e-3) {
		t.Errorf("one time constant after the return %v ± %v, before it %v ± %v", back.PositionENU, back.Sigma.PositionENU, last.PositionENU, last.Sigma.PositionENU)
	}
	if d := n.At(80 + 40); d.Recovering || r3.Norm(d.PositionENU) > 1e-4*r3.Norm(last.PositionENU) {
		t.Errorf("ten time constants after the return: %+v", d)
	}
	jump := tactical()
	jump.Recovery = 0
	n = navigator(t, jump, w.quick, 3, Outage{From: 20, Until: 80})
	if d := n.At(80); d.Active || d.Recovering || d.PositionENU != (r3.Vec{}) || d.Sigma.PositionENU != (r3.Vec{}) || d.Phi != (r3.Vec{}) {
		t.Errorf("back with a jump: %+v", d)
	}
	if d := n.At(19.99); d != (Drift{HeadingValid: true}) {
		t.Errorf("before the loss: %+v", d)
	}
}

// Without the secondary antenna the heading goes where the gyro that points up takes it; the rest stays.
func TestHeadingOnly(t *testing.T) {
	bias := Gyros{0, 0, 6 * degPerHour}
	zero := units.Angle(0)
	spec := Spec{GyroBias: &bias, HeadingLimit: 0.05 * degree, AtLoss: AtLoss{Heading: &zero}}
	n := navigator(t, spec, standing(0.9, 2), 1, Outage{From: 100, Until: 1000, HeadingOnly: true})
	d := n.At(700)
	if want := HeadingDrift(6*degPerHour, 600); !near(d.Heading, want, 0, 0.002) || !near(d.Sigma.Heading, -want, 0, 0.002) {
		t.Errorf("after 600 s heading is off by %g ± %g rad, want %g", d.Heading, d.Sigma.Heading, want)
	}
	if d.Active || !d.HeadingOnly || d.PositionENU != (r3.Vec{}) || d.VelocityENU != (r3.Vec{}) || math.Abs(d.Pitch) > 1e-12 || math.Abs(d.Roll) > 1e-12 {
		t.Errorf("more than the heading drifts: %+v", d)
	}
	if d.HeadingValid || !n.At(110).HeadingValid || !n.At(1001).HeadingValid {
		t.Error("the heading must be valid at first, not beyond its limit, and again once the antenna is back")
	}
	// The primary antenna goes too, and comes back: the heading drifts on all the while.
	n = navigator(t, spec, standing(0.9, 2), 1, Outage{From: 100, Until: 1000, HeadingOnly: true}, Outage{From: 300, Until: 400})
	for _, at := range []float64{200, 300, 350, 400, 700, 999} {
		if d, want := n.At(at), HeadingDrift(6*degPerHour, at-100); !near(d.Heading, want, 1e-6, 0.003) || d.Active != (at >= 300 && at < 400) || d.HeadingOnly == d.Active {
			t.Errorf("at %g s heading is off by %g rad, want %g; %+v", at, d.Heading, want, d)
		}
	}
}

func TestAlignments(t *testing.T) {
	bias := Accelerometers{0, 100 * microG, 0}
	at := func(s Spec) Drift {
		s.AccelBias = &bias
		return navigator(t, s, standing(60*degree, 0), 1, Outage{From: 0, Until: 700}).At(600)
	}
	// 168 m and 2.2 m: the table of physics.md, 6.
	if d := at(Spec{Alignment: Perfect}); !near(r3.Norm(d.PositionENU), 168, 1, 0) || !near(d.Sigma.PositionENU.Y, 168, 2, 0) {
		t.Errorf("perfectly aligned: %v ± %v", d.PositionENU, d.Sigma.PositionENU)
	}
	if d := at(Spec{}); !near(r3.Norm(d.PositionENU), 2.2, 0.05, 0) || d.Sigma.PositionENU.Y > 3 {
		t.Errorf("self-levelled: %v ± %v", d.PositionENU, d.Sigma.PositionENU)
	}
	// A pitch error of b/g hides the bias just as well.
	stated := Spec{Alignment: Stated, Tilt: &Tilt{Pitch: units.Angle(100 * microG / geo.NormalGravity(60*degree, 0))}}
	if d := at(stated); !near(r3.Norm(d.PositionENU), 2.2, 0.05, 0) {
		t.Errorf("stated tilt: %v", d.PositionENU)
	}
	s := Spec{Alignment: Stated, Tilt: &Tilt{Pitch: 0.01, Roll: -0.02, Heading: 0.03}}
	w := world{lat0: 40 * degree, speed: 5}
	n := navigator(t, s, w.quick, 1, Outage{From: 3, Until: 50})
	if d := n.At(3); !near(d.Pitch, 0.01, 1e-12, 0) || !near(d.Roll, -0.02, 1e-12, 0) || !near(d.Heading, 0.03, 1e-12, 0) {
		t.Errorf("stated tilt: %+v", d)
	}
	a := w.attitude(3)
	got := n.At(3).Turn(a)
	if !near(got.Pitch-a.Pitch, 0.01, 5e-4, 0) || !near(got.Roll-a.Roll, -0.02, 5e-4, 0) || !near(got.Heading-a.Heading, 0.03, 5e-4, 0) {
		t.Errorf("turned: %+v from %+v", got, a)
	}
	if (Drift{}).Turn(a) != a {
		t.Error("no drift turns the attitude")
	}
}

func TestEllipse(t *testing.T) {
	// 2 m along 030°, 1 m across. Covariance: R·diag·Rᵀ worked by hand.
	s, c := math.Sincos(30 * degree)
	ee, nn, en := 4*s*s+c*c, 4*c*c+s*s, 3*s*c
	major, minor, direction := Sigma{PositionENU: r3.Vec{X: math.Sqrt(ee), Y: math.Sqrt(nn)}, PositionEN: en}.Ellipse()
	if !near(major, 2, 1e-12, 0) || !near(minor, 1, 1e-12, 0) || !near(direction, 30*degree, 1e-12, 0) {
		t.Errorf("%g, %g, %g°", major, minor, direction/degree)
	}
}

func TestBadOutages(t *testing.T) {
	for _, o := range []Outage{{From: 5, Until: 5}, {From: 5, Until: 4}, {From: math.NaN(), Until: 4}, {From: 1, Until: math.Inf(1)}, {From: math.Inf(-1), Until: 1}, {From: 0, Until: math.NaN()}, {From: 1e12, Until: 1e12 + 10}} {
		if _, err := NewWith(Spec{}, standing(0, 0), []Outage{o}, 1); err == nil || !strings.Contains(err.Error(), "allowed") {
			t.Errorf("outage %+v: %v", o, err)
		}
	}
	if _, err := New(Spec{Grade: "best"}, standing(0, 0), nil, 1); err == nil {
		t.Error("an unknown grade makes a navigator")
	}
	n, err := New(Spec{Grade: "navigation"}, standing(math.Pi/2, 0), [][2]float64{{0, 100}, {50, 150}}, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 149, 1e300} {
		n.At(at)
	}
	if d := n.At(140); math.IsNaN(d.PositionENU.X) || !d.Active || d.SinceS != 140 {
		t.Errorf("at a pole, in two outages that overlap: %+v", d)
	}
}

// A long outage costs no more memory than 4096 nodes.
func TestLongOutage(t *testing.T) {
	n := navigator(t, Spec{Grade: "navigation"}, standing(0.8, 0), 1, Outage{From: 0, Until: 86400})
	if c := len(n.phases[0].nodes); c > 4097 {
		t.Errorf("%d nodes", c)
	}
	if d := n.At(3600); r3.Norm(d.PositionENU) < 50 || r3.Norm(d.PositionENU) > 20000 {
		t.Errorf("after an hour %v", d.PositionENU)
	}
}

func BenchmarkAt(b *testing.B) {
	n, _ := New(Spec{Grade: "tactical"}, standing(0.8, 0), [][2]float64{{0, 600}}, 1)
	b.ReportAllocs()
	t := 0.0
	for b.Loop() {
		n.At(math.Mod(t, 600))
		t += 0.01
	}
}

func BenchmarkNewHour(b *testing.B) {
	for b.Loop() {
		New(Spec{Grade: "tactical"}, standing(0.8, 0), [][2]float64{{0, 3600}}, 1)
	}
}
