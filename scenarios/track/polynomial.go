package track

import "math"

// degree is that of the polynomials that stand for curved parts of a path, and nodeCount how many points each is
// laid through. A part turns by at most maxTurnRad, over which the sine is a polynomial of this degree to its last digit.
const (
	degree    = 13
	nodeCount = degree + 1
)

// samples are values at the nodes of a part, or the coefficients of their Chebyshev series.
type samples [nodeCount]float64

// nodes are the Chebyshev-Lobatto points in −1 ≤ u ≤ 1, both ends among them, so that neighbours meet exactly.
var nodes = func() (u samples) {
	for j := range u {
		u[j] = -math.Cos(math.Pi * float64(j) / degree)
	}
	u[0], u[degree] = -1, 1
	return u
}()

// chebyshev holds T_k at each node: chebyshev[j][k]. powers holds the coefficients of T_k by powers of u.
var chebyshev, powers = func() (at, in [nodeCount]samples) {
	for j := range at {
		for k := range at[j] {
			at[j][k] = math.Cos(math.Pi * float64(k*(degree-j)) / degree)
		}
	}
	in[0][0], in[1][1] = 1, 1
	for k := 2; k < nodeCount; k++ { // T_k = 2u·T_{k−1} − T_{k−2}
		for i := range in[k] {
			in[k][i] = -in[k-2][i]
			if i > 0 {
				in[k][i] += 2 * in[k-1][i-1]
			}
		}
	}
	return at, in
}()

// series gives the Chebyshev coefficients of the polynomial through the values at the nodes. Source: the discrete
// cosine sum, Trefethen, Approximation Theory and Approximation Practice, 2013, ch. 3, from memory.
func (f *samples) series() (c samples) {
	for k := range c {
		sum := (f[0]*chebyshev[0][k] + f[degree]*chebyshev[degree][k]) / 2
		for j := 1; j < degree; j++ {
			sum += f[j] * chebyshev[j][k]
		}
		c[k] = sum * 2 / degree
	}
	c[0] /= 2
	c[degree] /= 2
	return c
}

// integral gives the series of the integral from u = −1, of which the term beyond the degree is left out: whoever
// asks looks at tail. Source: as above, from ∫T_k = T_{k+1}/(2k+2) − T_{k−1}/(2k−2).
func (c *samples) integral() (s samples) {
	s[1] = c[0] - c[2]/2
	for k := 2; k < nodeCount; k++ {
		next := 0.0
		if k+1 < nodeCount {
			next = c[k+1]
		}
		s[k] = (c[k-1] - next) / float64(2*k)
	}
	sign := 1.0
	for k := 1; k < nodeCount; k++ {
		s[0] += sign * s[k]
		sign = -sign
	}
	return s
}

// values gives what a series is at the nodes.
func (c *samples) values() (f samples) {
	for j := range f {
		for k := range c {
			f[j] += c[k] * chebyshev[j][k]
		}
	}
	return f
}

// tail is the size of the last terms of a series: what the degree leaves out is smaller.
func (c *samples) tail() float64 { return math.Abs(c[degree]) + math.Abs(c[degree-1]) }

// scale multiplies all by x.
func (c *samples) scale(x float64) {
	for i := range c {
		c[i] *= x
	}
}

// polynomial is a curve from time 0 to duration: x, y and the heading are polynomials of −1 ≤ u ≤ 1.
type polynomial struct {
	perS float64               // du/dt, 2/duration
	top  int                   // the highest power that is there
	c    [nodeCount][3]float64 // by power of u: x, y, heading
}

// newPolynomial makes the curve from the three series.
func newPolynomial(duration float64, x, y, heading *samples) *polynomial {
	p := &polynomial{perS: 2 / duration}
	for k := range nodeCount {
		for i := 0; i <= k; i++ {
			p.c[i][0] += x[k] * powers[k][i]
			p.c[i][1] += y[k] * powers[k][i]
			p.c[i][2] += heading[k] * powers[k][i]
		}
	}
	for i, c := range p.c {
		if c != [3]float64{} {
			p.top = i
		}
	}
	return p
}

func (p *polynomial) at(t float64) planState {
	u := t*p.perS - 1
	var x, y, h, dx, dy, dh, ddx, ddy, ddh float64 // second derivatives are halved
	for i := p.top; i >= 0; i-- {
		c := &p.c[i]
		ddx, ddy, ddh = ddx*u+dx, ddy*u+dy, ddh*u+dh
		dx, dy, dh = dx*u+x, dy*u+y, dh*u+h
		x, y, h = x*u+c[0], y*u+c[1], h*u+c[2]
	}
	k, kk := p.perS, 2*p.perS*p.perS
	return planState{
		x: x, y: y, vx: dx * k, vy: dy * k, ax: ddx * kk, ay: ddy * kk,
		h: h, hRate: dh * k, hAccel: ddh * kk,
	}
}
