package waves

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/internal/deriv"
)

// exact is the plain sum with the responses of circleSum, fading between whole seconds as documented.
func exact(cs []Component, at Place, heading func(t float64) float64, t float64) (v [Channels]float64) {
	knot := math.Floor(t)
	x := t - knot
	f := 10*math.Pow(x, 3) - 15*math.Pow(x, 4) + 6*math.Pow(x, 5)
	for _, c := range cs {
		sin, cos := math.Sincos(c.Direction)
		e := cmplx.Exp(complex(0, c.K*(at.X*sin+at.Y*cos)-c.Omega*t+c.Phase)) * complex(c.Amplitude, 0)
		a, b := likeAHull(c, heading(knot)), likeAHull(c, heading(knot+1))
		for ch := range Channels {
			r := a[ch]*complex(1-f, 0) + b[ch]*complex(f, 0)
			v[ch] += real(r * e)
		}
	}
	return v
}

// The difference from the plain sum, in units of each channel's standard deviation, at times that are no support points.
func rmsError(s *Sum, want func(t float64) [Channels]float64) float64 {
	r := rand.New(rand.NewPCG(1, 2))
	var diff, all [Channels]float64
	for range 3000 {
		t := r.Float64() * 7200
		got, w := s.At(t).Value, want(t)
		for ch := range Channels {
			diff[ch] += (got[ch] - w[ch]) * (got[ch] - w[ch])
			all[ch] += w[ch] * w[ch]
		}
	}
	worst := 0.0
	for ch := range Channels {
		worst = max(worst, math.Sqrt(diff[ch]/all[ch]))
	}
	return worst
}

func TestSumAgainstPlainSum(t *testing.T) {
	cs := benchSea(t)
	p := newPlain(cs, benchHeading)
	straight := straightSum(cs)
	if e := rmsError(straight, func(t float64) [Channels]float64 { return p.value(straightPath(t), t) }); e > 1e-6 || e == 0 {
		t.Errorf("straight: rms error is %.3g of the channel's, allowed: 1e-6", e)
	}
	turning := circleSum(cs)
	heading := func(t float64) float64 { return frame.Rad(2) * t }
	if e := rmsError(turning, func(t float64) [Channels]float64 { return exact(cs, circlePath(t), heading, t) }); e > 5e-6 || e == 0 {
		t.Errorf("turning: rms error is %.3g of the channel's, allowed: 5e-6", e)
	}
	// At a support point it is the plain sum, with its derivatives, but for rounding.
	for _, at := range []float64{-17, 0, 0.5, 3600.5, 86399.5} {
		got, want := straight.At(at), p.all(straightPath(at), at)
		for ch := range Channels {
			if math.Abs(got.Value[ch]-want.Value[ch]) > 1e-9 || math.Abs(got.Rate[ch]-want.Rate[ch]) > 1e-9 || math.Abs(got.Accel[ch]-want.Accel[ch]) > 1e-9 {
				t.Errorf("channel %d at %g s is %g %g %g, plain sum %g %g %g", ch, at, got.Value[ch], got.Rate[ch], got.Accel[ch],
					want.Value[ch], want.Rate[ch], want.Accel[ch])
			}
		}
	}
}

