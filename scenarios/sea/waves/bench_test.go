package waves

import (
	"math"
	"math/cmplx"
	"testing"

	"swellbench/scenarios/frame"
)

// benchSea has 200 components: a wind sea with short crests over a swell.
func benchSea(tb testing.TB) []Component {
	tb.Helper()
	s, err := New(Spec{Systems: []System{
		{Spectrum: Jonswap, Height: 1.6, Period: 6.5, From: deg(240), Spreading: &Spread{CosN, 2}},
		{Spectrum: Jonswap, Height: 0.8, Period: 11, Gamma: 5, From: deg(300)},
	}}, 7, 3600)
	if err != nil {
		tb.Fatal(err)
	}
	return s.Components()
}

// likeAHull is a response with phases and magnitudes like those of a hull 18 m long; the physics does not matter here.
func likeAHull(c Component, heading float64) [Channels]complex128 {
	sin, cos := math.Sincos(c.Direction - heading)
	f := math.Exp(-c.K*1.4) * math.Cos(c.K*cos*4)
	slope := complex(0, c.K*f)
	return [Channels]complex128{
		complex(0, f*cos), complex(0, f*sin), complex(f, 0.1*f),
		-slope * complex(2*sin, 0) * cmplx.Exp(complex(0, c.Omega)), slope * complex(cos, 0), slope * complex(0.2*sin*cos, 0),
	}
}

// straight runs at 4 m/s on a heading of 30°.
const benchHeading = 30 * math.Pi / 180

func straightPath(t float64) Place {
	sin, cos := math.Sincos(benchHeading)
	return Place{X: 4 * sin * t, Y: 4 * cos * t, VX: 4 * sin, VY: 4 * cos}
}

func straightSum(cs []Component) *Sum {
	return NewSum(cs, func(i int, _ float64) [Channels]complex128 { return likeAHull(cs[i], benchHeading) }, straightPath,
		Options{Regime: func(float64) uint64 { return 0 }})
}

// circle runs at 4 m/s in a circle to starboard, at 2°/s.
func circlePath(t float64) Place {
	const rate = 2 * math.Pi / 180
	const radius = 4 / rate
	sin, cos := math.Sincos(rate * t)
	return Place{X: -radius * cos, Y: radius * sin, VX: 4 * sin, VY: 4 * cos, AX: 4 * rate * cos, AY: -4 * rate * sin}
}

func circleSum(cs []Component) *Sum {
	return NewSum(cs, func(i int, t float64) [Channels]complex128 { return likeAHull(cs[i], frame.Rad(2)*t) }, circlePath, Options{})
}

// plain is what the benchmarks and the tests compare with: the sum as it is written down, per channel and component an
// amplitude, a phase and math.Cos.
type plain struct {
	kx, ky, w        []float64
	amplitude, phase [Channels][]float64
}

func newPlain(cs []Component, heading float64) *plain {
	p := &plain{}
	for _, c := range cs {
		sin, cos := math.Sincos(c.Direction)
		p.kx, p.ky, p.w = append(p.kx, c.K*sin), append(p.ky, c.K*cos), append(p.w, c.Omega)
		for ch, r := range likeAHull(c, heading) {
			p.amplitude[ch] = append(p.amplitude[ch], cmplx.Abs(r)*c.Amplitude)
			p.phase[ch] = append(p.phase[ch], cmplx.Phase(r)+c.Phase)
		}
	}
	return p
}

// value is the six channels at time t, without derivatives.
func (p *plain) value(at Place, t float64) (v [Channels]float64) {
	for i := range p.w {
		theta := p.kx[i]*at.X + p.ky[i]*at.Y - p.w[i]*t
		for ch := range Channels {
			v[ch] += p.amplitude[ch][i] * math.Cos(theta+p.phase[ch][i])
		}
	}
	return v
}

// all is the six channels with both derivatives, on a straight way.
func (p *plain) all(at Place, t float64) (v Values) {
	for i := range p.w {
		theta := p.kx[i]*at.X + p.ky[i]*at.Y - p.w[i]*t
		rate := p.kx[i]*at.VX + p.ky[i]*at.VY - p.w[i]
		for ch := range Channels {
			sin, cos := math.Sincos(theta + p.phase[ch][i])
			a := p.amplitude[ch][i]
			v.Value[ch] += a * cos
			v.Rate[ch] -= a * rate * sin
			v.Accel[ch] -= a * rate * rate * cos
		}
	}
	return v
}

var sink float64

// The benchmarks work out one second of scenario time at 100 Hz, in order, with 200 components.

func BenchmarkPlainCos(b *testing.B) {
	p := newPlain(benchSea(b), benchHeading)
	second := 0.0
	for b.Loop() {
		for i := range 100 {
			t := second + float64(i)/100
			sink += p.value(straightPath(t), t)[2]
		}
		second++
	}
}

func BenchmarkPlainSincosWithRates(b *testing.B) {
	p := newPlain(benchSea(b), benchHeading)
	second := 0.0
	for b.Loop() {
		for i := range 100 {
			t := second + float64(i)/100
			sink += p.all(straightPath(t), t).Accel[2]
		}
		second++
	}
}

func benchSum(b *testing.B, s *Sum) {
	b.Helper()
	second := 0.0
	b.ReportAllocs()
	for b.Loop() {
		for i := range 100 {
			sink += s.At(second + float64(i)/100).Accel[2]
		}
		second++
	}
}

func BenchmarkSum(b *testing.B) { benchSum(b, straightSum(benchSea(b))) }

func BenchmarkSumTurning(b *testing.B) { benchSum(b, circleSum(benchSea(b))) }

// One call at a time that nobody asked for before.
func BenchmarkSumRandomTime(b *testing.B) {
	s := straightSum(benchSea(b))
	t := 0.0
	for b.Loop() {
		t = math.Mod(t+31415.9265, 86400)
		sink += s.At(t).Accel[2]
	}
}

func BenchmarkSumParallel(b *testing.B) {
	s := straightSum(benchSea(b))
	b.RunParallel(func(pb *testing.PB) {
		t := 0.0
		for pb.Next() {
			t += 0.01
			s.At(t)
		}
	})
}
