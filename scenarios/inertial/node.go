package inertial

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/geo"
)

// A symmetric is a covariance of east, north, up.
type symmetric struct{ ee, nn, uu, en, eu, nu float64 }

func (s symmetric) plus(k float64, t symmetric) symmetric {
	return symmetric{s.ee + k*t.ee, s.nn + k*t.nn, s.uu + k*t.uu, s.en + k*t.en, s.eu + k*t.eu, s.nu + k*t.nu}
}

// along returns the standard deviation along v.
func (s symmetric) along(v r3.Vec) float64 {
	return math.Sqrt(math.Max(0, v.X*v.X*s.ee+v.Y*v.Y*s.nn+v.Z*v.Z*s.uu+2*(v.X*v.Y*s.en+v.X*v.Z*s.eu+v.Y*v.Z*s.nu)))
}

// scale returns the covariance of the components multiplied by those of k.
func (s symmetric) scale(k r3.Vec) symmetric {
	return symmetric{s.ee * k.X * k.X, s.nn * k.Y * k.Y, s.uu * k.Z * k.Z, s.en * k.X * k.Y, s.eu * k.X * k.Z, s.nu * k.Y * k.Z}
}

// raw is the part of the states that is reported, with its covariances: φ, δv and (a·δλ, a·δL, δh).
type raw struct {
	tilt, velocity, position          r3.Vec
	tiltCov, velocityCov, positionCov symmetric
}

func (r raw) plus(s raw) raw {
	return raw{
		r3.Add(r.tilt, s.tilt), r3.Add(r.velocity, s.velocity), r3.Add(r.position, s.position),
		r.tiltCov.plus(1, s.tiltCov), r.velocityCov.plus(1, s.velocityCov), r.positionCov.plus(1, s.positionCov),
	}
}

// fade multiplies all errors by k.
func (r raw) fade(k float64) raw {
	q := r3.Vec{X: k, Y: k, Z: k}
	return raw{
		r3.Scale(k, r.tilt), r3.Scale(k, r.velocity), r3.Scale(k, r.position),
		r.tiltCov.scale(q), r.velocityCov.scale(q), r.positionCov.scale(q),
	}
}

// only keeps the level part (position, velocity, tilt), or the heading.
func (r raw) only(level bool) raw {
	if level {
		keep := r3.Vec{X: 1, Y: 1}
		r.tilt.Z, r.tiltCov = 0, r.tiltCov.scale(keep)
		return r
	}
	return raw{tilt: r3.Vec{Z: r.tilt.Z}, tiltCov: symmetric{uu: r.tiltCov.uu}}
}

// A node is raw at one time of the grid, with the rate of the position.
type node struct {
	raw
	rate r3.Vec
}

// at returns what phase p knows at t, which lies in it: Hermite between nodes, with the rates of the position as they
// are and those of velocity and tilt from the neighbours, since noise has none; covariances linearly.
func (p *phase) at(t float64) raw {
	x := (t - p.From) / p.spacing
	i := max(0, min(int(x), len(p.nodes)-2))
	f := x - float64(i)
	a, b := &p.nodes[i], &p.nodes[i+1]
	h := p.spacing
	r := raw{
		tilt:        hermite(f, a.tilt, b.tilt, p.slope(i, tiltOf), p.slope(i+1, tiltOf)),
		velocity:    hermite(f, a.velocity, b.velocity, p.slope(i, velocityOf), p.slope(i+1, velocityOf)),
		position:    hermite(f, a.position, b.position, r3.Scale(h, a.rate), r3.Scale(h, b.rate)),
		tiltCov:     a.tiltCov.scale1(1-f).plus(f, b.tiltCov),
		velocityCov: a.velocityCov.scale1(1-f).plus(f, b.velocityCov),
		positionCov: a.positionCov.scale1(1-f).plus(f, b.positionCov),
	}
	if p.HeadingOnly {
		return r.only(false) // GNSS keeps the rest
	}
	return r
}

func (s symmetric) scale1(k float64) symmetric { return symmetric{}.plus(k, s) }

func tiltOf(n *node) r3.Vec     { return n.tilt }
func velocityOf(n *node) r3.Vec { return n.velocity }

// slope returns the rate of what pick picks at node i, for one spacing: that of the parabola through the nearest nodes.
func (p *phase) slope(i int, pick func(*node) r3.Vec) r3.Vec {
	last := len(p.nodes) - 1
	v := func(k int) r3.Vec { return pick(&p.nodes[k]) }
	switch {
	case last < 2:
		return r3.Sub(v(last), v(0))
	case i == 0:
		return r3.Sub(r3.Scale(2, v(1)), r3.Add(r3.Scale(1.5, v(0)), r3.Scale(0.5, v(2))))
	case i == last:
		return r3.Sub(r3.Add(r3.Scale(1.5, v(last)), r3.Scale(0.5, v(last-2))), r3.Scale(2, v(last-1)))
	}
	return r3.Scale(0.5, r3.Sub(v(i+1), v(i-1)))
}

// hermite returns the cubic from a to b with the slopes da and db, at 0 ≤ f ≤ 1.
func hermite(f float64, a, b, da, db r3.Vec) r3.Vec {
	g := 1 - f
	return r3.Add(
		r3.Add(r3.Scale((1+2*f)*g*g, a), r3.Scale(f*f*(3-2*f), b)),
		r3.Sub(r3.Scale(f*g*g, da), r3.Scale(f*f*g, db)))
}

// metres returns how many m east, north, up the position states are at p.
func metres(p geo.Position) r3.Vec {
	return r3.Vec{
		X: (geo.PrimeVerticalRadius(p.Lat) + p.Height) * math.Max(math.Cos(p.Lat), 1e-6) / geo.SemiMajorM,
		Y: (geo.MeridianRadius(p.Lat) + p.Height) / geo.SemiMajorM,
		Z: 1,
	}
}
