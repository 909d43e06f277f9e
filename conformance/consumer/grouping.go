package consumer

import (
	"slices"
	"time"

	"swellbench/scenarios/opt"
)

// A grouper puts messages into epochs.
//
// Nothing in the format says where an epoch ends, so four things are looked at:
//
//  1. Silence on the line ends the epoch (see pace for how long).
//  2. A message with another time than the open epoch's begins a new one.
//  3. A message that says again what the open epoch has from its like begins a new one, unless both carry the same
//     time or it is a plain copy of the message before it.
//  4. Bursts come in one order, which is learnt. A message that belongs earlier in that order than the one before it
//     begins a new epoch, provisionally: where silence then shows that all came in one burst, and the pieces have
//     no kind in common, they are joined after all (the order of that burst was another one).
//
// With silences, the first is enough. Without them (a file, a line that is never idle) the second and third are
// enough while nothing is lost; the fourth keeps a lost message from pairing the rest with the wrong epoch. So the
// timed message may come first, last or in the middle.
type grouper struct {
	emit   func(*epoch)
	open   *epoch
	pieces []*epoch // that may belong before open: fewer than there are kinds
	order  []key    // of the messages of a burst, as learnt
	whole  bool     // a silence was seen: order was learnt from a whole burst
	cut    bool     // the stream began within a message, so perhaps within a burst
	recent [3][]key // what the last epochs held, for lacking
	ties   ties
	paused bool // a silence came that may have been the end of the burst
}

// sameTime is how far the times of two kinds of message of one epoch may differ, because they are printed with
// different numbers of decimals.
const sameTime = 5 * time.Millisecond

// add takes the next message.
func (g *grouper) add(m *message) {
	if g.cut && m.time.Has() { // the usual order: what carries the time leads
		g.finish()
		g.cut, g.order = false, nil
	}
	if g.open == nil {
		g.begin(m)
		return
	}
	prev := g.open.parts[len(g.open.parts)-1]
	k := m.key()
	same, differs := g.open.compareTime(m)
	if g.ties.sure() && !same && !differs {
		same, differs = g.open.compareMoment(m)
	}
	switch {
	case prev.key == k && prev.digest == m.digest && len(g.order) > 1: // a copy
	case differs, !same && g.open.has(k):
		g.finish()
		g.begin(m)
	case !same && g.paused && !g.before(prev.key, k): // the silence was the end
		g.finish()
		g.begin(m)
	case !same && g.before(k, prev.key):
		g.pieces = append(g.pieces, g.open)
		g.begin(m)
	default:
		g.learn(k, prev.key)
		g.open.add(m)
	}
}

// silence says that the line has been quiet for long enough: what came is whole.
func (g *grouper) silence() {
	for len(g.pieces) > 0 {
		last := len(g.pieces) - 1
		if !g.pieces[last].fits(g.open) {
			break
		}
		g.pieces[last].join(g.open)
		g.open, g.pieces = g.pieces[last], g.pieces[:last]
	}
	g.finish()
	if !g.whole { // the first burst may have been cut
		g.whole, g.cut, g.order = true, false, nil
	}
}

// pause says that the line has been quiet for long enough to end a burst, but the epoch is lacking: what comes next
// belongs to it if it comes later in the order, as after a stall of the host, and else shows that the burst was over.
func (g *grouper) pause() { g.paused = true }

func (g *grouper) begin(m *message) {
	g.paused = false
	if !slices.Contains(g.order, m.key()) {
		g.order = slices.Insert(g.order, 0, m.key())
	}
	g.open = new(epoch)
	g.open.add(m)
}

// finish sends out what there is.
func (g *grouper) finish() {
	for _, e := range g.pieces {
		g.send(e)
	}
	g.pieces = g.pieces[:0]
	if g.open != nil {
		g.send(g.open)
		g.open = nil
	}
}

func (g *grouper) send(e *epoch) {
	g.ties.learn(e)
	oldest := g.recent[0][:0]
	for _, p := range e.parts {
		oldest = append(oldest, p.key)
	}
	g.recent[0], g.recent[1], g.recent[2] = g.recent[1], g.recent[2], oldest
	g.emit(e)
}

// lacking tells whether something that each of the last epochs held has not come yet: then a short silence is rather a
// host that was late than the end of the burst.
func (g *grouper) lacking() bool {
	if g.open == nil {
		return false
	}
	for _, k := range g.recent[0] {
		if slices.Contains(g.recent[1], k) && slices.Contains(g.recent[2], k) && !g.open.has(k) &&
			!slices.ContainsFunc(g.pieces, func(e *epoch) bool { return e.has(k) }) {
			return true
		}
	}
	return false
}

func (g *grouper) learn(k, after key) {
	if !slices.Contains(g.order, k) {
		g.order = slices.Insert(g.order, slices.Index(g.order, after)+1, k)
	}
}

// before tells whether k is known to come earlier in a burst than other.
func (g *grouper) before(k, other key) bool {
	i := slices.Index(g.order, k)
	return i >= 0 && i < slices.Index(g.order, other)
}

// has tells whether the epoch has a message that speaks about what k speaks about.
func (e *epoch) has(k key) bool {
	return slices.ContainsFunc(e.parts, func(p part) bool {
		return p.key.kind == k.kind && (p.key.mask&k.mask != 0 || p.key.mask == k.mask)
	})
}

// compareTime compares the time of m with that of the epoch: certainly the same, certainly another, or neither.
func (e *epoch) compareTime(m *message) (same, differs bool) {
	t, ok := m.time.Value()
	et, eok := e.time.Value()
	if !ok || !eok {
		return false, false
	}
	for _, p := range e.parts {
		if pt, ok := p.time.Value(); ok && p.key.kind == m.kind && pt != t {
			return false, true
		}
	}
	same = near(t, et)
	return same, !same
}

