package consumer

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// geometryDefects are those of the stages that apply the installation.
var geometryDefects = []Defect{
	{"mounting-subtracted", "subtracts the mounting angles instead of composing the rotations", Attitude, "offset.mounting", "mount-angles-subtracted", mountingSubtracted},
	{"mounting-ignored", "takes the attitude of the device for that of the vessel", Attitude, "offset.mounting", "mounting-ignored", mountingIgnored},
	{"mounting-the-other-way", "turns by the mounting instead of back over it", Attitude, "offset.mounting", "mounting-reversed", mountingTheOtherWay},
	{"mounting-roll-sign", "takes the roll of the mounting for positive to port", Attitude, "offset.mounting", "mounting-reversed", mountingRollSign},
	{"mounting-order", "composes the mounting angles in another order: roll before pitch", Attitude, "offset.mounting", "mounting-reversed", mountingOrder},
	{"attitude-held", "goes on with pitch and roll of half a second ago", Gather, "offset.mounting", "source-late", attitudeHeld},
	{"baseline-ignored", "takes the azimuth between the antennas for the heading", Heading, "offset.baseline", "antenna-pair-offset-wrong", baselineIgnored},
	{"baseline-added", "adds the azimuth of the baseline instead of taking it off", Heading, "offset.baseline", "antenna-pair-offset-wrong", baselineAdded},
	{"baseline-not-tilted", "takes off the azimuth of the baseline of the level vessel", Heading, "offset.baseline", "baseline-tilt-ignored", baselineNotTilted},
	{"antennas-exchanged", "takes the secondary antenna for the primary one", Heading, "offset.baseline", "antenna-pair-offset-wrong", antennasExchanged},
	{"lever-arm-order", "takes the lever arm as forward, right, up", Turn, "offset.lever-arm", "arm-axes-exchanged", leverArmOrder},
	{"lever-arm-not-rotated", "adds the lever arm as if right were east and forward north", Turn, "offset.lever-arm", "arm-not-turned-with-heading", leverArmNotRotated},
	{"lever-arm-twice", "applies the lever arm once when reading and again when publishing", Place, "offset.lever-arm", "offset-applied-twice", leverArmTwice},
	{"lever-arm-ignored", "shows the position of the antenna as that of the output point", Place, "offset.lever-arm", "arm-ignored", leverArmIgnored},
	{"lever-arm-heading-only", "turns the lever arm by the heading alone", Turn, "offset.lever-arm", "arm-not-tilted", leverArmHeadingOnly},
	{"lever-arm-not-rolled", "turns the lever arm by heading and pitch, and forgets the roll", Turn, "offset.lever-arm", "arm-not-tilted", leverArmNotRolled},
	{"lever-arm-roll-sign", "turns the lever arm with the roll the other way", Turn, "offset.lever-arm", "arm-tilt-sign-reversed", leverArmRollSign},
	{"lever-arm-mirrored-heading", "turns the lever arm by the heading to the left", Turn, "offset.lever-arm", "arm-not-turned-with-heading", leverArmMirroredHeading},
	{"lever-arm-transposed", "turns the lever arm by the transpose of the attitude matrix", Turn, "offset.lever-arm", "rotation-order-wrong", leverArmTransposed},
	{"lever-arm-rotation-order", "turns the lever arm by pitch before roll", Turn, "offset.lever-arm", "rotation-order-wrong", leverArmRotationOrder},
	{"lever-arm-right-sign", "takes the lever arm's first component as positive to port", Turn, "offset.lever-arm", "arm-axis-sign-reversed", armTimes(-1, 1, 1)},
	{"lever-arm-forward-sign", "takes the lever arm's second component as positive aft", Turn, "offset.lever-arm", "arm-axis-sign-reversed", armTimes(1, -1, 1)},
	{"lever-arm-up-sign", "takes the lever arm's third component as positive down", Turn, "offset.lever-arm", "arm-axis-sign-reversed", armTimes(1, 1, -1)},
	{"lever-arm-backwards", "goes from the output point to the antenna instead of the other way", Turn, "offset.lever-arm", "arm-axis-sign-reversed", armTimes(-1, -1, -1)},
	{"lever-arm-in-feet", "takes the metres of the lever arm for feet", Turn, "offset.lever-arm", "arm-unit-confused", armTimes(0.3048, 0.3048, 0.3048)},
	{"lever-arm-forward-right-down", "takes the lever arm as forward, right, down", Turn, "offset.lever-arm", "arm-axes-exchanged", leverArmFRD},
	{"lever-arm-north-east-down", "adds the turned lever arm as north, east, down", Turn, "offset.lever-arm", "arm-axes-exchanged", leverArmNED},
	{"lever-arm-horizontal-only", "leaves the height as it is on the wire", Turn, "offset.lever-arm", "arm-partly-applied", leverArmHorizontalOnly},
	{"lever-arm-old-heading", "turns the lever arm by the heading of ten epochs ago", Place, "offset.lever-arm", "arm-turned-by-old-heading", leverArmOldHeading},
	{"sensor-for-output-point", "carries the position to the motion sensor instead of the output point", Place, "offset.lever-arm", "reference-point-confused", sensorForOutputPoint},
	{"longitude-not-scaled", "divides the metres east by those of a degree of latitude", Place, "offset.lever-arm", "longitude-not-scaled-by-latitude", longitudeNotScaled},
	{"heave-not-carried", "shows the heave of the sensor as that of the output point", Heave, "offset.heave", "heave-taken-at-the-wrong-point", heaveNotCarried},
	{"heave-carried-backwards", "adds to heave what the sensor is lifted over the output point", Heave, "offset.heave", "heave-taken-at-the-wrong-point", heaveCarriedBackwards},
	{"heave-carried-level", "carries heave by the height difference of the points alone", Heave, "offset.heave", "heave-taken-at-the-wrong-point", heaveCarriedLevel},
}

