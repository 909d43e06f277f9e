package inertial

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"
)

// An Outage is a time without GNSS: From ≤ t < Until, in s of scenario time.
type Outage struct {
	From, Until float64
	HeadingOnly bool   // only the heading has nothing to lean on, as with the secondary antenna lost
	Start       *Start // what the aided device was off by at the loss, so that nothing jumps there; nil: as the Spec says
}

// A Start is what the aided device was off by at the moment of loss, and the 1 sigma it had for that.
type Start struct {
	PositionENU, VelocityENU     r3.Vec  // m, m/s; the velocity adds to that of the Spec
	PositionSigma, VelocitySigma r3.Vec  // m, m/s
	Heading, HeadingSigma        float64 // rad; in place of that of the Spec
}

const maxOutageS = 7 * 86400.0

// A Navigator knows the drift at any scenario time. Make one with [New]; it may be shared.
//
// All outages are integrated when it is made, at steps of 0.5 s (1 s in outages of more than 2 hours) from the truth at
// the moment of loss on, and kept as nodes 1 s apart: at most 4096 an outage, farther apart in one of more than 68
// minutes. From node to node there is noise of its own from the seed; between nodes: Hermite. So any time may be asked
// for, in any order.
type Navigator struct {
	spec   Spec
	truth  func(t float64) State
	phases []*phase
	limit  float64 // sigma of a valid heading
}

// A phase is a stretch of one kind of outage.
type phase struct {
	Outage
	follows  bool // on another phase, without GNSS between
	lastFull int  // the last phase of full outage up to this, or -1
	spacing  float64
	nodes    []node
	end      raw // at Until
}

// New integrates full outages, given as from and until in s of scenario time. See [NewWith].
func New(spec Spec, truth func(t float64) State, outages [][2]float64, seed uint64) (*Navigator, error) {
	all := make([]Outage, len(outages))
	for i, o := range outages {
		all[i] = Outage{From: o[0], Until: o[1]}
	}
	return NewWith(spec, truth, all, seed)
}

// NewWith integrates outages of both kinds, in any order; where they overlap a full one counts. Truth is asked from up
// to a minute before the loss (what the sensor levelled itself in) to a little after the return, and by [Navigator.At].
func NewWith(spec Spec, truth func(t float64) State, outages []Outage, seed uint64) (*Navigator, error) {
	var errs []error
	for _, p := range spec.Validate() {
		errs = append(errs, errors.New("inertial: "+p.Path+": "+p.Text))
	}
	for _, o := range outages {
		switch length := o.Until - o.From; {
		case !(math.Abs(o.From) < 1e9):
			errs = append(errs, fmt.Errorf("inertial: outage from %g s; allowed: a time within 30 years", o.From))
		case !(length > 0):
			errs = append(errs, fmt.Errorf("inertial: outage from %g s until %g s; allowed: until after from", o.From, o.Until))
		case length > maxOutageS:
			errs = append(errs, fmt.Errorf("inertial: outage of %g s; allowed: at most 7 days", length))
		}
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	n := &Navigator{spec: spec, truth: truth, phases: phasesOf(outages), limit: float64(spec.HeadingLimit)}
	if n.limit == 0 {
		n.limit = 5 * degree
	}
	in := newIntegrator(spec, truth, seed)
	for i, p := range n.phases {
		n.integrate(in, i, p)
	}
	return n, nil
}

// phasesOf cuts outages into stretches of one kind, in order.
func phasesOf(outages []Outage) []*phase {
	var edges []float64
	for _, o := range outages {
		edges = append(edges, o.From, o.Until)
	}
	sort.Float64s(edges)
	var phases []*phase
	for i := 1; i < len(edges); i++ {
		from, until := edges[i-1], edges[i]
		if from == until {
			continue
		}
		var here *Outage
		for k := range outages {
			if o := &outages[k]; o.From <= from && o.Until >= until && (here == nil || here.HeadingOnly && !o.HeadingOnly) {
				here = o
			}
		}
		if here == nil {
			continue
		}
		var last *phase
		if len(phases) > 0 {
			last = phases[len(phases)-1]
		}
		if last != nil && last.Until == from && last.HeadingOnly == here.HeadingOnly {
			last.Until = until
			continue
		}
		p := &phase{Outage: *here, follows: last != nil && last.Until == from, lastFull: -1}
		if p.From = from; here.From != from {
			p.Start = nil // it was used where the outage began
		}
		p.Until = until
		if last != nil {
			p.lastFull = last.lastFull
		}
		if !p.HeadingOnly {
			p.lastFull = len(phases)
		}
		phases = append(phases, p)
	}
	return phases
}

// integrate fills phase number i.
func (n *Navigator) integrate(in *integrator, i int, p *phase) {
	in.begin(p, n.tail(i-1, p.From))
	length := p.Until - p.From
	p.spacing = math.Max(1, length/4096)
	longest := 0.5
	if length > 2*3600 {
		longest = 1
	}
	steps := int(math.Ceil(p.spacing/longest - 1e-9))
	count := int(math.Ceil(length/p.spacing - 1e-9))
	p.nodes = make([]node, 0, count+1)
	p.nodes = append(p.nodes, in.node())
	for k := range count {
		in.advance(p, k, p.From+float64(k)*p.spacing, p.spacing, steps)
		p.nodes = append(p.nodes, in.node())
	}
	p.end = p.at(p.Until)
}

// tail returns what is left at t of the errors of phase i, which is over, and of those before it.
func (n *Navigator) tail(i int, t float64) raw {
	if i < 0 {
		return raw{}
	}
	p := n.phases[i]
	r := p.end.only(false).fade(n.fading(t - p.Until))
	if p.lastFull >= 0 {
		f := n.phases[p.lastFull]
		level := f.end.only(true).fade(n.fading(t - f.Until))
		r = r.plus(level)
	}
	return r
}

// fading returns what is left of an error so long after GNSS came back.
func (n *Navigator) fading(since float64) float64 {
	if n.spec.Recovery == 0 {
		return 0
	}
	return math.Exp(-since / float64(n.spec.Recovery))
}
