package consumer

import (
	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// Defects of the stages that apply the installation.

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

func leverArmOrder(s *stages) {
	turn := s.turn
	s.turn = func(vessel frame.Rotation, arm r3.Vec) r3.Vec {
		return turn(vessel, r3.Vec{X: arm.Y, Y: arm.X, Z: arm.Z})
	}
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
