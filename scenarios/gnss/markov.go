package gnss

import (
	"math"

	"swellbench/scenarios/draws"
)

const (
	nodeS          = 1.0  // s between the nodes of a process
	minCorrelation = 5.0  // s; shorter ones would not be resolved by the nodes
	independentAt  = 40.0 // correlation times after which two values have less than 1e-17 in common
	maxLevels      = 24
)

// A process is a first-order Gauss–Markov process of zero mean and unit variance, correlated as exp(−|Δt|/τ), of which
// any instant may be asked for.
//
// Its power spectrum is S(f) = 2τ/(1 + (2πfτ)²), two-sided, up to the 0.5 Hz that nodes a second apart can carry.
// Source: Brown & Hwang, Introduction to Random Signals and Applied Kalman Filtering, 3rd ed. 1997, ch. 2 (from memory).
//
// Time is cut into blocks of 2^levels s, at least 40 τ long: the values at the ends of a block are as good as
// independent and are drawn as such. Between them the process is filled in by halves. As it is Markov, its value
// midway between two known ones h before and after is a(x0 + x1)/(1 + a²) with a = exp(−h/τ), plus a part of variance
// (1 − a²)/(1 + a²) (the conditional normal distribution, any textbook). So each whole second needs its own draw and
// those of its ancestors, and the process is the exact one there. Between whole seconds it is interpolated linearly and
// stretched to unit variance.
type process struct {
	seed   uint64
	part   string
	levels int
	a      float64            // correlation from node to node
	weight [maxLevels]float64 // by the level of the midpoint: half-span 2^level
	sigma  [maxLevels]float64
}

func newProcess(seed uint64, part string, correlationS float64) *process {
	p := &process{seed: seed, part: part, a: math.Exp(-nodeS / correlationS)}
	for p.levels < maxLevels && math.Ldexp(nodeS, p.levels) < independentAt*correlationS {
		a := math.Exp(-math.Ldexp(nodeS, p.levels) / correlationS)
		p.weight[p.levels] = a / (1 + a*a)
		p.sigma[p.levels] = math.Sqrt((1 - a*a) / (1 + a*a))
		p.levels++
	}
	return p
}

func (p *process) draw(k int) float64 {
	s := draws.At(p.seed, p.part, k)
	return s.Normal()
}

// pair returns the values at the k-th node and the next. The way down ends between the two.
func (p *process) pair(k int) (x0, x1 float64) {
	lo := k >> p.levels << p.levels
	x0, x1 = p.draw(lo), p.draw(lo+1<<p.levels)
	for level := p.levels - 1; level >= 0; level-- {
		mid := lo + 1<<level
		x := p.weight[level]*(x0+x1) + p.sigma[level]*p.draw(mid)
		if k < mid {
			x1 = x
		} else {
			lo, x0 = mid, x
		}
	}
	return x0, x1
}

// between interpolates between the values at two nodes at the fraction f, to unit variance.
func (p *process) between(x0, x1, f float64) float64 {
	g := 1 - f
	return (g*x0 + f*x1) / math.Sqrt(g*g+f*f+2*g*f*p.a)
}
