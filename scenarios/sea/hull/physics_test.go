package hull

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/internal/deriv"
)

// A sea of one wave, in east, north and time, as the scenario has it: ζ = a·cos(k·x − ωt + φ).
type oneWave struct{ omega, k, direction, amplitude, phase float64 }

func (w oneWave) theta(east, north, t float64) float64 {
	return w.k*(east*math.Sin(w.direction)+north*math.Cos(w.direction)) - w.omega*t + w.phase
}

func (w oneWave) elevation(east, north, t float64) float64 {
	return w.amplitude * math.Cos(w.theta(east, north, t))
}

// motion is what a response makes of the wave at a place and time.
func (w oneWave) motion(r Response, east, north, t float64) (m [6]float64) {
	for n := range r {
		m[n] = w.amplitude * real(r[n]*cmplx.Rect(1, w.theta(east, north, t)))
	}
	return m
}

// In a wave much longer than she is the vessel lies on the surface: her height is the elevation, and her deck, by
// package frame's own attitude matrix, is parallel to the surface, whose slope is taken numerically from ζ. In each
// quadrant of heading and direction, standing and running, in deep and in shallow water.
func TestLiesOnTheSurface(t *testing.T) {
	h := named(t, "A")
	for _, depth := range []float64{math.Inf(1), 20} {
		for heading := -350.0; heading < 720; heading += 77 {
			for direction := 0.0; direction < 360; direction += 23 {
				for _, speed := range []float64{0, 5, -2} {
					w := oneWave{omega: 0.02, direction: direction * degree, amplitude: 0.5, phase: 1}
					w.k = w.omega * w.omega / gravity
					if !math.IsInf(depth, 1) {
						w.k = w.omega / math.Sqrt(gravity*depth) // long in shallow water, Faltinsen (1990) table 2.1
					}
					r := h.At(w.omega, w.k, speed, Beta(heading*degree, w.direction))
					for _, at := range []float64{0, 70, 150, 261} {
						axes := frame.Attitude{Heading: heading * degree}.Rotation()
						place := axes.Apply(r3.Vec{Y: speed * at})
						m := w.motion(r, place.X, place.Y, at)
						label := fmt.Sprintf("depth %g m, heading %g, wave to %g, %g m/s, %g s", depth, heading, direction, speed, at)
						if z := w.elevation(place.X, place.Y, at); math.Abs(m[Heave]-z) > 0.01*w.amplitude {
							t.Errorf("%s: heave %g m, elevation %g m", label, m[Heave], z)
						}
						deck := frame.Attitude{Heading: heading * degree, Pitch: m[Pitch], Roll: m[Roll]}.Rotation()
						for _, axis := range []r3.Vec{{X: 1}, {Y: 1}} {
							u := axes.Apply(axis)
							slope := deriv.Of(func(s float64) float64 { return w.elevation(place.X+s*u.X, place.Y+s*u.Y, at) }, 0, 1)
							if up := deck.Apply(axis).Z; math.Abs(up-slope) > 0.02*w.k*w.amplitude {
								t.Errorf("%s: along %v the deck rises %g, the surface %g", label, axis, up, slope)
							}
						}
					}
				}
			}
		}
	}
}

// In words: a crest from starboard first lifts the starboard side, one from ahead the bow, and so on.
func TestCrestComes(t *testing.T) {
	h := named(t, "B")
	for _, c := range []struct {
		from     string
		bearing  float64 // of where it comes from, from the bow, deg
		n        int
		positive bool // the motion a quarter of a period before the crest is at midship
	}{
		{"ahead", 0, Pitch, true}, {"astern", 180, Pitch, false}, {"starboard", 90, Roll, false}, {"port", 270, Roll, true},
	} {
		for _, heading := range []float64{0, 100, 200, 300} {
			w := oneWave{omega: 0.1, k: 0.01 / gravity, direction: (heading + c.bearing + 180) * degree, amplitude: 1}
			before := -math.Pi / 2 / w.omega
			m := w.motion(h.At(w.omega, w.k, 0, Beta(heading*degree, w.direction)), 0, 0, before)
			if got := m[c.n]; math.Abs(got) < 0.9*w.k || got > 0 != c.positive {
				t.Errorf("crest from %s, heading %g: %s is %g before it comes, positive: %t", c.from, heading, Names[c.n], got, c.positive)
			}
		}
	}
}

func TestBeta(t *testing.T) {
	for _, c := range []struct{ heading, direction, want float64 }{
		{0, 0, 0}, {350, 350, 0}, {0, 180, 180}, {180, 0, 180}, // with the wave, against it
		{0, 270, 90}, {0, 90, -90}, {300, 210, 90}, {10, 280, 90}, // from starboard it travels to port
		{720, 1, -1}, {0, 540, 180}, {540, 0, 180},
	} {
		if got := Beta(c.heading*degree, c.direction*degree) / degree; math.Abs(got-c.want) > 1e-9 {
			t.Errorf("heading %g, wave to %g: %g, want %g", c.heading, c.direction, got, c.want)
		}
	}
}

