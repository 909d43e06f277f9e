package geo

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// The hand-written alternative to each function stands beside it, so that the ratio is visible.

var (
	benchAt  = Position{0.9, -0.1, 20}
	benchTo  = Position{0.7, 0.4, 20}
	benchENU = r3.Vec{X: 1.5, Y: -3, Z: 6}
	sink     float64
)

func BenchmarkDirect(b *testing.B) {
	for i := range b.N {
		p, _ := Direct(benchAt, 1, float64(i))
		sink += p.Lat
	}
}

func BenchmarkLineAt(b *testing.B) {
	l := LineFrom(benchAt, 1)
	for i := range b.N {
		sink += l.At(float64(i)).Position.Lat
	}
}

func BenchmarkDirectByVincenty(b *testing.B) {
	for i := range b.N {
		p, _ := vincentyDirect(benchAt, 1, float64(i))
		sink += p.Lat
	}
}

func BenchmarkInverse(b *testing.B) {
	for range b.N {
		s, _, _ := Inverse(benchAt, benchTo)
		sink += s
	}
}

func BenchmarkInverseShort(b *testing.B) {
	to := benchAt
	to.Lat += 1e-6
	to.Lon += 1e-6
	for range b.N {
		s, _, _ := Inverse(benchAt, to)
		sink += s
	}
}

func BenchmarkECEF(b *testing.B) {
	for range b.N {
		sink += benchAt.ECEF().X
	}
}

func BenchmarkFromECEF(b *testing.B) {
	v := benchAt.ECEF()
	for range b.N {
		sink += FromECEF(v).Lat
	}
}

func BenchmarkFromECEFByIteration(b *testing.B) {
	v := benchAt.ECEF()
	for range b.N {
		sink += iterateFromECEF(v).Lat
	}
}

func BenchmarkLocalPosition(b *testing.B) {
	l := LocalAt(benchAt)
	for range b.N {
		sink += l.Position(benchENU).Lat
	}
}

func BenchmarkLocalAtAndPosition(b *testing.B) {
	for range b.N {
		sink += LocalAt(benchAt).Position(benchENU).Lat
	}
}

func BenchmarkPositionByShortCut(b *testing.B) {
	for range b.N {
		p := Position{
			Lat:    benchAt.Lat + benchENU.Y/(MeridianRadius(benchAt.Lat)+benchAt.Height),
			Lon:    benchAt.Lon + benchENU.X/((PrimeVerticalRadius(benchAt.Lat)+benchAt.Height)*math.Cos(benchAt.Lat)),
			Height: benchAt.Height + benchENU.Z,
		}
		sink += p.Lat
	}
}

func BenchmarkNormalGravity(b *testing.B) {
	for range b.N {
		sink += NormalGravity(benchAt.Lat, benchAt.Height)
	}
}

// iterateFromECEF is the textbook iteration: latitude from height and height from latitude until they stand still.
func iterateFromECEF(v r3.Vec) Position {
	p := math.Hypot(v.X, v.Y)
	lat, h := math.Atan2(v.Z, p*(1-EccentricitySquared)), 0.0
	for range 20 {
		n := PrimeVerticalRadius(lat)
		h = p/math.Cos(lat) - n
		next := math.Atan2(v.Z, p*(1-EccentricitySquared*n/(n+h)))
		if math.Abs(next-lat) < 1e-15 {
			break
		}
		lat = next
	}
	return Position{lat, math.Atan2(v.Y, v.X), h}
}

// vincentyDirect is the direct problem as commonly programmed: good to 0.1 mm or so, without reduced length. Source:
// Vincenty, Direct and inverse solutions of geodesics on the ellipsoid, Survey Review 23 (1975), from memory.
func vincentyDirect(p Position, azimuth, s float64) (Position, float64) {
	const f = Flattening
	sa, ca := math.Sincos(azimuth)
	tu := (1 - f) * math.Tan(p.Lat)
	cu := 1 / math.Sqrt(1+tu*tu)
	su := tu * cu
	s1 := math.Atan2(tu, ca)
	sal := cu * sa
	c2 := 1 - sal*sal
	u2 := c2 * SecondEccentricitySquared
	a := 1 + u2/16384*(4096+u2*(-768+u2*(320-175*u2)))
	bb := u2 / 1024 * (256 + u2*(-128+u2*(74-47*u2)))
	sig := s / (SemiMinorM * a)
	var ss, cs, cm float64
	for range 50 {
		cm = math.Cos(2*s1 + sig)
		ss, cs = math.Sincos(sig)
		d := bb * ss * (cm + bb/4*(cs*(2*cm*cm-1)-bb/6*cm*(4*ss*ss-3)*(4*cm*cm-3)))
		next := s/(SemiMinorM*a) + d
		if math.Abs(next-sig) < 1e-13 {
			break
		}
		sig = next
	}
	t := su*ss - cu*cs*ca
	lat := math.Atan2(su*cs+cu*ss*ca, (1-f)*math.Sqrt(sal*sal+t*t))
	lam := math.Atan2(ss*sa, cu*cs-su*ss*ca)
	c := f / 16 * c2 * (4 + f*(4-3*c2))
	l := lam - (1-c)*f*sal*(sig+c*ss*(cm+c*cs*(2*cm*cm-1)))
	return Position{lat, p.Lon + l, p.Height}, math.Atan2(sal, -t)
}

// TestAlternatives: the alternatives do the same job, within what they are good for; otherwise the ratios say nothing.
func TestAlternatives(t *testing.T) {
	p, az := Direct(benchAt, 1, 3e6)
	q, az2 := vincentyDirect(benchAt, 1, 3e6)
	if d := chord(p, q); d > 1e-3 || !near(az, az2, 1e-9) {
		t.Errorf("Vincenty's arrives %v m and %v rad off", d, az2-az)
	}
	v := benchAt.ECEF()
	if d := chord(FromECEF(v), iterateFromECEF(v)); d > 1e-7 {
		t.Errorf("the iteration is %v m off", d)
	}
}
