package sea

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"swellbench/scenarios/internal/deriv"
	"swellbench/scenarios/units"
)

const degree = math.Pi / 180

// each applies f to the six components.
func each(s SixDOF, f func(name string, c Component)) {
	f("surge", s.Surge)
	f("sway", s.Sway)
	f("heave", s.Heave)
	f("roll", s.Roll)
	f("pitch", s.Pitch)
	f("yaw", s.Yaw)
}

func component(s SixDOF, name string) (c Component) {
	each(s, func(n string, x Component) {
		if n == name {
			c = x
		}
	})
	return c
}

var busy = Spec{
	Pose:  Pose{Pitch: 1.5 * degree, Roll: -3 * degree},
	Surge: []Shift{{Amplitude: 0.3, Period: 7, Phase: 20 * degree}},
	Sway:  []Shift{{Amplitude: 0.2, Period: 8.3, Phase: 1}, {Amplitude: 0.1, Period: 5.1}},
	Heave: []Shift{{Amplitude: 1.1, Period: 7, Phase: -1}, {Amplitude: 0.4, Period: 3.7, Phase: 2}, {Amplitude: 0, Period: 2}},
	Roll:  []Turning{{Amplitude: 8 * degree, Period: 9, Phase: 0.4}},
	Pitch: []Turning{{Amplitude: 3 * degree, Period: 11, Phase: 2}, {Amplitude: 0.5 * degree, Period: 1.9}},
	Yaw:   []Turning{{Amplitude: 2 * degree, Period: 23, Phase: -2}},
}

// Values at a quarter of the period, worked by hand from amplitude·sin(2πt/period + phase).
func TestValues(t *testing.T) {
	m, err := New(Spec{
		Pose:  Pose{Pitch: 2 * degree, Roll: -1 * degree},
		Surge: []Shift{{Amplitude: 1, Period: 8}},                            // t=2: the crest
		Sway:  []Shift{{Amplitude: 1, Period: 8, Phase: math.Pi / 2}},        // zero, falling at 2π/8
		Heave: []Shift{{Amplitude: 2, Period: 8, Phase: math.Pi}},            // the trough
		Roll:  []Turning{{Amplitude: 4 * degree, Period: 4}},                 // zero, falling at 2π/4 · 4°
		Pitch: []Turning{{Amplitude: 3 * degree, Period: 24}},                // sin 30° = 0.5
		Yaw:   []Turning{{Amplitude: 6 * degree, Period: 8, Phase: -0.5e-9}}, // the crest
	})
	if err != nil {
		t.Fatal(err)
	}
	got := m.At(2)
	w := 2 * math.Pi / 8
	for name, want := range map[string]Component{
		"surge": {1, 0, -w * w},
		"sway":  {0, -w, 0},
		"heave": {-2, 0, 2 * w * w},
		"roll":  {-1 * degree, -4 * degree * math.Pi / 2, 0},
		"pitch": {3.5 * degree, 3 * degree * math.Pi / 12 * math.Sqrt(3) / 2, -1.5 * degree * math.Pi * math.Pi / 144},
		"yaw":   {6 * degree, 0, -6 * degree * w * w},
	} {
		c := component(got, name)
		if math.Abs(c.Value-want.Value) > 1e-12 || math.Abs(c.Rate-want.Rate) > 1e-9 || math.Abs(c.Accel-want.Accel) > 1e-12 {
			t.Errorf("%s is %+v, want %+v", name, c, want)
		}
	}
}

func TestDerivatives(t *testing.T) {
	m, err := New(busy)
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []float64{-7.7, 0, 1.234, 86399.9} {
		each(m.At(at), func(name string, c Component) {
			rate := deriv.Of(func(t float64) float64 { return component(m.At(t), name).Value }, at, 0.02)
			accel := deriv.Of(func(t float64) float64 { return component(m.At(t), name).Rate }, at, 0.02)
			// At a day the time itself is known to 1.5e-11 s, which is 1e-9 after the division by the step.
			if math.Abs(c.Rate-rate) > 5e-9 || math.Abs(c.Accel-accel) > 5e-9 {
				t.Errorf("%s at %g s is %+v, differentiated: rate %g, acceleration %g", name, at, c, rate, accel)
			}
		})
	}
}

