package gnss

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Over many seeds, so that samples are independent: the process has mean 0, variance 1, the fourth moment of a normal
// distribution, and the correlation exp(−|Δt|/τ) at lags from a fraction of τ to beyond it, also across the ends of
// blocks. Between nodes the variance is 1 too, and the correlation that of the straight lines.
//
// Statistic: the sample mean of a product of two unit normals with correlation ρ over n seeds has the standard error
// √((1 + ρ²)/n). Bounds are 4.9 of them: 1 in 10⁶ to fail by chance, each; the seeds are fixed.
func TestProcessCorrelation(t *testing.T) {
	const n = 5000
	for _, tau := range []float64{5, 60, 300} {
		block := math.Ldexp(1, newProcess(0, "x", tau).levels)
		for _, c := range [][2]float64{{0, 0}, {3, 1}, {3, tau / 5}, {block - 2, tau}, {block/2 - 1, 2 * tau}, {-7, tau}, {0.5, 0}, {3.25, 1}, {3.25, tau / 5}} {
			from, to := c[0], c[0]+c[1]
			rho := straight(from, to, tau)
			if exact := math.Exp(-c[1] / tau); from == math.Trunc(from) && math.Abs(rho-exact) > 1e-12 {
				t.Fatalf("the test expects %g, a Gauss–Markov process has %g", rho, exact)
			}
			var mean, product, fourth float64
			for seed := range n {
				p := newProcess(uint64(seed), "x", tau)
				x, y := p.value(from), p.value(to)
				mean, product, fourth = mean+x, product+x*y, fourth+x*x*x*x
			}
			for _, c := range []struct {
				name             string
				got, want, sigma float64
			}{
				{"mean", mean / n, 0, math.Sqrt(1. / n)},
				{"correlation", product / n, rho, math.Sqrt((1 + rho*rho) / n)},
				{"fourth moment", fourth / n, 3, math.Sqrt(96. / n)},
			} {
				if math.Abs(c.got-c.want) > 4.9*c.sigma {
					t.Errorf("τ = %v s, from %v s to %v s: %s is %.4f, want %.4f ± %.4f", tau, from, to, c.name, c.got, c.want, 4.9*c.sigma)
				}
			}
		}
	}
}

// straight is the correlation of two points on the straight lines between whole seconds of a Gauss–Markov process.
func straight(from, to, tau float64) float64 {
	cov := func(x, y float64) float64 {
		sum := 0.0
		for _, p := range [2]float64{0, 1} {
			for _, q := range [2]float64{0, 1} {
				wx, wy := 1-math.Abs(x-math.Floor(x)-p), 1-math.Abs(y-math.Floor(y)-q)
				sum += wx * wy * math.Exp(-math.Abs(math.Floor(x)+p-math.Floor(y)-q)/tau)
			}
		}
		return sum
	}
	return cov(from, to) / math.Sqrt(cov(from, from)*cov(to, to))
}

// value is the process at any instant.
func (p *process) value(t float64) float64 {
	k := math.Floor(t)
	x0, x1 := p.pair(int(k))
	return p.between(x0, x1, t-k)
}

// node is the process at a whole second, which is the end of one pair and the beginning of the next.
func (p *process) node(k int) float64 { x, _ := p.pair(k); return x }

func TestPairsJoin(t *testing.T) {
	for _, tau := range []float64{5, 60} {
		p := newProcess(5, "join", tau)
		for k := -5000; k < 5000; k++ {
			if _, end := p.pair(k); end != p.node(k+1) {
				t.Fatalf("τ = %v s: node %d ends at %g and begins at %g", tau, k+1, end, p.node(k+1))
			}
		}
	}
}

// The spectrum of the nodes of one long record is that of a first-order process sampled once a second,
// (1 − a²)/(1 − 2a·cos ω + a²), the aliased form of 2τ/(1 + (2πfτ)²).
//
// Statistic: the periodogram of a segment over the true spectrum is χ² with 2 degrees of freedom over 2; averaged over
// m bins of segments it has the standard error 1/√m (neighbouring segments are independent as they are 40 τ apart).
// Bounds are 4.9 of them and 1 % for leakage of the rectangular window.
func TestProcessSpectrum(t *testing.T) {
	const tau, length, segments = 8.0, 2048, 60
	p := newProcess(11, "spectrum", tau)
	fft := fourier.NewFFT(length)
	var power [length/2 + 1]float64
	x := make([]float64, length)
	for s := range segments {
		for i := range x {
			x[i] = p.node(s*(length+320) + i)
		}
		for i, c := range fft.Coefficients(nil, x) {
			power[i] += (real(c)*real(c) + imag(c)*imag(c)) / length / segments
		}
	}
	for lo := 1; lo < length/2; lo *= 2 {
		hi, m := min(2*lo, length/2), 0
		sum := 0.0
		for i := lo; i < hi; i++ {
			w := 2 * math.Pi * float64(i) / length
			sum += power[i] * (1 - 2*p.a*math.Cos(w) + p.a*p.a) / (1 - p.a*p.a)
			m += segments
		}
		ratio := sum / float64(hi-lo)
		if bound := 4.9/math.Sqrt(float64(m)) + 0.01; math.Abs(ratio-1) > bound {
			t.Errorf("bins %d to %d: %.3f of the expected power, want 1 ± %.3f", lo, hi, ratio, bound)
		}
	}
}

// A node far out costs no more than one near, and its parts of the noise do not depend on the length of the run.
func TestProcessFar(t *testing.T) {
	p := newProcess(3, "far", 86400)
	for _, k := range []int{0, 1, -1, 1 << 40, -(1 << 40), 31622400} {
		if x := p.node(k); math.IsNaN(x) || math.Abs(x) > 8 {
			t.Errorf("node %d is %g", k, x)
		}
	}
	if p.levels > maxLevels || math.Ldexp(1, p.levels) < 40*86400 {
		t.Errorf("%d levels for the longest correlation", p.levels)
	}
}
