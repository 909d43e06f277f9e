package waves

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"swellbench/scenarios/units"
)

// The components have the variance of elevation and of vertical velocity of the spectrum up to the cut-off, exactly,
// whatever was drawn, and lie in rising order below it.
func TestComponentsKeepMoments(t *testing.T) {
	single(t)
	rapid.Check(t, func(t *rapid.T) {
		s := Spec{Systems: []System{{
			Spectrum: Jonswap, From: deg(rapid.Float64Range(0, 360).Draw(t, "from")),
			Height: 1, Gamma: rapid.Float64Range(1, 20).Draw(t, "gamma"),
		}}, Components: rapid.IntRange(30, 400).Draw(t, "components")}
		s.Systems[0].Period = units.Duration(rapid.Float64Range(2, 20).Draw(t, "period"))
		sp := s.Systems[0].spectrum()
		sea, err := New(s, rapid.Uint64().Draw(t, "seed"), 60)
		if err != nil {
			t.Fatal(err)
		}
		cs := sea.Components()
		if len(cs) != s.Components {
			t.Fatalf("%d components, want %d", len(cs), s.Components)
		}
		cut := 2 * math.Pi * s.cutHz(1/sp.TpS())
		for _, n := range []float64{0, 2} {
			if got, want := moment(cs, n), sp.Moment(n, cut); math.Abs(got/want-1) > 1e-9 {
				t.Errorf("m%g is %g, want %g", n, got, want)
			}
		}
		for i, c := range cs {
			if !(c.Amplitude > 0) || !(c.Omega > 0) || c.Omega >= cut || i > 0 && c.Omega <= cs[i-1].Omega {
				t.Fatalf("component %d is %+v after %+v", i, c, cs[max(i-1, 0)])
			}
			if math.Abs(c.K*GravityMS2/(c.Omega*c.Omega)-1) > 1e-12 {
				t.Fatalf("component %d of a deep sea has the wave number %g", i, c.K)
			}
		}
		if got, want := sea.TzS(), 2*math.Pi*math.Sqrt(sp.Moment(0, cut)/sp.Moment(2, cut)); math.Abs(got/want-1) > 1e-9 {
			t.Errorf("Tz is %g s, want %g s", got, want)
		}
	})
}

// In a day no sea comes near to repeating itself; the bound that New holds is 0.7, what is found is below a half.
func TestSeaDoesNotRepeat(t *testing.T) {
	single(t)
	for name, s := range map[string]Spec{
		"wind sea":     {Systems: []System{{Spectrum: Jonswap, Height: 2, Period: 8, From: 0}}},
		"narrow swell": {Systems: []System{{Spectrum: Jonswap, Height: 2, Period: 14, Gamma: 10, From: 0}}},
		"both":         {Systems: []System{{Spectrum: PiersonMoskowitz, Wind: 8, From: 0}, {Spectrum: Jonswap, Height: 1, Period: 12, From: 1}}},
	} {
		for seed := range uint64(4) {
			sea, err := New(s, seed, 86400)
			if err != nil {
				t.Fatal(err)
			}
			if r := sea.Recurrence(); !(r > 0.05 && r < 0.5) {
				t.Errorf("%s, seed %d: the greatest correlation within a day is %.2f, want 0.05 to 0.5", name, seed, r)
			}
		}
	}
}

// The search finds what does repeat: equal spacings return exactly after 2π over the spacing, and a line spectrum that
// nearly does is found too.
func TestRecurrenceIsFound(t *testing.T) {
	sea, err := New(Spec{Systems: []System{{Spectrum: Jonswap, Height: 2, Period: 8, From: 0}}}, 1, 100)
	if err != nil {
		t.Fatal(err)
	}
	even := sea.Components()
	for i := range even {
		even[i].Omega = 0.4 + 0.01*float64(i)
		even[i].Amplitude = 1
	}
	if r := recurrence(even, 620); r > 0.5 { // 2π/0.01 is 628.3 s
		t.Errorf("before the repetition the correlation is %.2f", r)
	}
	if r := recurrence(even, 640); r < 0.9 {
		t.Errorf("a repetition has the correlation %.2f, want 1 less at most 0.1", r)
	}
	if recurrence(nil, 1e5) != 0 || recurrence(even[:1], 0) != 0 {
		t.Error("what does not last repeats")
	}
}

