package survey

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
)

// An input is one measured number with its standard deviation (JCGM 100:2008, 4.1: an input quantity).
type input struct {
	value, sigma float64
	what         string // for a person: "antenna-primary, forward (tape)"
}

// A model is a sheet made ready to be worked out again and again, with other values of its inputs.
type model struct {
	sheet  *Sheet
	inputs []input
	names  []string // of all points; the reference point is number 0
	sets   []modelSet
	order  []int // in which the sets can be placed; deviceStep is where the marks are fitted
	above  []float64
	marks  []modelMark
	angles int // first input of stated mounting angles, −1 if there are none
	length int // input of the GNSS baseline, −1 if there is none
}

// deviceStep is the step of the order that finds how the device stands.
const deviceStep = -1

type modelSet struct {
	layout layout
	points []modelPoint
	origin int    // point where the coordinates are zero, −1: at offset
	offset r3.Vec // of the zero from the reference point, canonical
	tie    []int  // of a station: indices into points; worked out in plan
}

type modelPoint struct {
	name  int // number of the point
	first int // its first input
	sigma float64
}

type modelMark struct {
	point  int    // number of the point
	first  int    // its first input, in the device's own axes as written
	layout layout // of these
	sigma  float64
}

// A placed is where the points of one set came to lie on the vessel.
type placed struct {
	at  []r3.Vec // in the order of the set's points
	tie Fit      // of a station: from its axes to the vessel's
}

// A solution is all places for one choice of the inputs.
type solution struct {
	points   []r3.Vec // vessel axes from the reference point, m; each raised as above says
	marks    []r3.Vec // where the device marks are, not raised
	sets     []placed
	mounting frame.Rotation
	fit      Fit // of the marks
	sensor   r3.Vec
	measured bool    // direct is there
	direct   r3.Vec  // the sensor as sets have it, without its marks
	fromFit  r3.Vec  // the sensor as the marks have it, if they do
	length   float64 // of the baseline as the receiver has it
}

// rms is one standard deviation in place of three: the root of their mean square.
func (s Sigma) rms() float64 {
	return math.Sqrt(float64(s[0]*s[0]+s[1]*s[1]+s[2]*s[2]) / 3)
}

// newModel makes a valid sheet ready.
func newModel(s *Sheet) *model {
	m := &model{sheet: s, angles: -1, length: -1}
	m.names = append([]string{installation.Reference}, slices.DeleteFunc(s.allNames(-1), func(n string) bool { return n == installation.Reference })...)
	if m.marksGiveSensor() && m.number(installation.Sensor) < 0 {
		m.names = append(m.names, installation.Sensor)
	}
	m.above = make([]float64, len(m.names))
	for name, x := range s.Above {
		m.above[m.number(name)] = float64(x)
	}
	for i := range s.Sets {
		set := &s.Sets[i]
		l, _ := set.Axes.layout()
		ms := modelSet{layout: l, origin: -1}
		for _, name := range set.names() {
			c := set.Points[name]
			sd := set.Sigma
			if c.Sigma != nil {
				sd = *c.Sigma
			}
			ms.points = append(ms.points, modelPoint{m.number(name), len(m.inputs), sd.rms()})
			for k, x := range c.At {
				m.inputs = append(m.inputs, input{float64(x), float64(sd[k]), fmt.Sprintf("%s, %s (%s)", name, l.words[k], set.called(i))})
			}
		}
		if o := set.Origin; o != nil {
			if o.Name != "" {
				ms.origin = m.number(o.Name)
			} else {
				ms.offset = l.vec(o.At.metres())
			}
		} else if _, has := set.Points[installation.Reference]; has {
			ms.origin = 0
		}
		m.sets = append(m.sets, ms)
	}
	if d := s.Device.Marks; d != nil {
		l, _ := d.Axes.vessel()
		for _, name := range slices.Sorted(maps.Keys(d.Points)) {
			m.marks = append(m.marks, modelMark{m.number(name), len(m.inputs), l, d.Sigma.rms()})
			for k, x := range d.Points[name] {
				m.inputs = append(m.inputs, input{float64(x), float64(d.Sigma[k]), fmt.Sprintf("%s, %s (drawing of the device)", name, l.words[k])})
			}
		}
	}
	if d := s.Device.Mounting; d != nil {
		m.angles = len(m.inputs)
		for _, a := range []struct {
			name string
			x    float64
		}{{"heading", float64(d.Heading)}, {"pitch", float64(d.Pitch)}, {"roll", float64(d.Roll)}} {
			m.inputs = append(m.inputs, input{a.x, float64(d.Sigma), "mounting " + a.name + " as stated"})
		}
	}
	if g := s.GNSS; g != nil {
		m.length = len(m.inputs)
		m.inputs = append(m.inputs, input{float64(g.Baseline.Length), float64(g.Baseline.Sigma), "baseline length by the receiver"})
	}
	return m
}

