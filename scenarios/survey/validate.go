package survey

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// What a sheet may hold. Common practice, no source: the size of ships and of a working day's measurements.
const (
	maxCoordinate = 100e3 // m, along axes of a total station
	maxOnVessel   = 1e3   // m, along axes of the vessel
	maxSigma      = 10    // m
	maxPoints     = 400   // in all sets together
	maxPoses      = 20
	maxMarks      = 30
)

type problems []strictyaml.Problem

func (ps *problems) add(path, format string, a ...any) {
	*ps = append(*ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, a...)})
}

func setPath(i int) string { return fmt.Sprintf("sets[%d]", i) }

func pointPath(i int, name string) string { return strictyaml.JoinPath(setPath(i)+".points", name) }

// Validate returns all that cannot be right in the sheet, with paths from the sheet on. What shows only when the
// points are worked out, such as marks in one line, comes from [New].
func (s *Sheet) Validate() []strictyaml.Problem {
	var ps problems
	if len(s.Sets) == 0 {
		ps.add("sets", "there are no sets of points; add one, with axes, sigma and points")
	}
	total, seen := 0, map[string]int{}
	for i := range s.Sets {
		set := &s.Sets[i]
		total += len(set.Points)
		if j, twice := seen[set.Name]; twice && set.Name != "" {
			ps.add(setPath(i)+".name", "the sets %d and %d are both called %s; give one another name", j+1, i+1, strictyaml.Quote(set.Name))
		}
		seen[set.Name] = i
		s.validateSet(&ps, i)
	}
	if total > maxPoints {
		ps.add("sets", "there are %d points in all; allowed: %d", total, maxPoints)
	}
	s.validateAbove(&ps)
	s.validateDevice(&ps)
	s.validateHeave(&ps)
	s.validateRest(&ps)
	return ps
}

func (s *Sheet) validateSet(ps *problems, i int) {
	set, path := &s.Sets[i], setPath(i)
	l, ok := set.Axes.layout()
	if !ok {
		ps.add(path+".axes", "axes are %s; %s", strictyaml.Quote(string(set.Axes)), axesAllowed)
		return
	}
	sigma(ps, path+".sigma", set.Sigma, false)
	if len(set.Points) == 0 {
		ps.add(path+".points", "the set has no points; add some, such as sensor: [0.35 m, -1.80 m, 0.60 m], or leave it out")
	}
	for _, name := range set.names() {
		c, at := set.Points[name], pointPath(i, name)
		if name == "" || name == "file" {
			ps.add(at, "a point is called %s, which cannot be the name of one; give it another", strictyaml.Quote(name))
		}
		coordinates(ps, at, l, c.At)
		if c.Sigma != nil {
			sigma(ps, at+".sigma", *c.Sigma, false)
		}
	}
	if l.station {
		if set.Origin != nil {
			ps.add(path+".origin", "an origin is stated for axes %s, which common points tie to the vessel; leave it out", set.Axes)
		}
		for k, name := range set.Tie {
			at := fmt.Sprintf("%s.tie[%d]", path, k)
			if _, has := set.Points[name]; !has {
				ps.add(at, "the set has no point %s; %s", strictyaml.Quote(name), strictyaml.Allowed(name, set.names()))
			}
			if slices.Index(set.Tie, name) < k {
				ps.add(at, "%s is there twice; leave one out", strictyaml.Quote(name))
			}
		}
		return
	}
	if set.Tie != nil {
		ps.add(path+".tie", "a tie is stated for axes %s, which need none; leave it out, or say origin", set.Axes)
	}
	if o := set.Origin; o != nil {
		if _, has := set.Points[installation.Reference]; has && o.Name != installation.Reference {
			ps.add(path+".origin", "an origin is stated, and the set has the point %s too; leave one of them out", installation.Reference)
		}
		others := append(s.allNames(i), installation.Reference)
		if s.marksGiveSensor() {
			others = append(others, installation.Sensor)
		}
		if o.Name != "" && !slices.Contains(others, o.Name) {
			ps.add(path+".origin", "no other set has the point %s; %s", strictyaml.Quote(o.Name), strictyaml.Allowed(o.Name, others))
		}
		coordinates(ps, path+".origin", l, o.At)
	}
}

// coordinates checks three coordinates along axes.
func coordinates(ps *problems, path string, l layout, at Triple) {
	limit := maxOnVessel
	if l.station {
		limit = maxCoordinate
	}
	for k, x := range at {
		if !(math.Abs(float64(x)) <= limit) {
			ps.add(path, "coordinate %d (%s) is %s; allowed: %g m to %g m", k+1, l.words[k], x.In("m"), -limit, limit)
		}
	}
}