// The mean vector and the second harmonic of the directions are those of the law.
func TestDirections(t *testing.T) {
	for _, sp := range []Spread{{CosN, 2}, {CosN, 20}, {Cos2S, 1}, {Cos2S, 10}, {Cos2S, 75}} {
		// ∫D(θ)cos(mθ)dθ, by the law itself.
		harmonic := func(m float64) float64 {
			return panels(func(th float64) float64 { return Spreading(sp.Law, sp.Exponent, th) * math.Cos(m*th) }, -math.Pi, math.Pi, 64)
		}
		if one := harmonic(0); math.Abs(one-1) > 1e-6 {
			t.Errorf("%v adds up to %g", sp, one)
		}
		cs := mustComponents(t, Spec{Systems: []System{{Spectrum: Jonswap, Height: 2, Period: 8, From: deg(350), Spreading: &sp}}}, 3)
		to := 170 * math.Pi / 180
		var c1, s1, c2, all float64
		for _, c := range cs {
			p := c.Amplitude * c.Amplitude
			all += p
			c1 += p * math.Cos(c.Direction-to)
			s1 += p * math.Sin(c.Direction-to)
			c2 += p * math.Cos(2*(c.Direction-to))
		}
		// 200 directions spread evenly: each harmonic is met within some times 1/200. Drawn at random they would stray by
		// 0.05 to 0.1.
		if math.Abs(c1/all-harmonic(1)) > 0.02 || math.Abs(s1/all) > 0.04 || math.Abs(c2/all-harmonic(2)) > 0.03 {
			t.Errorf("%v: harmonics %.3f %.3f %.3f, want %.3f 0 %.3f", sp, c1/all, s1/all, c2/all, harmonic(1), harmonic(2))
		}
		for _, q := range []float64{1e-9, 0.02, 0.3, 0.5, 0.77, 0.999} {
			th := spreadingQuantile(sp.Law, sp.Exponent, q)
			if got := panels(func(x float64) float64 { return Spreading(sp.Law, sp.Exponent, x) }, -math.Pi, th, 400); math.Abs(got-q) > 1e-5 {
				t.Errorf("%v: below the quantile of %g there is %g", sp, q, got)
			}
		}
	}
	// Directions are spread evenly within any part of the spectrum too, not only over the whole.
	cs := mustComponents(t, Spec{Systems: []System{{Spectrum: Jonswap, Height: 2, Period: 8, From: 0, Spreading: &Spread{CosN, 2}}}}, 3)
	for i := 0; i+20 <= len(cs); i += 20 {
		mean := 0.0
		for _, c := range cs[i : i+20] {
			mean += (c.Direction - math.Pi) / 20
		}
		if math.Abs(mean) > 0.15 {
			t.Errorf("components %d to %d travel %g rad off the main direction", i, i+19, mean)
		}
	}
}

// The dispersion relation holds to the last digits for any depth and frequency, and is monotonic.
func TestWavenumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		omega := math.Exp(rapid.Float64Range(-12, 4).Draw(t, "ln omega"))
		depth := math.Exp(rapid.Float64Range(-7, 12).Draw(t, "ln depth"))
		k := Wavenumber(omega, depth, 9.81)
		if got := 9.81 * k * math.Tanh(k*depth); math.Abs(got/(omega*omega)-1) > 1e-13 {
			t.Fatalf("ω² is %g, want %g", got, omega*omega)
		}
		if n := GroupRatio(k, depth); !(n >= 0.5 && n <= 1) {
			t.Fatalf("group ratio is %g", n)
		}
		// dω/dk is the group speed.
		d := 1e-5 * k
		w := func(k float64) float64 { return math.Sqrt(9.81 * k * math.Tanh(k*depth)) }
		if got, want := GroupRatio(k, depth)*omega/k, (w(k+d)-w(k-d))/(2*d); math.Abs(got/want-1) > 1e-8 {
			t.Fatalf("group speed is %g, differentiated %g", got, want)
		}
	})
	if k := Wavenumber(0, 10, 9.81); k != 0 {
		t.Errorf("a wave without frequency has the wave number %g", k)
	}
	if k := Wavenumber(1e-200, 10, 9.81); !(k >= 0 && k < 1e-190) {
		t.Errorf("nearly no frequency: %g", k)
	}
	for _, c := range [][3]float64{{1, 0, 9.81}, {1, -1, 9.81}, {-1, 5, 9.81}, {1, 5, 0}, {math.NaN(), 5, 9.81}, {1, math.NaN(), 9.81}} {
		if k := Wavenumber(c[0], c[1], c[2]); !math.IsNaN(k) {
			t.Errorf("%v has the wave number %g, want NaN", c, k)
		}
	}
}