// turning wraps the stage that turns a lever arm.
func turning(s *stages, f func(turn func(frame.Rotation, r3.Vec) r3.Vec, vessel frame.Rotation, arm r3.Vec) r3.Vec) {
	turn := s.turn
	s.turn = func(vessel frame.Rotation, arm r3.Vec) r3.Vec { return f(turn, vessel, arm) }
}

// by makes a rotation of one angle after the other, the last first.
func by(angles ...frame.Attitude) frame.Rotation {
	r := frame.Rotation{}
	for _, a := range angles {
		r = r.Mul(a.Rotation())
	}
	return r
}

// rollFirst composes in the other order: the vector is turned by pitch before roll.
func rollFirst(a frame.Attitude) frame.Rotation {
	return by(frame.Attitude{Heading: a.Heading}, frame.Attitude{Roll: a.Roll}, frame.Attitude{Pitch: a.Pitch})
}

func mountingSubtracted(s *stages) {
	s.attitude = func(reported frame.Attitude, rest frame.Rotation) frame.Attitude {
		m := rest.Attitude()
		return frame.Attitude{
			Heading: frame.Wrap2Pi(reported.Heading - m.Heading),
			Pitch:   frame.WrapPi(reported.Pitch - m.Pitch),
			Roll:    frame.WrapPi(reported.Roll - m.Roll),
		}
	}
}

func mountingIgnored(s *stages) {
	s.attitude = func(reported frame.Attitude, _ frame.Rotation) frame.Attitude { return reported }
}

// mountedBy makes the attitude stage take another mounting than it should.
func mountedBy(s *stages, f func(rest frame.Rotation) frame.Rotation) {
	attitude := s.attitude
	s.attitude = func(reported frame.Attitude, rest frame.Rotation) frame.Attitude {
		return attitude(reported, f(rest))
	}
}

func mountingTheOtherWay(s *stages) { mountedBy(s, frame.Rotation.Inverse) }

