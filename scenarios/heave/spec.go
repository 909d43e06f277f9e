package heave

import (
	"fmt"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// A Spec is the `heave-filter:` section of a scenario file. Its zero value is no filter: heave comes out as it is.
type Spec struct {
	CutOff units.Duration `yaml:"cut-off,required" doc:"period at which half the power passes, 1 s to 600 s; longer waves are lost, shorter ones pass"`
	Order  int            `yaml:"order" doc:"of the Butterworth high-pass filter: 2, or 3, which also forgets a standing error of acceleration. Default: 3"`
	Output Kind           `yaml:"output" doc:"real-time leads the true heave, delayed does not. Default: real-time"`
}

// Kind is the word for what the device puts out. The zero value is real-time.
type Kind string

// The kinds.
const (
	RealTime Kind = "real-time"
	Delayed  Kind = "delayed"
)

// SchemaEnum lists the words.
func (Kind) SchemaEnum() []string { return []string{string(RealTime), string(Delayed)} }

// Validate returns all that is wrong, with paths relative to the section.
func (s Spec) Validate() []strictyaml.Problem {
	var ps []strictyaml.Problem
	if s == (Spec{}) {
		return nil
	}
	if c := float64(s.CutOff); !(c >= MinCutOffS && c <= MaxCutOffS) {
		ps = append(ps, strictyaml.Problem{Path: "cut-off", Text: fmt.Sprintf("cut-off period is %v; allowed: %g s to %g s", s.CutOff, MinCutOffS, MaxCutOffS)})
	}
	if _, ok := polynomials[s.order()]; !ok {
		ps = append(ps, strictyaml.Problem{Path: "order", Text: fmt.Sprintf("order is %d; allowed: 2 or 3", s.Order)})
	}
	if s.Output != "" && s.Output != RealTime && s.Output != Delayed {
		ps = append(ps, strictyaml.Problem{Path: "output", Text: "output is " + strictyaml.Quote(string(s.Output)) + "; " + strictyaml.Allowed(string(s.Output), s.Output.SchemaEnum())})
	}
	return ps
}

func (s Spec) order() int {
	if s.Order == 0 {
		return 3
	}
	return s.Order
}

// Filter returns the filter. It is an error where [Spec.Validate] finds any.
func (s Spec) Filter() (Filter, error) {
	if s == (Spec{}) {
		return Filter{}, nil
	}
	if ps := s.Validate(); len(ps) > 0 {
		return Filter{}, fmt.Errorf("heave filter: %s: %s", ps[0].Path, ps[0].Text)
	}
	return New(s.order(), float64(s.CutOff))
}

// How wrong heave may be, as part of its amplitude, before it is worth a word. Common practice, no source.
const worthAWord = 0.05

// Warnings tells what the filter does to waves met with the period, in s, where that is more than 5 % of their
// amplitude. Paths are those of [Spec.Validate], which comes first.
func (s Spec) Warnings(periodS float64) []strictyaml.Problem {
	f, err := s.Filter()
	if err != nil || !(periodS > 0) {
		return nil
	}
	e := f.At(periodS)
	wrong, text := e.Error, f.Describe(periodS)
	if s.Output == Delayed {
		wrong, text = e.DelayedError, f.DescribeDelayed(periodS)
	}
	if !(wrong > worthAWord) {
		return nil
	}
	return []strictyaml.Problem{{Path: "cut-off", Text: text}}
}
