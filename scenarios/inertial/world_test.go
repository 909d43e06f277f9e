package inertial

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/internal/deriv"
)

// A world is a vessel under way in a seaway, from formulas for latitude, longitude, height and angles; all else is
// differentiated.
type world struct{ lat0, speed float64 }

func (w world) position(t float64) geo.Position {
	along := w.speed * t
	return geo.Position{
		Lat:    w.lat0 + (0.7*along+40*math.Sin(2*math.Pi*t/240))/6.37e6,
		Lon:    0.3 + (0.7*along+60*math.Sin(2*math.Pi*t/310))/(6.38e6*math.Cos(w.lat0)),
		Height: 45 + 1.2*math.Sin(2*math.Pi*t/8),
	}
}

func (w world) attitude(t float64) frame.Attitude {
	return frame.Attitude{
		Heading: 0.8 + 0.4*math.Sin(2*math.Pi*t/240),
		Pitch:   0.02 + 0.05*math.Sin(2*math.Pi*t/7),
		Roll:    -0.03 + 0.12*math.Sin(2*math.Pi*t/9+1),
	}
}

func (w world) ecef(t float64) r3.Vec         { return w.position(t).ECEF() }
func (w world) ecefVelocity(t float64) r3.Vec { return deriv.OfVec(w.ecef, t, 0.1) }
func (w world) ecefAcceleration(t float64) r3.Vec {
	return deriv.OfVec(w.ecefVelocity, t, 0.1)
}

func (w world) state(t float64) State {
	l := geo.LocalAt(w.position(t))
	return State{Position: w.position(t), Velocity: l.FromECEF(w.ecefVelocity(t)), Acceleration: l.FromECEF(w.ecefAcceleration(t)), Attitude: w.attitude(t)}
}

// quick is state without numbers differentiated twice, fast enough for many seeds.
func (w world) quick(t float64) State {
	const h = 0.05
	a, b, c := w.ecef(t-h), w.ecef(t), w.ecef(t+h)
	l := geo.LocalAt(w.position(t))
	return State{
		Position: w.position(t), Attitude: w.attitude(t),
		Velocity:     l.FromECEF(r3.Scale(1/(2*h), r3.Sub(c, a))),
		Acceleration: l.FromECEF(r3.Scale(1/(h*h), r3.Add(r3.Sub(a, b), r3.Sub(c, b)))),
	}
}

// body returns the axes of the vessel in ECEF.
func (w world) body(t float64) (right, forward, up r3.Vec) {
	l, c := geo.LocalAt(w.position(t)), w.attitude(t).Rotation()
	return l.ToECEF(c.Apply(r3.Vec{X: 1})), l.ToECEF(c.Apply(r3.Vec{Y: 1})), l.ToECEF(c.Apply(r3.Vec{Z: 1}))
}

// earthECEF is the rate of the Earth along its own axes.
func earthECEF() r3.Vec {
	e := geo.EarthRate(0)
	return r3.Vec{Z: e.Y}
}

// gravity is normal gravity in ECEF.
func gravity(r r3.Vec) r3.Vec {
	p := geo.FromECEF(r)
	return geo.LocalAt(p).ToECEF(r3.Vec{Z: -geo.NormalGravity(p.Lat, p.Height)})
}

// sensors returns what ideal gyros and accelerometers read: ω over inertial space and f = a + 2Ω×v − g, along the body.
func (w world) sensors(t float64) (gyro, accel r3.Vec) {
	right, forward, up := w.body(t)
	along := func(v r3.Vec) r3.Vec { return r3.Vec{X: r3.Dot(v, right), Y: r3.Dot(v, forward), Z: r3.Dot(v, up)} }
	gyro = r3.Add(deriv.Rate(w.body, t, 0.1), along(earthECEF()))
	f := r3.Sub(r3.Add(w.ecefAcceleration(t), r3.Scale(2, r3.Cross(earthECEF(), w.ecefVelocity(t)))), gravity(w.ecef(t)))
	return gyro, along(f)
}

