package heave

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
)

// A Motion is what goes through the filter: surge, sway and heave of one point, in m, with the signs of package frame.
type Motion struct{ SurgeM, SwayM, HeaveM float64 }

func (m Motion) plus(k float64, n Motion) Motion {
	return Motion{m.SurgeM + k*n.SurgeM, m.SwayM + k*n.SwayM, m.HeaveM + k*n.HeaveM}
}

// An Output is the filtered motion of one point at any scenario time. It may be shared.
//
// The filter has run since long before the scenario: what one asks for first does not matter. What is lost to the slow
// part of the filter is followed, z = (1−H)·u, and taken from the true motion u, so that short waves, which hardly enter
// z, cost no accuracy. z is integrated exactly, by the exponential of its matrix, for the polynomial of the fifth degree
// through six values of u at steps of 0.1 s (a hundredth of the cut-off period if that is less): waves of 2 s and more
// come out right to 1e-6 of their amplitude.
//
// Time is cut into blocks at fixed places. Each block is worked out anew after a warm-up of 20 time constants of the
// slowest pole, which leaves 2e-9 of the motion before it (documented bound: 1e-6), and kept until a block of the same
// parity is asked for. In order, each second of scenario time costs some 20 evaluations of the truth (30 for delayed
// heave) and a call allocates nothing; a jump costs a block: 4.5 (order 2) to 6.4 (order 3) cut-off periods twice, three
// times for delayed heave.
type Output struct {
	filter   Filter
	signal   func(t float64) Motion
	step     float64 // between nodes, s
	first    int     // the node at which the filter was switched on
	block    int     // nodes of a block, and of the warm-up
	n        int     // states
	phi      [3][3]float64
	gain     [window][3]float64 // what each value of u does to the states in one step
	readout  [3]float64
	mu       sync.Mutex
	blocks   [2][2]block // real-time, delayed
	filtered []Motion    // forward pass of the block in work, from its first node on
}

// A block holds the part of the motion that the filter takes away, at its nodes and margins beyond both ends.
type block struct {
	number int
	taken  []Motion
}

// A step from node 0 to 1 uses the nodes -before … +after; so does what lies between nodes 0 and 1.
const (
	before = 2
	after  = 3
	window = before + 1 + after
)

// NewOutput returns the output of the filter for the motion that signal gives at any time, in s, also before time 0 and
// after the end. Signal is called by whoever asks, must be safe for several goroutines and must not ask the Output.
func NewOutput(f Filter, signal func(t float64) Motion) *Output {
	return newOutput(f, signal, math.MinInt)
}

// NewOutputFrom returns the output of a filter that was switched on at the time start, in s (rounded up to the next
// 0.1 s or so), with nothing in its memory. Before it, it puts out zero. Delayed heave ignores the start.
func NewOutputFrom(f Filter, signal func(t float64) Motion, start float64) *Output {
	o := newOutput(f, signal, math.MinInt)
	if f.order != 0 && math.Abs(start) < maxTimeS {
		o.first = int(math.Ceil(start/o.step - 1e-9))
	}
	return o
}

const maxTimeS = 1e9 // beyond it nodes lose their digits

func newOutput(f Filter, signal func(t float64) Motion, first int) *Output {
	o := &Output{filter: f, signal: signal, first: first}
	if f.order == 0 {
		return o
	}
	o.n = f.order
	o.step = math.Min(0.1, f.periodS/100)
	slowest := map[int]float64{2: f.omega() / math.Sqrt2, 3: f.omega() / 2}[f.order] // real part of the pole, 1/s
	o.block = int(math.Ceil(20 / (slowest * o.step)))
	o.discretise()
	return o
}

// discretise works out one step of z = (1−H)·u in companion form, in units of 1/ωc of time:
//
//	x' = A·x + B·u, z = a·x; H = sⁿ/(sⁿ + … + a₀) makes 1−H = (a₀ + a₁s + …)/(sⁿ + … + a₀)
//
// so x(h) = exp(A·h)·x(0) + Σ u_j·∫ exp(A·(h−s))·B·l_j(s) ds with the Lagrange polynomials l_j of the six nodes.
func (o *Output) discretise() {
	a := polynomials[o.filter.order]
	copy(o.readout[:], a)
	h := o.filter.omega() * o.step
	companion := mat.NewDense(o.n, o.n, nil)
	for i := range o.n {
		if i+1 < o.n {
			companion.Set(i, i+1, 1)
		}
		companion.Set(o.n-1, i, -a[i])
	}
	power := func(x float64) *mat.Dense {
		var m, e mat.Dense
		m.Scale(x, companion)
		e.Exp(&m)
		return &e
	}
	whole := power(h)
	for i := range o.n {
		for j := range o.n {
			o.phi[i][j] = whole.At(i, j)
		}
	}
	var x, w [12]float64
	quad.Legendre{}.FixedLocations(x[:], w[:], 0, 1)
	for k := range x {
		e, l := power(h*(1-x[k])), lagrange(x[k])
		for j := range window {
			for i := range o.n {
				o.gain[j][i] += h * w[k] * l[j] * e.At(i, o.n-1)
			}
		}
	}
}

