package survey

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat/distuv"

	"swellbench/scenarios/frame"
)

// pairsOf turns points by r, shifts them and adds noise to each coordinate.
func pairsOf(points []r3.Vec, r frame.Rotation, shift r3.Vec, sigma float64, noise func() float64) []Pair {
	var out []Pair
	for _, p := range points {
		to := r3.Add(r.Apply(p), shift)
		to = r3.Add(to, r3.Vec{X: sigma * noise(), Y: sigma * noise(), Z: sigma * noise()})
		out = append(out, Pair{From: p, To: to, SigmaM: max(sigma, 1e-6)})
	}
	return out
}

func silent() float64 { return 0 }

// corners are the corners of a housing.
var corners = []r3.Vec{{X: -0.11, Y: 0.09}, {X: 0.11, Y: 0.09}, {X: 0.1, Y: -0.12, Z: 0.01}, {X: -0.1, Y: -0.12, Z: 0.02}, {Y: 0.01, Z: 0.14}}

// Two sightings, worked by TRIAD, which meets the first exactly and the second but for the noise. Source: C. D. Hall,
// Spacecraft Attitude Dynamics and Control, course notes of Virginia Tech, 2003, ch. 4 (from memory). The vectors are
// printed to 5e-5 and the angles between the sightings differ by 0.001 rad, half of which each solution may be off.
func TestFitAgainstWorkedExample(t *testing.T) {
	body := []r3.Vec{{X: 0.8273, Y: 0.5541, Z: -0.0920}, {X: -0.8285, Y: 0.5522, Z: -0.0955}}
	inertial := []r3.Vec{{X: -0.1517, Y: -0.9669, Z: 0.2050}, {X: -0.8393, Y: 0.4494, Z: -0.3044}}
	triad := []float64{0.4156, -0.8551, 0.3100, -0.8339, -0.4943, -0.2455, 0.3631, -0.1566, -0.9185}
	// A direction is a pair of points: the one ahead and the one astern have their centre of gravity in the origin.
	var pairs []Pair
	for i := range body {
		for _, sign := range []float64{1, -1} {
			pairs = append(pairs, Pair{From: r3.Scale(sign, inertial[i]), To: r3.Scale(sign, body[i]), SigmaM: 0.02})
		}
	}
	f, err := FitRotation(pairs)
	if err != nil {
		t.Fatal(err)
	}
	m := f.Rotation.Matrix()
	for i := range m {
		if math.Abs(m[i]-triad[i]) > 6e-4 {
			t.Errorf("element %d is %.5f, TRIAD has %.4f", i, m[i], triad[i])
		}
	}
}

