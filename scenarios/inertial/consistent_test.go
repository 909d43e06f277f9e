package inertial

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"swellbench/scenarios/units"
)

// Over many seeds the drift must scatter as the sigmas say: the normalised squared error is χ² with as many degrees of
// freedom as states and seeds, within its 99.9 % bounds. Source: Bar-Shalom, Li & Kirubarajan, Estimation with
// Applications to Tracking and Navigation, 2001, 5.4 (from memory).
func TestConsistent(t *testing.T) {
	if testing.Short() {
		t.Skip("pure computing, with nothing side by side; takes a minute under the race detector")
	}
	t.Parallel()
	const seeds = 150
	w := world{lat0: 55 * degree, speed: 6}
	for _, grade := range Grades {
		pure := Spec{Grade: grade.Name, GyroBias: &Gyros{}, AccelBias: &Accelerometers{}, Alignment: Perfect, AtLoss: AtLoss{Velocity: new(units.Speed)}}
		for _, c := range []struct {
			name    string
			spec    Spec
			outage  Outage
			at      float64
			indices []int
		}{
			{"full", Spec{Grade: grade.Name}, Outage{From: 10, Until: 190, Start: &Start{HeadingSigma: 0}}, 190, []int{tiltE, tiltN, velE, velN, posE, posN}},
			{"full, heading drawn", Spec{Grade: grade.Name}, Outage{From: 10, Until: 100}, 100, []int{tiltE, tiltN, tiltU, velE, velN, posE, posN}},
			{"heading only", Spec{Grade: grade.Name}, Outage{From: 10, Until: 100, HeadingOnly: true}, 100, []int{tiltU}},
			{"noise alone", pure, Outage{From: 10, Until: 70}, 70, []int{tiltE, tiltN, tiltU, velE, velN, posE, posN}},
		} {
			total, position, heading := 0.0, 0.0, 0.0
			for seed := range uint64(seeds) {
				in := newIntegrator(c.spec, w.quick, seed)
				p := phasesOf([]Outage{c.outage})[0]
				n := &Navigator{spec: in.spec, truth: w.quick, phases: []*phase{p}}
				n.integrate(in, 0, p)
				total += normalised(t, in, c.indices)
				d := n.At(c.at - 1e-6)
				heading += d.Heading * d.Heading / (d.Sigma.Heading * d.Sigma.Heading)
				if !c.outage.HeadingOnly {
					ee, nn, en := d.Sigma.PositionENU.X*d.Sigma.PositionENU.X, d.Sigma.PositionENU.Y*d.Sigma.PositionENU.Y, d.Sigma.PositionEN
					x, y := d.PositionENU.X, d.PositionENU.Y
					position += (nn*x*x + ee*y*y - 2*en*x*y) / (ee*nn - en*en)
				}
			}
			check := func(what string, sum float64, freedom int) {
				chi := distuv.ChiSquared{K: float64(freedom)}
				if low, high := chi.Quantile(0.0005), chi.Quantile(0.9995); sum < low || sum > high {
					t.Errorf("%s, %s: %s: normalised squared error is %.4g, want %.4g to %.4g", grade.Name, c.name, what, sum, low, high)
				}
			}
			check("all states", total, seeds*len(c.indices))
			check("heading reported", heading, seeds)
			if !c.outage.HeadingOnly {
				check("position reported", position, 2*seeds)
			}
		}
	}
}

// normalised returns xᵀ·P⁻¹·x of those states.
func normalised(t *testing.T, in *integrator, indices []int) float64 {
	k := len(indices)
	p, x := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	for i, a := range indices {
		scale := 1 / math.Sqrt(in.p.At(a, a))
		x.SetVec(i, in.x[a]*scale)
		for j, b := range indices {
			p.SetSym(i, j, in.p.At(a, b)*scale/math.Sqrt(in.p.At(b, b)))
		}
	}
	var c mat.Cholesky
	if !c.Factorize(p) {
		t.Fatal("the covariance is not positive definite")
	}
	var y mat.VecDense
	if err := c.SolveVecTo(&y, x); err != nil {
		t.Fatal(err)
	}
	return mat.Dot(x, &y)
}
