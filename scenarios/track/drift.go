package track

import (
	"math"

	"swellbench/scenarios/units"
)

// Drift is a motion that the vessel does not make by itself, over the ground.
type Drift struct {
	Set   units.Angle `yaml:"set,required" doc:"true direction towards which it carries the vessel, -180 deg to 360 deg"`
	Drift units.Speed `yaml:"drift,required" doc:"its speed"`
}

// maxDriftRatio is how much of the vessel's own speed a drift may be: beyond, it could hardly hold a track across it.
const maxDriftRatio = 0.8

// drift is the sum of current and wind drift: a velocity of size ms towards set, rad in the plan at hand.
//
// The vessel keeps its own speed V along the keel and lays its bow so far off the course χ that the sum of both runs
// along the course (the triangle of velocities). With d the drift across the course, positive to starboard, and e
// along it,
//
//	d = D·sin(set − χ)    e = D·cos(set − χ)
//	speed over ground  v = √(V² − d²) + e
//	heading            h = χ − asin(d/V), which is χ + atan2(−d, v − e)
//
// Source: current sailing, Bowditch, The American Practical Navigator (NGA Pub. 9), chapter on dead reckoning, from
// memory.
//
// Set is true where the track starts. From there the vector is carried along the track without turning (parallel
// transport), so that a straight track, a geodesic, has one crab angle; the meridians converge meanwhile by
// distance·sin(course)·tan(latitude)/R: 0.2° in 10 km eastward at 60°. A drift that kept its true direction would
// spin about the poles.
type drift struct{ set, ms float64 }

// newDrift adds current and wind drift.
func newDrift(parts ...*Drift) drift {
	var east, north float64
	n := 0
	var last drift
	for _, p := range parts {
		if p != nil && p.Drift != 0 {
			sin, cos := math.Sincos(float64(p.Set))
			east, north = east+float64(p.Drift)*sin, north+float64(p.Drift)*cos
			last = drift{float64(p.Set), float64(p.Drift)}
			n++
		}
	}
	if n < 2 {
		return last
	}
	return drift{math.Atan2(east, north), math.Hypot(east, north)}
}

// across and along give the drift to starboard of the course and along it, m/s.
func (d drift) resolve(course float64) (across, along float64) {
	if d.ms == 0 {
		return 0, 0
	}
	sin, cos := math.Sincos(d.set - course)
	return d.ms * sin, d.ms * cos
}

// triangle gives the speed over ground and how far the bow is to starboard of the course, for the vessel's own speed.
func (d drift) triangle(own, course float64) (speed, crab float64) {
	if d.ms == 0 {
		return own, 0
	}
	across, along := d.resolve(course)
	return math.Sqrt(own*own-across*across) + along, -math.Asin(across / own)
}

// crabAt gives how far the bow is to starboard of the course at a speed over ground, whatever own speed that takes.
func (d drift) crabAt(speed, course float64) float64 {
	if d.ms == 0 {
		return 0
	}
	across, along := d.resolve(course)
	return math.Atan2(-across, speed-along)
}

// courseOf gives the course over ground of a vessel that heads there at its own speed.
func (d drift) courseOf(own, heading float64) float64 {
	if d.ms == 0 {
		return heading
	}
	sin, cos := math.Sincos(heading)
	dSin, dCos := math.Sincos(d.set)
	return math.Atan2(own*sin+d.ms*dSin, own*cos+d.ms*dCos)
}