// Davenport's q-method finds the same rotation another way: as the eigenvector of the greatest eigenvalue of a
// symmetric 4×4 matrix. Source: Wertz (ed.), Spacecraft Attitude Determination and Control, 1978, sec. 12.2.3; Horn, J.
// Opt. Soc. Am. A 4 (1987) 629. Noise is large and weights differ, so that the least-squares solution is no other one.
func TestFitAgainstQuaternionMethod(t *testing.T) {
	rng, compared := rand.New(rand.NewPCG(3, 4)), 0
	for range 300 {
		want := frame.Attitude{Heading: rng.Float64() * 7, Pitch: rng.Float64()*3 - 1.5, Roll: rng.Float64()*6 - 3}.Rotation()
		pairs := pairsOf(corners, want, r3.Vec{X: 1, Y: 2, Z: 3}, 0.01, rng.NormFloat64)
		for i := range pairs {
			pairs[i].SigmaM = 0.005 + 0.02*rng.Float64()
		}
		f, err := FitRotation(pairs)
		if err != nil {
			continue // so noisy that it looks mirrored, or free about one axis
		}
		var sum float64
		var ca, cb r3.Vec
		for _, p := range pairs {
			w := 1 / p.SigmaM / p.SigmaM
			sum, ca, cb = sum+w, r3.Add(ca, r3.Scale(w, p.From)), r3.Add(cb, r3.Scale(w, p.To))
		}
		ca, cb = r3.Scale(1/sum, ca), r3.Scale(1/sum, cb)
		k := mat.NewSymDense(4, nil)
		add := func(i, j int, x float64) { k.SetSym(i, j, k.At(i, j)+x) }
		for _, p := range pairs {
			w := 1 / p.SigmaM / p.SigmaM
			a, b := r3.Sub(p.From, ca), r3.Sub(p.To, cb)
			z := r3.Cross(a, b)
			add(0, 0, w*(a.X*b.X+a.Y*b.Y+a.Z*b.Z))
			add(0, 1, w*z.X)
			add(0, 2, w*z.Y)
			add(0, 3, w*z.Z)
			add(1, 1, w*(a.X*b.X-a.Y*b.Y-a.Z*b.Z))
			add(2, 2, w*(a.Y*b.Y-a.X*b.X-a.Z*b.Z))
			add(3, 3, w*(a.Z*b.Z-a.X*b.X-a.Y*b.Y))
			add(1, 2, w*(a.X*b.Y+a.Y*b.X))
			add(1, 3, w*(a.X*b.Z+a.Z*b.X))
			add(2, 3, w*(a.Y*b.Z+a.Z*b.Y))
		}
		var eig mat.EigenSym
		if !eig.Factorize(k, true) {
			t.Fatal("no eigenvalues")
		}
		var v mat.Dense
		eig.VectorsTo(&v)
		q := frame.FromQuat(quat.Number{Real: v.At(0, 3), Imag: v.At(1, 3), Jmag: v.At(2, 3), Kmag: v.At(3, 3)})
		if a := f.Rotation.AngleTo(q); a > 1e-9 {
			t.Fatalf("%g rad from the quaternion method", a)
		}
		compared++
	}
	if compared < 200 {
		t.Errorf("only %d compared", compared)
	}
}

// Whatever the rotation, exact points give it back.
func TestFitExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		want := frame.Attitude{Heading: rng.Float64() * 7, Pitch: rng.Float64()*3.2 - 1.6, Roll: rng.Float64()*6.4 - 3.2}.Rotation()
		points := corners[:3+rng.IntN(3)] // three and four are nearly or wholly in one plane
		f, err := FitRotation(pairsOf(points, want, r3.Vec{X: 3, Y: -200, Z: 7}, 0, silent))
		if err != nil {
			t.Fatal(err)
		}
		if a := f.Rotation.AngleTo(want); a > 1e-11 {
			t.Fatalf("%v: %g rad off", want.Attitude(), a)
		}
		if math.Abs(f.Scale-1) > 1e-11 || f.Chi2 > 1e-9 {
			t.Fatalf("scale %g, chi-squared %g", f.Scale, f.Chi2)
		}
	}
}