// allNames lists the points of all sets but one.
func (s *Sheet) allNames(but int) []string {
	all := map[string]bool{}
	for i := range s.Sets {
		if i != but {
			for name := range s.Sets[i].Points {
				all[name] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(all))
}

// sigma checks standard deviations; zero is exact.
func sigma(ps *problems, path string, s Sigma, zero bool) {
	for _, x := range s {
		if !(x >= 0) || x == 0 && !zero || x > maxSigma {
			ps.add(path, "a standard deviation is %s; allowed: more than 0 m, up to %d m", x.In("m"), maxSigma)
			return
		}
	}
}

func (s *Sheet) validateAbove(ps *problems) {
	names := s.allNames(-1)
	for _, name := range slices.Sorted(maps.Keys(s.Above)) {
		path := strictyaml.JoinPath("above", name)
		switch {
		case name == installation.Sensor && s.marksGiveSensor():
			ps.add(path, "the marks tell where the device's centre is; leave it out, or say marks from: elsewhere")
		case name == installation.Reference:
			ps.add(path, "the reference point is where coordinates begin; leave it out")
		case !slices.Contains(names, name):
			ps.add(path, "no set has the point %s; %s", strictyaml.Quote(name), strictyaml.Allowed(name, names))
		}
		if x := s.Above[name]; !(math.Abs(float64(x)) <= maxSigma) {
			ps.add(path, "it is %s above its mark; allowed: %d m to %d m", x, -maxSigma, maxSigma)
		}
		if m := s.Device.Marks; m != nil {
			if _, is := m.Points[name]; is {
				ps.add(path, "%s is a device mark, which is where it is; leave it out", strictyaml.Quote(name))
			}
		}
	}
}

func (s *Sheet) validateDevice(ps *problems) {
	if m := s.Device.Mounting; m != nil {
		if s.Device.Marks != nil {
			ps.add("device.mounting", "mounting angles are stated beside marks, from which they follow; leave one of them out, or put what was typed under entered.mounting")
		}
		for _, a := range []struct {
			path string
			x    units.Angle
		}{{"heading", m.Heading}, {"pitch", m.Pitch}, {"roll", m.Roll}} {
			angle(ps, "device.mounting."+a.path, a.x, 2*math.Pi)
		}
		if !(m.Sigma > 0 && float64(m.Sigma) <= math.Pi/4) {
			ps.add("device.mounting.sigma", "the standard deviation is %s; allowed: more than 0 deg, up to 45 deg", m.Sigma.In("deg"))
		}
	}
	m := s.Device.Marks
	if m == nil {
		return
	}
	l, ok := m.Axes.vessel()
	if !ok {
		ps.add("device.marks.axes", "axes are %s; allowed: three directions of the device's own, such as right-forward-up, forward-right-down, forward-left-up", strictyaml.Quote(string(m.Axes)))
		return
	}
	if words := m.From.SchemaEnum(); m.From != "" && !slices.Contains(words, string(m.From)) {
		ps.add("device.marks.from", "from is %s; %s", strictyaml.Quote(string(m.From)), strictyaml.Allowed(string(m.From), words))
	}
	sigma(ps, "device.marks.sigma", m.Sigma, true)
	if len(m.Points) < minPairs {
		ps.add("device.marks.points", "there are %d marks; %d or more that are not in one line fix how the device stands", len(m.Points), minPairs)
	}
	if len(m.Points) > maxMarks {
		ps.add("device.marks.points", "there are %d marks; allowed: %d", len(m.Points), maxMarks)
	}
	names := s.allNames(-1)
	for _, name := range slices.Sorted(maps.Keys(m.Points)) {
		path := strictyaml.JoinPath("device.marks.points", name)
		if !slices.Contains(names, name) {
			ps.add(path, "no set has the mark %s; %s", strictyaml.Quote(name), strictyaml.Allowed(name, names))
		}
		for k, x := range m.Points[name] {
			if !(math.Abs(float64(x)) <= maxSigma) {
				ps.add(path, "coordinate %d (%s) is %s; allowed on a device: %d m to %d m", k+1, l.words[k], x, -maxSigma, maxSigma)
			}
		}
	}
}

func (s *Sheet) validateRest(ps *problems) {
	if g := s.GNSS; g != nil {
		if !(g.Baseline.Length > 0 && g.Baseline.Length <= 1000) {
			ps.add("gnss.baseline.length", "the length is %s; allowed: more than 0 m, up to 1000 m", g.Baseline.Length)
		}
		if !(g.Baseline.Sigma > 0 && g.Baseline.Sigma <= maxSigma) {
			ps.add("gnss.baseline.sigma", "a standard deviation is %s; allowed: more than 0 m, up to %d m", g.Baseline.Sigma, maxSigma)
		}
	}
	if len(s.Poses) > maxPoses {
		ps.add("poses", "there are %d poses; allowed: %d", len(s.Poses), maxPoses)
	}
	for i, p := range s.Poses {
		path := fmt.Sprintf("poses[%d]", i)
		angle(ps, path+".heading", p.Heading, 2*math.Pi)
		angle(ps, path+".pitch", p.Pitch, math.Pi/2)
		angle(ps, path+".roll", p.Roll, math.Pi)
	}
	if k := s.Checks.Coverage; k != 0 && !(k >= 1 && k <= 10) {
		ps.add("checks.coverage-factor", "the coverage factor is %g; allowed: 1 to 10", k)
	}
	if x := s.Checks.EntryLength; x != 0 && !(x > 0 && x <= 1) {
		ps.add("checks.entry-length-step", "the step is %s; allowed: more than 0 m, up to 1 m", x)
	}
	if x := s.Checks.EntryAngle; x != 0 && !(x > 0 && float64(x) <= frame.Rad(10)) {
		ps.add("checks.entry-angle-step", "the step is %s; allowed: more than 0 deg, up to 10 deg", x.In("deg"))
	}
}

func angle(ps *problems, path string, a units.Angle, limit float64) {
	if !(math.Abs(float64(a)) <= limit) {
		whole := math.Round(frame.Deg(limit))
		ps.add(path, "the angle is %s; allowed: %.0f deg to %.0f deg", a.In("deg"), -whole, whole)
	}
}