// A strapdown is a full navigator in ECEF, the other way to the errors: not linear, and in another frame.
type strapdown struct {
	r, v r3.Vec
	c    [3]r3.Vec // right, forward, up in ECEF
}

func (s strapdown) plus(h float64, d strapdown) strapdown {
	s.r, s.v = r3.Add(s.r, r3.Scale(h, d.r)), r3.Add(s.v, r3.Scale(h, d.v))
	for i := range s.c {
		s.c[i] = r3.Add(s.c[i], r3.Scale(h, d.c[i]))
	}
	return s
}

func (s strapdown) rate(gyro, accel r3.Vec) strapdown {
	turn := func(v r3.Vec) r3.Vec {
		return r3.Add(r3.Add(r3.Scale(v.X, s.c[0]), r3.Scale(v.Y, s.c[1])), r3.Scale(v.Z, s.c[2]))
	}
	w := r3.Sub(turn(gyro), earthECEF()) // of the body over the Earth
	d := strapdown{r: s.v, v: r3.Add(r3.Sub(turn(accel), r3.Scale(2, r3.Cross(earthECEF(), s.v))), gravity(s.r))}
	for i := range d.c {
		d.c[i] = r3.Cross(w, s.c[i])
	}
	return d
}

// offs is what a navigator begins with: biases, and errors of position (m north), velocity (m/s east) and heading (rad).
type offs struct {
	gyro, accel           r3.Vec
	north, east, headingU float64
}

// navigate runs a strapdown with what is off from time 0, and returns the error at until.
func (w world) navigate(o offs, until, h float64) (position, velocity r3.Vec, heading, pitch, roll float64) {
	begin := w.position(0)
	begin.Lat += o.north / (geo.MeridianRadius(begin.Lat) + begin.Height)
	v, a, local := w.state(0).Velocity, w.attitude(0), geo.LocalAt(begin)
	v.X += o.east
	a.Heading += o.headingU
	s := strapdown{r: begin.ECEF(), v: local.ToECEF(v)}
	for i, axis := range [...]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		s.c[i] = local.ToECEF(a.Rotation().Apply(axis))
	}
	type reading struct{ gyro, accel r3.Vec }
	read := func(t float64) reading {
		g, a := w.sensors(t)
		return reading{r3.Add(g, o.gyro), r3.Add(a, o.accel)}
	}
	last := read(0)
	for i := range int(math.Round(until / h)) {
		t := float64(i) * h
		middle, next := read(t+h/2), read(t+h)
		k1 := s.rate(last.gyro, last.accel)
		k2 := s.plus(h/2, k1).rate(middle.gyro, middle.accel)
		k3 := s.plus(h/2, k2).rate(middle.gyro, middle.accel)
		k4 := s.plus(h, k3).rate(next.gyro, next.accel)
		s = s.plus(h/6, k1).plus(h/3, k2).plus(h/3, k3).plus(h/6, k4)
		last = next
	}
	trueAt, at := w.position(until), geo.FromECEF(s.r)
	k := metres(trueAt)
	position = r3.Vec{X: (at.Lon - trueAt.Lon) * geo.SemiMajorM * k.X, Y: (at.Lat - trueAt.Lat) * geo.SemiMajorM * k.Y, Z: at.Height - trueAt.Height}
	l := geo.LocalAt(at)
	velocity = r3.Sub(l.FromECEF(s.v), w.state(until).Velocity)
	x, y, z := l.FromECEF(s.c[0]), l.FromECEF(s.c[1]), l.FromECEF(s.c[2])
	got := frame.FromMatrix([9]float64{x.X, y.X, z.X, x.Y, y.Y, z.Y, x.Z, y.Z, z.Z}).Attitude()
	a = w.attitude(until)
	return position, velocity, frame.AngleDiff(got.Heading, a.Heading), got.Pitch - a.Pitch, got.Roll - a.Roll
}
