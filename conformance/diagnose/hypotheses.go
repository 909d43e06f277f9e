package diagnose

import (
	"fmt"
	"slices"
	"strings"
)

// A hypothesis is one way in which programs get it wrong: a row of the table.
type hypothesis struct {
	id     string // a lasting word
	title  string // what the program appears to do; %s is the label of the variant
	change string // what to change; %s likewise
	// variants are its forms in a case: which component, which factor. None where it does not apply there.
	variants func(k *kase) []variant
}

// A variant is one form of a hypothesis.
type variant struct {
	label string
	slot  string // of two variants with the same slot only one can be true
	// extra is added to the cost of the variant: for what is seldom met, or mends much with little said.
	extra  float64
	params []param
	apply  func(p *pipeline, x []float64)
	// title and change, where they are others than the row's.
	title, change string
	say           func(x []float64) string // the title, where the numbers belong into it
	note          string                   // added to the title
	h             *hypothesis
	number        int // in the table
}

// A param is a continuous parameter of a variant.
type param struct {
	name    string
	unit    string
	show    float64   // from SI and rad to unit; 0 is 1
	typical float64   // a size that would matter: what is known no better is not known; SI and rad
	step    float64   // of the numeric derivative
	starts  []float64 // where a fit may begin; nil: at zero
}

// Hypotheses is the table, in order of how common each is: of two that explain the same, the earlier is named.
func hypotheses() []hypothesis {
	return slices.Concat(timeHypotheses, valueHypotheses, positionHypotheses, mountingHypotheses, armHypotheses, pointHypotheses, heaveHypotheses, stateHypotheses, fittedHypotheses)
}

// variantsOf are all variants of all hypotheses that apply to a case.
func variantsOf(k *kase) []variant {
	var all []variant
	hs := hypotheses()
	for i := range hs {
		h := &hs[i]
		for _, v := range h.variants(k) {
			v.h = h
			all = append(all, v)
			if v.slot == "mounting" || v.slot == "baseline" { // or in one of the two uses of the attitude
				for _, in := range []inside{onlyShown, onlyInternal, onlyTilt} {
					if in == onlyTilt && v.slot != "mounting" {
						continue
					}
					w := v
					apply := v.apply
					w.apply = func(p *pipeline, x []float64) { p.inside = in; apply(p, x) }
					w.extra += 0.5
					w.note = " (in what it publishes; the position is carried rightly)"
					switch in {
					case onlyTilt:
						w.extra += 0.25
						w.note = " (in the pitch and roll that it publishes; heading and position are right)"
					case onlyInternal:
						w.extra += 0.5
						w.note = " (where it carries position and heave; what it publishes of attitude and heading is right)"
					}
					all = append(all, w)
				}
			}
			if k.geo.entered && strings.HasPrefix(v.slot, "arm") || k.geo.entered && strings.HasPrefix(v.slot, "turn") {
				w := v // the same by a program that takes off what the device has applied, first
				apply := v.apply
				w.apply = func(p *pipeline, x []float64) { p.via = true; apply(p, x) }
				w.extra += 0.25
				all = append(all, w)
			}
		}
	}
	for i := range all {
		all[i].number = i
	}
	return all
}

func (v *variant) titleText() string {
	t := v.title
	if t == "" {
		t = v.h.title
	}
	t = fill(t, v.label)
	if v.note != "" {
		t = strings.TrimSuffix(t, ".") + v.note + "."
	}
	return t
}

func (v *variant) changeText() string {
	t := v.change
	if t == "" {
		t = v.h.change
	}
	return fill(t, v.label)
}

func fill(template, label string) string {
	for i := 0; i+1 < len(template); i++ {
		if template[i] == '%' && template[i+1] == 's' {
			return fmt.Sprintf(template, label)
		}
	}
	return template
}

// one is a single variant without parameters.
func one(slot string, apply func(p *pipeline)) func(*kase) []variant {
	return func(*kase) []variant {
		return []variant{{slot: slot, apply: func(p *pipeline, _ []float64) { apply(p) }}}
	}
}

// fixed makes a variant without parameters.
func fixed(label, slot string, apply func(p *pipeline)) variant {
	return variant{label: label, slot: slot, apply: func(p *pipeline, _ []float64) { apply(p) }}
}

// reads changes what was read; says what is said at the end.
func reads(f func(r *raw)) func(p *pipeline) {
	return func(p *pipeline) { p.read = append(p.read, func(_ *context, r *raw) { f(r) }) }
}

func says(f func(o *out)) func(p *pipeline) {
	return func(p *pipeline) { p.publish = append(p.publish, func(_ *context, _ *raw, o *out) { f(o) }) }
}
