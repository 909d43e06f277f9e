package gnss

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/units"
)

// Over many seeds the position error has mean 0 and the covariance σ²(GᵀG)⁻¹ that the state reports, the velocity error
// likewise; also the heading, 0.2° over the baseline's length.
//
// Statistic: a sample variance of n normal values has the relative standard error √(2/n); bounds are 4.9 of them, 1 in
// 10⁶ each.
func TestErrorsMatchSigmas(t *testing.T) {
	const n = 3000
	for _, fix := range []Fix{Autonomous, Differential, RTKFloat, RTKFixed, Precise} {
		var sum, square, vsquare r3.Vec
		var en, heading, elevation float64
		var s State
		for seed := range n {
			r, err := New(Spec{Fix: fix, Errors: &Errors{}, Baseline: twoAntennas}, testStart, still, 2, uint64(seed))
			if err != nil {
				t.Fatal(err)
			}
			s = r.At(1.5)
			e, v := s.ErrorENU, s.VelocityError
			sum = r3.Add(sum, e)
			square = r3.Add(square, r3.Vec{X: e.X * e.X, Y: e.Y * e.Y, Z: e.Z * e.Z})
			vsquare = r3.Add(vsquare, r3.Vec{X: v.X * v.X, Y: v.Y * v.Y, Z: v.Z * v.Z})
			en += e.X * e.Y
			heading += s.HeadingError * s.HeadingError
			elevation += s.BaselineElevationError * s.BaselineElevationError
		}
		bound := 4.9 * math.Sqrt(2./n)
		for _, c := range []struct {
			name       string
			got, sigma float64
		}{
			{"east", square.X, s.SigmaENU.X}, {"north", square.Y, s.SigmaENU.Y}, {"up", square.Z, s.SigmaENU.Z},
			{"speed east", vsquare.X, s.VelocitySigma.X}, {"speed north", vsquare.Y, s.VelocitySigma.Y}, {"speed up", vsquare.Z, s.VelocitySigma.Z},
			{"heading", heading, s.HeadingSigma}, {"elevation", elevation, s.BaselineElevationSigma},
		} {
			if ratio := c.got / n / (c.sigma * c.sigma); math.Abs(ratio-1) > bound {
				t.Errorf("%s: variance of %s is %.3f of what is reported, want 1 ± %.3f", fix, c.name, ratio, bound)
			}
		}
		for _, m := range [][2]float64{{sum.X, s.SigmaENU.X}, {sum.Y, s.SigmaENU.Y}, {sum.Z, s.SigmaENU.Z}} {
			if math.Abs(m[0]/n) > 4.9*m[1]/math.Sqrt(n) {
				t.Errorf("%s: mean error %g m with sigma %g m", fix, m[0]/n, m[1])
			}
		}
		if d := en/n - s.CovarianceEN; math.Abs(d) > 4.9*s.SigmaENU.X*s.SigmaENU.Y*math.Sqrt(2./n) {
			t.Errorf("%s: covariance of east and north is %g m², reported %g m²", fix, en/n, s.CovarianceEN)
		}
		if want := 0.2 * math.Pi / 180 / 2; math.Abs(s.HeadingSigma-want) > 1e-12 || s.BaselineElevationSigma != 2*s.HeadingSigma {
			t.Errorf("%s: sigma of the heading is %g rad, want 0.2°/2 m", fix, s.HeadingSigma)
		}
	}
}

// The reported sigma is the range error times the dilution of precision; a fixed solution has 1 cm and 1 ppm.
func TestSigmaFromDOP(t *testing.T) {
	for _, c := range []struct {
		name   string
		spec   Spec
		rangeM float64
	}{
		{"autonomous", Spec{}, 1.5},
		{"entered", Spec{Errors: &Errors{Autonomous: ErrorModel{Range: new(units.Length(4))}}}, 4},
		{"fixed", Spec{Fix: RTKFixed}, 0.01},
		{"fixed, 20 km from the base", Spec{Fix: RTKFixed, Corrections: Corrections{BaseDistance: 20000}}, 0.03},
		{"float, interference of 6 dB", Spec{Fix: RTKFloat, Conditions: []Condition{{Condition: Interference, LossDB: new(6.0), From: 0}}}, 0.2 * math.Pow(10, 0.3)},
		{"stated HDOP", Spec{HDOP: new(0.7), Satellites: new(17)}, 1.5},
	} {
		s := receiver(t, c.spec, 10).At(5)
		d, ok := s.DOP.Value()
		if h := math.Hypot(s.SigmaENU.X, s.SigmaENU.Y); !ok || math.Abs(h-c.rangeM*d.Horizontal) > 1e-9 || math.Abs(s.SigmaENU.Z-c.rangeM*d.Vertical) > 1e-9 {
			t.Errorf("%s: sigmas %v with %+v (%v), want %v m times these", c.name, s.SigmaENU, d, ok, c.rangeM)
		}
		if math.Abs(d.Position-math.Hypot(d.Horizontal, d.Vertical)) > 1e-12 {
			t.Errorf("%s: %+v", c.name, d)
		}
		if c.spec.HDOP != nil && (math.Abs(d.Horizontal-0.7) > 1e-12 || s.Satellites != 17) {
			t.Errorf("%s: HDOP %v with %d satellites, want 0.7 with 17", c.name, d.Horizontal, s.Satellites)
		}
		if c.spec.Errors == nil && (s.ErrorENU != r3.Vec{}) {
			t.Errorf("%s: an error %v that nobody asked for", c.name, s.ErrorENU)
		}
	}
}

