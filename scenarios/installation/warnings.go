package installation

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/strictyaml"
)

// How far what was entered may lie from what is before it is worth a word. Common practice, no source: what an
// installer with a tape measure and a total station can be expected to reach.
const (
	warnLength   = 0.1                 // of the length of a baseline
	warnDistance = 0.1                 // m
	warnMounting = 0.5 * math.Pi / 180 // rad
	warnBaseline = 1 * math.Pi / 180   // rad
)

// Warnings returns what may be, but probably was not meant: entries without effect, and entries that differ from what
// is. A scenario may be made to show just that. Paths are those of [Installation.Validate], which comes first.
func (in *Installation) Warnings() []strictyaml.Problem {
	var ps problems
	in.warnPoints(&ps)
	in.warnEffect(&ps)
	in.warnDifference(&ps)
	return ps
}

// warnPoints tells of points that are missing or outside the vessel.
func (in *Installation) warnPoints(ps *problems) {
	if _, ok := in.Points[AntennaPrimary]; !ok {
		ps.add("points", "there is no point %s, so the device knows no position; add it, if the device has GNSS", AntennaPrimary)
	}
	for _, name := range in.Names() {
		v, path := in.Points[name], strictyaml.JoinPath("points", name)
		if l := in.Vessel.Length; l > 0 && math.Abs(float64(v[1])) > float64(l) {
			ps.add(path, "the point %s is %s forward of the reference point, but the vessel is %s long; look at the order right, forward, up", strictyaml.Quote(name), v[1].In("m"), l.In("m"))
		}
		if b := in.Vessel.Breadth; b > 0 && math.Abs(float64(v[0])) > float64(b) {
			ps.add(path, "the point %s is %s to the right of the reference point, but the vessel is %s wide; look at the order right, forward, up", strictyaml.Quote(name), v[0].In("m"), b.In("m"))
		}
	}
}

// warnEffect tells of entries that do nothing, or not what they seem to.
func (in *Installation) warnEffect(ps *problems) {
	e, s := in.Entered, in.Settings()
	_, two := in.Baseline()
	if e.OutputPoint != nil && !s.Primary.Has() {
		ps.add("entered.output-point", "an output point is entered without the primary antenna, so it has no effect: position stays at %s and heave at %s; enter antennas.primary too, or leave it out", AntennaPrimary, Sensor)
	}
	if e.Baseline != nil && !two {
		ps.add("entered.baseline", "a baseline is entered, but there are no two antennas, so it has no effect; add the point %s, or leave it out", AntennaSecondary)
	}
	if a := e.Antennas; a != nil {
		if a.Secondary != nil && !two {
			ps.add("entered.antennas.secondary", "a secondary antenna is entered, but there are no two antennas, so it has no effect; add the point %s, or leave it out", AntennaSecondary)
		}
		if a.Secondary != nil && a.Primary == nil && e.Baseline == nil {
			ps.add("entered.antennas.secondary", "the secondary antenna is entered without the primary, so it has no effect; enter antennas.primary too, or leave it out")
		}
		if a.Secondary != nil && a.Primary != nil && e.Baseline != nil {
			ps.add("entered.baseline", "a baseline is entered beside both antennas; the device takes the baseline")
		}
		vectors := a.Primary != nil && a.Primary.Name == "" || a.Secondary != nil && a.Secondary.Name == ""
		if !vectors && (a.Axes == DeviceAxes || a.From == FromSensor) {
			ps.add("entered.antennas", "axes and from say what typed distances mean, but no distance is typed here; a point's name is where that point is")
		}
		if vectors && a.Axes == DeviceAxes && e.Mounting == nil && in.turned() {
			ps.add("entered.antennas.axes", "distances are typed along device axes without the mounting, so the device takes them to run along the vessel's; enter mounting too")
		}
	}
	if two && s.Baseline.Has() && e.Mounting == nil && in.turned() {
		path := "entered.antennas"
		if e.Baseline != nil {
			path = "entered.baseline"
		}
		ps.add(path, "a baseline is entered without the mounting, so the device corrects it for the tilt of its own axes, not of the vessel; enter mounting too")
	}
}

// turned tells whether the device really stands otherwise than aligned.
func (in *Installation) turned() bool {
	return in.MountingRotation().AngleTo(frame.Rotation{}) > 1e-9
}

// warnDifference tells of entries that differ from what is.
func (in *Installation) warnDifference(ps *problems) {
	e, s := in.Entered, in.Settings()
	if m, ok := s.Mounting.Value(); ok {
		if d := m.AngleTo(in.MountingRotation()); d > warnMounting {
			ps.add("entered.mounting", "the mounting entered is %s off the actual one", degrees(d))
		}
	}
	apart := func(path, what, point string, at r3.Vec) {
		actual, ok := in.Point(point)
		if d := r3.Norm(r3.Sub(at, actual)); ok && d > warnDistance {
			ps.add(path, "%s is entered %.2f m from where %s is", what, d, point)
		}
	}
	if e.Sensor != nil {
		apart("entered.sensor", "the sensor", Sensor, s.Sensor)
	}
	if p, ok := s.Primary.Value(); ok {
		apart("entered.antennas.primary", "the primary antenna", AntennaPrimary, p)
	}
	if p, ok := s.Secondary.Value(); ok {
		apart("entered.antennas.secondary", "the secondary antenna", AntennaSecondary, p)
	}
	actual, two := in.Baseline()
	entered, ok := s.Baseline.Value()
	if !two || !ok {
		return
	}
	path, length := "entered.antennas.secondary", "entered.antennas.secondary"
	if e.Baseline != nil {
		path, length = "entered.baseline", "entered.baseline.length"
	}
	a, b := r3.Norm(actual), r3.Norm(entered)
	if a < minBaseline || b < minBaseline {
		return // a matter of Validate
	}
	if math.Abs(b-a) > warnLength*a {
		ps.add(length, "the baseline entered is %.3f m long, the actual one %.3f m", b, a)
	}
	if d := angleBetween(actual, entered); d > warnBaseline {
		ps.add(path, "the baseline entered points %s beside the actual one", degrees(d))
	}
}

// angleBetween is the angle between two vectors, exact also where it is small or nearly half a turn.
func angleBetween(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b))
}

// degrees writes an angle in rad for a person.
func degrees(rad float64) string { return fmt.Sprintf("%.2f deg", rad*180/math.Pi) }