// Surge, sway and yaw by brute force: the mean acceleration of the water over the hull's volume, and its turning moment
// about the vertical, from a velocity potential that is differentiated numerically.
func TestWaterPushesTheBox(t *testing.T) {
	b := Box{Length: 30, Breadth: 9, Draught: 2.5, Block: 0.6}
	for _, depth := range []float64{400, 25, 6} {
		for _, k := range []float64{0.002, 0.05, 0.13, 0.3} {
			for _, beta := range []float64{0, 0.4, math.Pi / 2, 2.2, math.Pi, -0.7, -2.9} {
				omega := math.Sqrt(gravity * k * math.Tanh(k*depth))
				w, _ := Encounter(omega, k, 3, beta)
				surge, sway, yaw := b.SurgeSwayYaw(w)
				got := [3]complex128{surge, sway, yaw}
				want := pushed(b, omega, k, depth, beta)
				for i, name := range []string{"surge", "sway", "yaw"} {
					scale := 1 / math.Tanh(k*depth)
					if i == 2 {
						scale *= k
					}
					if cmplx.Abs(got[i]-want[i]) > 2e-3*scale { // the limit between deep and shallow water, and the midpoint rule
						t.Errorf("depth %g m, k %g, beta %.2f: %s is %v, want %v", depth, k, beta, name, got[i], want[i])
					}
				}
			}
		}
	}
}

// pushed integrates by the midpoint rule over boxes of the hull's volume. Accelerations of the water are −∇(p/ρ), with
// the linear pressure p/ρ = g·cosh k(z+d)/cosh kd·exp(iθ) for an amplitude of 1 m; displacement is acceleration/(−ω²).
func pushed(b Box, omega, k, depth, beta float64) (r [3]complex128) {
	const n, step = 40, 0.01
	pressure := func(right, forward, z float64) complex128 {
		theta := k * (forward*math.Cos(beta) - right*math.Sin(beta))
		return cmplx.Rect(gravity*math.Cosh(k*(z+depth))/math.Cosh(k*depth), theta)
	}
	var inertia float64
	for i := range n {
		for j := range n {
			for l := range n / 4 {
				x := b.Breadth * ((float64(i)+0.5)/n - 0.5)
				y := b.Length * ((float64(j)+0.5)/n - 0.5)
				z := -b.Draught * (float64(l) + 0.5) / (n / 4)
				moveRight := (pressure(x+step, y, z) - pressure(x-step, y, z)) / complex(2*step*omega*omega, 0)
				moveForward := (pressure(x, y+step, z) - pressure(x, y-step, z)) / complex(2*step*omega*omega, 0)
				r[0] += moveForward
				r[1] += moveRight
				r[2] += moveRight*complex(y, 0) - moveForward*complex(x, 0) // bow to starboard
				inertia += x*x + y*y
			}
		}
	}
	return [3]complex128{r[0] / (n * n * n / 4), r[1] / (n * n * n / 4), r[2] / complex(inertia, 0)}
}

// The Smith factor in water of finite depth, from the depth itself, which the hull is not told; and how it enters heave.
func TestSmithFactor(t *testing.T) {
	b := Box{Length: 30, Breadth: 9, Draught: 2.5, Block: 0.6}
	for _, depth := range []float64{3, 6, 25, 1000} {
		for _, k := range []float64{0.01, 0.1, 0.4} {
			w, _ := Encounter(math.Sqrt(gravity*k*math.Tanh(k*depth)), k, 0, math.Pi/2)
			want := (math.Exp(-k*b.Draught) + math.Exp(k*(b.Draught-2*depth))) / (1 + math.Exp(-2*k*depth))
			if got := w.pressure(k, b.Draught); math.Abs(got-want) > 2e-3 { // the limit between deep and shallow water
				t.Errorf("depth %g m, k %g: %g, want %g", depth, k, got, want)
			}
			// In long shallow waves, where masses and damping do not count, heave is the factor itself.
			heave, _ := b.HeavePitch(w, SmithWave)
			if w.K*w.Shallow*b.Draught < 0.003 && cmplx.Abs(heave-complex(want, 0)) > 0.02 {
				t.Errorf("depth %g m, k %g: heave %v, want %g", depth, k, heave, want)
			}
		}
	}
	w, _ := Encounter(0.1, 0.02, 0, 0) // deeper than the water: as at the bottom
	if got, bottom := w.pressure(0.02, 1e9), math.Sqrt(1-w.Shallow*w.Shallow); math.Abs(got-bottom) > 1e-12 {
		t.Errorf("below the bottom %g, at it %g", got, bottom)
	}
}

// A particle of water on the surface runs with the wave on the crest and against it in the trough (Faltinsen 1990,
// fig. 2.1), and so does a small vessel: on the crest her velocity is along the direction of travel.
func TestOnTheCrest(t *testing.T) {
	b := Box{Length: 3, Breadth: 1, Draught: 0.3, Block: 0.5}
	w, _ := Encounter(0.5, 0.25/gravity, 0, 0.3)
	surge, sway, _ := b.SurgeSwayYaw(w)
	// On the crest θ = 0, and d/dt is −iω.
	forward, right := real(surge*complex(0, -w.Omega)), real(sway*complex(0, -w.Omega))
	if math.Abs(forward-w.Omega*w.Ahead) > 0.01*w.Omega || math.Abs(right-w.Omega*w.Starboard) > 0.01*w.Omega {
		t.Errorf("on the crest she moves %g forward, %g to starboard; the wave travels %g, %g", forward, right, w.Ahead, w.Starboard)
	}
}