// The predicted error is the measured one: of the elevation, in head seas, over grids.
func TestInterpolationError(t *testing.T) {
	one := []Component{{Omega: 2, K: 0.4, Direction: math.Pi, Amplitude: 1.5, Phase: 1}, {Omega: 1.1, K: 0.12, Direction: math.Pi, Amplitude: 1, Phase: 2}}
	const speed = 3
	north := func(t float64) Place { return Place{Y: speed * t, VY: speed} }
	unit := func(int, float64) [Channels]complex128 { return [Channels]complex128{1, 1i, 1, 1i, 1, 1i} }
	for _, grid := range []float64{5, 10, 20} {
		s := NewSum(one, unit, north, Options{GridHz: grid})
		got := rmsError(s, func(t float64) (v [Channels]float64) {
			for _, c := range one {
				theta := -c.K*speed*t - c.Omega*t + c.Phase
				for ch := range Channels {
					v[ch] += c.Amplitude * math.Cos(theta+float64(ch%2)*math.Pi/2)
				}
			}
			return v
		})
		if want := InterpolationError(one, speed, grid); math.Abs(got/want-1) > 0.1 {
			t.Errorf("on %g Hz the error is %.3g, predicted %.3g; allowed: 10 %% off", grid, got, want)
		}
	}
	if e := InterpolationError([]Component{{Omega: math.Pi, Amplitude: 1}}, 0, 10); math.Abs(e/2e-8-1) > 0.5 {
		t.Errorf("0.5 Hz on 10 Hz is missed by %.3g, want about 2e-8", e)
	}
	cs := benchSea(t)
	for _, tolerance := range []float64{1e-5, 1e-7, 1e-8} {
		g := GridHz(cs, 2, tolerance)
		if e := InterpolationError(cs, 2, g); e > tolerance {
			t.Errorf("grid of %g Hz misses by %.3g, allowed: %g", g, e, tolerance)
		}
		if g > 5 && InterpolationError(cs, 2, g/2) <= tolerance {
			t.Errorf("grid of %g Hz is finer than needed for %g", g, tolerance)
		}
	}
	// With the responses of a hull the grid stays coarse at speed, is fine enough by measurement, and no finer than needed.
	for _, speed := range []float64{0, 4, 12} {
		sin, cos := math.Sincos(benchHeading)
		path := func(t float64) Place {
			return Place{X: speed * sin * t, Y: speed * cos * t, VX: speed * sin, VY: speed * cos}
		}
		resp := func(i int, _ float64) [Channels]complex128 { return likeAHull(cs[i], benchHeading) }
		p := newPlain(cs, benchHeading)
		errorOn := func(grid float64) float64 {
			s := NewSum(cs, resp, path, Options{GridHz: grid, Regime: func(float64) uint64 { return 0 }})
			return rmsError(s, func(t float64) [Channels]float64 { return p.value(path(t), t) })
		}
		g := FitGridHz(cs, resp, path, 7200, 1e-6)
		if e := errorOn(g); e > 1.1e-6 {
			t.Errorf("at %g m/s the grid of %g Hz misses by %.3g, allowed: 1e-6", speed, g, e)
		}
		if g > 5 {
			if e := errorOn(g / 2); e < 0.9e-6 {
				t.Errorf("at %g m/s the grid of %g Hz is finer than needed: half of it misses by %.3g", speed, g, e)
			}
		}
		if all := GridHz(cs, speed, 1e-6); g > all {
			t.Errorf("at %g m/s a hull needs %g Hz, a buoy %g Hz", speed, g, all)
		}
		t.Logf("at %g m/s: %g Hz", speed, g)
	}
	if g := FitGridHz(nil, nil, straightPath, 60, 1e-6); g != 5 {
		t.Errorf("a calm sea asks for %g Hz", g)
	}
	if InterpolationError(nil, 3, 10) != 0 {
		t.Error("a calm sea has an error")
	}
}

