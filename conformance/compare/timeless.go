package compare

import (
	"math"
)

// A candidate is what the residuals of a group would be if its values were those of the epoch at t.
type candidate struct {
	t     float64
	speed float64 // over ground, m/s
	d     [NQ]float64
	want  [NQ]float64
}

// Window is the span of scenario time about t in which a timeless message of the kind, stamped t, may be valid, s.
func (c *Comparer) Window(k *Kind, t float64) (from, until float64) {
	from = t - k.DelayS - c.HostSlackS - c.Declared.TimeS.Or(0)
	until = t + c.step
	if c.step == 0 {
		until = t + c.HostSlackS
	}
	return from, until + c.StampToleranceS
}

// timeless judges the quantities whose message carries no time, those of one kind together: they are of one instant.
func (c *Comparer) timeless(r *Row, s *selection) {
	var open [NQ]bool
	some := false
	for q := range NQ {
		open[q] = s.leader[q] != nil && r.Values[q].State == Absent && r.fields[q].Said()
		some = some || open[q]
	}
	if !some {
		return
	}
	for _, k := range s.leaders {
		var group [NQ]bool
		some = false
		for q := range NQ {
			group[q] = open[q] && s.leader[q] == k
			some = some || group[q]
		}
		if some {
			c.group(r, s, k, &group)
		}
	}
}

func fastest(ks []*Kind) *Kind {
	best := ks[0]
	for _, k := range ks[1:] {
		if k.Rate > best.Rate {
			best = k
		}
	}
	return best
}

// group judges the quantities of one kind of message.
func (c *Comparer) group(r *Row, s *selection, k *Kind, group *[NQ]bool) {
	t := r.T
	m := c.moment(t)
	tol := c.tolerances(m, r.Point, s)
	from, until := c.Window(k, t)
	if k.Rate < 1/max(c.step, 1e-9)*(1-1e-9) { // held until the next one comes
		if e, ok := k.before(int(math.Floor(t*k.Rate + 1e-6))); ok {
			from = min(from, k.At(e)-1e-6)
		}
	}

	// The value at the stamp itself, which is right for a consumer that stamps by epoch or interpolates.
	all := true
	for q := range NQ {
		if !group[q] {
			continue
		}
		v := &r.Values[q]
		m = c.moment(t) // again: others may have been asked for
		if _, ok := r.fields[q].Value(); !ok {
			switch {
			case !m.own(q):
				v.State = NullRight
			case c.delivered(q, r.Point, m, s):
				v.State = NullShown
			default:
				v.State = Unjudged
			}
			group[q] = false
			continue
		}
		if !m.own(q) {
			c.silent(r, q, s, from, until)
			group[q] = false
			continue
		}
		d, want, ok := c.diff(q, r, m)
		if !ok {
			v.State = Unjudged
			group[q] = false
			continue
		}
		v.State, v.T, v.Expected, v.Diff, v.Tolerance, v.Parts = Judged, t, want, d, tol.Total[q], &tol.Part[q]
		if q == Course {
			if c.course(r, tol, m.reading.SpeedMS.Or(0)); v.State != Judged {
				group[q] = false
				continue
			}
		}
		all = all && !v.Beyond()
	}
	carriers := c.carriersOf(s, group)
	missing := c.missingAt(carriers, k, t)
	if all && !missing {
		return
	}

	slowest := c.moment(t).reading.SpeedMS.Or(0)
	list, gap := c.candidates(r, carriers, k, from, until, group)
	if group[Course] && !all { // its tolerance is that of the slowest of them
		for i := range list {
			slowest = min(slowest, list[i].speed)
		}
		if c.course(r, tol, slowest); r.Values[Course].State != Judged {
			group[Course] = false
		}
	}
	if !all {
		c.best(r, list, group, until-from)
	}
	for q := range NQ {
		v := &r.Values[q]
		if !group[q] || v.State != Judged {
			continue
		}
		if gap {
			c.hurtTimeless(r, q, carriers, k, from, until, list)
		}
		if v.State == Judged {
			c.lenient(q, v, c.moment(t), tol, s)
		}
	}
}