// steady integrates m·ẍ + c·ẋ + x = load(t) by Runge-Kutta until only the forced motion is left, and reads its complex
// amplitude off a whole number of periods, for the time factor exp(−iωe·t).
func steady(m, c, encounter float64, load func(t float64) float64) complex128 {
	period := 2 * math.Pi / math.Abs(encounter)
	const perPeriod = 400
	dt := period / perPeriod
	f := func(t, x, v float64) (float64, float64) { return v, (load(t) - c*v - x) / m }
	settle := int(40*m/c/period) + 2
	var x, v, t float64
	var sum complex128
	for i := range (settle + 1) * perPeriod {
		if i >= settle*perPeriod {
			sum += complex(x, 0) * cmplx.Rect(2.0/perPeriod, encounter*t)
		}
		k1, l1 := f(t, x, v)
		k2, l2 := f(t+dt/2, x+dt/2*k1, v+dt/2*l1)
		k3, l3 := f(t+dt/2, x+dt/2*k2, v+dt/2*l2)
		k4, l4 := f(t+dt, x+dt*k3, v+dt*l3)
		x, v = x+dt/6*(k1+2*k2+2*k3+k4), v+dt/6*(l1+2*l2+2*l3+l4)
		t = float64(i+1) * dt
	}
	return sum
}

// Heave against its equation of motion, integrated in time: amplitude and phase, ahead, astern and overtaking. What the
// water does at the hull is written down as it moves past: height, velocity and acceleration of the water.
func TestHeaveInTime(t *testing.T) {
	for _, c := range []struct{ omega, speed, beta float64 }{
		{0.9, 0, math.Pi}, {1.4, 4, math.Pi}, {1.1, 4, 0}, {1.5, 9, 0}, {1.6, 11, 0.5}, {1.2, 3, -2},
	} {
		b := Box{Length: 20, Breadth: 6, Draught: 1.5, Block: 0.5}
		k := c.omega * c.omega / gravity
		w, _ := Encounter(c.omega, k, c.speed, c.beta)
		a := math.Abs(w.Alpha)
		kB := k * b.Breadth * b.Block
		A := 2 * math.Sin(kB*a*a/2) * math.Exp(-k*b.Draught*a*a)
		m, damping := 2*k*b.Draught/(c.omega*c.omega), A*A/(kB*a*a*a*c.omega)
		we := w.Alpha * c.omega
		kappa := math.Exp(-k*b.Draught) * mean(k*w.Ahead*b.Length/2)
		got, _ := b.HeavePitch(w, SmithWave)
		want := steady(m, damping, we, func(t float64) float64 {
			sin, cos := math.Sincos(we * t) // the water's height is cos; it moves at ω, however fast one passes
			height, velocity, acceleration := cos, -c.omega*sin, -c.omega*c.omega*cos
			return kappa * (height + damping*velocity + m/2*acceleration)
		})
		if cmplx.Abs(got-want) > 1e-4 {
			t.Errorf("%+v (alpha %.2f): heave is %v, in time %v", c, w.Alpha, got, want)
		}
	}
}

// Roll against its equation of motion, integrated in time.
func TestRollInTime(t *testing.T) {
	for _, we := range []float64{0.2, 0.68, 0.7, 0.75, 1.4, -0.3, -0.7} {
		const natural, damping = 0.7, 0.08
		want := steady(1/(natural*natural), 2*damping/natural, we, func(t float64) float64 { return math.Cos(we * t) })
		if got := Oscillator(we, natural, damping); cmplx.Abs(got-want) > 1e-4*cmplx.Abs(want) {
			t.Errorf("at %g rad/s roll is %v of the load, in time %v", we, got, want)
		}
	}
}

// The load of roll is the slope across of the plane that fits the surface best over the waterplane.
func TestRollLoad(t *testing.T) {
	b := Box{Length: 20, Breadth: 7, Draught: 2, Block: 0.6}
	for _, beta := range []float64{0.3, math.Pi / 2, 2, -1} {
		for _, k := range []float64{0.001, 0.1, 0.7} {
			w, _ := Encounter(math.Sqrt(gravity*k), k, 0, beta)
			var moment complex128
			var inertia float64
			const n = 200
			for i := range n {
				for j := range n {
					x, y := b.Breadth*((float64(i)+0.5)/n-0.5), b.Length*((float64(j)+0.5)/n-0.5)
					moment += cmplx.Rect(x, k*(y*math.Cos(beta)-x*math.Sin(beta)))
					inertia += x * x
				}
			}
			want := -moment / complex(inertia, 0) * complex(math.Exp(-k*b.Draught/2), 0)
			if got := b.rollLoad(w); cmplx.Abs(got-want) > 1e-3*k {
				t.Errorf("beta %g, k %g: %v, want %v", beta, k, got, want)
			}
		}
	}
}
