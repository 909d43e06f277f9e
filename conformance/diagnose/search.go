package diagnose

import (
	"cmp"
	"math"
	"slices"
)

const (
	depth     = 3       // mistakes named together at most
	beam      = 5       // sets of mistakes that are tried further
	finalists = 14      // refined on the full view at each depth
	coarseN   = 72      // rows of the coarse view
	fullN     = 320     // rows of the full view
	worth     = 8       // a mistake must improve the criterion by as much: exp(4) times as likely
	patience  = 400_000 // observations predicted, after which no more sets are tried; about a second
	tie       = 6       // closer than this in the criterion cannot be told apart: exp(3) times as likely
)

// views chooses rows for quick and for careful looks. Rows that say the same things are a stratum each, what is wrong
// and what is not are others, and of each stratum rows are taken all over the run.
func (k *kase) views() (coarse, full view) {
	strata := map[[2]uint64][]int{}
	var keys [][2]uint64
	for i := range k.rows {
		r := &k.rows[i]
		key := [2]uint64{uint64(r.said) | uint64(r.value)<<16, 0}
		if r.wrong {
			key[1] |= 1
		}
		if r.timed {
			key[1] |= 2
		}
		if strata[key] == nil {
			keys = append(keys, key)
		}
		strata[key] = append(strata[key], i)
	}
	slices.SortFunc(keys, func(a, b [2]uint64) int { return cmp.Or(cmp.Compare(a[1], b[1]), cmp.Compare(a[0], b[0])) })
	choose := func(n int) view {
		var v view
		if len(k.rows) <= n {
			for i := range k.rows {
				v = append(v, i)
			}
			return v
		}
		for _, key := range keys {
			s := strata[key]
			take := max(min(len(s), 6), n*len(s)/len(k.rows))
			take = min(take, len(s))
			for j := range take {
				// the golden section spreads without a period of its own
				at := (float64(j) + 0.5) / float64(take)
				jitter := math.Mod(float64(j)*0.6180339887, 1) - 0.5
				x := int((at + jitter/float64(take)) * float64(len(s)))
				v = append(v, s[min(len(s)-1, max(0, x))])
			}
		}
		slices.Sort(v)
		return slices.Compact(v)
	}
	return choose(coarseN), choose(fullN)
}

// A finder looks for the set of mistakes that explains most with the least freedom.
type finder struct {
	k            *kase
	all          []variant
	coarse, full view
	base         model
	touch        []uint16 // which quantities each variant changes here
}

func newFinder(k *kase, stamps bool) *finder {
	f := &finder{k: k, all: variantsOf(k)}
	f.coarse, f.full = k.views()
	f.base = k.evaluate(nil, f.full, 0)
	f.touch = make([]uint16, len(f.all))
	base, _ := k.residuals(k.right, f.coarse)
	for j := range f.all {
		if stamps || f.all[j].slot != "stamp" {
			f.touch[j] = f.touched(&f.all[j], base)
		}
	}
	return f
}

// touched is the set of quantities that a variant changes, at the start of its parameters and a step from it.
func (f *finder) touched(v *variant, base []residual) (set uint16) {
	x := make([]float64, len(v.params))
	for i, p := range v.params {
		x[i] = p.typical
	}
	res, _ := f.k.residuals(f.k.build([]pick{{v, x}}), f.coarse)
	a, b := 0, 0
	for a < len(base) || b < len(res) {
		switch {
		case b == len(res) || a < len(base) && (base[a].row < res[b].row || base[a].row == res[b].row && base[a].q < res[b].q):
			set |= 1 << base[a].q
			a++
		case a == len(base) || base[a].row != res[b].row || base[a].q != res[b].q:
			set |= 1 << res[b].q
			b++
		default:
			if x, y := base[a].z, res[b].z; math.IsNaN(x) != math.IsNaN(y) || math.Abs(x-y) > 1e-6*(1+math.Abs(x)) {
				set |= 1 << base[a].q
			}
			a, b = a+1, b+1
		}
	}
	return set
}

// open is the set of quantities of which a set of mistakes leaves something beyond tolerance, and whether that is next
// to nothing.
func (f *finder) open(m *model) (set uint16, clean bool) {
	res, _ := f.k.residuals(f.k.build(m.picks), f.full)
	by := f.k.tally(res)
	n := 0
	for q, t := range by {
		if t.beyond > 0 {
			set |= 1 << q
		}
		n += t.beyond
	}
	return set, n*200 <= len(res)
}