func (m *model) number(name string) int { return slices.Index(m.names, name) }

// plan finds the order in which the sets can be placed, and their ties. A set whose place needs points of another
// comes after it.
func (m *model) plan() []strictyaml.Problem {
	known := make([]bool, len(m.names))
	known[0] = true
	done := make([]bool, len(m.sets))
	device := len(m.sheet.markNames()) == 0
	for progress := true; progress; {
		progress = false
		for i := range m.sets {
			if done[i] || !m.ready(i, known) {
				continue
			}
			done[i], progress = true, true
			m.order = append(m.order, i)
			for _, p := range m.sets[i].points {
				known[p.name] = true
			}
		}
		// The marks come when no other set can go before them; what is measured from the sensor comes after.
		if !progress && !device && !slices.ContainsFunc(m.marks, func(k modelMark) bool { return !known[k.point] }) {
			device, progress = true, true
			m.order = append(m.order, deviceStep)
			if m.marksGiveSensor() {
				known[m.number(installation.Sensor)] = true
			}
		}
	}
	var ps problems
	for i := range m.sets {
		if done[i] {
			continue
		}
		if !m.sets[i].layout.station {
			ps.add(setPath(i)+".origin", "the origin %s is in no set that can be placed before this one; measure it in another", strictyaml.Quote(m.names[m.sets[i].origin]))
			continue
		}
		var common []string
		for _, k := range m.common(i, known) {
			common = append(common, m.names[m.sets[i].points[k].name])
		}
		what := "none"
		if len(common) > 0 {
			what = strings.Join(common, ", ")
		}
		ps.add(setPath(i), "the axes %s must be tied to the vessel by %d or more points that sets of known place have too; common points: %s; measure more of these points, or state axes of the vessel",
			m.sheet.Sets[i].Axes, minPairs, what)
	}
	return ps
}

// common lists the points of a station's set that may tie it.
func (m *model) common(i int, known []bool) (out []int) {
	for k, p := range m.sets[i].points {
		if known[p.name] && (m.sheet.Sets[i].Tie == nil || slices.Contains(m.sheet.Sets[i].Tie, m.names[p.name])) {
			out = append(out, k)
		}
	}
	return out
}

func (m *model) ready(i int, known []bool) bool {
	s := &m.sets[i]
	if !s.layout.station {
		return s.origin < 0 || known[s.origin]
	}
	tie := m.common(i, known)
	if want := m.sheet.Sets[i].Tie; len(tie) < minPairs || want != nil && len(tie) < len(want) {
		return false
	}
	s.tie = tie
	return true
}

// A mean is a weighted mean of places, the weights being those of the standard deviations.
type mean struct {
	sum    r3.Vec
	weight float64
}

func (a *mean) add(v r3.Vec, sigma float64) {
	w := 1 / (sigma * sigma)
	a.sum, a.weight = r3.Add(a.sum, r3.Scale(w, v)), a.weight+w
}

func (a *mean) value() r3.Vec { return r3.Scale(1/a.weight, a.sum) }

// sigma is the standard deviation of one coordinate of the mean; 0 where it is exact.
func (a *mean) sigma() float64 {
	if math.IsInf(a.weight, 1) {
		return 0
	}
	return 1 / math.Sqrt(a.weight)
}

