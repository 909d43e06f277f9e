package diagnose

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"swellbench/conformance/compare"
)

// A Finding is one cause of failed checks.
type Finding struct {
	ID       string   // a lasting word, of the table of hypotheses
	Title    string   // what the program appears to do
	Evidence []string // in numbers
	Change   string   // what to change
	// Confidence is how sure it is, from 0 to 1: how much of what is beyond its tolerance the finding explains, and how
	// far behind the next best explanation is.
	Confidence float64
	Parameters []Parameter
	NotTold    []Alternative // what it cannot be told apart from in this scenario
	Checks     []string      // the failed checks that it explains
	Impact     string        // what it does to a sounding; "" where that cannot be told

	// Cause is the title without numbers: findings of several cases with the same cause belong together.
	Cause string

	weight float64
	ofTime bool // a mistake of stamps: epochs cannot be matched, so that all seem lost
	ofLoss bool
	ofNull bool // all its evidence is nulls
}

// A Parameter is a number that was fitted.
type Parameter struct {
	Name  string
	Value float64
	Sigma float64 // standard deviation; +Inf where this scenario does not excite it
	Unit  string
}

// An Alternative explains as much as a finding does, here.
type Alternative struct {
	ID    string
	Title string
	Run   string // the scenario of the library that tells them apart; "" if none does
}

// NotObservable is a parameter of which this scenario can say nothing.
type NotObservable struct {
	Name string
	Run  string // a scenario of the library that excites it
}

// Surety is the confidence in a word.
func (f *Finding) Surety() string {
	switch {
	case f.Confidence >= 0.9:
		return "certain"
	case f.Confidence >= 0.6:
		return "likely"
	case f.Confidence >= 0.3:
		return "possible"
	}
	return "uncertain"
}

// String is the finding in one paragraph.
func (f *Finding) String() string {
	var b strings.Builder
	b.WriteString(f.Title)
	for _, e := range f.Evidence {
		b.WriteString(" " + e)
	}
	for _, p := range f.Parameters {
		fmt.Fprintf(&b, " %s.", p)
	}
	if f.Impact != "" {
		b.WriteString(" " + f.Impact)
	}
	b.WriteString(" " + f.Change)
	for _, a := range f.NotTold {
		fmt.Fprintf(&b, " Not told apart here from: %s", a.Title)
		if a.Run != "" {
			fmt.Fprintf(&b, " Run the scenario %s.", a.Run)
		}
	}
	return b.String()
}

// String is the parameter with its standard deviation.
func (p Parameter) String() string {
	name := strings.ToUpper(p.Name[:1]) + p.Name[1:]
	if math.IsInf(p.Sigma, 1) {
		return name + " is not observable here"
	}
	digits := 1
	if p.Sigma > 0 {
		digits = max(0, min(6, int(math.Ceil(0.5-math.Log10(p.Sigma)))))
	}
	unit := p.Unit
	if unit != "" && !strings.HasPrefix(unit, "°") {
		unit = " " + unit
	}
	return fmt.Sprintf("%s %.*f ± %.*f%s", name, digits, p.Value, digits, p.Sigma, unit)
}

// tallyOf counts by quantity what is beyond its tolerance, and how far off values are.
type tallyOf struct {
	n, beyond  int
	sum, worst float64
	squares    float64
	none       int // a value against none
	nulls      int // of these, a null is shown
}

func (k *kase) tally(res []residual) (by [compare.NQ + 1]tallyOf) {
	for i := range res {
		r := &res[i]
		t := &by[r.q]
		t.n++
		if k.beyond(r) {
			t.beyond++
		}
		if math.IsNaN(r.d) {
			t.none++
			if r.q != fixQ && k.rows[r.row].value&(1<<r.q) == 0 {
				t.nulls++
			}
			continue
		}
		t.sum += r.d
		t.squares += r.d * r.d
		if math.Abs(r.d) > math.Abs(t.worst) {
			t.worst = r.d
		}
	}
	return by
}

func beyonds(by *[compare.NQ + 1]tallyOf) (n, all int) {
	for _, t := range by {
		n, all = n+t.beyond, all+t.n
	}
	return n, all
}

// all is a view of every row, or of so many that the last look stays quick.
func (k *kase) all() view {
	const most = 1200
	n := len(k.rows)
	step := max(1, (n+most-1)/most)
	var v view
	for i := 0; i < n; i += step {
		v = append(v, i)
	}
	return v
}

// other is the variant of o that m does not have.
func other(o, m *model) *variant {
	for _, p := range o.picks {
		if !slices.ContainsFunc(m.picks, func(q pick) bool { return q.v == p.v }) {
			return p.v
		}
	}
	return nil
}

