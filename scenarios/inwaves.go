package scenarios

import (
	"io/fs"
	"math"
	"path"

	"swellbench/scenarios/geo"
	"swellbench/scenarios/sea"
	"swellbench/scenarios/sea/hull"
	"swellbench/scenarios/sea/waves"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/track"
)

// The responses of the hull are worked out for heading and speed in these steps: a vessel that keeps both within half a
// step has one set of responses. Half a step of heading is less than the assumption of a hull without a memory costs.
const (
	headingStep = math.Pi / 360 // half a degree, rad
	speedStep   = 0.1           // m/s
)

// inWaves is the motion of a hull in waves along a path.
type inWaves struct{ sum *waves.Sum }

// newInWaves puts the hull of the installation on its path into the sea. The waves run over the plane that touches the
// Earth at the start of the track, so that the frequency of encounter follows from where the vessel is; 100 km from
// there the plane makes waves 0.01 % too long.
func newInWaves(s *Scenario, way track.Path) (*inWaves, error) {
	surface, err := waves.New(s.Sea, s.Seed, float64(s.Duration))
	if err != nil {
		return nil, err
	}
	vessel, err := hull.New(s.Hull, s.Installation.Vessel)
	if err != nil {
		return nil, err
	}
	origin := geo.LocalAt(way.At(0).Position)
	place := func(t float64) waves.Place {
		p := way.At(t)
		here := geo.LocalAt(p.Position)
		at, v, a := origin.ENU(p.Position), origin.FromECEF(here.ToECEF(p.Velocity)), origin.FromECEF(here.ToECEF(p.Acceleration))
		return waves.Place{X: at.X, Y: at.Y, VX: v.X, VY: v.Y, AX: a.X, AY: a.Y}
	}
	steps := func(t float64) (heading, speed int) {
		p := way.At(t)
		ahead := p.Velocity.X*math.Sin(p.Heading) + p.Velocity.Y*math.Cos(p.Heading)
		return int(math.Round(p.Heading / headingStep)), int(math.Round(ahead / speedStep))
	}
	components := surface.Components()
	respond := func(i int, t float64) [waves.Channels]complex128 {
		c := &components[i]
		h, v := steps(t)
		return vessel.At(c.Omega, c.K, float64(v)*speedStep, hull.Beta(float64(h)*headingStep, c.Direction))
	}
	regime := func(t float64) uint64 {
		h, v := steps(t)
		return uint64(uint32(h))<<32 | uint64(uint32(v))
	}
	grid := waves.FitGridHz(components, respond, place, float64(s.Duration), 1e-6)
	return &inWaves{waves.NewSum(components, respond, place, waves.Options{GridHz: grid, Regime: regime})}, nil
}

// At implements [sea.Motion].
func (w *inWaves) At(t float64) sea.SixDOF {
	v := w.sum.At(t)
	c := func(i int) sea.Component { return sea.Component{Value: v.Value[i], Rate: v.Rate[i], Accel: v.Accel[i]} }
	return sea.SixDOF{Surge: c(hull.Surge), Sway: c(hull.Sway), Heave: c(hull.Heave), Roll: c(hull.Roll), Pitch: c(hull.Pitch), Yaw: c(hull.Yaw)}
}

// both is two motions at once: what a file states, and what the sea does.
type both struct{ a, b sea.Motion }

func (m both) At(t float64) sea.SixDOF {
	a, b := m.a.At(t), m.b.At(t)
	add := func(x, y sea.Component) sea.Component {
		return sea.Component{Value: x.Value + y.Value, Rate: x.Rate + y.Rate, Accel: x.Accel + y.Accel}
	}
	return sea.SixDOF{Surge: add(a.Surge, b.Surge), Sway: add(a.Sway, b.Sway), Heave: add(a.Heave, b.Heave),
		Roll: add(a.Roll, b.Roll), Pitch: add(a.Pitch, b.Pitch), Yaw: add(a.Yaw, b.Yaw)}
}

// hasSea tells whether the scenario has waves.
func (s *Scenario) hasSea() bool { return len(s.Sea.Systems) > 0 }

// validateSea adds what is wrong with the sea and the hull in it.
func (s *Scenario) validateSea() []strictyaml.Problem {
	if !s.hasSea() {
		return nil
	}
	ps := strictyaml.Under("sea", s.Sea.Validate())
	ps = append(ps, strictyaml.Under("hull", s.Hull.Validate())...)
	return append(ps, strictyaml.Under("installation.vessel", s.Hull.ValidateVessel(s.Installation.Vessel))...)
}

// warnSea adds what of the sea is possible but probably not meant.
func (s *Scenario) warnSea() []strictyaml.Problem {
	if !s.hasSea() {
		return nil
	}
	ps := strictyaml.Under("sea", s.Sea.Warnings())
	return append(ps, strictyaml.Under("hull", s.Hull.Warnings(s.Installation.Vessel))...)
}

// readFiles reads the files that the scenario names beside itself: the hull's responses, an almanac, a route. It returns
// what is wrong with them.
func (s *Scenario) readFiles(fsys fs.FS, name string) ([]strictyaml.Problem, error) {
	ps := strictyaml.Under("gnss", s.GNSS.ReadAlmanac(fsys, path.Dir(name)))
	ps = append(ps, strictyaml.Under("track", s.Track.Resolve(fsys, func(string) string { return path.Dir(name) }))...)
	ps = append(ps, s.readLayouts(fsys, name)...)
	if s.hasSea() && s.Hull.RAOTable != "" {
		if err := s.Hull.ReadTable(fsys, name); err != nil {
			return ps, err
		}
	}
	return ps, nil
}