// Rates are the derivatives of values, accelerations those of rates: numerically inside a step, where the differences of
// the 8th order are exact for a quintic, and by integration over many steps and knots.
func TestDerivativesAreConsistent(t *testing.T) {
	cs := benchSea(t)
	for name, s := range map[string]*Sum{"straight": straightSum(cs), "turning": circleSum(cs)} {
		for _, at := range []float64{-3.25, 0.05, 12.97, 999.949, 40000.031} {
			for ch := range Channels {
				v := s.At(at)
				rate := deriv.Of(func(t float64) float64 { return s.At(t).Value[ch] }, at, 0.005)
				accel := deriv.Of(func(t float64) float64 { return s.At(t).Rate[ch] }, at, 0.005)
				// At 40000 s the time itself is known to 7e-12 s: 2e-9 once divided by the step.
				if math.Abs(v.Rate[ch]-rate) > 1e-8 || math.Abs(v.Accel[ch]-accel) > 1e-8 {
					t.Errorf("%s, channel %d at %g s: rate %g, differentiated %g; acceleration %g, differentiated %g", name, ch, at, v.Rate[ch], rate, v.Accel[ch], accel)
				}
			}
		}
		// Three-point Gauss quadrature is exact for the quartic rate of each step.
		x, w := [3]float64{-math.Sqrt(0.6), 0, math.Sqrt(0.6)}, [3]float64{5.0 / 9, 8.0 / 9, 5.0 / 9}
		var value, rate [Channels]float64
		for i := range 600 {
			for j := range x {
				v := s.At(100 + (float64(i)+0.5+0.5*x[j])/10)
				for ch := range Channels {
					value[ch] += w[j] * v.Rate[ch] / 20
					rate[ch] += w[j] * v.Accel[ch] / 20
				}
			}
		}
		a, b := s.At(100), s.At(160)
		for ch := range Channels {
			if d := b.Value[ch] - a.Value[ch]; math.Abs(d-value[ch]) > 1e-11 {
				t.Errorf("%s: channel %d moves by %g in a minute, its rate says %g", name, ch, d, value[ch])
			}
			if d := b.Rate[ch] - a.Rate[ch]; math.Abs(d-rate[ch]) > 1e-11 {
				t.Errorf("%s: the rate of channel %d changes by %g in a minute, its acceleration says %g", name, ch, d, rate[ch])
			}
		}
		// Nothing jumps at a support point or a knot, the acceleration neither.
		for _, at := range []float64{7, 7.1, 63.7} {
			before, after := s.At(math.Nextafter(at, 0)), s.At(at)
			for ch := range Channels {
				if math.Abs(before.Value[ch]-after.Value[ch]) > 1e-12 || math.Abs(before.Rate[ch]-after.Rate[ch]) > 1e-11 ||
					math.Abs(before.Accel[ch]-after.Accel[ch]) > 1e-10 {
					t.Errorf("%s: channel %d jumps at %g s, from %+v to %+v", name, ch, at, before, after)
				}
			}
		}
	}
}

// The way through the sea makes the frequency of encounter, in deep and in shallow water.
func TestEncounterByPlace(t *testing.T) {
	for _, depth := range []float64{math.Inf(1), 6} {
		for _, c := range []struct{ heading, from, speed float64 }{{0, 0, 5}, {45, 225, 10}, {123, 260, 8}, {0, 180, 12}, {200, 30, 0}} {
			w := Component{Omega: 0.9, K: Wavenumber(0.9, depth, GravityMS2), Direction: frame.Rad(c.from + 180), Amplitude: 1, Phase: 0.3}
			sin, cos := math.Sincos(frame.Rad(c.heading))
			s := NewSum([]Component{w}, func(int, float64) [Channels]complex128 { return [Channels]complex128{2: 1} },
				func(t float64) Place {
					return Place{X: c.speed * sin * t, Y: c.speed * cos * t, VX: c.speed * sin, VY: c.speed * cos}
				}, Options{GridHz: 40})
			beta, _ := Meeting(frame.Rad(c.heading), frame.Rad(c.from))
			we := EncounterOmega(w.Omega, w.K, c.speed, beta)
			for _, at := range []float64{0, 11.13, 517} {
				if got, want := s.At(at).Value[2], math.Cos(-we*at+0.3); math.Abs(got-want) > 1e-7 {
					t.Errorf("%+v, depth %g m, at %g s: %g, want %g", c, depth, at, got, want)
				}
			}
		}
	}
}

