package survey

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/units"
)

func example(t testing.TB) *Survey {
	t.Helper()
	v, err := Parse("example.yaml", Example)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// two antennas by tape, sigma of each coordinate.
func taped(primary, secondary r3.Vec, sigma float64) *Sheet {
	s := units.Length(sigma)
	return &Sheet{Sets: []Set{{Axes: RightForwardUp, Sigma: Sigma{s, s, s}, Points: map[string]Coordinate{
		"sensor":            {},
		"antenna-primary":   {At: Triple(installation.VectorOf(primary))},
		"antenna-secondary": {At: Triple(installation.VectorOf(secondary))},
	}}}}
}

// The azimuth of a level baseline of length L, both ends measured to σ, has σ·√2/L, its length σ·√2 (JCGM 100:2008,
// 5.1.2, of atan2 and of the root of squares).
func TestShortBaselineByHand(t *testing.T) {
	const sigma = 0.005
	for _, length := range []float64{0.5, 1, 2, 5} {
		b := solved(t, taped(r3.Vec{X: -1, Z: 5}, r3.Vec{X: length - 1, Z: 5}, sigma)).Report().Baseline
		want := frame.Deg(sigma * math.Sqrt2 / length)
		for _, got := range []Value{b.Azimuth, b.Elevation} {
			if math.Abs(got.Sigma/want-1) > 2e-4 { // second order: (σ/L)²
				t.Errorf("%g m: σ %.5f deg, want %.5f", length, got.Sigma, want)
			}
		}
		if math.Abs(b.Azimuth.Value-90) > 1e-12 || // the length bends by the same order
			math.Abs(b.Length.Sigma/(sigma*math.Sqrt2)-1) > sigma*sigma/length/length {
			t.Errorf("%g m: %+v", length, b)
		}
	}
}

// What two points share counts once: both antennas measured from an origin that is itself known to 100 mm only have a
// baseline as good as if it were exact.
func TestSharedOriginCancels(t *testing.T) {
	s := taped(r3.Vec{X: -1}, r3.Vec{X: 1}, 0.002)
	s.Sets[0].Origin = &Origin{Name: "mast"}
	s.Sets = append(s.Sets, Set{Axes: ForwardLeftUp, Sigma: Sigma{0.1, 0.1, 0.1}, Points: map[string]Coordinate{"mast": {At: Triple{-3, 1, 4}}}})
	r := solved(t, s).Report()
	if got, want := r.Baseline.Length.Sigma, 0.002*math.Sqrt2; math.Abs(got/want-1) > 1e-6 { // second order: (σ/L)²
		t.Errorf("length to %g m, want %g", got, want)
	}
	for _, p := range r.Points {
		if p.Name == "antenna-primary" {
			if got, want := p.Position[0].Sigma, math.Hypot(0.1, 0.002); math.Abs(got-want) > 1e-9 {
				t.Errorf("place to %g m, want %g", got, want)
			}
			if got := [3]float64{p.Position[0].Value, p.Position[1].Value, p.Position[2].Value}; r3.Norm(r3.Sub(r3.Vec{X: got[0], Y: got[1], Z: got[2]}, r3.Vec{X: -2, Y: -3, Z: 4})) > 1e-12 {
				t.Errorf("place %v, want [-2 -3 4]", got)
			}
			if p.Position[0].Main != "mast, left (set 2)" || p.Position[0].Share < 0.99 {
				t.Errorf("main source %q, %g", p.Position[0].Main, p.Position[0].Share)
			}
		}
	}
}

// The scatter over whole surveys, each with all measurements drawn anew, is what is propagated. With n draws the sample
// variance lies within 1 ± 4.4·√(2/n) of the true one but for 1 in 100,000 (normal approximation); second order adds
// about (0.12°)² of the angles, which is nothing.
func TestSigmasAgainstMonteCarlo(t *testing.T) {
	const n = 20000
	v := example(t)
	at := func(name string) func(*solution) r3.Vec {
		return func(s *solution) r3.Vec { p, _ := v.at(s, name); return p }
	}
	vessel := frame.Attitude{Heading: frame.Rad(127.6), Pitch: frame.Rad(0.6), Roll: frame.Rad(-1.1)}.Rotation()
	quantities := map[string]struct {
		f    func(*solution) float64
		diff func(a, b float64) float64
	}{
		"sensor right":             {func(s *solution) float64 { return s.sensor.X }, linear},
		"sensor up":                {func(s *solution) float64 { return s.sensor.Z }, linear},
		"antenna-secondary right":  {func(s *solution) float64 { return at("antenna-secondary")(s).X }, linear},
		"sonar up":                 {func(s *solution) float64 { return at("sonar")(s).Z }, linear},
		"mounting heading":         {func(s *solution) float64 { return s.mounting.Attitude().Heading }, frame.AngleDiff},
		"mounting pitch":           {func(s *solution) float64 { return s.mounting.Attitude().Pitch }, frame.AngleDiff},
		"mounting roll":            {func(s *solution) float64 { return s.mounting.Attitude().Roll }, frame.AngleDiff},
		"baseline azimuth":         {func(s *solution) float64 { return frame.BaselineOf(v.antennas(s)).Azimuth }, frame.AngleDiff},
		"baseline elevation":       {func(s *solution) float64 { return frame.BaselineOf(v.antennas(s)).Elevation }, frame.AngleDiff},
		"baseline length":          {func(s *solution) float64 { return r3.Norm(v.antennas(s)) - s.length }, linear},
		"heading of the station":   {func(s *solution) float64 { return s.sets[1].tie.Rotation.Attitude().Heading }, frame.AngleDiff},
		"residual of a tie point":  {func(s *solution) float64 { return s.sets[1].tie.Residuals[2].Y }, linear},
		"residual of a mark":       {func(s *solution) float64 { return s.fit.Residuals[2].Y }, linear},
		"sensor to sonar, device":  {func(s *solution) float64 { return s.mounting.Inverse().Apply(r3.Sub(at("sonar")(s), s.sensor)).X }, linear},
		"raw roll alongside":       {func(s *solution) float64 { return frame.DeviceFromVessel(vessel, s.mounting).Attitude().Roll }, frame.AngleDiff},
		"raw heading alongside":    {func(s *solution) float64 { return frame.BaselineAzimuth(vessel, v.antennas(s)) }, frame.AngleDiff},
		"scale of the station":     {func(s *solution) float64 { return s.sets[1].tie.Scale }, linear},
		"rotation-centre forward":  {func(s *solution) float64 { return at("rotation-centre")(s).Y }, linear},
		"antenna-primary to sonar": {func(s *solution) float64 { return at("sonar")(s).Y - at("antenna-primary")(s).Y }, linear},
	}
	sum := map[string]float64{}
	rng := rand.New(rand.NewPCG(11, 12))
	x := make([]float64, len(v.model.inputs))
	for range n {
		for i, in := range v.model.inputs {
			x[i] = in.value + in.sigma*rng.NormFloat64()
		}
		s, err := v.model.solve(x)
		if err != nil {
			t.Fatal(err)
		}
		for name, q := range quantities {
			d := q.diff(q.f(s), q.f(v.best))
			sum[name] += d * d
		}
	}
	bound := 4.4 * math.Sqrt(2.0/n)
	for name, q := range quantities {
		stated := v.estimate(q.f, q.diff).Sigma
		if ratio := sum[name] / n / (stated * stated); !(math.Abs(ratio-1) <= bound) {
			t.Errorf("%s: variance %.4f of the stated (σ %g), allowed 1 ± %.3f", name, ratio, stated, bound)
		}
	}
}

// The numerical propagation agrees with the covariance of the fit, where each mark is measured directly.
func TestMountingSigmasTwoWays(t *testing.T) {
	turn := frame.Attitude{Heading: 2, Pitch: -0.4, Roll: 1.1}.Rotation()
	s := &Sheet{Device: Device{Marks: &Marks{Axes: RightForwardUp, Points: map[string]Triple{}}}}
	set := Set{Axes: RightForwardUp, Sigma: Sigma{0.0005, 0.0005, 0.0005}, Points: map[string]Coordinate{}}
	for i, c := range corners {
		name := string(rune('a' + i))
		set.Points[name] = Coordinate{At: Triple(installation.VectorOf(r3.Add(turn.Apply(c), r3.Vec{X: 1, Y: 2, Z: 3})))}
		s.Device.Marks.Points[name] = Triple(installation.VectorOf(c))
	}
	s.Sets = []Set{set}
	v := solved(t, s)
	a, want := v.attitude(func(s *solution) frame.Rotation { return s.mounting }), v.best.fit.AngleSigmas()
	for i, w := range []float64{want.Heading, want.Pitch, want.Roll} {
		if math.Abs(a[i].Sigma/w-1) > 1e-4 {
			t.Errorf("angle %d: σ %g propagated, %g by the fit", i, a[i].Sigma, w)
		}
	}
}

// A set may have the vessel reference point itself, wherever its own zero is: 5 m ahead of a zero at the stern, the
// stern is 5 m aft.
func TestReferenceMeasured(t *testing.T) {
	s := &Sheet{Sets: []Set{{Axes: "aft-left-up", Sigma: Sigma{0.003, 0.003, 0.003}, Points: map[string]Coordinate{
		"reference": {At: Triple{-5, 0.1, 1}}, "sensor": {At: Triple{0, 0.3, 2}},
	}}}}
	p := solved(t, s).Report().Points[0]
	want := [3]float64{-0.2, -5, 1}
	for i := range 3 {
		if math.Abs(p.Position[i].Value-want[i]) > 1e-12 || math.Abs(p.Position[i].Sigma-0.003*math.Sqrt2) > 1e-9 {
			t.Errorf("%s: %+v, want %g", p.Name, p.Position[i], want[i])
		}
	}
}

// A tie point whose place on the vessel is known badly hardly moves a tie that others hold.
func TestTieHasWeights(t *testing.T) {
	s := stationSheet("north-east-up", matrix(40, 2, -3), r3.Vec{X: 50}, map[string]r3.Vec{"sensor": {}})
	bad := Sigma{0.5, 0.5, 0.5}
	s.Sets[0].Points["rail"] = Coordinate{At: Triple{3, 3.5, 1}, Sigma: &bad}
	s.Sets[1].Points["rail"] = asWritten("north-east-up", r3.Add(times(matrix(40, 2, -3), r3.Vec{X: 3, Y: 3, Z: 1}), r3.Vec{X: 50}))
	v := solved(t, s)
	if a := v.best.sets[1].tie.Rotation.AngleTo(frame.FromMatrix([9]float64(matrix(40, 2, -3))).Inverse()); a > 1e-5 {
		t.Errorf("the tie is %g rad off", a) // with equal weights it is 0.02
	}
	if n := v.Report().Disagree(); n > 0 {
		t.Errorf("%d disagree: the bad point is within what was stated", n)
	}
}

// A pitch that folds back at the vertical is not exact for it, and heading and roll are told as not known.
func TestUprightDevice(t *testing.T) {
	s := taped(r3.Vec{}, r3.Vec{X: 0.0005, Z: 2}, 0.005)
	s.Device.Mounting = &Mounting{Heading: units.Angle(1), Pitch: units.Angle(math.Pi / 2), Sigma: units.Angle(frame.Rad(0.5))}
	r := solved(t, s).ReportFor([]Pose{{}})
	if m := r.Mounting; !(m.Pitch.Sigma > 0.3 && m.Pitch.Sigma < 1) || !math.IsInf(m.Heading.Sigma, 1) {
		t.Errorf("%+v", m.Angles)
	}
	if !math.IsInf(r.Baseline.Azimuth.Sigma, 1) || r.Poses[0].Moves != nil {
		t.Errorf("%+v, %+v", r.Baseline, r.Poses[0].Moves)
	}
	if b, err := json.Marshal(r); err != nil || !strings.Contains(string(b), `"sigma":null`) {
		t.Errorf("%s, %v", b, err)
	}
}