// carriersOf is the messages that carry the first quantity of a group, and with it the others.
func (c *Comparer) carriersOf(s *selection, group *[NQ]bool) []*Kind {
	for q := range NQ {
		if group[q] {
			return s.carriers[q]
		}
	}
	return nil
}

// goodAt tells whether the message of an epoch of k, or another that carries the same at the same time, reached the
// line as it should.
func goodAt(carriers []*Kind, k *Kind, e int) bool {
	if k.good.Has(e) {
		return true
	}
	for _, other := range carriers {
		if x, off := other.Nearest(k.At(e)); other != k && math.Abs(off) <= 1e-6 && other.good.Has(x) {
			return true
		}
	}
	return false
}

// missingAt tells whether the messages at t were all hurt or lost.
func (c *Comparer) missingAt(carriers []*Kind, k *Kind, t float64) bool {
	e, off := k.Nearest(t)
	return math.Abs(off) <= c.StampToleranceS && e >= 0 && e < k.epochs && !goodAt(carriers, k, e)
}

// candidates lists the good epochs of a kind within a window, in order. gap: some epoch within is not good; then the
// good ones beside the window are on the list too.
func (c *Comparer) candidates(r *Row, carriers []*Kind, k *Kind, from, until float64, group *[NQ]bool) (list []candidate, gap bool) {
	const most = 512
	c.near = c.near[:0]
	first, last := int(math.Ceil(from*k.Rate-1e-6)), int(math.Floor(until*k.Rate+1e-6))
	first, last = max(first, 0), min(last, k.epochs-1)
	first = max(first, last-most)
	for e := first; e <= last; e++ {
		gap = gap || !goodAt(carriers, k, e)
	}
	if gap {
		if e, ok := k.before(first - 1); ok {
			c.candidate(r, k.At(e), group)
		}
	}
	for e := first; e <= last; e++ {
		if goodAt(carriers, k, e) {
			c.candidate(r, k.At(e), group)
		}
	}
	if gap {
		if e, ok := k.after(last + 1); ok {
			c.candidate(r, k.At(e), group)
		}
	}
	return c.near, gap
}

func (c *Comparer) candidate(r *Row, t float64, group *[NQ]bool) {
	m := c.moment(t)
	x := candidate{t: t, speed: m.reading.SpeedMS.Or(0)}
	for q := range NQ {
		if !group[q] {
			continue
		}
		d, want, ok := c.diff(q, r, m)
		if !ok {
			return
		}
		x.d[q], x.want[q] = d, want
	}
	c.near = append(c.near, x)
}

// best takes the smallest residuals over the candidates and what lies between neighbours: of all quantities of the
// group at one instant if they fit one, else of each by itself.
func (c *Comparer) best(r *Row, list []candidate, group *[NQ]bool, window float64) {
	worst := func(x *candidate) float64 {
		w := 0.0
		for q := range NQ {
			if group[q] {
				w = max(w, math.Abs(x.d[q])/r.Values[q].Tolerance)
			}
		}
		return w
	}
	var joint candidate
	least := math.Inf(1)
	for i := range list {
		if w := worst(&list[i]); w < least {
			joint, least = list[i], w
		}
		if i == 0 {
			continue
		}
		for q := range NQ { // where one of them is nil between two epochs
			if !group[q] {
				continue
			}
			if x, ok := between(&list[i-1], &list[i], q, group); ok {
				if w := worst(&x); w < least {
					joint, least = x, w
				}
			}
		}
	}
	take := func(q Q, x *candidate) {
		v := &r.Values[q]
		if v.WindowS = window; math.Abs(x.d[q]) < math.Abs(v.Diff) {
			v.Diff, v.Expected, v.T = x.d[q], x.want[q], x.t
		}
	}
	if least <= 1 {
		for q := range NQ {
			if group[q] {
				take(q, &joint)
			}
		}
		return
	}
	for q := range NQ {
		if !group[q] {
			continue
		}
		if v := &r.Values[q]; !v.Beyond() {
			continue
		}
		for i := range list {
			take(q, &list[i])
			if i > 0 {
				if x, ok := between(&list[i-1], &list[i], q, group); ok {
					take(q, &x)
				}
			}
		}
	}
}

