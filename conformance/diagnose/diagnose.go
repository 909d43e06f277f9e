package diagnose

import (
	"iter"
	"slices"
	"strings"

	"swellbench/conformance/compare"
	"swellbench/emulator/line"
)

// A Diagnoser gathers what a consumer said in one case, and says what it gets wrong. Its memory does not grow with the
// number of observations. It is not for several goroutines.
type Diagnoser struct {
	device  compare.Device
	cmp     *compare.Comparer
	sent    iter.Seq[line.Sent]
	sample  sampler
	counted counted
	impact  Conditions
}

// Options are what may be chosen. The zero Options are good for all cases.
type Options struct {
	// StartS is until when nothing is judged, s of scenario time, because the consumer may still be settling.
	StartS float64
	// Conditions are those of the soundings for which the impact is worked out; see [Conditions].
	Conditions Conditions
}

// New makes the diagnoser of a case. sent is its sent-log, which may be walked more than once; nil if there is none.
func New(d compare.Device, cmp *compare.Comparer, sent iter.Seq[line.Sent], o Options) *Diagnoser {
	return &Diagnoser{device: d, cmp: cmp, sent: sent, impact: o.Conditions,
		counted: counted{cmp: cmp, start: o.StartS, shifts: map[float64]*shifted{}, seen: map[*compare.Kind]*compare.Bits{}, loose: map[*compare.Kind]int{}},
		sample:  sampler{cmp: cmp, start: o.StartS, stride: 1, kinds: map[string][]*compare.Kind{}}}
}

// Add takes one observation as the comparer sees it. The row is not kept.
func (d *Diagnoser) Add(r *compare.Row) {
	raw := 0.0 // where the stamp fits nothing
	if r.Clock == compare.Nowhere {
		raw = r.Observation.Time.Sub(d.cmp.UTC(0)).Seconds()
	}
	d.sample.add(r, raw)
	d.counted.add(r)
}

// A Diagnosis is what was found out about one case.
type Diagnosis struct {
	Findings []Finding
	// NotObservable are parameters that this scenario does not excite, so that nothing is said of them.
	NotObservable []NotObservable
	// Left is the root mean square of the residuals under all findings, in standard deviations: about one where they
	// explain everything.
	Left float64
	// Beyond is how many of the values looked at are beyond their tolerance, Explained how many of these the findings
	// explain.
	Values, Beyond, Explained int
}

// Findings are the causes of the failed checks, the surest and largest first; none if no check has failed.
func (d *Diagnoser) Findings(failed []string) []Finding { return d.Diagnose(failed).Findings }

// Diagnose looks for the causes of the failed checks.
func (d *Diagnoser) Diagnose(failed []string) Diagnosis {
	if len(failed) == 0 {
		return Diagnosis{}
	}
	var out Diagnosis
	k := newKase(d.device, d.cmp, d.sample.rows())
	counted := d.counted.findings(d.sent, failed)
	if len(k.rows) > 0 && d.sample.bad > 0 {
		k.hear(d.sent)
		out = d.fitted(k, failed)
	}
	out.Findings = rank(merge(out.Findings, counted))
	for i := range out.Findings {
		if f := &out.Findings[i]; f.Cause == "" {
			f.Cause = f.Title
		}
	}
	return out
}

// ofValues tells whether any of the checks looks at values or stamps. Where only messages are missing, a
// wrong stamp that fits what is left explains nothing.
func ofValues(failed []string) bool {
	return slices.ContainsFunc(failed, func(id string) bool {
		return id != "parse.loss" && id != "parse.dialect" && id != "parse.talker" && id != "parse.checksum" && (!strings.HasPrefix(id, "line.") || id == "line.silence")
	})
}

// Told is a finding that a failed check tells of itself: what it is about is the cause. n is how many observations or
// messages show it. ofTime: it spoils stamps or the matching of epochs, so that what else seems wrong with values follows
// from it.
func Told(f Finding, n int, ofTime bool) Finding {
	f.weight, f.ofTime, f.Cause = sureWeight(10*n), ofTime, f.Title
	return f
}

// With adds findings that checks tell of themselves.
func (d *Diagnosis) With(told ...Finding) {
	if len(told) == 0 {
		return
	}
	d.Findings = merge(d.Findings, told)
	if slices.ContainsFunc(told, func(f Finding) bool { return f.ofTime }) {
		d.Findings = slices.DeleteFunc(d.Findings, func(f Finding) bool { return f.ID == "unexplained" })
	}
	d.Findings = rank(d.Findings)
}

// rank puts findings in order: what explains most first.
func rank(fs []Finding) []Finding {
	slices.SortStableFunc(fs, func(a, b Finding) int {
		switch {
		case a.weight > b.weight:
			return -1
		case a.weight < b.weight:
			return 1
		}
		return 0
	})
	return fs
}

// merge joins what was fitted and what was counted: one of each name, and nothing unexplained of which a count tells.
func merge(fitted, counted []Finding) []Finding {
	out := slices.Clone(fitted)
	for _, c := range counted {
		if i := slices.IndexFunc(out, func(f Finding) bool { return f.ID == c.ID }); i >= 0 {
			out[i].Evidence = append(out[i].Evidence, c.Evidence...)
			out[i].Checks = sorted(append(out[i].Checks, c.Checks...))
			out[i].weight = max(out[i].weight, c.weight)
			out[i].Confidence = max(out[i].Confidence, c.Confidence)
			continue
		}
		out = append(out, c)
	}
	ofTime := slices.ContainsFunc(out, func(f Finding) bool { return f.ofTime })
	ofLoss := slices.ContainsFunc(out, func(f Finding) bool { return f.ofLoss }) // what lacks is null, or what needs it
	return slices.DeleteFunc(out, func(f Finding) bool {
		return ofLoss && !ofTime && f.ofNull || f.ofLoss && ofTime || f.ID == "unexplained" && slices.ContainsFunc(counted, func(c Finding) bool { return c.ID == "heading-averaged-through-wrap" }) && strings.Contains(f.Title, "heading")
	})
}