// The same whole number of periods later everything is the same: a late time keeps its digits.
func TestPeriodic(t *testing.T) {
	m, err := New(Spec{Heave: []Shift{{Amplitude: 1, Period: 8}}, Roll: []Turning{{Amplitude: 0.1, Period: 16, Phase: 1}}})
	if err != nil {
		t.Fatal(err)
	}
	for range 100 {
		at := math.Floor(rand.Float64()*16*64) / 64
		if a, b := m.At(at), m.At(at+16*1e9); a != b {
			t.Errorf("at %g s the motion is %+v, 1e9 periods later %+v", at, a, b)
		}
	}
}

func TestRest(t *testing.T) {
	m, err := New(Spec{Pose: Pose{Pitch: 0.1, Roll: -0.2}})
	if err != nil {
		t.Fatal(err)
	}
	want := SixDOF{Pitch: Component{Value: 0.1}, Roll: Component{Value: -0.2}}
	if got := m.At(77); got != want {
		t.Errorf("posed at rest: %+v, want %+v", got, want)
	}
}

func TestAtAllocatesNothing(t *testing.T) {
	m, _ := New(busy)
	if n := testing.AllocsPerRun(100, func() { m.At(3) }); n != 0 {
		t.Errorf("%g allocations, want 0", n)
	}
}

func TestValidate(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name string
		spec Spec
		want string
	}{
		{"nothing", Spec{}, ""},
		{"busy", busy, ""},
		{"on its side", Spec{Pose: Pose{Roll: 90 * degree, Pitch: 89 * degree}}, ""},
		{"upside-down", Spec{Pose: Pose{Roll: 180 * degree}}, ""},
		{"no period", Spec{Heave: []Shift{{Amplitude: 1}}}, "heave[0].period: period is 0 s; allowed: 100 ms or more"},
		{"negative period", Spec{Heave: []Shift{{1, 8, 0}, {1, -2, 0}}}, "heave[1].period: period is -2 s; allowed: 100 ms or more"},
		{"endless period", Spec{Yaw: []Turning{{Amplitude: 0.1, Period: units.Duration(inf)}}}, "yaw[0].period: period is +Inf s; allowed: 100 ms or more"},
		{"negative amplitude", Spec{Sway: []Shift{{-1, 8, 0}}},
			"sway[0].amplitude: amplitude is -1 m; allowed: 0 m or more, and a phase of 180 deg turns the sinusoid over"},
		{"negative angle", Spec{Roll: []Turning{{-1 * degree, 8, 0}}},
			"roll[0].amplitude: amplitude is -1 deg; allowed: 0 deg or more, and a phase of 180 deg turns the sinusoid over"},
		{"odd phase", Spec{Surge: []Shift{{1, 8, 1001 * degree}}},
			"surge[0].phase: phase is 1001 deg; allowed: within 1000 deg of zero, and -180 deg to 180 deg says it all"},
		{"tsunami", Spec{Heave: []Shift{{60, 8, 0}, {50, 9, 0}}}, "heave: amplitudes of heave add up to 110 m; allowed: at most 100 m"},
		{"too steep a pose", Spec{Pose: Pose{Pitch: -90 * degree}}, "pose.pitch: pose has a pitch of -90 deg; allowed: -89 deg to 89 deg"},
		{"over the bow", Spec{Pose: Pose{Pitch: -30 * degree}, Pitch: []Turning{{40 * degree, 8, 0}, {19.5 * degree, 9, 0}}},
			"pitch: pitch reaches 89.5 deg, pose and all amplitudes together; allowed: at most 89 deg"},
		{"two turns", Spec{Yaw: []Turning{{190 * degree, 8, 0}}}, "yaw: yaw reaches 190 deg, pose and all amplitudes together; allowed: at most 180 deg"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var lines []string
			for _, p := range c.spec.Validate() {
				lines = append(lines, p.Path+": "+p.Text)
			}
			if got := strings.Join(lines, "\n"); got != c.want {
				t.Errorf("problems:\n%s\nwant:\n%s", got, c.want)
			}
			if _, err := New(c.spec); (err == nil) != (c.want == "") {
				t.Errorf("New: %v, want an error where there are problems", err)
			}
		})
	}
}

func BenchmarkAt(b *testing.B) {
	m, _ := New(busy)
	b.ReportAllocs()
	var t float64
	for b.Loop() {
		m.At(t)
		t += 0.01
	}
}
