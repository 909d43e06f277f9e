package waves

import (
	"math"
	"strings"
	"testing"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

func TestSpecFromYAML(t *testing.T) {
	var s Spec
	_, err := strictyaml.DecodeBytes("sea.yaml", []byte(`
depth: 25 m
components: 240
highest-frequency: 0.8 Hz
systems:
  - {spectrum: jonswap, height: 1.4 m, period: 5.5 s, gamma: 3.3, from: 240 deg, spreading: {law: cos-n, exponent: 2}}
  - {spectrum: two-parameter, state: 3, zero-crossing-period: 7 s, from: 300 deg}
  - {spectrum: pierson-moskowitz, wind: 20 kn, from: -60 deg}
`), &s)
	if err != nil {
		t.Fatal(err)
	}
	if ps := s.Validate(); len(ps) != 0 {
		t.Fatalf("problems: %v", ps)
	}
	if ps := s.Warnings(); len(ps) != 0 {
		t.Errorf("warnings: %v", ps)
	}
	for i, want := range []struct{ hs, tp float64 }{{1.4, 5.5}, {0.875, 7 / 0.7103706809856611}, {0.2092 * 10.2889 * 10.2889 / 9.81, 2 * math.Pi * 10.2889 / (0.8772 * 9.81)}} {
		sp := s.Systems[i].spectrum()
		// Table values of package waves' vectors: Tz/Tp of waves_ratios, the wind's constants as noted in waves_spectrum.
		if math.Abs(sp.HsM()/want.hs-1) > 1e-3 || math.Abs(sp.TpS()/want.tp-1) > 1e-3 {
			t.Errorf("system %d has Hs %g m, Tp %g s; want %g, %g", i, sp.HsM(), sp.TpS(), want.hs, want.tp)
		}
	}
	sea, err := New(s, 1, 3600)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range sea.Components() {
		if want := Wavenumber(c.Omega, 25, GravityMS2); c.K != want || c.Omega > 2*math.Pi*0.8 {
			t.Fatalf("component %+v, want wave number %g, and no frequency above 0.8 Hz", c, want)
		}
	}
}

// The default enhancement follows the handbook's rule, with either period.
func TestDefaultGamma(t *testing.T) {
	byPeak := System{Spectrum: Jonswap, Height: 4, Period: 9}.spectrum()
	if math.Abs(byPeak.Gamma()-1.7771305269140387) > 1e-9 { // waves_ratios
		t.Errorf("gamma is %g", byPeak.Gamma())
	}
	byTz := System{Spectrum: Jonswap, Height: 4, ZeroCrossing: units.Duration(byPeak.TzS())}.spectrum()
	if math.Abs(byTz.Gamma()-byPeak.Gamma()) > 1e-3 || math.Abs(byTz.TzS()-byPeak.TzS()) > 1e-9 {
		t.Errorf("by Tz gamma is %g, Tz %g s; want %g, %g s", byTz.Gamma(), byTz.TzS(), byPeak.Gamma(), byPeak.TzS())
	}
	if g := (System{Spectrum: Jonswap, Wind: 15, Fetch: 1e5}).spectrum().Gamma(); g != 3.3 {
		t.Errorf("with a fetch gamma is %g", g)
	}
}

// one is a valid system, changed by f.
func one(f func(*System)) Spec {
	w := System{Spectrum: Jonswap, Height: 1, Period: 6, From: 1}
	f(&w)
	return Spec{Systems: []System{w}}
}

func TestValidate(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		spec Spec
		want string
	}{
		{"good", one(func(*System) {}), ""},
		{"empty", Spec{}, "systems: sea has no systems; give one, such as {spectrum: jonswap, height: 1.2 m, period: 6 s, from: 240 deg}, or leave the sea out"},
		{"crowd", Spec{Systems: make([]System, 9)}, "systems: sea has 9 systems; allowed: at most 8"},
		{"kind", one(func(w *System) { w.Spectrum = "jonswop" }), "systems[0].spectrum: spectrum is jonswop; did you mean jonswap? allowed: pierson-moskowitz, jonswap, two-parameter"},
		{"from", one(func(w *System) { w.From = deg(400) }), "systems[0].from: waves come from 400 deg; allowed: -180 deg to 360 deg"},
		{"no height", one(func(w *System) { w.Height = 0 }), "systems[0]: system has neither height, state nor wind; give one, such as height: 1.2 m"},
		{"two heights", one(func(w *System) { w.State = ptr(3) }), "systems[0]: system has more than one of height, state and wind; keep one of them"},
		{"negative", one(func(w *System) { w.Height = -1 }), "systems[0].height: significant height is -1 m; allowed: above 0 m, at most 30 m"},
		{"not a number", one(func(w *System) { w.Height = units.Length(nan) }), "systems[0].height: significant height is NaN m; allowed: above 0 m, at most 30 m"},
		{"state", one(func(w *System) { w.Height, w.State = 0, ptr(10) }), "systems[0].state: sea state is 10; allowed: 0 to 9"},
		{"no period", one(func(w *System) { w.Period = 0 }), "systems[0]: system has a height but no period; add one, such as period: 6 s"},
		{"two periods", one(func(w *System) { w.ZeroCrossing = 5 }), "systems[0].period: system has both a peak period and a zero-crossing period; keep one of them"},
		{"negative period", one(func(w *System) { w.Period = -3 }), "systems[0].period: peak period is -3 s; allowed: 0.5 s to 40 s"},
		{"fully developed with a period", one(func(w *System) { w.Spectrum = PiersonMoskowitz }),
			"systems[0].period: a fully developed sea has the period that its height demands; leave the period out, or take spectrum: two-parameter"},
		{"wind with a period", one(func(w *System) { w.Height, w.Wind, w.Fetch = 0, 10, 5e4 }),
			"systems[0].period: the wind says the period already; leave the period out, or give a height instead of the wind"},
		{"no fetch", one(func(w *System) { w.Height, w.Period, w.Wind = 0, 0, 10 }),
			"systems[0].wind: a wind makes a jonswap sea over a fetch only; add one, such as fetch: 60 km"},
		{"wind of two parameters", one(func(w *System) { w.Spectrum, w.Height, w.Period, w.Wind = TwoParameter, 0, 0, 10 }),
			"systems[0].wind: a two-parameter spectrum knows no wind; give height and period, or take pierson-moskowitz or jonswap"},
		{"gale force", one(func(w *System) { w.Spectrum, w.Height, w.Period, w.Wind = PiersonMoskowitz, 0, 0, 90 }),
			"systems[0].wind: wind is 90 m/s; allowed: 0.5 m/s to 60 m/s"},
		{"idle fetch", one(func(w *System) { w.Fetch = 100 }), "systems[0].fetch: a fetch goes with a wind and spectrum: jonswap only"},
		{"gamma", one(func(w *System) { w.Gamma = 0.5 }), "systems[0].gamma: gamma is 0.5; allowed: 1 to 20"},
		{"idle gamma", one(func(w *System) { w.Spectrum, w.Gamma = TwoParameter, 2 }), "systems[0].gamma: gamma goes with spectrum: jonswap only"},
		{"law", one(func(w *System) { w.Spreading = &Spread{"cos", 2} }), "systems[0].spreading.law: law is cos; allowed: cos-n, cos-2s"},
		{"exponent", one(func(w *System) { w.Spreading = &Spread{CosN, -2} }),
			"systems[0].spreading.exponent: exponent is -2; allowed: 0.5 to 500, and no spreading at all for long crests"},
		{"dry", Spec{Depth: ptr(units.Length(0)), Systems: one(func(*System) {}).Systems}, "depth: depth is 0 m; allowed: 0.1 m to 12000 m, and none at all for deep water"},
		{"few", Spec{Components: 20, Systems: one(func(*System) {}).Systems}, "components: sea has 20 components for 1 systems; allowed: 30 to 5000"},
		{"cut", Spec{HighestFrequency: 0.2, Systems: one(func(*System) {}).Systems},
			"highest-frequency: highest frequency is 0.2 Hz, but systems[0] has its peak at 0.167 Hz; allowed: at least 0.333 Hz, twice the peak"},
		{"cut high", Spec{HighestFrequency: 20, Systems: one(func(*System) {}).Systems}, "highest-frequency: highest frequency is 20 Hz; allowed: at most 10 Hz"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var lines []string
			for _, p := range c.spec.Validate() {
				lines = append(lines, strings.TrimPrefix(p.Path+": "+p.Text, ": "))
			}
			if c.name == "crowd" {
				lines = lines[:1] // the rest is about the empty systems
			}
			if got := strings.Join(lines, "\n"); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
			_, err := New(c.spec, 1, 60)
			if (err == nil) != (c.want == "") {
				t.Errorf("New says %v", err)
			}
		})
	}
	for _, d := range []float64{-1, nan, math.Inf(1)} {
		if _, err := New(one(func(*System) {}), 1, d); err == nil {
			t.Errorf("a run of %g s is taken", d)
		}
	}
}