func TestMultipathAndJumps(t *testing.T) {
	r := receiver(t, Spec{Fix: Differential, Conditions: []Condition{
		{Condition: Multipath, From: 10, Until: seconds(50), Amplitude: new(units.Length(2)), Period: seconds(20), Toward: new(units.Angle(math.Pi / 2)), Vertical: new(units.Length(-1))},
		{Condition: Multipath, From: 60, Until: seconds(80), Amplitude: new(units.Length(3)), Period: seconds(20), OneSided: true},
		{Condition: PositionJump, From: 70, Jump: &Offset{East: 5, North: -1, Up: 2}},
		{Condition: PositionJump, From: 90, Jump: &Offset{East: -5}},
	}}, 100)
	for _, c := range []struct {
		t    float64
		want r3.Vec
	}{
		{9, r3.Vec{}}, {10, r3.Vec{}}, {15, r3.Vec{X: 2, Z: -1}}, {25, r3.Vec{X: -2, Z: 1}}, {50, r3.Vec{}},
		{60, r3.Vec{}}, {65, r3.Vec{Y: 1.5}}, {70, r3.Vec{X: 5, Y: 2, Z: 2}}, {85, r3.Vec{X: 5, Y: -1, Z: 2}}, {95, r3.Vec{Y: -1, Z: 2}},
	} {
		s := r.At(c.t)
		if r3.Norm(r3.Sub(s.ErrorENU, c.want)) > 1e-9 {
			t.Errorf("at %v s off by %v, want %v", c.t, s.ErrorENU, c.want)
		}
		if plain := r.At(1).SigmaENU; r3.Norm(r3.Sub(s.SigmaENU, plain)) > 0.2*r3.Norm(plain) {
			t.Errorf("at %v s the reported accuracy shows it: %v, was %v", c.t, s.SigmaENU, plain)
		}
	}
	fixed := receiver(t, Spec{Fix: RTKFixed, Conditions: []Condition{{Condition: Multipath, From: 0, Amplitude: new(units.Length(2)), Period: seconds(20)}}}, 10)
	if e := fixed.At(5).ErrorENU; math.Abs(e.Y-0.0475734) > 1e-6 { // c/1575.42 MHz/4
		t.Errorf("a fixed solution is off by %v, want a quarter of 190.29 mm", e)
	}
}

// One L1 wavelength, 19.03 cm, over the baseline: 5.45° on 2 m. Validity and sigma do not show it.
func TestWrongInteger(t *testing.T) {
	r := receiver(t, Spec{Baseline: twoAntennas, Conditions: []Condition{
		{Condition: WrongInteger, From: 10, Until: seconds(20)}, {Condition: WrongInteger, From: 30, Cycles: new(-2)}}}, 40)
	for _, c := range []struct{ t, want float64 }{{9, 0}, {10, 0.19029 / 2}, {20, 0}, {30, -0.19029}} {
		s := r.At(c.t)
		if math.Abs(s.HeadingError-c.want) > 1e-5 || !s.HeadingValid || s.HeadingSigma != r.At(1).HeadingSigma {
			t.Errorf("at %v s: heading off by %g rad (valid %v), want %g", c.t, s.HeadingError, s.HeadingValid, c.want)
		}
	}
}

// The entered position is off by where the antenna really is; nothing of it comes from satellites.
func TestEnteredPosition(t *testing.T) {
	lat, lon := testPlace.Lat+1e-5, testPlace.Lon
	r := receiver(t, Spec{StartUp: Cold, Entered: &Entered{Latitude: units.Angle(lat), Longitude: units.Angle(lon), Height: units.Length(testPlace.Height)}}, 10)
	s := r.At(3)
	// 1e-5 rad of latitude at 50.14°: M + h = 6,373,080 m by the textbook formula, so 63.73 m
	if !s.Entered || s.Fix != Manual || math.Abs(s.ErrorENU.Y-63.73) > 0.02 || math.Abs(s.ErrorENU.X) > 1e-3 || s.SigmaENU.X != 100 ||
		s.Satellites != 0 || s.DOP.Has() || s.AgeS.Has() || s.HeadingValid {
		t.Errorf("%+v", s)
	}
	if p, ok := r.EnteredPosition(); !ok || p.Lat != lat {
		t.Errorf("entered %v, %v", p, ok)
	}
}

// Age counts from the epoch of the newest correction that is in; it grows while none come.
func TestAge(t *testing.T) {
	r := receiver(t, Spec{Fix: RTKFixed, Corrections: Corrections{Interval: seconds(2), Latency: seconds(0.7)},
		Conditions: []Condition{{Condition: CorrectionsLost, From: 10, Until: seconds(28.9)}}}, 60)
	for _, c := range []struct{ t, want float64 }{{0, 2}, {0.6, 2.6}, {0.7, 0.7}, {2.69, 2.69}, {2.71, 0.71}, {9, 1}, {10.8, 2.8}, {20, 12}, {28.7, 20.7}, {30.69, 22.69}, {30.71, 0.71}} {
		if age, ok := r.At(c.t).AgeS.Value(); !ok || math.Abs(age-c.want) > 1e-9 {
			t.Errorf("at %v s the age is %v (%v), want %v", c.t, age, ok, c.want)
		}
	}
	if receiver(t, Spec{}, 5).At(1).AgeS.Has() {
		t.Error("an autonomous fix has an age of corrections")
	}
}