// The same time, the same answer to the last bit, in whatever order it was asked.
func TestSumRemembersNothing(t *testing.T) {
	cs := benchSea(t)
	for name, make := range map[string]func() *Sum{
		"straight": func() *Sum { return straightSum(cs) }, "turning": func() *Sum { return circleSum(cs) },
	} {
		var times []float64
		for i := range 400 {
			times = append(times, float64(i)*0.0371, 80000+float64(i)*0.0371, -float64(i*i)*0.7)
		}
		first := make()
		want := map[float64]Values{}
		for _, at := range times {
			want[at] = first.At(at)
		}
		slices.Sort(times)
		inOrder := make()
		for _, at := range times {
			if got := inOrder.At(at); got != want[at] {
				t.Fatalf("%s at %g s: %v in order, %v mixed", name, at, got, want[at])
			}
		}
		var wg sync.WaitGroup
		for g := range 8 {
			wg.Go(func() {
				r := rand.New(rand.NewPCG(3, uint64(g)))
				for range 500 {
					at := times[r.IntN(len(times))]
					if got := inOrder.At(at); got != want[at] {
						t.Errorf("%s at %g s: %v shared by goroutines, %v alone", name, at, got, want[at])
						return
					}
				}
			})
		}
		wg.Wait()
	}
}

func TestSumOddTimes(t *testing.T) {
	s := straightSum(benchSea(t))
	for _, at := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e18} {
		if v := s.At(at); !math.IsNaN(v.Value[2]) || !math.IsNaN(v.Rate[0]) || !math.IsNaN(v.Accel[5]) {
			t.Errorf("at %g s it is %v, want NaN", at, v)
		}
	}
	if v := s.At(1e9); math.IsNaN(v.Value[2]) || math.Abs(v.Value[2]) > 10 {
		t.Errorf("after 30 years the heave is %g", v.Value[2])
	}
	calm := NewSum(nil, nil, straightPath, Options{})
	if v := calm.At(3.3); v != (Values{}) {
		t.Errorf("a calm sea moves the vessel: %v", v)
	}
}

// Nothing is allocated once it runs, in order, at random, or in a turn; so a day takes no more memory than a minute.
func TestSumAllocatesNothing(t *testing.T) {
	cs := benchSea(t)
	for name, s := range map[string]*Sum{"straight": straightSum(cs), "turning": circleSum(cs)} {
		at := 0.0
		for name2, step := range map[string]float64{"in order": 0.01, "at random": 777.77} {
			if n := testing.AllocsPerRun(500, func() { s.At(at); at += step }); n != 0 {
				t.Errorf("%s, %s: %g allocations a call, want 0", name, name2, n)
			}
		}
	}
	s := straightSum(cs)
	s.At(0)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for at := range 86400 {
		s.At(float64(at) + 0.37)
	}
	runtime.ReadMemStats(&after)
	// What other goroutines of the test binary allocate is some kilobytes.
	if grown := after.TotalAlloc - before.TotalAlloc; grown > 1<<16 {
		t.Errorf("24 hours allocate %d bytes, allowed: 65536", grown)
	}
}

// At 100 Hz in order the sum is at least twenty times as fast as the plain one without derivatives. Both are timed in turn,
// and the best of several counts, so that other load on the machine hits both.
func TestSumIsFast(t *testing.T) {
	if testing.Short() || raceEnabled {
		t.Skip("times are not worth taking with -short or -race")
	}
	cs := benchSea(t)
	p, s := newPlain(cs, benchHeading), straightSum(cs)
	slow, fast := math.Inf(1), math.Inf(1)
	second := 0.0
	for range 12 {
		start := time.Now()
		for i := range 400 {
			at := second + float64(i)/100
			sink += p.value(straightPath(at), at)[2]
		}
		slow = min(slow, time.Since(start).Seconds()/4)
		start = time.Now()
		for i := range 4000 {
			sink += s.At(second + float64(i)/100).Value[2]
		}
		fast = min(fast, time.Since(start).Seconds()/40)
		second += 40
	}
	t.Logf("a second of scenario time takes %.3g µs, the plain sum %.3g µs: %.3g times", fast*1e6, slow*1e6, slow/fast)
	if slow/fast < 20 {
		t.Errorf("only %.3g times as fast as the plain sum, want 20", slow/fast)
	}
}