// tried is a set of mistakes as first looked at.
func (f *finder) tried(m *model, v *variant) (model, bool) {
	ps, ok := m.with(v)
	if !ok {
		return model{}, false
	}
	ps = clonePicks(ps)
	if len(v.params) > 0 {
		for i := range ps {
			if ps[i].v == v {
				f.k.start(ps, i, f.coarse)
			}
		}
		t := f.k.evaluate(ps, f.coarse, 1)
		if t.cost > m.coarse-2 {
			return t, true // not promising
		}
		return f.k.evaluate(ps, f.coarse, 2), true
	}
	t := f.k.evaluate(ps, f.coarse, 0)
	if freedom(ps) > 0 && t.cost < 1.3*m.coarse { // the numbers found without it may be others with it
		t = f.k.evaluate(ps, f.coarse, 2)
	}
	return t, true
}

// tired tells that enough was tried: the rest of the search would take longer than it is worth.
func (f *finder) tired() bool { return f.k.looks > patience }

// find returns the best sets of mistakes, the best one first.
func (f *finder) find() []model {
	frontier := []model{f.base}
	known := []model{f.base}
	for n := range depth {
		first := n == 0
		var next []model
		for i := range frontier {
			m := &frontier[i]
			here := f.k.evaluate(clonePicks(m.picks), f.coarse, 0)
			m.coarse = here.cost
			open, _ := f.open(m)
			for j := range f.all {
				if f.touch[j]&open == 0 || f.tired() {
					continue
				}
				if t, ok := f.tried(m, &f.all[j]); ok && t.crit < here.crit-1 {
					next = append(next, t)
				}
			}
		}
		slices.SortStableFunc(next, byCrit)
		next = distinct(next)
		var refined []model
		for _, m := range next[:min(len(next), finalists)] {
			refined = append(refined, f.k.evaluate(m.picks, f.full, 5))
		}
		slices.SortStableFunc(refined, byCrit)
		known = append(known, refined...)
		slices.SortStableFunc(known, byCrit)
		frontier = frontier[:0]
		slots := map[string]int{} // not all of one kind
		for _, m := range distinct(refined) {
			slot := ""
			for _, p := range m.picks {
				slot += p.v.slot + "|"
			}
			if slots[slot]++; len(frontier) < beam && slots[slot] <= 2 {
				frontier = append(frontier, m)
			}
		}
		if len(frontier) == 0 {
			break
		}
		if first && freedom(known[0].picks) >= 3 {
			continue // numbers that explain all at once may stand for two words: look for those
		}
		if known[0].crit < frontier[0].crit-worth {
			break
		}
		if _, clean := f.open(&known[0]); clean {
			break
		}
	}
	return known
}

// distinct keeps the first of those that cost the same: they predict the same.
func distinct(ms []model) []model {
	var out []model
	for _, m := range ms {
		same := slices.ContainsFunc(out, func(o model) bool { return math.Abs(o.cost-m.cost) < 1e-6*(1+math.Abs(m.cost)) })
		if !same {
			out = append(out, m)
		}
	}
	return out
}

func byCrit(a, b model) int {
	if d := a.crit - b.crit; math.Abs(d) > 1e-6 {
		return cmp.Compare(a.crit, b.crit)
	}
	// the same: fewer mistakes, then the more common one
	if c := cmp.Compare(len(a.picks), len(b.picks)); c != 0 {
		return c
	}
	for i := range a.picks {
		if c := cmp.Compare(a.picks[i].v.number, b.picks[i].v.number); c != 0 {
			return c
		}
	}
	return 0
}

// polish tries each mistake of a set against all others in its place, and drops those that are not worth it.
func (f *finder) polish(m model) model {
	for range 2 {
		changed := false
		for i := 0; i < len(m.picks); i++ {
			less := f.k.evaluate(m.without(i), f.full, 4)
			if less.crit < m.crit+worth {
				m, changed, i = less, true, i-1
				continue
			}
			if best := f.instead(&m, i); len(best) > 0 && best[0].crit < m.crit-1e-6 {
				m, changed = best[0], true
			}
		}
		if !changed {
			break
		}
	}
	return m
}

// instead are the sets in which another mistake stands in the place of number i, the best ones first.
func (f *finder) instead(m *model, i int) []model {
	rest := model{picks: m.without(i)}
	here := f.k.evaluate(clonePicks(m.picks), f.coarse, 0)
	rest.coarse = f.k.score(f.k.build(rest.picks), f.coarse)
	touch := f.touch[m.picks[i].v.number]
	var next []model
	for j := range f.all {
		if f.touch[j]&touch == 0 || &f.all[j] == m.picks[i].v || f.tired() && len(f.all[j].params) > 0 || f.k.looks > 2*patience {
			continue
		}
		if t, ok := f.tried(&rest, &f.all[j]); ok && t.crit < here.crit+5*tie {
			next = append(next, t)
		}
	}
	slices.SortStableFunc(next, byCrit)
	var out []model
	for _, n := range next[:min(len(next), 10)] {
		out = append(out, f.k.evaluate(n.picks, f.full, 5))
	}
	slices.SortStableFunc(out, byCrit)
	return out
}
