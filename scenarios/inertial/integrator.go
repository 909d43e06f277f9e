package inertial

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/draws"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// An integrator follows the states and their covariance through one phase after the other.
type integrator struct {
	spec  Spec
	par   parameters
	truth func(t float64) State
	seed  uint64

	part string // name of the phase, for its random numbers
	x    vector
	p    *mat.Dense
	f    matrix // at the present time
	work workspace
	sure bool // nothing is random and nothing is off: the covariance stays zero
}

func newIntegrator(spec Spec, truth func(t float64) State, seed uint64) *integrator {
	return &integrator{spec: spec, par: spec.parameters(), truth: truth, seed: seed, p: mat.NewDense(states, states, nil), work: newWorkspace()}
}

// begin sets the states and their covariance at the start of a phase: independent sources, each a vector of 1 sigma and
// a draw. Biases are the same in all phases; a bias given in numbers counts as its own sigma. Tail is what is left from
// before.
func (in *integrator) begin(ph *phase, tail raw) {
	before, covBefore := in.x, mat.DenseCopyOf(in.p)
	in.part = "inertial/" + strconv.FormatFloat(ph.From, 'g', -1, 64)
	in.x = vector{}
	in.p.Zero()
	s := in.truth(ph.From)
	g := geo.NormalGravity(s.Position.Lat, s.Position.Height)
	level := in.levelling(ph.From)

	number := 0
	source := func(one vector, draw float64) {
		for i := range states {
			in.x[i] += one[i] * draw
			for j := range states {
				in.p.Set(i, j, in.p.At(i, j)+one[i]*one[j])
			}
		}
		number++
	}
	random := func(part string, one vector) {
		d := draws.At(in.seed, part, number)
		source(one, d.Normal())
	}
	bias := func(first int, sigma float64, fixed *r3.Vec, effect func(axis int) vector) {
		for axis := range 3 {
			one := effect(axis)
			one[first+axis] = 1
			if fixed == nil {
				random("inertial/bias", one.times(sigma))
				continue
			}
			b := [3]float64{fixed.X, fixed.Y, fixed.Z}[axis]
			source(one.times(b), 1)
		}
	}
	bias(gyroR, in.par.gyroBias, in.par.fixedGyro, func(int) vector { return vector{} })
	bias(accelR, in.par.accelBias, in.par.fixedAccel, func(axis int) vector {
		var one vector
		if in.spec.alignment() == SelfLevelled {
			// The tilt that makes φ×f + C·b level: φ = (b_N, −b_E)/g.
			one[tiltE], one[tiltN] = level[3+axis]/g, -level[axis]/g
		}
		return one
	})
	axis := func(i int, sigma float64) { var one vector; one[i] = sigma; random(in.part, one) }
	axis(tiltE, in.par.tilt)
	axis(tiltN, in.par.tilt)
	if ph.Start == nil && !ph.follows {
		axis(tiltU, in.par.heading)
	}
	if t := in.spec.Tilt; t != nil && in.spec.alignment() == Stated {
		c := s.Attitude.Rotation()
		for _, d := range [...]frame.Rates{{Pitch: float64(t.Pitch)}, {Roll: float64(t.Roll)}, {Heading: float64(t.Heading)}} {
			phi := c.Apply(frame.BodyRate(s.Attitude, d))
			if ph.Start != nil || ph.follows {
				phi.Z = 0
			}
			source(vector{tiltE: phi.X, tiltN: phi.Y, tiltU: phi.Z}, 1)
		}
	}
	switch {
	case ph.follows:
		in.continueHeading(&before, covBefore)
	case ph.Start != nil:
		in.x[tiltU] = -ph.Start.Heading
		in.p.Set(tiltU, tiltU, ph.Start.HeadingSigma*ph.Start.HeadingSigma)
	default:
		in.add(tiltE, r3.Vec{Z: tail.tilt.Z}, symmetric{uu: tail.tiltCov.uu})
	}
	if !ph.HeadingOnly {
		number = 100 // the numbers above do not depend on what follows
		axis(velE, in.par.velocity)
		axis(velN, in.par.velocity)
		if in.par.free {
			axis(velU, in.par.velocity)
		}
		in.add(velE, tail.velocity, tail.velocityCov)
		in.add(posE, tail.position, tail.positionCov)
		in.add(tiltE, r3.Vec{X: tail.tilt.X, Y: tail.tilt.Y}, tail.only(true).tiltCov)
		if st := ph.Start; st != nil {
			in.add(velE, st.VelocityENU, square(st.VelocitySigma))
			k := metres(s.Position)
			back := r3.Vec{X: 1 / k.X, Y: 1 / k.Y, Z: 1}
			in.add(posE, r3.Vec{X: st.PositionENU.X * back.X, Y: st.PositionENU.Y * back.Y, Z: st.PositionENU.Z}, square(st.PositionSigma).scale(back))
		}
		if !in.par.free {
			in.x[velU] = 0
			in.p.Set(velU, velU, 0)
		}
	}
	in.sure = mat.Norm(in.p, math.Inf(1)) == 0 && in.par.gyroNoise == 0 && in.par.accelNoise == 0
	in.f = in.equations(ph, ph.From)
}

