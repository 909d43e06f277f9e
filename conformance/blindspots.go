package conformance

import (
	"fmt"
	"math"
	"time"

	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
)

// someday is when a scenario that starts now may start where it does not matter.
var someday = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// BlindSpots tells what of a scenario could hide a well-known mistake: equal or missing components of a lever arm hide
// exchanged axes, a mounting by right angles proves nothing about the order of rotations, a baseline in a plane of the vessel
// nothing about its tilt, a heading along an axis of the Earth hides signs, and what is near zero hides what is left out.
func BlindSpots(sc *scenarios.Scenario) (all []string) {
	spot := func(format string, a ...any) { all = append(all, fmt.Sprintf(format, a...)) }
	in := &sc.Installation
	for _, pair := range [][2]string{{installation.AntennaPrimary, installation.Sensor}, {installation.AntennaPrimary, installation.Reference},
		{installation.Sensor, in.Expected.OutputPoint}, {installation.AntennaPrimary, in.Expected.OutputPoint}} {
		a, ok1 := in.Point(pair[0])
		b, ok2 := in.Point(pair[1])
		if !ok1 || !ok2 {
			continue
		}
		l := []float64{math.Abs(a.X - b.X), math.Abs(a.Y - b.Y), math.Abs(a.Z - b.Z)}
		if min(l[0], l[1], l[2]) < 0.1 || math.Abs(l[0]-l[1]) < 0.05 || math.Abs(l[1]-l[2]) < 0.05 || math.Abs(l[0]-l[2]) < 0.05 {
			spot("the lever arm from %s to %s is %.2f m: components that are equal or nothing hide exchanged axes", pair[1], pair[0], l)
		}
	}
	m := in.Mounting
	for _, x := range []struct {
		name  string
		angle float64
	}{{"heading", float64(m.Heading)}, {"pitch", float64(m.Pitch)}, {"roll", float64(m.Roll)}} {
		if away := math.Abs(math.Remainder(x.angle, math.Pi/2)); away < frame.Rad(2) {
			spot("the mounting's %s is %.1f° away from a multiple of 90°", x.name, frame.Deg(away))
		}
	}
	if b, ok := in.Baseline(); ok && (math.Abs(b.X) < 0.1 || math.Abs(b.Y) < 0.1 || math.Abs(b.Z) < 0.1) {
		spot("the baseline %.2v lies in a plane of the vessel: tilt does not show", b)
	}
	if h := sc.Track.Heading; h != nil && math.Abs(math.Remainder(float64(*h), math.Pi/2)) < frame.Rad(3) {
		spot("the heading is %.1f°, near a multiple of 90°", frame.Deg(float64(*h)))
	}
	if math.Abs(float64(sc.Geoid.Undulation)) < 5 || math.Abs(frame.Deg(float64(sc.Variation))) < 1 {
		spot("undulation %v or variation %v hides near zero", sc.Geoid.Undulation, sc.Variation)
	}
	if math.Abs(float64(sc.Track.Position.Height)) < 1 {
		spot("the height %v hides near zero", sc.Track.Position.Height)
	}
	return all
}