// between is the point between two candidates at which the residual of q is nil, as it changes linearly.
func between(a, b *candidate, q Q, group *[NQ]bool) (candidate, bool) {
	if !(a.d[q]*b.d[q] < 0) || math.Abs(a.d[q]-b.d[q]) > math.Pi && quantities[q].cyclic {
		return candidate{}, false
	}
	f := a.d[q] / (a.d[q] - b.d[q])
	x := candidate{t: a.t + f*(b.t-a.t)}
	for p := range NQ {
		if group[p] {
			x.d[p] = a.d[p] + f*p.diff(b.d[p], a.d[p])
			x.want[p] = a.want[p] + f*p.diff(b.want[p], a.want[p])
		}
	}
	x.d[q] = 0
	return x, true
}

// hurtTimeless compares a value near a hurt or lost message with what a consumer may go on from.
func (c *Comparer) hurtTimeless(r *Row, q Q, carriers []*Kind, k *Kind, from, until float64, list []candidate) {
	v := &r.Values[q]
	first, last := max(0, int(math.Ceil(from*k.Rate-1e-6))), min(k.epochs-1, int(math.Floor(until*k.Rate+1e-6)))
	if e, off := k.Nearest(r.T); math.Abs(off) <= c.StampToleranceS {
		if goodAt(carriers, k, e) && !v.Beyond() {
			return // the epoch that the stamp says came as it should, and fits
		}
		if !goodAt(carriers, k, e) {
			first, last = e, e
		}
	}
	held := math.Inf(1) // how far the value is from the good ones about it, and from all between them
	for i := range list {
		held = min(held, math.Abs(list[i].d[q]))
		if i > 0 && list[i-1].d[q]*list[i].d[q] < 0 {
			if x, ok := between(&list[i-1], &list[i], q, &[NQ]bool{}); ok && x.d[q] == 0 {
				held = 0
			}
		}
	}
	v.Wrong = held > v.Tolerance
	for e := first; e <= last; e++ {
		if goodAt(carriers, k, e) {
			continue
		}
		d, _, ok := c.diff(q, r, c.moment(k.At(e)))
		if !ok {
			continue
		}
		v.State, v.Hurt = Unjudged, true
		said, _ := c.word(q, r, c.moment(k.At(e)))
		x := Value{Diff: said, Tolerance: v.Tolerance}
		ways := c.ways(r, q, k, e)
		for i := range list { // or simply that of another epoch in the window
			if ways != nil {
				ways = append(ways, q.diff(list[i].d[q], d))
			}
		}
		c.telling(&x, ways, k, e)
		v.Telling = v.Telling || x.Telling
		v.Fresh = v.Fresh || x.Fresh
		age := 1 / k.Rate
		if last, ok := k.before(e - 1); ok {
			age = k.At(e) - k.At(last)
		}
		if math.Abs(d) <= v.Tolerance+1.5*age*c.errors.maxRate[q] { // carried on from before, roughly
			v.Wrong = false
		}
		if k.spelledAt(e) && math.Abs(d) <= v.Tolerance {
			v.Wrong = false
		}
	}
	v.Wrong = v.Wrong && v.Hurt
}

// ways are the residuals, less that at epoch e, of the values a consumer could have instead of the one at e: the last
// one, one between the neighbours, one carried on from the last two.
func (c *Comparer) ways(r *Row, q Q, k *Kind, e int) []float64 {
	at := func(e int) (float64, float64, bool) {
		d, ok := c.word(q, r, c.moment(k.At(e)))
		return d, k.At(e), ok
	}
	here, t, ok := at(e)
	last, ok1 := k.before(e - 1)
	if !ok || !ok1 {
		return nil
	}
	kept, t0, ok := at(last)
	if !ok {
		return nil
	}
	ways := []float64{q.diff(kept, here)}
	if next, ok := k.after(e + 1); ok {
		if ahead, t1, ok := at(next); ok {
			f := (t - t0) / (t1 - t0)
			ways = append(ways, q.diff(ahead, here), q.diff(kept, here)+f*q.diff(ahead, kept))
		}
	}
	if first, ok := k.before(last - 1); ok {
		if earlier, t1, ok := at(first); ok {
			ways = append(ways, q.diff(kept, here)+(t-t0)/(t0-t1)*q.diff(kept, earlier))
		}
	}
	return ways
}