// The frequencies that WaveOmegas finds are met at the frequency asked for, and there are no others.
func TestWaveOmegas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		speed := rapid.Float64Range(0, 30).Draw(t, "speed")
		beta := rapid.Float64Range(0, math.Pi).Draw(t, "beta")
		omega := rapid.Float64Range(0.05, 4).Draw(t, "omega")
		we := EncounterOmega(omega, omega*omega/9.81, speed, beta)
		found := false
		for _, w := range WaveOmegas(we, speed, beta, 9.81) {
			if got := EncounterOmega(w, w*w/9.81, speed, beta); math.Abs(got-we) > 1e-9*(1+w*w) {
				t.Fatalf("%g rad/s is met at %g, want %g", w, got, we)
			}
			found = found || math.Abs(w-omega) < 1e-5*(1+omega)
		}
		if !found && math.Abs(1-2*omega*speed*math.Cos(beta)/9.81) > 1e-4 { // not where the two roots meet
			t.Fatalf("%g rad/s is not among %v", omega, WaveOmegas(we, speed, beta, 9.81))
		}
	})
	if r := WaveOmegas(-0.5, 0, 0, 9.81); r != nil {
		t.Errorf("at rest nothing is met backwards, but %v", r)
	}
	if r := WaveOmegas(0.5, 10, 0, 9.81); r != nil { // g/4U is 0.245
		t.Errorf("above g/4U a following sea meets nothing, but %v", r)
	}
}

// Densities are finite and never negative at any frequency, however odd.
func TestSpectrumEverywhere(t *testing.T) {
	s := NewSpectrum(2, 8, 3.3)
	for _, w := range []float64{math.Inf(-1), -1, 0, 5e-324, 1e-100, 1e-3, 0.1, 0.78, 1e3, 1e100, 1e300, math.Inf(1), math.NaN()} {
		for _, d := range []float64{s.At(w), TwoParameterRounded(2, 8, w)} {
			if !(d >= 0) || math.IsInf(d, 0) {
				t.Errorf("at %g rad/s the density is %g", w, d)
			}
		}
	}
	if !math.IsInf(s.Moment(4, math.Inf(1)), 1) || s.Moment(0, 0) != 0 || s.Moment(0, -1) != 0 {
		t.Error("moments at the ends")
	}
	// The maximum lies at the peak, and partial moments are the integral of the density.
	if s.At(s.PeakOmega()) < s.At(s.PeakOmega()*1.01) || s.At(s.PeakOmega()) < s.At(s.PeakOmega()*0.99) {
		t.Error("the density is not greatest at the peak")
	}
	for _, n := range []float64{-1, 0, 1, 2, 3.5, 4, 6} {
		want := panels(func(w float64) float64 { return math.Pow(w, n) * s.At(w) }, 0.1, s.PeakOmega(), 200) +
			panels(func(w float64) float64 { return math.Pow(w, n) * s.At(w) }, s.PeakOmega(), 3, 200)
		if got := s.Moment(n, 3); math.Abs(got/want-1) > 1e-10 {
			t.Errorf("m%g to 3 rad/s is %g, summed %g", n, got, want)
		}
	}
}
