package emulator

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios"
	"swellbench/scenarios/draws"
)

// noise is one epoch's white noise; the zero noise is none.
type noise struct {
	position, velocity                      r3.Vec  // east north up, m and m/s
	heading, pitch, roll, heave, rateOfTurn float64 // rad, rad, rad, m, rad/s
}

// noiseAt draws the noise of the epoch at scenario time t. The numbers depend on the seed and on t in whole
// microseconds, on nothing drawn before.
func (d *Device) noiseAt(t float64) noise {
	s := d.scenario.Device.Noise
	if s == (scenarios.Noise{}) {
		return noise{}
	}
	src := draws.At(d.scenario.Seed, "device noise", int(math.Round(t*1e6)))
	g := func(sigma float64) float64 { return sigma * src.Normal() }
	return noise{
		position:   r3.Vec{X: g(float64(s.Horizontal)), Y: g(float64(s.Horizontal)), Z: g(float64(s.Vertical))},
		velocity:   r3.Vec{X: g(float64(s.Speed)), Y: g(float64(s.Speed))},
		heading:    g(float64(s.Heading)),
		pitch:      g(float64(s.Pitch)),
		roll:       g(float64(s.Roll)),
		heave:      g(float64(s.Heave)),
		rateOfTurn: g(float64(s.RateOfTurn)),
	}
}