// The scatter of fits to noisy points is what the covariance says, and chi-squared is chi-squared. With n draws the
// sample variance lies within 1 ± 4.4·√(2/n) of the true one but for 1 in 100,000 (normal approximation).
func TestFitCovarianceAgainstMonteCarlo(t *testing.T) {
	const n, sigma = 20000, 0.001
	rng := rand.New(rand.NewPCG(7, 7))
	truth := frame.Attitude{Heading: frame.Rad(31), Pitch: frame.Rad(-17), Roll: frame.Rad(64)}
	clean, err := FitRotation(pairsOf(corners, truth.Rotation(), r3.Vec{X: 1}, 0, silent))
	if err != nil {
		t.Fatal(err)
	}
	var cov [9]float64
	var angles [3]float64
	var chi2 float64
	var stated Fit
	for range n {
		f, err := FitRotation(pairsOf(corners, truth.Rotation(), r3.Vec{X: 1}, sigma, rng.NormFloat64))
		if err != nil {
			t.Fatal(err)
		}
		q := f.Rotation.Mul(clean.Rotation.Inverse()).Quat()
		w := [3]float64{2 * q.Imag * sign(q.Real), 2 * q.Jmag * sign(q.Real), 2 * q.Kmag * sign(q.Real)}
		for i := range 9 {
			cov[i] += w[i/3] * w[i%3] / n
		}
		a := f.Rotation.Attitude()
		for i, d := range []float64{frame.AngleDiff(a.Heading, truth.Heading), a.Pitch - truth.Pitch, a.Roll - truth.Roll} {
			angles[i] += d * d / n
		}
		chi2 += f.Chi2
		stated = f
	}
	bound := 4.4 * math.Sqrt(2.0/n)
	for i := range 9 {
		scale := math.Sqrt(stated.Covariance[i/3*4] * stated.Covariance[i%3*4])
		if d := math.Abs(cov[i]-stated.Covariance[i]) / scale; d > bound {
			t.Errorf("covariance %d is %.4g, stated %.4g: %.3f of the variances, allowed %.3f", i, cov[i], stated.Covariance[i], d, bound)
		}
	}
	s := stated.AngleSigmas()
	for i, want := range []float64{s.Heading, s.Pitch, s.Roll} {
		if r := angles[i] / (want * want); math.Abs(r-1) > bound {
			t.Errorf("angle %d: variance %.4f of the stated, allowed 1 ± %.3f", i, r, bound)
		}
	}
	total := distuv.ChiSquared{K: float64(n * stated.Freedom)}
	if p := total.CDF(chi2); p < 1e-5 || p > 1-1e-5 {
		t.Errorf("the sum of %d chi-squared of %d degrees of freedom is %.0f, probability %g", n, stated.Freedom, chi2, p)
	}
}

func sign(x float64) float64 { return math.Copysign(1, x) }

func TestFitRefuses(t *testing.T) {
	turn := frame.Attitude{Heading: 1, Pitch: 0.3}.Rotation()
	line := []r3.Vec{{}, {Y: 0.1}, {Y: 0.2}, {Y: 0.5}}
	mirrored := pairsOf(corners, turn, r3.Vec{}, 0, silent)
	for i := range mirrored {
		mirrored[i].From.X *= -1
		mirrored[i].SigmaM = 0.001
	}
	flat := pairsOf(corners[:3], turn, r3.Vec{}, 0, silent) // a mirror image in a plane is a rotation
	for i := range flat {
		flat[i].From.Z = 0
	}
	// Squares of the distances from the regression line: 1.75e-5 m²; 2 mm over their root is 0.478 rad = 27.4°.
	near := pairsOf([]r3.Vec{{}, {Y: 0.1}, {X: 0.005, Y: 0.2}, {Y: 0.3}}, turn, r3.Vec{}, 0, silent)
	for i := range near {
		near[i].SigmaM = 0.002
	}
	huge := pairsOf(corners, turn, r3.Vec{}, 0, silent)
	huge[1].To.X = 1e300
	bad := pairsOf(corners, turn, r3.Vec{}, 0, silent)
	bad[2].SigmaM = 0
	for _, c := range []struct {
		name  string
		pairs []Pair
		want  string
	}{
		{"two", pairsOf(corners[:2], turn, r3.Vec{}, 0, silent), "2 points fix no rotation"},
		{"none", nil, "0 points fix no rotation"},
		{"in one line", pairsOf(line, turn, r3.Vec{}, 0, silent), "lie in one line"},
		{"in one place", pairsOf([]r3.Vec{{X: 1}, {X: 1}, {X: 1}}, turn, r3.Vec{}, 0, silent), "lie in one line"},
		{"nearly in one line", near, "known to 27.4 deg only"},
		{"mirrored", mirrored, "as a mirror image only"},
		{"huge", huge, "look at their units"},
		{"no sigma", bad, "standard deviation 0 m"},
		{"in one plane", flat, ""},
	} {
		_, err := FitRotation(c.pairs)
		var refused *FitError
		switch {
		case c.want == "":
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
		case !errors.As(err, &refused) || !strings.Contains(err.Error(), c.want):
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
	}
}
