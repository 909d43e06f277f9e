package consumer

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/opt"
)

// A geometry is the installation as the consumer needs it: what the values on the wire refer to, and what is left to
// apply. Vectors are in m along vessel axes.
type geometry struct {
	point string // the name of the output point

	// rest turns the axes of the attitude on the wire into vessel axes: the actual mounting, less the one that was
	// entered. aligned: it turns nothing.
	rest    frame.Rotation
	aligned bool

	two      bool
	baseline r3.Vec          // actual
	typed    opt.Opt[r3.Vec] // the one with which the device has made a heading of the azimuth
	heading  bool            // the heading on the wire is the vessel's, nothing is left to do

	antenna, sensor, out r3.Vec // actual
	placed               bool   // where the antenna is, is known: without, no position can be placed
	positionDone         r3.Vec // the arm the device has carried the position over, as it believes
	heaveDone            r3.Vec // the same for heave
}

// negligible is the length in m, and the angle in rad, below which a difference is rounding: a millionth of a
// millimetre, 6e-8 degrees.
const negligible = 1e-9

func newGeometry(in *installation.Installation) (*geometry, error) {
	if in == nil {
		return nil, fmt.Errorf("consumer: no installation: without it no offset can be applied")
	}
	set := in.Settings()
	g := &geometry{}
	g.out, g.point = in.ExpectedPoint()
	if _, ok := in.Point(g.point); !ok {
		return nil, fmt.Errorf("consumer: the installation has no point %q, which is the output point", g.point)
	}
	var ok bool
	if g.sensor, ok = in.Point(installation.Sensor); !ok {
		return nil, fmt.Errorf("consumer: the installation has no point %q", installation.Sensor)
	}
	g.antenna, g.placed = in.Point(installation.AntennaPrimary)

	g.rest = in.MountingRotation()
	if m, ok := set.Mounting.Value(); ok {
		g.rest = g.rest.Mul(m.Inverse())
	}
	g.aligned = g.rest.AngleTo(frame.Rotation{}) < negligible

	if g.baseline, g.two = in.Baseline(); g.two {
		g.typed = set.Baseline
		b, typed := g.typed.Value()
		g.heading = typed && g.aligned && direction(b, g.baseline)
	} else {
		g.heading = g.aligned
	}

	if out, ok := set.OutputPoint.Value(); ok {
		primary := set.Primary.Or(g.antenna)
		g.positionDone = r3.Sub(out, primary)
		g.heaveDone = r3.Sub(out, set.Sensor)
	}
	return g, nil
}

// direction tells whether two baselines point the same way: their lengths do not matter to a heading.
func direction(a, b r3.Vec) bool {
	return r3.Norm(r3.Sub(r3.Unit(a), r3.Unit(b))) < negligible
}

// believes tells whether the device's idea of its attitude is the vessel's, so that what it has carried over an arm
// and what is left to carry add up in vessel axes, and cancel where they are opposite.
func (g *geometry) believes() bool {
	if !g.aligned {
		return false
	}
	return !g.two || !g.typed.Has() || g.heading
}

// level tells whether the azimuth of the baseline turns with the heading alone: it runs along forward, and no tilt
// moves it aside.
func (g *geometry) level() bool {
	return g.two && !g.typed.Has() && r3.Norm(r3.Vec{X: g.baseline.X, Z: g.baseline.Z}) < negligible && r3.Norm(g.baseline) > negligible
}
