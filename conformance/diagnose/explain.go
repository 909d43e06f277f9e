package diagnose

import (
	"math"
	"slices"
)

// least is the confidence below which nothing is named.
const least = 0.25

// fitted finds the mistakes that pipelines explain.
func (d *Diagnoser) fitted(k *kase, failed []string) Diagnosis {
	f := newFinder(k, ofValues(failed))
	sets := f.find()
	m := f.polish(sets[0])
	all := k.all()
	res0, _ := k.residuals(correct(), all)
	by0 := k.tally(res0)
	res, _ := k.residuals(k.build(m.picks), all)
	by := k.tally(res)
	var out Diagnosis
	out.Beyond, out.Values = beyonds(&by0)
	left, _ := beyonds(&by)
	out.Explained = max(0, out.Beyond-left)
	out.Left = rms(res)
	if out.Beyond == 0 {
		return out
	}

	sp := spread{}
	if freedom(m.picks) > 0 {
		sp = k.spreadOf(m.picks, f.full)
	}
	n := 0
	for i := range m.picks {
		p := &m.picks[i]
		params := n
		n += len(p.x)
		less := k.evaluate(m.without(i), f.full, 4)
		resLess, _ := k.residuals(k.build(less.picks), all)
		byLess := k.tally(resLess)
		x := Finding{ID: p.v.h.id, Title: p.v.titleText(), Change: p.v.changeText(), weight: less.crit - m.crit, ofTime: p.v.slot == "stamp"}
		if x.Cause = x.Title; p.v.say != nil {
			x.Title = p.v.say(p.x)
		}
		mended, nulls := 0, 0
		for q := range byLess {
			a, b := byLess[q], by[q]
			if a.beyond-b.beyond > max(0, a.beyond/10) {
				mended += a.beyond - b.beyond
				nulls += a.nulls
				x.Evidence = append(x.Evidence, evidence(q, &a, &b))
				x.Checks = append(x.Checks, k.checksOf(q, p.v, failed)...)
				if a.none > a.beyond/2 {
					x.Checks = append(x.Checks, failedAny(failed, "parse.loss", "parse.null", "outage.")...)
				}
			}
		}
		if mended == 0 {
			continue // no evidence, no finding
		}
		for j := range p.x {
			prm := &p.v.params[j]
			show := prm.show
			if show == 0 {
				show = 1
			}
			y := Parameter{Name: prm.name, Value: p.x[j] * show, Sigma: sp.sigma[params+j] * prm.typical * show, Unit: prm.unit}
			if sp.weak[params+j] {
				y.Sigma = math.Inf(1)
				out.NotObservable = append(out.NotObservable, NotObservable{Name: prm.name, Run: others.excites(p.v, j)})
			}
			x.Parameters = append(x.Parameters, y)
		}
		x.ofNull = nulls*2 > mended
		x.Checks = sorted(x.Checks)
		if len(x.Checks) == 0 { // what it explains, no check has failed for
			x.weight *= 1e-3
		}
		margin := math.Inf(1)
		for _, o := range f.instead(&m, i) {
			v := other(&o, &m)
			if v == nil || v.h == p.v.h && v.titleText() == p.v.titleText() {
				continue
			}
			worse := o.crit - m.crit
			if v.h != p.v.h {
				margin = math.Min(margin, worse)
			}
			if worse < tie && !slices.ContainsFunc(x.NotTold, func(a Alternative) bool { return a.Title == v.titleText() }) && len(x.NotTold) < 4 {
				alternative := Alternative{ID: v.h.id, Title: v.titleText()}
				for _, q := range o.picks {
					if q.v == v {
						alternative.Run = others.tells(*p, q)
					}
				}
				x.NotTold = append(x.NotTold, alternative)
			}
		}
		x.Impact = k.impactOf(&m, i, f.full, d.impact)
		share := 1.0
		if nl, _ := beyonds(&byLess); nl > 0 {
			share = math.Min(1, float64(mended)/float64(nl))
		}
		x.Confidence = (0.5 + 0.5*share) * (1 - 0.5*math.Exp(-math.Max(0, margin)/4))
		if left*10 > out.Beyond {
			x.Confidence *= math.Max(0.2, float64(out.Explained)/float64(out.Beyond))
		}
		if x.Confidence < least {
			continue // what it explains may as well be chance
		}
		out.Findings = append(out.Findings, x)
	}
	out.Findings = append(out.Findings, k.unexplained(&by0, &by, failed)...)
	return out
}