// Ties tell whether messages of one instant carry the same number, as formats with sequence identifiers have it. Some devices
// count each kind of message by itself instead, so it is believed only as long as epochs bear it out, and never again once two
// messages of the same time have shown that it is not so.
type ties struct {
	borne, broken int
	untrue        bool
}

// learn looks at what an epoch that was found by other means has.
func (t *ties) learn(e *epoch) {
	first, n := opt.None[moment](), 0
	for _, p := range e.parts {
		switch {
		case !p.moment.Has():
		case !first.Has():
			first, n = p.moment, 1
		case p.moment.Or(moment{}).sender != first.Or(moment{}).sender:
		case p.moment != first:
			timed := 0
			for _, p := range e.parts {
				if p.moment.Has() && p.time.Has() {
					timed++
				}
			}
			t.untrue = t.untrue || timed > 1
			t.broken++
			return
		default:
			n++
		}
	}
	if n > 1 {
		t.borne++
	}
}

func (t *ties) sure() bool { return !t.untrue && t.borne >= 3 && t.borne > 20*t.broken }

// compareMoment compares what ties m to messages of its instant with what the epoch has.
func (e *epoch) compareMoment(m *message) (same, differs bool) {
	at, ok := m.moment.Value()
	if !ok {
		return false, false
	}
	for _, p := range e.parts {
		x, ok := p.moment.Value()
		if ok && x == at {
			return !e.has(m.key()), false
		}
		differs = differs || ok && x.sender == at.sender
	}
	return false, differs
}

// fits tells whether a later piece can belong to the same epoch.
func (e *epoch) fits(later *epoch) bool {
	if a, ok := e.time.Value(); ok {
		if b, ok := later.time.Value(); ok && !near(a, b) {
			return false
		}
	}
	return !slices.ContainsFunc(later.parts, func(p part) bool { return e.has(p.key) })
}

// near tells whether two times of day are the same but for rounding.
func near(a, b time.Duration) bool {
	d := (a - b).Abs()
	return d <= sameTime || 24*time.Hour-d <= sameTime && d < 24*time.Hour+sameTime
}

// A pace learns how fast a line brings epochs, and says how long it must be quiet for an epoch to be over.
type pace struct {
	byteTime time.Duration // 0: what is read is no line
	counts   map[key]int   // messages since the time last changed
	last     opt.Opt[time.Duration]
	arrived  map[key]time.Time // where no message carries a time
	timed    bool
	recent   []time.Duration // the last few periods found
}

// The bounds of the silence that ends an epoch. The longer it is, the less a late host or adapter cuts bursts in two;
// it must be shorter than the idle time between two bursts. Common practice, no source.
const (
	shortestGap = 4 * time.Millisecond
	longestGap  = 100 * time.Millisecond
	firstGap    = 20 * time.Millisecond  // before the period is known
	gapBytes    = 20                     // never less than this many byte times: UARTs hand on up to 16 at once
	cutGap      = 250 * time.Millisecond // within a message
)

// saw learns from a message: the period is the step of the time in the messages, divided by how often the most
// frequent kind came meanwhile; where no message carries a time, the step between arrivals of one kind.
func (p *pace) saw(m *message) {
	if p.byteTime == 0 {
		return
	}
	if p.counts == nil {
		p.counts, p.arrived = map[key]int{}, map[key]time.Time{}
	}
	k := m.key()
	if len(p.counts) > 256 { // a stream that makes up kinds
		clear(p.counts)
		clear(p.arrived)
	}
	if t, ok := m.time.Value(); ok {
		p.timed = true
		if last, ok := p.last.Value(); !ok {
			p.last = m.time
			clear(p.counts)
		} else if step := (t - last + 24*time.Hour) % (24 * time.Hour); step > sameTime && step < 24*time.Hour-sameTime {
			n := 1
			for _, c := range p.counts {
				n = max(n, c)
			}
			if step <= 10*time.Second {
				p.found(step / time.Duration(n))
			}
			p.last = m.time
			clear(p.counts)
		}
	} else if at, ok := p.arrived[k]; ok && !p.timed {
		p.found(m.first.Sub(at))
	}
	p.counts[k]++
	p.arrived[k] = m.first
}

func (p *pace) found(period time.Duration) {
	p.recent = append(p.recent, period)
	if len(p.recent) > 5 {
		p.recent = p.recent[1:]
	}
}

// gap is the silence that ends an epoch: two fifths of the period.
func (p *pace) gap() time.Duration {
	g := firstGap
	if len(p.recent) > 0 {
		g = min(max(p.period()*2/5, shortestGap), longestGap)
	}
	return max(g, gapBytes*p.byteTime)
}

// period is the median of those found lately; 0 before the first.
func (p *pace) period() time.Duration {
	if len(p.recent) == 0 {
		return 0
	}
	return slices.Sorted(slices.Values(p.recent))[len(p.recent)/2]
}

// over tells whether a quiet time ends what is open; within says that the last byte stood within a message, lacking
// that the epoch is not complete by the measure of those before it.
func (p *pace) over(quiet time.Duration, within, lacking bool) bool {
	return p.byteTime > 0 && quiet >= p.deadline(within, lacking)
}

// deadline is how long the line must be quiet. An epoch that lacks something is given most of the period: the next
// burst would bring it of the next epoch.
func (p *pace) deadline(within, lacking bool) time.Duration {
	switch {
	case within:
		return max(cutGap, 4*p.gap())
	case lacking:
		return max(p.gap(), min(p.period()*17/20, cutGap))
	}
	return p.gap()
}
