package gnss

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// A glance is what holds for one second, one span and one rung: the sky, and the nodes of the noise at both its ends.
type glance struct {
	view  view
	shape shape
	nodes [2][8]float64 // position, velocity, heading, elevation of the baseline
}

type cacheKey struct {
	second int64
	span   int
	rung   rung
}

const cacheSlots = 64 // a power of two

// A cache keeps copies of glances. Each depends on its key alone, so that it does not matter which are kept.
type cache [cacheSlots]struct {
	sync.Mutex
	full   bool
	key    cacheKey
	glance glance
}

// glance gives what holds at t, from the cache or worked out.
func (r *Receiver) glance(t float64, i int, st rung) glance {
	key := cacheKey{int64(math.Floor(t)), i, st}
	slot := &r.cache[uint64(key.second*int64(rungs)+int64(st)+31*int64(i))%cacheSlots]
	slot.Lock()
	if slot.full && slot.key == key {
		g := slot.glance
		slot.Unlock()
		return g
	}
	slot.Unlock()
	g := r.work(key)
	slot.Lock()
	slot.full, slot.key, slot.glance = true, key, g
	slot.Unlock()
	return g
}

// work works a glance out.
func (r *Receiver) work(key cacheKey) glance {
	sp := &r.spans[key.span]
	g := glance{view: r.look(r.sample(float64(key.second)), sp, nil)}
	if h := r.spec.HDOP; h != nil && g.view.ok && !sp.disturbed() {
		g.view.geometry = g.view.geometry.scale(*h / g.view.geometry.DOP.Horizontal)
	}
	g.shape = g.view.geometry.shape()
	if n := r.noise[key.rung]; n != nil {
		k := int(key.second)
		for axis, p := range n {
			g.nodes[0][axis], g.nodes[1][axis] = p.pair(k)
		}
		for i, p := range r.turn {
			axis := len(n) + i
			g.nodes[0][axis], g.nodes[1][axis] = p.pair(k)
		}
	}
	return g
}

// noise is the noise of one rung: position and velocity, three axes each.
type noise [6]*process

// noiseParts names the random numbers of each rung.
var noiseParts = [rungs]string{
	autonomous: "gnss/autonomous", precise: "gnss/precise", differential: "gnss/differential", float: "gnss/float", fixed: "gnss/fixed",
}

func newNoise(seed uint64, st rung, correlationS float64) *noise {
	var n noise
	for i, axis := range []string{"/position-1", "/position-2", "/position-3"} {
		n[i] = newProcess(seed, noiseParts[st]+axis, correlationS)
	}
	for i, axis := range []string{"/velocity-1", "/velocity-2", "/velocity-3"} {
		n[3+i] = newProcess(seed, noiseParts[st]+axis, velocityTauS)
	}
	return &n
}

// position is three independent numbers of unit variance at the fraction f of a second.
func (n *noise) position(g *glance, f float64) r3.Vec { return n.axes(g, 0, f) }

// velocity is the same for the velocity.
func (n *noise) velocity(g *glance, f float64) r3.Vec { return n.axes(g, 3, f) }

func (n *noise) axes(g *glance, i int, f float64) r3.Vec {
	return r3.Vec{
		X: n[i].between(g.nodes[0][i], g.nodes[1][i], f),
		Y: n[i+1].between(g.nodes[0][i+1], g.nodes[1][i+1], f),
		Z: n[i+2].between(g.nodes[0][i+2], g.nodes[1][i+2], f),
	}
}