func mountingRollSign(s *stages) {
	mountedBy(s, func(rest frame.Rotation) frame.Rotation {
		m := rest.Attitude()
		m.Roll = -m.Roll
		return m.Rotation()
	})
}

func mountingOrder(s *stages) {
	mountedBy(s, func(rest frame.Rotation) frame.Rotation { return rollFirst(rest.Attitude()) })
}

func attitudeHeld(s *stages) {
	gather := s.gather
	var held []*[quantities]value
	s.gather = func(e *epoch) {
		gather(e)
		if !e.values[pitch].known || !e.values[roll].known {
			return
		}
		now := e.values
		held = append(held, &now)
		const epochs = 5
		if len(held) > epochs {
			held = held[len(held)-epochs-1:]
		}
		e.values[pitch], e.values[roll] = held[0][pitch], held[0][roll]
	}
}

// azimuths wraps the stage that makes a heading of the azimuth between two antennas.
func azimuths(s *stages, f func(g *geometry, azimuth float64, tilt frame.Attitude) float64) {
	right := s.heading
	s.heading = func(s *stages, g *geometry, reported, tilt frame.Attitude) float64 {
		if !g.two || g.typed.Has() {
			return right(s, g, reported, tilt)
		}
		return frame.Wrap2Pi(f(g, reported.Heading, tilt))
	}
}

func baselineIgnored(s *stages) {
	azimuths(s, func(_ *geometry, azimuth float64, _ frame.Attitude) float64 { return azimuth })
}

func baselineAdded(s *stages) {
	azimuths(s, func(g *geometry, azimuth float64, _ frame.Attitude) float64 {
		return azimuth + math.Atan2(g.baseline.X, g.baseline.Y)
	})
}

func baselineNotTilted(s *stages) {
	azimuths(s, func(g *geometry, azimuth float64, _ frame.Attitude) float64 {
		return azimuth - math.Atan2(g.baseline.X, g.baseline.Y)
	})
}

func antennasExchanged(s *stages) {
	azimuths(s, func(g *geometry, azimuth float64, tilt frame.Attitude) float64 {
		return frame.HeadingFromBaseline(azimuth, tilt.Pitch, tilt.Roll, r3.Scale(-1, g.baseline))
	})
}

func leverArmOrder(s *stages) {
	turning(s, func(turn func(frame.Rotation, r3.Vec) r3.Vec, vessel frame.Rotation, arm r3.Vec) r3.Vec {
		return turn(vessel, r3.Vec{X: arm.Y, Y: arm.X, Z: arm.Z})
	})
}

func leverArmFRD(s *stages) {
	turning(s, func(turn func(frame.Rotation, r3.Vec) r3.Vec, vessel frame.Rotation, arm r3.Vec) r3.Vec {
		return turn(vessel, r3.Vec{X: arm.Y, Y: arm.X, Z: -arm.Z})
	})
}

func leverArmNotRotated(s *stages) {
	s.turn = func(_ frame.Rotation, arm r3.Vec) r3.Vec { return arm }
}

func leverArmTwice(s *stages) {
	place := s.place
	s.place = func(s *stages, g *geometry, p geo.Position, believed, vessel frame.Rotation) geo.Position {
		return place(s, g, place(s, g, p, believed, vessel), believed, vessel)
	}
}

func leverArmIgnored(s *stages) {
	s.place = func(_ *stages, _ *geometry, p geo.Position, _, _ frame.Rotation) geo.Position { return p }
}

// turnedBy makes the turn stage take another attitude than it should.
func turnedBy(s *stages, f func(frame.Attitude) frame.Rotation) {
	turning(s, func(turn func(frame.Rotation, r3.Vec) r3.Vec, vessel frame.Rotation, arm r3.Vec) r3.Vec {
		return turn(f(vessel.Attitude()), arm)
	})
}

func leverArmHeadingOnly(s *stages) {
	turnedBy(s, func(a frame.Attitude) frame.Rotation { return frame.Attitude{Heading: a.Heading}.Rotation() })
}