// lagrange returns the weights of the nodes -before … after for a value at x, which is best in 0 ≤ x ≤ 1.
func lagrange(x float64) [window]float64 {
	var l [window]float64
	for j := range l {
		p := 1.0
		for m := range l {
			if m != j {
				p *= (x - float64(m-before)) / float64(j-m)
			}
		}
		l[j] = p
	}
	return l
}

// At returns real-time motion at scenario time t, in s. NaN where t is no time within 30 years of the start.
func (o *Output) At(t float64) Motion { return o.at(t, 0) }

// Delayed returns delayed motion at the time t of its validity, in s, which the device knows some minutes later.
func (o *Output) Delayed(t float64) Motion { return o.at(t, 1) }

func (o *Output) at(t float64, kind int) Motion {
	if !(math.Abs(t) < maxTimeS) {
		return Motion{math.NaN(), math.NaN(), math.NaN()}
	}
	u := o.signal(t)
	if o.filter.order == 0 {
		return u
	}
	node := int(math.Floor(t / o.step))
	if kind == 0 && t < float64(o.first)*o.step {
		return Motion{}
	}
	number := node / o.block
	if node%o.block < 0 {
		number--
	}
	if kind == 0 && node < o.first+before {
		node = o.first + before // z has a kink where the filter was switched on
	}
	l := lagrange(t/o.step - float64(node))
	o.mu.Lock()
	defer o.mu.Unlock()
	b := &o.blocks[kind][number&1]
	if b.taken == nil || b.number != number {
		o.fill(b, number, kind)
	}
	at := node - number*o.block
	for j := range l {
		u = u.plus(-l[j], b.taken[at+j])
	}
	return u
}

// fill works out a block.
func (o *Output) fill(b *block, number, kind int) {
	if b.taken == nil {
		b.taken = make([]Motion, o.block+window+before)
	}
	b.number = number
	from := number*o.block - before // of what is kept
	until := from + len(b.taken)
	if kind == 0 {
		r := runner{Output: o, next: max(from-o.block, o.first), read: func(j int) Motion { return o.signal(float64(j) * o.step) }}
		r.start()
		for j := range b.taken { // before it was switched on the filter has taken nothing
			b.taken[j] = Motion{}
		}
		for ; r.next < until; r.advance() {
			if r.next >= from {
				b.taken[r.next-from] = r.z()
			}
		}
		return
	}
	// Forward from a warm-up before the block to another beyond it, with what the backward step looks at on top.
	begin, end := from-o.block, until+o.block+after
	size := end - (from - after)
	if cap(o.filtered) < size {
		o.filtered = make([]Motion, size)
	}
	w := o.filtered[:size] // of the nodes from-after …
	r := runner{Output: o, next: begin, read: func(j int) Motion { return o.signal(float64(j) * o.step) }}
	r.start()
	for ; r.next < end; r.advance() {
		z := r.z()
		if at := r.next - (from - after); at >= 0 {
			w[at] = r.u[before].plus(-1, z)
		}
		if r.next >= from && r.next < until {
			b.taken[r.next-from] = z
		}
	}
	// Backward: node j of the reversed time is node end-1-j.
	back := runner{Output: o, next: before, read: func(j int) Motion {
		if at := end - 1 - j - (from - after); at >= 0 {
			return w[at]
		}
		return Motion{} // not looked at by any step that counts
	}}
	back.start()
	for ; back.next <= end-1-from; back.advance() {
		if j := end - 1 - back.next; j < until {
			b.taken[j-from] = b.taken[j-from].plus(1, back.z())
		}
	}
}

// A runner follows z from node to node.
type runner struct {
	*Output
	read func(node int) Motion
	next int            // the node that x and u are of
	x    [3]Motion      // states
	u    [window]Motion // at the nodes next-before … next+after
}

func (r *runner) start() {
	for j := range r.u {
		r.u[j] = r.read(r.next - before + j)
	}
}

func (r *runner) z() Motion {
	var z Motion
	for i := range r.n {
		z = z.plus(r.readout[i], r.x[i])
	}
	return z
}

func (r *runner) advance() {
	var x [3]Motion
	for i := range r.n {
		for j := range r.n {
			x[i] = x[i].plus(r.phi[i][j], r.x[j])
		}
		for j := range window {
			x[i] = x[i].plus(r.gain[j][i], r.u[j])
		}
	}
	r.x = x
	copy(r.u[:], r.u[1:])
	r.next++
	r.u[window-1] = r.read(r.next + after)
}
