package frame

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// The induced motion is what a level frame turned to the heading sees of C·l − C₀·l, C₀ being the heading alone.
func TestInducedMotion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(-1.5, 1.5)
		a := Attitude{Heading: rapid.Float64Range(0, 6.28).Draw(t, "heading"), Pitch: angle.Draw(t, "pitch"), Roll: angle.Draw(t, "roll")}
		l := r3.Vec{X: rapid.Float64Range(-30, 30).Draw(t, "right"), Y: rapid.Float64Range(-30, 30).Draw(t, "forward"), Z: rapid.Float64Range(-30, 30).Draw(t, "up")}
		d := r3.Sub(a.Rotation().Apply(l), Attitude{Heading: a.Heading}.Rotation().Apply(l))
		sh, ch := math.Sincos(a.Heading)
		surge, sway, heave := InducedMotion(a, l)
		for _, c := range [][2]float64{{surge, d.X*sh + d.Y*ch}, {sway, d.X*ch - d.Y*sh}, {heave, d.Z}} {
			if !(math.Abs(c[0]-c[1]) < 1e-12*(1+r3.Norm(l))) {
				t.Fatalf("%v %v: %v, want %v", a, l, c[0], c[1])
			}
		}
	})
	// Small angles: bow up takes a mast aft, starboard down takes it to starboard.
	if surge, sway, _ := InducedMotion(Attitude{Pitch: 0.01, Roll: 0.02}, r3.Vec{Z: 10}); !(surge < -0.09 && sway > 0.19) {
		t.Errorf("surge %g, sway %g", surge, sway)
	}
}
