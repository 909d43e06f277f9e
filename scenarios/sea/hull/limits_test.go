package hull

import (
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"swellbench/scenarios/units"
)

// What any model of a vessel must meet.

// Waves much shorter than the vessel do not move her, from no side. This is why the Smith factor is exp(−kT): with
// exp(−ke·T) she would heave by half of each ripple on her beam.
func TestShortWaves(t *testing.T) {
	for name, h := range hulls {
		made := named(t, name)
		for omega := 3.0; omega < 40; omega *= 1.17 {
			for beta := -180.0; beta <= 180; beta += 15 {
				k := deep(omega, gravity)
				for n, r := range made.At(omega, k, 3, beta*degree) {
					if cmplx.Abs(r) > 0.02 {
						t.Errorf("hull %s, %g rad/s, beta %g: %s is %v", name, omega, beta, Names[n], r)
					}
				}
			}
		}
		w, _ := Encounter(3, deep(3, gravity), 0, math.Pi/2)
		if heave, _ := h.HeavePitch(w, SmithAlong); cmplx.Abs(heave) < 0.4 {
			t.Errorf("hull %s: by exp(−ke·T) a beam wave of 7 m heaves her %g m/m; what says that this is wrong of it?", name, cmplx.Abs(heave))
		}
	}
}

// No pitch in beam seas, no roll in head and following seas, no yaw in any of them; port is the mirror of starboard.
func TestSymmetry(t *testing.T) {
	h := named(t, "A")
	for omega := 0.1; omega < 2; omega += 0.05 {
		k := deep(omega, gravity)
		for _, speed := range []float64{0, 6} {
			for _, beta := range []float64{0, math.Pi} {
				if r := h.At(omega, k, speed, beta); cmplx.Abs(r[Roll])+cmplx.Abs(r[Yaw])+cmplx.Abs(r[Sway]) > 1e-14 {
					t.Errorf("%g rad/s, beta %g: %v", omega, beta, r)
				}
			}
			for _, beta := range []float64{math.Pi / 2, -math.Pi / 2} {
				if r := h.At(omega, k, speed, beta); cmplx.Abs(r[Pitch])+cmplx.Abs(r[Yaw])+cmplx.Abs(r[Surge]) > 1e-14 {
					t.Errorf("%g rad/s, beta %g: %v", omega, beta, r)
				}
			}
			for beta := 0.1; beta < 3; beta += 0.2 {
				s, p := h.At(omega, k, speed, beta), h.At(omega, k, speed, -beta)
				for n, sign := range []complex128{1, -1, 1, -1, 1, -1} {
					if cmplx.Abs(s[n]-sign*p[n]) > 1e-15 {
						t.Errorf("%g rad/s, beta ±%g: %s %v and %v", omega, beta, Names[n], s[n], p[n])
					}
				}
			}
		}
	}
}

// At resonance roll is the load over twice the damping, a quarter of a period behind it.
func TestResonance(t *testing.T) {
	for _, damping := range []float64{0.03, 0.1, 0.2} {
		period := units.Duration(9)
		h, err := New(Spec{RollPeriod: &period, RollDamping: &damping}, hulls["A"].vessel())
		if err != nil {
			t.Fatal(err)
		}
		omega := 2 * math.Pi / 9
		k := deep(omega, gravity)
		r := h.At(omega, k, 0, math.Pi/2)[Roll]
		if over := cmplx.Abs(r) * 2 * damping / k; over < 0.8 || over > 1 {
			t.Errorf("damping %g: roll at resonance is %g of slope/(2ζ)", damping, over)
		}
		if lead := Lead(r) / degree; math.Abs(math.Abs(lead)-180) > 1e-6 { // 90 of the slope, and 90 more
			t.Errorf("damping %g: roll leads by %g deg, want 180", damping, lead)
		}
	}
}

// Any vessel in any wave gives numbers, and none that no vessel makes.
func TestBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := func(name string, low, high float64) float64 {
			return math.Exp(rapid.Float64Range(math.Log(low), math.Log(high)).Draw(t, name))
		}
		b := Box{Length: log("length", 0.5, 500), Block: rapid.Float64Range(0.11, 0.99).Draw(t, "block")}
		b.Breadth = max(0.5, b.Length/log("slenderness", 1, 12))
		b.Draught = max(0.05, b.Breadth/log("flatness", 0.5, 30))
		damping := log("damping", 0.005, 2)
		h, err := New(Spec{RollDamping: &damping}, b.vessel())
		if err != nil {
			t.Fatal(err)
		}
		omega := log("omega", 0.02, 20)
		k := deep(omega, gravity)
		if shallow := rapid.SampledFrom([]float64{1, 1.0005, 1.2, 3}).Draw(t, "shallow"); math.Atanh(0.999/shallow)/(k*shallow) > 1.2*b.Draught {
			k *= shallow // else she would be aground
		}
		speed, beta := rapid.Float64Range(-5, 20).Draw(t, "speed"), rapid.Float64Range(-7, 7).Draw(t, "beta")
		r := h.At(omega, k, speed, beta)
		again := h.At(omega, k, speed+1e-9, beta+1e-9)
		for n := range r {
			size := 12.0 // ten times at resonance, times |f| and the Smith factor
			switch n {
			case Surge, Sway:
				size = 3.1 // the orbit in shallow water
			case Pitch, Yaw:
				size *= k
			case Roll:
				size = k * 1.0001
				if damping < math.Sqrt2/2 { // the peak of an oscillator, any textbook on vibration
					size /= 2 * damping * math.Sqrt(1-damping*damping)
				}
			}
			if a := cmplx.Abs(r[n]); !(a <= size) {
				t.Fatalf("%s is %g, at most %g expected", Names[n], a, size)
			}
			if d := cmplx.Abs(r[n] - again[n]); d > 1e-4*size {
				t.Fatalf("%s jumps by %g", Names[n], d)
			}
		}
	})
}