func (v vector) times(k float64) vector {
	for i := range v {
		v[i] *= k
	}
	return v
}

func square(sigma r3.Vec) symmetric {
	return symmetric{ee: sigma.X * sigma.X, nn: sigma.Y * sigma.Y, uu: sigma.Z * sigma.Z}
}

// add adds an error and its covariance to the three states from first on.
func (in *integrator) add(first int, v r3.Vec, s symmetric) {
	for i, x := range [...]float64{v.X, v.Y, v.Z} {
		in.x[first+i] += x
	}
	for i, row := range [...][3]float64{{s.ee, s.en, s.eu}, {s.en, s.nn, s.nu}, {s.eu, s.nu, s.uu}} {
		for j, c := range row {
			in.p.Set(first+i, first+j, in.p.At(first+i, first+j)+c)
		}
	}
}

// continueHeading takes the error of heading, and what it has to do with the biases, from the phase before.
func (in *integrator) continueHeading(x *vector, p *mat.Dense) {
	keep := [...]int{tiltU, gyroR, gyroR + 1, gyroR + 2, accelR, accelR + 1, accelR + 2}
	in.x[tiltU] = x[tiltU]
	for _, i := range keep {
		for _, j := range keep {
			in.p.Set(i, j, p.At(i, j))
		}
	}
}

// levelling returns the mean attitude matrix of the minute before the loss, in which the sensor levelled itself.
func (in *integrator) levelling(loss float64) [9]float64 {
	var mean [9]float64
	const samples = 61
	for k := range samples {
		m := in.truth(math.Max(loss-float64(k), math.Min(loss, 0))).Attitude.Rotation().Matrix()
		for i := range m {
			mean[i] += m[i] / samples
		}
	}
	return mean
}

func (in *integrator) equations(ph *phase, t float64) matrix {
	f := equations(in.truth(t), in.par.free)
	if ph.HeadingOnly {
		return headingOnly(f)
	}
	return f
}

// advance goes from node number k at t to the next at t+length, in steps: the states by Runge and Kutta's fourth order
// with noise that is constant from node to node, the covariance at once, with the mean F.
func (in *integrator) advance(ph *phase, k int, t, length float64, steps int) {
	h := length / float64(steps)
	w := in.noise(ph, k, length)
	var mean matrix
	weigh := func(f *matrix, w float64) {
		for i := range gyroR {
			for j, v := range f[i] {
				mean[i][j] += w * v / float64(steps)
			}
		}
	}
	for i := range steps {
		at := t + float64(i)*h
		first, middle, last := in.f, in.equations(ph, at+h/2), in.equations(ph, at+h)
		weigh(&first, 1.0/6)
		weigh(&middle, 4.0/6)
		weigh(&last, 1.0/6)
		x := in.x
		k1 := first.times(&x, &w)
		x2 := along(&x, h/2, &k1)
		k2 := middle.times(&x2, &w)
		x3 := along(&x, h/2, &k2)
		k3 := middle.times(&x3, &w)
		x4 := along(&x, h, &k3)
		k4 := last.times(&x4, &w)
		for i := range gyroR {
			in.x[i] = x[i] + h/6*(k1[i]+2*k2[i]+2*k3[i]+k4[i])
		}
		in.f = last
	}
	if !in.sure {
		in.spread(ph, &mean, length)
	}
}

