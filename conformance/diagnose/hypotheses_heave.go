package diagnose

import (
	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// What programs get wrong of heave.
var heaveHypotheses = []hypothesis{
	{"heave-taken-at-the-wrong-point", "It gives %s.", "Heave at a point is heave of the sensor plus what roll and pitch lift over the distance between them: the up component of C·l, less that of l.",
		func(k *kase) (vs []variant) {
			lift := func(label string, f func(g *geometry, h float64, v frame.Attitude) float64) {
				vs = append(vs, fixed(label, "heave lift", func(p *pipeline) { p.lift = f }))
			}
			lift("the heave of the sensor as that of the output point: what roll and pitch lift over the distance is missing", func(_ *geometry, h float64, _ frame.Attitude) float64 { return h })
			to := func(s float64) func(g *geometry, h float64, v frame.Attitude) float64 {
				return func(g *geometry, h float64, v frame.Attitude) float64 {
					return h + s*frame.InducedHeaveM(v, r3.Sub(g.out, g.heaveAt))
				}
			}
			lift("heave with what roll and pitch lift the wrong way round", to(-1))
			lift("heave with what roll and pitch lift counted twice", to(2))
			lift("heave as if it were measured at the antenna", func(g *geometry, h float64, v frame.Attitude) float64 {
				return h + frame.InducedHeaveM(v, r3.Sub(g.out, g.antenna))
			})
			lift("heave as if it were measured at the vessel reference point", func(g *geometry, h float64, v frame.Attitude) float64 { return h + frame.InducedHeaveM(v, g.out) })
			lift("heave as if it were measured at the sensor, though the device has carried it to its output point", func(g *geometry, h float64, v frame.Attitude) float64 {
				return h + frame.InducedHeaveM(v, r3.Sub(g.out, g.sensor))
			})
			lift("heave at the vessel reference point", func(g *geometry, h float64, v frame.Attitude) float64 {
				return h + frame.InducedHeaveM(v, r3.Scale(-1, g.heaveAt))
			})
			lift("heave carried over the arm with right and forward exchanged", func(g *geometry, h float64, v frame.Attitude) float64 {
				a := r3.Sub(g.out, g.heaveAt)
				return h + frame.InducedHeaveM(v, r3.Vec{X: a.Y, Y: a.X, Z: a.Z})
			})
			lift("heave raised by the difference in height of the two points, whatever roll and pitch do", func(g *geometry, h float64, _ frame.Attitude) float64 {
				return h + g.out.Z - g.heaveAt.Z
			})
			lift("heave lowered by the difference in height of the two points, whatever roll and pitch do", func(g *geometry, h float64, _ frame.Attitude) float64 {
				return h - g.out.Z + g.heaveAt.Z
			})
			lift("heave with the up component of the turned arm, from which that of the arm itself is not taken off", func(g *geometry, h float64, v frame.Attitude) float64 {
				return h + v.Rotation().Apply(r3.Sub(g.out, g.heaveAt)).Z
			})
			for i, x := range signs[:3] {
				lift("heave carried over the arm with its "+axisWords[i]+" component of the opposite sign", func(g *geometry, h float64, v frame.Attitude) float64 {
					return h + frame.InducedHeaveM(v, flip(r3.Sub(g.out, g.heaveAt), x.s))
				})
			}
			lift("heave carried over the distance by roll alone", func(g *geometry, h float64, v frame.Attitude) float64 {
				return h + frame.InducedHeaveM(frame.Attitude{Roll: v.Roll}, r3.Sub(g.out, g.heaveAt))
			})
			lift("heave carried over the distance by pitch alone", func(g *geometry, h float64, v frame.Attitude) float64 {
				return h + frame.InducedHeaveM(frame.Attitude{Pitch: v.Pitch}, r3.Sub(g.out, g.heaveAt))
			})
			return vs
		}},
}
