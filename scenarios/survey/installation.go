package survey

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/units"
)

// Installation is the installation file that the sheet makes: the points but device marks and controls, the mounting
// angles, and the rest as the sheet has it. Lengths are rounded to 0.1 mm and angles to 0.0001 deg.
func (v *Survey) Installation() *installation.Installation {
	in := v.actual(v.best)
	for name, p := range in.Points {
		for i := range p {
			p[i] = units.Length(round(float64(p[i]), 1e4))
		}
		in.Points[name] = p
	}
	for _, a := range []*units.Angle{&in.Mounting.Heading, &in.Mounting.Pitch, &in.Mounting.Roll} {
		*a = units.Angle(frame.Rad(round(frame.Deg(float64(*a)), 1e4)))
	}
	return in
}

// round rounds to so many parts of one, without a negative zero.
func round(x, parts float64) float64 { return math.Round(x*parts)/parts + 0 }

// actual is the installation of one solution, not rounded.
func (v *Survey) actual(s *solution) *installation.Installation {
	in := &installation.Installation{
		Vessel: v.Sheet.Vessel, Points: map[string]installation.Vector{},
		Entered: v.Sheet.Entered, Expected: v.Sheet.Expected,
	}
	for _, n := range v.listed() {
		in.Points[v.model.names[n]] = installation.VectorOf(s.points[n])
	}
	if _, ok := v.sensor(); ok {
		in.Points[installation.Sensor] = installation.VectorOf(s.sensor)
	}
	a := s.mounting.Attitude()
	in.Mounting = installation.Mounting{Heading: units.Angle(a.Heading), Pitch: units.Angle(a.Pitch), Roll: units.Angle(a.Roll)}
	return in
}

// listed gives the numbers of the points to be listed: all but the reference point, device marks, and points of
// control sets that have no meaning of their own.
func (v *Survey) listed() (out []int) {
	hidden := map[int]bool{0: true}
	for i, set := range v.model.sets {
		if v.Sheet.Sets[i].Control {
			for _, p := range set.points {
				hidden[p.name] = true
			}
		}
	}
	for _, k := range v.model.marks {
		hidden[k.point] = true
	}
	for n, name := range v.model.names {
		switch name {
		case installation.Sensor, installation.AntennaPrimary, installation.AntennaSecondary:
			hidden[n] = false
		}
		if !hidden[n] {
			out = append(out, n)
		}
	}
	return out
}

// at gives a listed point of a solution by name; the reference point too.
func (v *Survey) at(s *solution, name string) (r3.Vec, bool) {
	if name == installation.Sensor {
		_, ok := v.sensor()
		return s.sensor, ok
	}
	if n := v.model.number(name); n >= 0 {
		return s.points[n], true
	}
	return r3.Vec{}, false
}
