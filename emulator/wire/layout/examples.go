package layout

import (
	"embed"
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// Examples holds the examples of the guide, in the folder examples.
//
//go:embed examples/*.yaml
var Examples embed.FS

// Guide says how to write a layout file.
//
//go:embed GUIDE.md
var Guide string

// Sample is a reading in which nothing is absent and no two numbers are alike: what `layout check` shows a message of.
func Sample() wire.Reading {
	deg := func(x float64) opt.Opt[float64] { return opt.Of(x * math.Pi / 180) }
	pos := geo.Position{Lat: 50.1372315 * math.Pi / 180, Lon: -4.2365825 * math.Pi / 180, Height: 59.74}
	return wire.Reading{
		T: 61.25, UTC: opt.Of(time.Date(2026, 6, 1, 12, 1, 1, 250e6, time.UTC)), Fix: wire.FixRTKFixed,
		Position: opt.Of(pos), Undulation: opt.Of(52.94), Variation: deg(-1.7), SpeedMS: opt.Of(3.483), CourseRad: deg(217.98),
		VelocityUp: opt.Of(-0.21), Satellites: opt.Of(17), Sigma: opt.Of(r3.Vec{X: 0.011, Y: 0.012, Z: 0.019}),
		HDOP: opt.Of(0.7), DiffAge: opt.Of(1.5), DiffStation: opt.Of(42),
		Heading: deg(293.85), Yaw: deg(293.4), Pitch: deg(-9.504), Roll: deg(8.149), RateOfTurn: deg(0.684),
		HeadingSigma: deg(0.15), HeaveM: opt.Of(0.275), SurgeM: opt.Of(-0.118), SwayM: opt.Of(0.067),
		VelocityEN: opt.Of([2]float64{-2.143, -2.745}), WaterSpeed: opt.Of([2]float64{3.31, -0.14}),
		Rates: opt.Of(r3.Vec{X: 0.0213, Y: -0.0451, Z: -0.0119}), SpecificForce: opt.Of(r3.Vec{X: 1.37, Y: -1.62, Z: 9.58}),
		PDOP: opt.Of(1.3), VDOP: opt.Of(1.1), TDOP: opt.Of(0.8), Origin: opt.Of(pos), Count: 1234, Series: 2468,
	}
}

// ExampleNames lists the examples.
func ExampleNames() []string { return []string{"quay-tilt", "hull-box"} }
