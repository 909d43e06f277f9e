package waves

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"swellbench/scenarios/draws"
)

// A Component is one sinusoid of the sea.
type Component struct {
	Omega     float64 // rad/s
	K         float64 // rad/m
	Direction float64 // true, that it travels to, rad, 0 ≤ x < 2π
	Amplitude float64 // m
	Phase     float64 // at the origin at time 0, rad
}

// A Sea is the surface that a [Spec] describes. It never changes and may be shared.
type Sea struct {
	components []Component
	spectra    []Spectrum
	recurrence float64
}

// New draws the sea of a section. It is an error where [Spec.Validate] finds any. One seed, one sea; durationS only says
// how long the run is in which the sea must not come near to repeating, and a redraw for its sake is rare.
func New(s Spec, seed uint64, durationS float64) (*Sea, error) {
	var errs []error
	for _, p := range s.Validate() {
		errs = append(errs, errors.New("sea: "+p.Path+": "+p.Text))
	}
	if !(durationS >= 0) || math.IsInf(durationS, 0) {
		errs = append(errs, fmt.Errorf("sea: the run lasts %g s; allowed: 0 s or more", durationS))
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	sea := &Sea{}
	for _, w := range s.Systems {
		sea.spectra = append(sea.spectra, w.spectrum())
	}
	for try := range 8 {
		sea.components = s.draw(sea.spectra, seed, try)
		sea.recurrence = recurrence(sea.components, durationS)
		if sea.recurrence < maxRecurrence {
			return sea, nil
		}
	}
	return nil, fmt.Errorf("sea: components: %d of them nearly repeat within %g s, whatever the draw; ask for more components", s.components(), durationS)
}

// draw draws the components of all systems, shared evenly between those that are not calm: a low swell fills as much of
// the frequency axis as a high one.
func (s Spec) draw(spectra []Spectrum, seed uint64, try int) []Component {
	rough := 0
	for _, sp := range spectra {
		if sp.HsM() > 0 {
			rough++
		}
	}
	var cs []Component
	done := 0
	for i, sp := range spectra {
		if !(sp.HsM() > 0) {
			continue
		}
		n := s.components()*(done+1)/rough - s.components()*done/rough
		done++
		random := draws.At(seed, fmt.Sprintf("sea/system-%d", i), try)
		cut := 2 * math.Pi * s.cutHz(1/sp.TpS())
		w := s.Systems[i]
		cs = append(cs, draw(sp, n, cut, float64(w.From), w.Spreading, s.depthM(), &random)...)
	}
	return cs
}

// Components returns the sinusoids of the sea, system by system, each in rising order of frequency; none where it is
// calm.
func (s *Sea) Components() []Component { return slices.Clone(s.components) }

// Spectra returns the spectrum of each system of the section, whole, as it was before the cut-off.
func (s *Sea) Spectra() []Spectrum { return slices.Clone(s.spectra) }

// HsM is the significant height of all components together, 4√Σ½a², m. It lacks what the cut-off took away: 0.006 %
// of the height at ten times the peak frequency of a two-parameter spectrum, 0.1 % at five times.
func (s *Sea) HsM() float64 { return 4 * math.Sqrt(moment(s.components, 0)) }

// TzS is the mean zero-crossing period of the components as a vessel at rest meets them, 2π√(m0/m2), s; 0 where it is
// calm. It is longer than that of the whole spectrum by what the cut-off took away: 0.6 % at ten times the peak
// frequency of a two-parameter spectrum, 2.6 % at five times.
func (s *Sea) TzS() float64 {
	if m2 := moment(s.components, 2); m2 > 0 {
		return 2 * math.Pi * math.Sqrt(moment(s.components, 0)/m2)
	}
	return 0
}

// moment is Σ½a²ωⁿ.
func moment(cs []Component, n float64) float64 {
	sum := 0.0
	for _, c := range cs {
		sum += 0.5 * c.Amplitude * c.Amplitude * math.Pow(c.Omega, n)
	}
	return sum
}

// Elevation is the height of the surface above still water at x m east and y m north of the origin at time t: the
// plain sum, for plots and tests. m, positive up.
func (s *Sea) Elevation(x, y, t float64) float64 {
	sum := 0.0
	for _, c := range s.components {
		sin, cos := math.Sincos(c.Direction)
		sum += c.Amplitude * math.Cos(c.K*(x*sin+y*cos)-c.Omega*t+c.Phase)
	}
	return sum
}