func rms(res []residual) float64 {
	sum, n := 0.0, 0
	for _, r := range res {
		if !math.IsNaN(r.z) {
			z := math.Min(math.Abs(r.z), 1e6)
			sum, n = sum+z*z, n+1
		}
	}
	if n == 0 {
		return 0
	}
	return math.Sqrt(sum / float64(n))
}

func qName(q int) string {
	if q == fixQ {
		return "state of the fix"
	}
	return compare.Q(q).String()
}

// evidence says what a finding does to one quantity: a is without it, b with it.
func evidence(q int, a, b *tallyOf) string {
	name := qName(q)
	name = strings.ToUpper(name[:1]) + name[1:]
	if q == fixQ || a.none > a.beyond/2 {
		return fmt.Sprintf("%s: wrong in %d of %d observations, in %d if this is the cause.", name, a.beyond, a.n, b.beyond)
	}
	return fmt.Sprintf("%s: off by %s RMS (worst %s), beyond tolerance in %d of %d observations; if this is the cause, %s RMS, beyond in %d.",
		name, amount(q, a.rms()), amount(q, math.Abs(a.worst)), a.beyond, a.n, amount(q, b.rms()), b.beyond)
}

func (t *tallyOf) rms() float64 {
	if n := t.n - t.none; n > 0 {
		return math.Sqrt(t.squares / float64(n))
	}
	return 0
}

// amount is a residual for a person: three digits.
func amount(q int, x float64) string {
	unit := compare.Q(q).Unit()
	x = compare.Q(q).Show(x)
	if !strings.HasPrefix(unit, "°") {
		unit = " " + unit
	}
	switch {
	case x == 0:
		return "0" + unit
	case math.Abs(x) >= 1e6:
		return fmt.Sprintf("%.3g%s", x, unit)
	case math.Abs(x) >= 100:
		return fmt.Sprintf("%.0f%s", x, unit)
	case math.Abs(x) < 1e-4:
		return fmt.Sprintf("%.1g%s", x, unit)
	}
	digits := int(math.Ceil(2 - math.Log10(math.Abs(x))))
	return fmt.Sprintf("%.*f%s", max(0, min(6, digits)), x, unit)
}

// unexplained describes what remains beyond tolerance, where that is more than a little: measured, without a name.
func (k *kase) unexplained(before, after *[compare.NQ + 1]tallyOf, failed []string) []Finding {
	var out []Finding
	for q := range after {
		b := &after[q]
		if b.beyond < 3 || b.beyond*20 < b.n && b.beyond*5 < before[q].beyond {
			continue
		}
		x := Finding{ID: "unexplained", Title: fmt.Sprintf("Its %s is wrong in a way that no known mistake explains.", qName(q)),
			Change: "Compare it with what was expected, at the times of the examples of the check.", Confidence: 0.2, weight: 1e-3 * float64(b.beyond)}
		if q == fixQ || b.none > b.beyond/2 {
			x.Evidence = []string{fmt.Sprintf("It is wrong in %d of %d observations.", b.beyond, b.n)}
		} else {
			n := float64(max(1, b.n-b.none))
			x.Evidence = []string{fmt.Sprintf("It is off by %s on average, %s RMS, %s at worst, and beyond tolerance in %d of %d observations.",
				amount(q, b.sum/n), amount(q, b.rms()), amount(q, math.Abs(b.worst)), b.beyond, b.n)}
		}
		x.ofNull = b.none*2 > b.beyond
		x.Checks = sorted(k.checksOf(q, nil, failed))
		out = append(out, x)
	}
	return out
}

func sorted(s []string) []string {
	slices.Sort(s)
	return slices.Compact(s)
}

// checksOf are the failed checks that a quantity belongs to.
func (k *kase) checksOf(q int, v *variant, failed []string) []string {
	var ids []string
	add := func(prefix string) {
		for _, f := range failed {
			if strings.HasPrefix(f, prefix) {
				ids = append(ids, f)
			}
		}
	}
	if v != nil {
		switch {
		case v.slot == "stamp":
			add("time.")
			add("parse.loss")
		case strings.HasPrefix(v.slot, "gap"):
			add("parse.null")
			add("outage.")
		case strings.HasSuffix(v.slot, "sign"):
			add("parse.hemisphere")
		case v.h.id == "heading-averaged-through-wrap":
			add("parse.wrap")
		}
	}
	if q == fixQ {
		add("parse.values")
		add("parse.null")
		add("outage.")
		return ids
	}
	switch k.cmp.Need(compare.Q(q)) {
	case compare.Mounting:
		add("offset.mounting")
	case compare.Baseline:
		add("offset.baseline")
	case compare.LeverArm:
		add("offset.lever-arm")
	case compare.HeaveArm:
		add("offset.heave")
	default:
		add("parse.values")
	}
	return ids
}

// Weight is what the finding is ranked by: how much it improves the criterion.
func (f *Finding) Weight() float64 { return f.weight }