func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		name string
		spec Spec
		want []string // what each warning contains
	}{
		{"ordinary", one(func(*System) {}), nil},
		// 2π·3/(9.81·36) is 1/18.7; 1/15 is the limit of Tp, 1/10 that of Tz.
		{"steep but seen", one(func(w *System) { w.Height = 3 }), nil},
		{"too steep", one(func(w *System) { w.Height = 4.2 }), []string{
			"systems[0].height: a significant height of 4.2 m at a peak period of 6 s has a steepness of 1/13.4; seas are measured up to 1/15 (DNV-RP-C205 section 3.5.4), which is 3.75 m"}},
		// 1/25 at 15 s and above: 14.05 m at 15 s; 1/18.8 by Tz of 11.6 s: 11.2 m.
		{"long", one(func(w *System) { w.Period, w.Height = 15, 11 }), nil},
		{"too steep for long", one(func(w *System) { w.Period, w.Height = 15, 14.1 }), []string{"up to 1/25"}},
		{"too steep by Tz", one(func(w *System) { w.Spectrum, w.Period, w.Height = TwoParameter, 14, 12.3 }), []string{"at a zero-crossing period of 9.95 s"}},
		{"impossible", one(func(w *System) { w.Height = 9 }), []string{"cannot be: waves of that length break at 7.98 m (Miche 1944)"}},
		{"state", one(func(w *System) { w.Height, w.State = 0, ptr(6) }), []string{"systems[0].state: a significant height of 5 m"}},
		{"shallow", Spec{Depth: ptr(units.Length(2)), Systems: one(func(w *System) { w.Height = 1.3 }).Systems},
			[]string{"depth: a significant height of 1.3 m in 2 m of water: waves break there above about 1.2 m, 0.6 of the depth"}},
		{"gamma", one(func(w *System) { w.Gamma = 12 }), []string{"systems[0].gamma: gamma is 12"}},
		{"every wind", one(func(w *System) { w.Spectrum, w.Height, w.Period, w.Wind = PiersonMoskowitz, 0, 0, 25 }), nil},
		{"calm", one(func(w *System) { w.Spectrum, w.Height, w.Period, w.State = PiersonMoskowitz, 0, 0, ptr(0) }), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			ps := c.spec.Warnings()
			if len(ps) != len(c.want) {
				t.Fatalf("%d warnings, want %d: %v", len(ps), len(c.want), ps)
			}
			for i, p := range ps {
				if got := p.Path + ": " + p.Text; !strings.Contains(got, c.want[i]) {
					t.Errorf("got\n%s\nwant\n%s", got, c.want[i])
				}
			}
		})
	}
	// The limits of the handbook at their corners and half-way.
	for _, c := range [][3]float64{{1, 1.0 / 15, 0.1}, {6, 1.0 / 15, 0.1}, {9, 1.0/15 - (1.0/15-1.0/25)/7, 0.075}, {12, 1.0/15 - 4*(1.0/15-1.0/25)/7, 0.05}, {20, 0.04, 0.05}} {
		if got := SteepnessLimit(c[0]); math.Abs(got-c[1]) > 1e-12 {
			t.Errorf("limit at Tp %g s is %g, want %g", c[0], got, c[1])
		}
		if got := MeanSteepnessLimit(c[0]); math.Abs(got-c[2]) > 1e-12 {
			t.Errorf("limit at Tz %g s is %g, want %g", c[0], got, c[2])
		}
	}
}

// All valid states and kinds make a sea, and it has the height that was asked for.
func TestEveryState(t *testing.T) {
	for code := range 10 {
		for _, kind := range []Kind{PiersonMoskowitz, Jonswap, TwoParameter} {
			s := Spec{Systems: []System{{Spectrum: kind, State: &code, From: 0}}}
			sea, err := New(s, 2, 60)
			if err != nil {
				t.Fatal(err)
			}
			if got, want := sea.HsM(), States[code].TypeM; math.Abs(got-want) > 0.002*want {
				t.Errorf("%s, state %d: %g m, want %g m", kind, code, got, want)
			}
			if n := len(sea.Components()); code == 0 && n != 0 || code > 0 && n != DefaultComponents {
				t.Errorf("%s, state %d has %d components", kind, code, n)
			}
		}
	}
}
