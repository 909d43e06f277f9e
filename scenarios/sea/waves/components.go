package waves

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"swellbench/scenarios/draws"
	"swellbench/scenarios/frame"
)

// draw returns n sinusoids that stand for a spectrum up to the frequency cut, in rad/s, in rising order of frequency.
//
// The range is cut into n bins which hold about as much of the elevation's and the vertical velocity's variance each,
// half and half, so that peak and tail are both finely divided; the bounds between bins are jittered by up to 0.4 of a
// bin. A bin's component carries all its variance, ½a² = ∫S, at the frequency that keeps its variance of velocity too,
// ω² = ∫ω²S/∫S. So Hs and Tz of the components are those of the spectrum up to the cut, exactly, and no two spacings are
// alike. Amplitudes are not random: within a time shorter than 2π over a spacing the elevation is as good as Gaussian,
// over a longer one the variance strays less than that of a real sea (Tucker, Challenor & Carter, Numerical simulation
// of a random sea, 1984, from memory).
//
// Each component has one direction (single summation: Miles & Funke, A comparison of methods for synthesis of
// directional seas, 1989, from memory), so that components of one frequency never stand as a pattern in one place. The
// directions follow the multiples of the golden ratio through the distribution, which spreads those of neighbouring
// components evenly.
func draw(s Spectrum, n int, cut float64, from float64, spread *Spread, depthM float64, random *draws.Source) []Component {
	edges := bins(s, n, cut, random)
	cs := make([]Component, 0, n)
	turn := random.Uniform()
	for i := range n {
		m0, m2 := between(s, edges[i], edges[i+1])
		phase := 2 * math.Pi * random.Uniform()
		direction := from + math.Pi
		if spread != nil {
			_, q := math.Modf(turn + float64(i)*(math.Phi-1))
			direction += spreadingQuantile(spread.Law, spread.Exponent, q)
		}
		if !(m0 > 0) {
			continue // so little that it underflows
		}
		omega := math.Sqrt(m2 / m0)
		cs = append(cs, Component{
			Omega: omega, K: Wavenumber(omega, depthM, GravityMS2),
			Direction: frame.Wrap2Pi(direction), Amplitude: math.Sqrt(2 * m0), Phase: phase,
		})
	}
	return cs
}

// bins returns n+1 bounds of bins from nearly 0 to cut.
func bins(s Spectrum, n int, cut float64, random *draws.Source) []float64 {
	// Below 0.3 of the peak there is e^-154 of the energy. A knot of the table lies on the peak, where the curvature of
	// the spectrum jumps.
	const steps = 600
	lo := 0.3 * s.PeakOmega()
	knots := make([]float64, 0, steps+2)
	for i := range steps + 1 {
		w := lo * math.Pow(cut/lo, float64(i)/steps)
		if p := s.PeakOmega(); len(knots) > 0 && knots[len(knots)-1] < p && w > p {
			knots = append(knots, p)
		}
		knots = append(knots, w)
	}
	m0, m2 := make([]float64, len(knots)), make([]float64, len(knots))
	for i := 1; i < len(knots); i++ {
		a, b := between(s, knots[i-1], knots[i])
		m0[i], m2[i] = m0[i-1]+a, m2[i-1]+b
	}
	last := len(knots) - 1
	share := func(i int) float64 { return 0.5*m0[i]/m0[last] + 0.5*m2[i]/m2[last] }
	edges := make([]float64, n+1)
	edges[0], edges[n] = lo, cut
	at := 0
	for i := 1; i < n; i++ {
		want := (float64(i) + 0.8*(random.Uniform()-0.5)) / float64(n)
		for at < last-1 && share(at+1) < want {
			at++
		}
		a, b := share(at), share(at+1)
		edges[i] = knots[at] + (knots[at+1]-knots[at])*min(max((want-a)/(b-a), 0), 1)
	}
	return edges
}

// gauss are the knots and weights of Gauss–Legendre quadrature from −1 to 1.
var gaussX, gaussW = func() (x, w [16]float64) {
	quad.Legendre{}.FixedLocations(x[:], w[:], -1, 1)
	return x, w
}()

// between returns ∫S and ∫ω²S from a to b, in up to two parts so that none has the peak inside.
func between(s Spectrum, a, b float64) (m0, m2 float64) {
	if p := s.PeakOmega(); a < p && b > p {
		m0, m2 = between(s, a, p)
		c0, c2 := between(s, p, b)
		return m0 + c0, m2 + c2
	}
	half, mid := (b-a)/2, (a+b)/2
	for i, x := range gaussX {
		w := mid + half*x
		d := gaussW[i] * half * s.At(w)
		m0 += d
		m2 += d * w * w
	}
	return m0, m2
}