func along(x *vector, h float64, k *vector) vector {
	y := *x
	for i := range gyroR {
		y[i] += h * k[i]
	}
	return y
}

// noise returns the white noise from node number k to the next, as a rate that is constant over that time h: N/√h.
func (in *integrator) noise(ph *phase, k int, h float64) vector {
	var w vector
	if in.par.gyroNoise == 0 && in.par.accelNoise == 0 {
		return w
	}
	d := draws.At(in.seed, in.part, 1000+k)
	density := in.densities(ph)
	for i := range posE {
		n := d.Normal()
		w[i] = density[i] * n / math.Sqrt(h)
	}
	return w
}

// densities returns the white noise on each state. Noises of three equal axes are the same along any three.
func (in *integrator) densities(ph *phase) vector {
	d := vector{tiltU: in.par.gyroNoise}
	if !ph.HeadingOnly {
		d[tiltE], d[tiltN] = in.par.gyroNoise, in.par.gyroNoise
		d[velE], d[velN] = in.par.accelNoise, in.par.accelNoise
		if in.par.free {
			d[velU] = in.par.accelNoise
		}
	}
	return d
}

// spread takes the covariance over a time h with the matrix f: P ← Φ·P·Φᵀ + ∫ Φ(s)·Q·Φ(s)ᵀ ds, Φ by its series and the
// integral by Simpson's rule. Source: Groves 2013, ch. 3 (from memory).
func (in *integrator) spread(ph *phase, f *matrix, h float64) {
	w := &in.work
	for i := range gyroR {
		for j, v := range f[i] {
			w.half.Set(i, j, v*h/2)
		}
	}
	w.middle.Copy(w.one)
	for k := 5; k > 0; k-- { // Horner: I + A(I + A/2(I + A/3(…)))
		w.m.Mul(w.half, w.middle)
		w.m.Scale(1/float64(k), w.m)
		w.middle.Add(w.m, w.one)
	}
	w.whole.Mul(w.middle, w.middle)
	w.m.Mul(w.whole, in.p)
	w.next.Mul(w.m, w.whole.T())
	density := in.densities(ph)
	noise := func(phi *mat.Dense, weight float64) {
		for i := range states {
			for j := range states {
				w.s.Set(i, j, phi.At(i, j)*density[j])
			}
		}
		w.m.Mul(w.s, w.s.T())
		w.m.Scale(weight*h/6, w.m)
		w.next.Add(w.next, w.m)
	}
	noise(w.one, 1)
	noise(w.middle, 4)
	noise(w.whole, 1)
	for i := range states { // rounding must not make it lopsided
		for j := range states {
			in.p.Set(i, j, (w.next.At(i, j)+w.next.At(j, i))/2)
		}
	}
}

// workspace is what spread works in.
type workspace struct{ one, half, middle, whole, next, m, s *mat.Dense }

func newWorkspace() workspace {
	square := func() *mat.Dense { return mat.NewDense(states, states, nil) }
	w := workspace{square(), square(), square(), square(), square(), square(), square()}
	for i := range states {
		w.one.Set(i, i, 1)
	}
	return w
}

// node returns what is kept of the present states.
func (in *integrator) node() node {
	vec := func(first int) r3.Vec { return r3.Vec{X: in.x[first], Y: in.x[first+1], Z: in.x[first+2]} }
	cov := func(i int) symmetric {
		return symmetric{in.p.At(i, i), in.p.At(i+1, i+1), in.p.At(i+2, i+2), in.p.At(i, i+1), in.p.At(i, i+2), in.p.At(i+1, i+2)}
	}
	var still vector
	rate := in.f.times(&in.x, &still)
	return node{
		raw{vec(tiltE), vec(velE), vec(posE), cov(tiltE), cov(velE), cov(posE)},
		r3.Vec{X: rate[posE], Y: rate[posN], Z: rate[posU]},
	}
}
