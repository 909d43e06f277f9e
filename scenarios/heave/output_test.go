package heave

import (
	"math"
	"math/cmplx"
	"sync"
	"testing"
	"time"
)

type wave struct{ amplitude, period, phase float64 }

var swell = []wave{{1.2, 8, 0.3}, {0.5, 3.1, -1}, {0.2, 2, 2}, {0.3, 25, 0}, {0.1, 140, 1}}

// motion is a sum of sinusoids; surge and sway are the same waves, turned by a quarter and by a half.
func motion(t float64) Motion { return sum(swell, t, func(float64) complex128 { return 1 }) }

// sum gives what comes out where each wave is multiplied by h.
func sum(waves []wave, t float64, h func(omega float64) complex128) Motion {
	var m Motion
	for _, w := range waves {
		omega := 2 * math.Pi / w.period
		g := h(omega)
		at := func(turn float64) float64 {
			return w.amplitude * cmplx.Abs(g) * math.Cos(omega*t+w.phase+turn+cmplx.Phase(g))
		}
		m = m.plus(1, Motion{at(math.Pi / 2), at(math.Pi), at(0)})
	}
	return m
}

func off(a, b Motion) float64 {
	return max(math.Abs(a.SurgeM-b.SurgeM), math.Abs(a.SwayM-b.SwayM), math.Abs(a.HeaveM-b.HeaveM))
}

// In the steady state each sinusoid is multiplied by H, or by |H|²: the output must agree with the response at any time.
func TestOutputIsTheResponse(t *testing.T) {
	for _, c := range []struct {
		order  int
		cutOff float64
	}{{2, 8}, {3, 8}, {2, 20}, {3, 20}, {3, 60}} {
		f, _ := New(c.order, c.cutOff)
		o := NewOutput(f, motion)
		for _, at := range []float64{0, 0.05, 17.3333, -44.41, 3599.99, 12345.678, 17.3334} {
			if d := off(o.At(at), sum(swell, at, f.Response)); d > 2e-6 {
				t.Errorf("order %d, %g s: real-time motion at %g s is off by %.2g m", c.order, c.cutOff, at, d)
			}
			square := func(w float64) complex128 { h := f.Response(w); return h * cmplx.Conj(h) }
			if d := off(o.Delayed(at), sum(swell, at, square)); d > 2e-6 {
				t.Errorf("order %d, %g s: delayed motion at %g s is off by %.2g m", c.order, c.cutOff, at, d)
			}
		}
	}
}

// The same at any time, bit for bit, in whichever order and from however many goroutines one asks.
func TestOutputIsRandomAccess(t *testing.T) {
	f, _ := New(3, 10)
	forward, backward, shared := NewOutput(f, motion), NewOutput(f, motion), NewOutput(f, motion)
	const n = 600
	at := func(i int) float64 { return float64(i)*0.73 - 100 }
	var want, wantDelayed [n]Motion
	for i := range n {
		want[i], wantDelayed[i] = forward.At(at(i)), forward.Delayed(at(i))
	}
	for i := n - 1; i >= 0; i-- {
		if got := backward.At(at(i)); got != want[i] {
			t.Fatalf("at %g s: %+v asked backward, %+v asked forward", at(i), got, want[i])
		}
		if got := backward.Delayed(at(i)); got != wantDelayed[i] {
			t.Fatalf("delayed at %g s: %+v asked backward, %+v asked forward", at(i), got, wantDelayed[i])
		}
	}
	var wg sync.WaitGroup
	for g := range 3 {
		wg.Go(func() {
			for i := g; i < n; i += 2 {
				if got := shared.At(at(i)); got != want[i] {
					t.Errorf("shared, at %g s: %+v, want %+v", at(i), got, want[i])
				}
			}
		})
	}
	wg.Wait()
}

// At the seam between two blocks both tell the same, within the documented residual: 1e-6 of the motion.
func TestBlocksMeet(t *testing.T) {
	f, _ := New(3, 20)
	o := NewOutput(f, func(t float64) Motion { m := motion(t); m.HeaveM += 5; return m }) // 5 m too high forever
	seam := float64(o.block) * o.step
	for k := range 5 {
		at := seam * float64(k-2)
		before, after := o.At(at-1e-9), o.At(at)
		if d := off(before, after); d > 7e-6 {
			t.Errorf("at the seam at %g s the motion jumps by %.2g m", at, d)
		}
		before, after = o.Delayed(at-1e-9), o.Delayed(at)
		if d := off(before, after); d > 7e-6 {
			t.Errorf("at the seam at %g s delayed motion jumps by %.2g m", at, d)
		}
	}
	if h := o.At(1000).HeaveM - sum(swell, 1000, f.Response).HeaveM; math.Abs(h) > 7e-6 {
		t.Errorf("of a constant height of 5 m %.2g m is left, want nothing", h)
	}
}

func TestSwitchedOn(t *testing.T) {
	f, _ := New(2, 20)
	steady, o := NewOutput(f, motion), NewOutputFrom(f, motion, 50)
	if o.At(49.9) != (Motion{}) {
		t.Error("the filter puts out something before it is switched on")
	}
	if d := off(o.At(50), motion(50)); d > 1e-9 {
		t.Errorf("switched on, it differs from the true motion by %g m at once", d)
	}
	if d := off(o.At(55), steady.At(55)); d < 0.01 {
		t.Errorf("5 s after it was switched on it is within %g m of the steady state, want a transient", d)
	}
	if d := off(o.At(200), steady.At(200)); d > 1e-6 {
		t.Errorf("150 s after it was switched on it differs from the steady state by %g m", d)
	}
}

func TestOutputAllocatesNothing(t *testing.T) {
	f, _ := New(3, 10)
	o := NewOutput(f, motion)
	at := 0.0
	for range 3 { // both slots of both kinds
		o.At(at)
		o.Delayed(at)
		at += float64(o.block) * o.step
	}
	if n := testing.AllocsPerRun(1000, func() { o.At(at); o.Delayed(at); at += 1.7 }); n != 0 {
		t.Errorf("%g allocations, want 0", n)
	}
}

func TestOddTimes(t *testing.T) {
	f, _ := New(3, 10)
	o := NewOutput(f, motion)
	for _, at := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300} {
		if m := o.At(at); !math.IsNaN(m.HeaveM) {
			t.Errorf("at %g s: %+v, want NaN", at, m)
		}
	}
	if m := NewOutput(Filter{}, motion).At(3); m != motion(3) {
		t.Errorf("without a filter: %+v, want %+v", m, motion(3))
	}
	done := make(chan Motion, 1)
	go func() { done <- NewOutputFrom(f, motion, math.Inf(1)).At(3) }()
	select {
	case <-done:
	case <-time.After(10 * time.Second):
		t.Error("a filter switched on at infinity never ends")
	}
}

func BenchmarkAtInOrder(b *testing.B) {
	f, _ := New(3, 20)
	o := NewOutput(f, motion)
	b.ReportAllocs()
	t := 0.0
	for b.Loop() {
		o.At(t)
		t += 0.01
	}
}

func BenchmarkDelayedInOrder(b *testing.B) {
	f, _ := New(3, 20)
	o := NewOutput(f, motion)
	b.ReportAllocs()
	t := 0.0
	for b.Loop() {
		o.Delayed(t)
		t += 0.01
	}
}