// Running just as fast as the wave, where nothing changes any more, she lies as she would at rest on the frozen wave, and
// on both sides of that speed nearly so.
func TestRunsWithTheWave(t *testing.T) {
	h := named(t, "A")
	omega := 0.5
	k := deep(omega, gravity)
	at := h.At(omega, k, omega/k, 0)
	for _, d := range []float64{-1e-6, 1e-6} {
		near := h.At(omega, k, omega/k*(1+d), 0)
		for n := range at {
			if cmplx.Abs(near[n]-at[n]) > 1e-5 {
				t.Errorf("%s is %v at the wave's speed, %v beside it", Names[n], at[n], near[n])
			}
		}
	}
	if lead := Lead(at[Heave]); math.Abs(lead) > 1e-9 {
		t.Errorf("heave leads by %g, want 0 where nothing changes", lead)
	}
}

func TestNoWave(t *testing.T) {
	h := named(t, "A")
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range [][4]float64{{0, 1, 0, 0}, {1, 0, 0, 0}, {-1, 1, 0, 0}, {nan, 1, 0, 0}, {1, nan, 0, 0}, {1, 1, nan, 0},
		{1, 1, 0, nan}, {1, 1, inf, 0}, {1, 1, 0, inf}, {inf, 1, 0, 0}, {1, inf, 0, 0}, {1e-300, 1e300, 1e10, 1}} {
		if r := h.At(c[0], c[1], c[2], c[3]); r != (Response{}) {
			t.Errorf("%v: %v, want nothing", c, r)
		}
	}
	for _, c := range [][4]float64{{1e-200, 1e-300, 0, 0}, {1e150, 1e300, 0, 1}, {1e-9, 1e-9, 1, 1}, {1, 0.1, 1e200, 3}} {
		for n, r := range h.At(c[0], c[1], c[2], c[3]) {
			if cmplx.IsNaN(r) {
				t.Errorf("%v: %s is %v", c, Names[n], r)
			}
		}
	}
}

// The two functions of the waterplane against their integrals near zero, where the closed form has no digits left, and
// across the seam of the series.
func TestSeries(t *testing.T) {
	for _, x := range []float64{0, 1e-12, 1e-6, 1e-3, 0.01, 0.29999, 0.3, 0.30001, 1, 5} {
		const n = 2000
		var m, s, i float64
		for j := range n {
			u := (float64(j)+0.5)/n*2 - 1
			m += math.Cos(x*u) / n
			i += u * u
			if x == 0 {
				s += u * u
			} else {
				s += u * math.Sin(x*u) / x
			}
		}
		if math.Abs(mean(x)-m) > 1e-6 || math.Abs(slope(x)-s/i) > 1e-5 || slope(-x) != slope(x) {
			t.Errorf("x %g: mean %g, want %g; slope %g, want %g", x, mean(x), m, slope(x), s/i)
		}
	}
	if a, b := slope(0.3-1e-12), slope(0.3); math.Abs(a-b) > 1e-12 {
		t.Errorf("a seam of %g", a-b)
	}
}

func TestAtAllocatesNothing(t *testing.T) {
	h, table := named(t, "A"), dense(t, named(t, "A"))
	if n := testing.AllocsPerRun(100, func() { h.At(0.7, 0.05, 3, 1); table.At(0.7, 0.05, 3, 1) }); n != 0 {
		t.Errorf("%g allocations, want 0", n)
	}
}

func BenchmarkClosedForm(b *testing.B) {
	h := named(b, "A")
	b.ReportAllocs()
	beta := 0.0
	for b.Loop() {
		h.At(0.7, 0.05, 3, beta)
		beta += 0.01
	}
}

func BenchmarkTable(b *testing.B) {
	h := dense(b, named(b, "A"))
	b.ReportAllocs()
	beta := 0.0
	for b.Loop() {
		h.At(0.7, 0.05, 3, beta)
		beta += 0.01
	}
}
