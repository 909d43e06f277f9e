package scenarios

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/sea/hull"
	"swellbench/scenarios/sea/waves"
)

const seaScenario = `
start: 2026-06-01T12:00:00Z
duration: 3000 s
seed: 4
installation:
  vessel: {length: 18.5 m, breadth: 5.2 m, draught: 1.4 m, displacement: 62 t}
  points:
    sensor: [0.35 m, -1.80 m, 0.60 m]
    antenna-primary: [-0.90 m, -3.10 m, 6.20 m]
track:
  position: {latitude: 50 deg, longitude: -4 deg, height: 50 m}
  heading: 45 deg
  speed: 3 m/s
sea:
  systems:
    - {spectrum: jonswap, from: 200 deg, height: 1.4 m, period: 5.5 s, spreading: {law: cos-n, exponent: 4}}
    - {spectrum: jonswap, from: 30 deg, height: 0.6 m, period: 11 s, gamma: 5}
streams:
  - format: nmea0183
    line: {baud: 38400}
    messages: [{type: GGA, rate: 1 Hz}]
`

func seaTruth(t testing.TB, text string) Truth {
	t.Helper()
	s, err := Parse("sea.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	truth, err := s.Truth()
	if err != nil {
		t.Fatal(err)
	}
	return truth
}

// In waves too the velocity of every point is the derivative of its position, the acceleration that of its velocity
// and the angular rate that of the attitude, in a turn as on a straight line.
func TestInWavesIsConsistent(t *testing.T) {
	for name, text := range map[string]string{
		"straight": seaScenario,
		"turn":     strings.Replace(seaScenario, "speed: 3 m/s", "speed: 3 m/s\n  turn: {rate: 2 deg/s}", 1),
	} {
		truth := seaTruth(t, text)
		for _, l := range []r3.Vec{{}, {X: -0.9, Y: -3.1, Z: 6.2}, {X: 2.5, Y: 9, Z: -1.4}} {
			for _, at := range []float64{12.345, 12.41, 777.7, 2999.9, 3.21} {
				const h = 1e-3
				p := truth.At(at).Point(l)
				before, after := truth.At(at-h).Point(l), truth.At(at+h).Point(l)
				local := geo.LocalAt(p.Position)
				v := r3.Scale(1/(2*h), r3.Sub(local.ENU(after.Position), local.ENU(before.Position)))
				ecef := func(q PointState) r3.Vec { return local.FromECEF(geo.LocalAt(q.Position).ToECEF(q.Velocity)) }
				a := r3.Scale(1/(2*h), r3.Sub(ecef(after), ecef(before)))
				// Central differences err by h²/6 of the third derivative: some 1e-6 here.
				if d := r3.Norm(r3.Sub(v, p.Velocity)); d > 2e-5 {
					t.Errorf("%s, %v at %g s: velocity is %v, positions move at %v", name, l, at, p.Velocity, v)
				}
				if d := r3.Norm(r3.Sub(a, p.Acceleration)); d > 2e-4 {
					t.Errorf("%s, %v at %g s: acceleration is %v, velocities change by %v", name, l, at, p.Acceleration, a)
				}
			}
		}
	}
}

// The record is the response of the hull to the spectrum: sigma² of heave and roll is the sum over the components of
// |R·a|²/2, within the sampling error of 3000 s. Its standard error is estimated from 30 blocks of 100 s, which are
// nearly independent; five of them are allowed.
func TestInWavesVariance(t *testing.T) {
	s, err := Parse("sea.yaml", []byte(seaScenario))
	if err != nil {
		t.Fatal(err)
	}
	truth, err := s.Truth()
	if err != nil {
		t.Fatal(err)
	}
	surface, err := waves.New(s.Sea, s.Seed, float64(s.Duration))
	if err != nil {
		t.Fatal(err)
	}
	h, err := hull.New(s.Hull, s.Installation.Vessel)
	if err != nil {
		t.Fatal(err)
	}
	var heave, roll float64
	for _, c := range surface.Components() {
		r := h.At(c.Omega, c.K, 3, hull.Beta(frame.Rad(45), c.Direction))
		sq := func(z complex128) float64 { return (real(z)*real(z) + imag(z)*imag(z)) * c.Amplitude * c.Amplitude / 2 }
		heave, roll = heave+sq(r[hull.Heave]), roll+sq(r[hull.Roll])
	}
	for _, q := range []struct {
		name string
		want float64
		of   func(State) float64
	}{
		{"heave", heave, func(s State) float64 { return s.HeaveM }},
		{"roll", roll, func(s State) float64 { return s.Attitude.Roll }},
	} {
		var blocks []float64
		for b := range 30 {
			var x []float64
			for k := range 500 {
				x = append(x, q.of(truth.At(float64(b)*100+float64(k)*0.2)))
			}
			m2 := 0.0
			for _, v := range x {
				m2 += v * v / float64(len(x))
			}
			blocks = append(blocks, m2)
		}
		mean, sd := stat.MeanStdDev(blocks, nil)
		if se := sd / math.Sqrt(float64(len(blocks))); math.Abs(mean-q.want) > 5*se || se > q.want/5 {
			t.Errorf("%s: variance %g ± %g, the responses say %g", q.name, mean, se, q.want)
		}
	}
}

// The answer does not depend on what was asked before.
func TestInWavesRandomAccess(t *testing.T) {
	a, b := seaTruth(t, seaScenario), seaTruth(t, seaScenario)
	times := []float64{5, 2000, 5.01, 17, 2999, 0, 1999.99}
	for _, at := range times {
		a.At(at * 0.37)
	}
	for i := range times {
		at := times[len(times)-1-i]
		if x, y := a.At(at), b.At(at); x != y {
			t.Errorf("at %g s: %+v, then %+v", at, x, y)
		}
	}
}

func TestSeaProblems(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"period: 5.5 s", "period: -5 s", "sea.yaml:"},
		{"vessel: {length: 18.5 m, breadth: 5.2 m, draught: 1.4 m, displacement: 62 t}", "vessel: {length: 18.5 m}", "breadth"},
		{"spectrum: jonswap, from: 200", "spectrum: jonwsap, from: 200", "jonswap"},
	} {
		if _, err := Parse("sea.yaml", []byte(strings.Replace(seaScenario, c.old, c.new, 1))); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q in it", c.new, err, c.want)
		}
	}
	steep, err := Parse("sea.yaml", []byte(strings.Replace(seaScenario, "height: 1.4 m", "height: 6 m", 1)))
	if err != nil {
		t.Fatal(err)
	}
	if ws := steep.Warnings(); len(ws) == 0 || !strings.HasPrefix(ws[0].Path, "sea") {
		t.Errorf("a sea too steep is warned of with %v", ws)
	}
}

// BenchmarkTruthInWaves is the whole truth at 100 Hz in a sea of 200 components.
func BenchmarkTruthInWaves(b *testing.B) {
	truth := seaTruth(b, seaScenario)
	b.ReportAllocs()
	k := 0
	for b.Loop() {
		truth.At(float64(k%300000) / 100)
		k++
	}
	b.ReportMetric(float64(b.N)/100/b.Elapsed().Seconds(), "x-real-time")
}

// What the heave filter does at the period of most of the heave is said with the scenario.
func TestHeaveFilterWarning(t *testing.T) {
	for _, c := range []struct{ cutOff, want string }{
		{"20 s", "leads it by"},
		{"300 s", ""}, // 3 % of the amplitude: not worth a word
	} {
		s, err := Parse("sea.yaml", []byte(seaScenario+"device: {heave-filter: {cut-off: "+c.cutOff+"}}\n"))
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, w := range s.Warnings() {
			if strings.HasPrefix(w.Path, "device.heave-filter") {
				got += w.Text
			}
		}
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("cut-off %s: %q, want %q in it", c.cutOff, got, c.want)
		}
	}
}
