package geo

import "math"

// order is the order of the series in ε and in the third flattening: errors below 5 nm on the Earth.
const order = 6

// An ellipsoid is what the series for geodesics need to know of one. The package uses [wgs84]; tests know others.
type ellipsoid struct {
	a, b, f, f1 float64    // semi-axes in m, flattening, 1−f
	n, e2, ep2  float64    // third flattening, first and second eccentricity squared
	a3          [6]float64 // A3 as a polynomial in ε; Karney 2013, eq. 24
	c3          [6][6]float64
	etol2       float64 // below it, in rad, an arc on the auxiliary sphere is straight
}

var wgs84 = newEllipsoid(SemiMajorM, Flattening)

// newEllipsoid returns the ellipsoid of semi-major axis a, in m, and flattening f ≥ 0. Source of the coefficients:
// Karney 2013, eq. 24 and 25, each polynomial in the third flattening.
func newEllipsoid(a, f float64) *ellipsoid {
	n := f / (2 - f)
	n2 := n * n
	e := &ellipsoid{a: a, b: a * (1 - f), f: f, f1: 1 - f, n: n, e2: f * (2 - f), ep2: f * (2 - f) / ((1 - f) * (1 - f))}
	e.a3 = [6]float64{
		1,
		-(1 - n) / 2,
		-(2 + n - 3*n2) / 8,
		-(1 + 3*n + n2) / 16,
		-(3 + 2*n) / 64,
		-3.0 / 128,
	}
	e.c3 = [6][6]float64{ // [l][j] multiplies sin(2lσ)·ε^j
		1: {1: (1 - n) / 4, 2: (1 - n2) / 8, 3: (3 + 3*n - n2) / 64, 4: (5 + 2*n) / 128, 5: 3.0 / 128},
		2: {2: (2 - 3*n + n2) / 32, 3: (3 - 2*n - 3*n2) / 64, 4: (3 + n) / 128, 5: 5.0 / 256},
		3: {3: (5 - 9*n + 5*n2) / 192, 4: (9 - 10*n) / 384, 5: 7.0 / 512},
		4: {4: (7 - 14*n) / 512, 5: 7.0 / 512},
		5: {5: 21.0 / 2560},
	}
	e.etol2 = 0.1 * math.Sqrt(eps) / math.Sqrt(math.Max(0.001, f)*(1-f/2)/2)
	return e
}

// eps is the distance from 1 to the next float64; tiny is so small that its square is still positive.
const (
	eps  = 0x1p-52
	tiny = 0x1p-511
)

// A coeffs holds the coefficients of sin 2lσ, l = 1…order.
type coeffs [order + 1]float64

// sum returns Σ c[l]·sin 2lσ by Clenshaw's recurrence, from sine and cosine of σ.
func (c *coeffs) sum(s, co float64) float64 {
	ar := 2 * (co - s) * (co + s) // 2 cos 2σ
	y6 := c[6]
	y5 := ar*y6 + c[5]
	y4 := ar*y5 - y6 + c[4]
	y3 := ar*y4 - y5 + c[3]
	y2 := ar*y3 - y4 + c[2]
	y1 := ar*y2 - y3 + c[1]
	return 2 * s * co * y1
}

// expansion returns ε of k² = e'² cos² α0. Karney 2013, eq. 16.
func expansion(k2 float64) float64 { return k2 / (2*(1+math.Sqrt(1+k2)) + k2) }

// seriesA1 returns A1 − 1. Karney 2013, eq. 17.
func seriesA1(x float64) float64 {
	x2 := x * x
	return (x2*(64+x2*(4+x2))/256 + x) / (1 - x)
}

// seriesC1 returns the coefficients C1 of distance as a function of σ. Karney 2013, eq. 18.
func seriesC1(x float64) (c coeffs) {
	x2 := x * x
	d := x
	c[1] = d * (-16 + x2*(6-x2)) / 32
	d *= x
	c[2] = d * (-128 + x2*(64-9*x2)) / 2048
	d *= x
	c[3] = d * (-16 + 9*x2) / 768
	d *= x
	c[4] = d * (-5 + 3*x2) / 512
	d *= x
	c[5] = d * -7 / 1280
	d *= x
	c[6] = d * -7 / 2048
	return c
}

// seriesC1p returns the coefficients C1' of σ as a function of distance. Karney 2013, eq. 21.
func seriesC1p(x float64) (c coeffs) {
	x2 := x * x
	d := x
	c[1] = d * (768 + x2*(-432+205*x2)) / 1536
	d *= x
	c[2] = d * (3840 + x2*(-4736+4005*x2)) / 12288
	d *= x
	c[3] = d * (116 - 225*x2) / 384
	d *= x
	c[4] = d * (2695 - 7173*x2) / 7680
	d *= x
	c[5] = d * 3467 / 7680
	d *= x
	c[6] = d * 38081 / 61440
	return c
}

// seriesA2 returns A2 − 1. Karney 2013, eq. 42.
func seriesA2(x float64) float64 {
	x2 := x * x
	return x2*(64+x2*(36+25*x2))/256*(1-x) - x
}

// seriesC2 returns the coefficients C2 of the second part of the reduced length. Karney 2013, eq. 43.
func seriesC2(x float64) (c coeffs) {
	x2 := x * x
	d := x
	c[1] = d * (16 + x2*(2+x2)) / 32
	d *= x
	c[2] = d * (384 + x2*(64+35*x2)) / 2048
	d *= x
	c[3] = d * (80 + 15*x2) / 768
	d *= x
	c[4] = d * (35 + 7*x2) / 512
	d *= x
	c[5] = d * 63 / 1280
	d *= x
	c[6] = d * 77 / 2048
	return c
}

// seriesA3 returns A3 of the longitude. Karney 2013, eq. 24.
func (e *ellipsoid) seriesA3(x float64) float64 {
	a := &e.a3
	return a[0] + x*(a[1]+x*(a[2]+x*(a[3]+x*(a[4]+x*a[5]))))
}

// seriesC3 returns the coefficients C3 of the longitude. Karney 2013, eq. 25.
func (e *ellipsoid) seriesC3(x float64) (c coeffs) {
	k := &e.c3
	x2 := x * x
	x3 := x2 * x
	c[1] = x * (k[1][1] + x*(k[1][2]+x*(k[1][3]+x*(k[1][4]+x*k[1][5]))))
	c[2] = x2 * (k[2][2] + x*(k[2][3]+x*(k[2][4]+x*k[2][5])))
	c[3] = x3 * (k[3][3] + x*(k[3][4]+x*k[3][5]))
	c[4] = x2 * x2 * (k[4][4] + x*k[4][5])
	c[5] = x2 * x3 * k[5][5]
	return c
}

// normalize returns s and c divided by √(s²+c²).
func normalize(s, c float64) (float64, float64) {
	r := 1 / math.Sqrt(s*s+c*c)
	return s * r, c * r
}
