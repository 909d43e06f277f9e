package survey

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
)

// A Survey is a sheet worked out. It never changes; methods may be called from several goroutines.
type Survey struct {
	Sheet *Sheet

	model *model
	best  *solution
	moved []pair // one for each input: all worked out with it moved by its standard deviation to either side
}

type pair struct{ up, down *solution }

// New works a valid sheet out. The problems are those that show only now: sets that nothing ties, marks in one line.
func New(s *Sheet) (*Survey, []strictyaml.Problem) {
	m := newModel(s)
	if ps := m.plan(); len(ps) > 0 {
		return nil, ps
	}
	x := make([]float64, len(m.inputs))
	for i, in := range m.inputs {
		x[i] = in.value
	}
	v := &Survey{Sheet: s, model: m, moved: make([]pair, len(m.inputs))}
	var err error
	if v.best, err = m.solve(x); err != nil {
		return nil, []strictyaml.Problem{problem(err)}
	}
	for i, in := range m.inputs {
		v.moved[i] = pair{v.best, v.best}
		if in.sigma == 0 {
			continue
		}
		for _, side := range []struct {
			sign float64
			to   **solution
		}{{1, &v.moved[i].up}, {-1, &v.moved[i].down}} {
			x[i] = in.value + side.sign*in.sigma
			if *side.to, err = m.solve(x); err != nil {
				p := problem(err)
				p.Text = fmt.Sprintf("with %s moved by its standard deviation: %s", in.what, p.Text)
				return nil, []strictyaml.Problem{p}
			}
		}
		x[i] = in.value
	}
	if _, ok := v.sensor(); !ok {
		return nil, []strictyaml.Problem{{Path: "sets", Text: "there is no point " + installation.Sensor +
			", where the device is; measure it, or state three marks or more on the device with their place from its centre"}}
	}
	if ps := v.onVessel(v.Installation().Validate()); len(ps) > 0 {
		return nil, ps
	}
	return v, nil
}

// onVessel gives problems of the installation the paths of the sheet.
func (v *Survey) onVessel(ps []strictyaml.Problem) []strictyaml.Problem {
	for i, p := range ps {
		for n, name := range v.model.names {
			if p.Path != strictyaml.JoinPath("points", name) {
				continue
			}
			for k := range v.model.sets {
				for _, q := range v.model.sets[k].points {
					if q.name == n {
						ps[i].Path = pointPath(k, name)
					}
				}
			}
		}
	}
	return ps
}

// sensor is where the device's centre is; false where neither a set nor the marks tell.
func (v *Survey) sensor() (r3.Vec, bool) {
	return v.best.sensor, v.model.number(installation.Sensor) >= 0
}

// An Estimate is a number with its standard deviation.
type Estimate struct {
	Value, Sigma float64
	// Main is the input that brings in most of the variance, and its share of it, 0 to 1.
	Main  string
	Share float64
}

// linear is a quantity whose differences are plain.
func linear(a, b float64) float64 { return a - b }

// estimate works out a quantity and its standard deviation: the combined standard uncertainty of JCGM 100:2008, 5.1.2,
// eq. (10), of independent inputs, the sensitivities taken numerically as in the note to 5.1.3:
// Z = ½(f(x+u) − f(x−u)). Where f bends within u, as a pitch does that folds back at ±90°, the term ½(f″u²)² of the note
// to 5.1.2 is added, of each input by itself. diff is [linear], or [frame.AngleDiff] of angles.
func (v *Survey) estimate(f func(*solution) float64, diff func(a, b float64) float64) Estimate {
	e := Estimate{Value: f(v.best)}
	var variance, most float64
	main := -1
	for i, p := range v.moved {
		if p.up == v.best {
			continue
		}
		up, down := f(p.up), f(p.down)
		z, bend := diff(up, down)/2, diff(up, e.Value)+diff(down, e.Value) // f′u and f″u²
		part := z*z + bend*bend/2
		variance += part
		if part > most {
			most, main = part, i
		}
	}
	e.Sigma = math.Sqrt(variance)
	if main >= 0 && variance > 0 {
		e.Main, e.Share = v.model.inputs[main].what, most/variance
	}
	return e
}

func (v *Survey) length(f func(*solution) float64) Estimate { return v.estimate(f, linear) }

func (v *Survey) angle(f func(*solution) float64) Estimate { return v.estimate(f, frame.AngleDiff) }

// vector estimates the three components of a vector.
func (v *Survey) vector(f func(*solution) r3.Vec) [3]Estimate {
	return [3]Estimate{
		v.length(func(s *solution) float64 { return f(s).X }),
		v.length(func(s *solution) float64 { return f(s).Y }),
		v.length(func(s *solution) float64 { return f(s).Z }),
	}
}

// attitude estimates the three angles of a rotation: heading, pitch, roll.
func (v *Survey) attitude(f func(*solution) frame.Rotation) [3]Estimate {
	return [3]Estimate{
		v.angle(func(s *solution) float64 { return f(s).Attitude().Heading }),
		v.angle(func(s *solution) float64 { return f(s).Attitude().Pitch }),
		v.angle(func(s *solution) float64 { return f(s).Attitude().Roll }),
	}
}