func leverArmNotRolled(s *stages) {
	turnedBy(s, func(a frame.Attitude) frame.Rotation {
		return frame.Attitude{Heading: a.Heading, Pitch: a.Pitch}.Rotation()
	})
}

func leverArmRollSign(s *stages) {
	turnedBy(s, func(a frame.Attitude) frame.Rotation {
		return frame.Attitude{Heading: a.Heading, Pitch: a.Pitch, Roll: -a.Roll}.Rotation()
	})
}

func leverArmMirroredHeading(s *stages) {
	turnedBy(s, func(a frame.Attitude) frame.Rotation {
		return frame.Attitude{Heading: -a.Heading, Pitch: a.Pitch, Roll: a.Roll}.Rotation()
	})
}

func leverArmTransposed(s *stages) {
	turnedBy(s, func(a frame.Attitude) frame.Rotation { return a.Rotation().Inverse() })
}

func leverArmRotationOrder(s *stages) { turnedBy(s, rollFirst) }

// armTimes makes a defect that multiplies the components of lever arms.
func armTimes(right, forward, up float64) func(*stages) {
	return func(s *stages) {
		turning(s, func(turn func(frame.Rotation, r3.Vec) r3.Vec, vessel frame.Rotation, arm r3.Vec) r3.Vec {
			return turn(vessel, r3.Vec{X: right * arm.X, Y: forward * arm.Y, Z: up * arm.Z})
		})
	}
}

func leverArmNED(s *stages) {
	turning(s, func(turn func(frame.Rotation, r3.Vec) r3.Vec, vessel frame.Rotation, arm r3.Vec) r3.Vec {
		v := turn(vessel, arm)
		return r3.Vec{X: v.Y, Y: v.X, Z: -v.Z}
	})
}

func leverArmHorizontalOnly(s *stages) {
	turning(s, func(turn func(frame.Rotation, r3.Vec) r3.Vec, vessel frame.Rotation, arm r3.Vec) r3.Vec {
		v := turn(vessel, arm)
		v.Z = 0
		return v
	})
}

func leverArmOldHeading(s *stages) {
	place := s.place
	var headings []float64
	s.place = func(s *stages, g *geometry, p geo.Position, believed, vessel frame.Rotation) geo.Position {
		a := vessel.Attitude()
		const epochs = 10
		if headings = append(headings, a.Heading); len(headings) > epochs {
			headings = headings[len(headings)-epochs-1:]
		}
		a.Heading = headings[0]
		return place(s, g, p, believed, a.Rotation())
	}
}

func sensorForOutputPoint(s *stages) {
	place := s.place
	s.place = func(s *stages, g *geometry, p geo.Position, believed, vessel frame.Rotation) geo.Position {
		other := *g
		other.out = g.sensor
		return place(s, &other, p, believed, vessel)
	}
}

func longitudeNotScaled(s *stages) {
	place := s.place
	s.place = func(s *stages, g *geometry, p geo.Position, believed, vessel frame.Rotation) geo.Position {
		q := place(s, g, p, believed, vessel)
		q.Lon = p.Lon + frame.WrapPi(q.Lon-p.Lon)*math.Cos(p.Lat)
		return q
	}
}

func heaveNotCarried(s *stages) {
	s.heave = func(_ *geometry, h float64, _, _ frame.Attitude) float64 { return h }
}

func heaveCarriedBackwards(s *stages) {
	s.heave = func(g *geometry, h float64, reported, vessel frame.Attitude) float64 {
		return h + frame.InducedHeaveM(reported, g.heaveDone) - frame.InducedHeaveM(vessel, r3.Sub(g.out, g.sensor))
	}
}

func heaveCarriedLevel(s *stages) {
	s.heave = func(g *geometry, h float64, _, _ frame.Attitude) float64 {
		return h + g.out.Z - g.sensor.Z - g.heaveDone.Z
	}
}