// solve works out all places for the inputs x. Its error is a *located.
func (m *model) solve(x []float64) (*solution, error) {
	s := &solution{points: make([]r3.Vec, len(m.names)), sets: make([]placed, len(m.sets))}
	at := make([]mean, len(m.names))
	at[0].weight = math.Inf(1)
	where := func(n int) r3.Vec {
		if n == 0 {
			return r3.Vec{}
		}
		return at[n].value()
	}
	var direct mean // of the sensor, without its marks
	sensor := m.number(installation.Sensor)
	for _, i := range m.order {
		if i == deviceStep {
			if err := m.device(s, at, x); err != nil {
				return nil, err
			}
			continue
		}
		set := &m.sets[i]
		p := placed{at: make([]r3.Vec, len(set.points))}
		for k, q := range set.points {
			p.at[k] = set.layout.vec([3]float64(x[q.first:]))
		}
		if set.layout.station {
			pairs := make([]Pair, len(set.tie))
			for j, k := range set.tie {
				n := set.points[k].name
				pairs[j] = Pair{From: p.at[k], To: where(n), SigmaM: math.Hypot(set.points[k].sigma, at[n].sigma())}
			}
			fit, err := FitRotation(pairs)
			if err != nil {
				return nil, &located{setPath(i), fmt.Errorf("tie %s to the vessel by its points %s: %w", m.sheet.Sets[i].called(i), m.list(set, set.tie), err)}
			}
			p.tie = fit
			for k := range p.at {
				p.at[k] = r3.Add(fit.Rotation.Apply(p.at[k]), fit.Shift)
			}
		} else {
			shift := set.offset
			if set.origin >= 0 {
				shift = where(set.origin)
				if k := slices.IndexFunc(set.points, func(q modelPoint) bool { return q.name == set.origin }); k >= 0 {
					shift = r3.Sub(shift, p.at[k])
				}
			}
			for k := range p.at {
				p.at[k] = r3.Add(p.at[k], shift)
			}
		}
		for k, q := range set.points {
			if q.name != 0 {
				at[q.name].add(p.at[k], q.sigma)
			}
			if q.name == sensor {
				direct.add(p.at[k], q.sigma)
			}
		}
		s.sets[i] = p
	}
	for n := range s.points {
		s.points[n] = r3.Add(where(n), r3.Vec{Z: m.above[n]})
	}
	if sensor >= 0 {
		s.sensor = s.points[sensor]
	}
	if s.measured = direct.weight > 0; s.measured {
		s.direct = direct.value()
	}
	if e := m.sheet.Entered.Mounting; e != nil && len(m.marks) == 0 {
		s.mounting = e.Rotation() // nothing better is known, unless the angles are stated
	}
	if m.angles >= 0 {
		s.mounting = frame.Attitude{Heading: x[m.angles], Pitch: x[m.angles+1], Roll: x[m.angles+2]}.Rotation()
	}
	if m.length >= 0 {
		s.length = x[m.length]
	}
	return s, nil
}

func (m *model) list(set *modelSet, which []int) string {
	var out []string
	for _, k := range which {
		out = append(out, m.names[set.points[k].name])
	}
	return strings.Join(out, ", ")
}

// device fits the marks: how the device stands, and where its centre is.
func (m *model) device(s *solution, at []mean, x []float64) error {
	pairs := make([]Pair, len(m.marks))
	var centre mean
	for i, mark := range m.marks {
		to := at[mark.point].value()
		s.marks = append(s.marks, to)
		pairs[i] = Pair{From: mark.layout.vec([3]float64(x[mark.first:])), To: to, SigmaM: math.Hypot(mark.sigma, at[mark.point].sigma())}
		centre.add(to, pairs[i].SigmaM)
	}
	fit, err := FitRotation(pairs)
	if err != nil {
		return &located{"device.marks", fmt.Errorf("find how the device stands from its marks: %w", err)}
	}
	s.fit, s.mounting = fit, fit.Rotation
	if m.marksGiveSensor() {
		// The device's centre hangs on the turn with the arm from the marks.
		s.fromFit = fit.Shift
		arm := r3.Norm(r3.Sub(fit.Shift, centre.value()))
		at[m.number(installation.Sensor)].add(fit.Shift, math.Hypot(centre.sigma(), arm*fit.WeakestSigma))
	}
	return nil
}

// marksGiveSensor tells whether the device's centre follows from its marks.
func (m *model) marksGiveSensor() bool { return m.sheet.marksGiveSensor() }

// located is an error with the path of the part it is about.
type located struct {
	path string
	err  error
}

func (e *located) Error() string { return e.err.Error() }

func (e *located) Unwrap() error { return e.err }

// problem makes a problem of the sheet of an error of solve.
func problem(err error) strictyaml.Problem {
	var l *located
	if errors.As(err, &l) {
		return strictyaml.Problem{Path: l.path, Text: l.err.Error()}
	}
	return strictyaml.Problem{Text: err.Error()}
}
