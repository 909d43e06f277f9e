package sea

import (
	"errors"
	"math"
)

// New makes the motion of a section. It is an error where [Spec.Validate] finds any.
func New(s Spec) (Motion, error) {
	var errs []error
	for _, p := range s.Validate() {
		errs = append(errs, errors.New("motion: "+p.Path+": "+p.Text))
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	return &sinusoids{
		surge: shifts(s.Surge), sway: shifts(s.Sway), heave: shifts(s.Heave),
		roll:  turnings(float64(s.Pose.Roll), s.Roll),
		pitch: turnings(float64(s.Pose.Pitch), s.Pitch),
		yaw:   turnings(0, s.Yaw),
	}, nil
}

// sinusoids is a sum of sinusoids in each degree of freedom.
type sinusoids struct{ surge, sway, heave, roll, pitch, yaw series }

// At implements [Motion].
func (m *sinusoids) At(t float64) SixDOF {
	return SixDOF{
		Surge: m.surge.at(t), Sway: m.sway.at(t), Heave: m.heave.at(t),
		Roll: m.roll.at(t), Pitch: m.pitch.at(t), Yaw: m.yaw.at(t),
	}
}

// A series is mean + Σ a·sin(ωt + φ).
type series struct {
	mean  float64
	waves []wave
}

type wave struct {
	amplitude float64 // m or rad
	period    float64 // s
	omega     float64 // rad/s
	phase     float64 // rad
}

func shifts(in []Shift) series {
	var s series
	for _, w := range in {
		s.add(float64(w.Amplitude), float64(w.Period), float64(w.Phase))
	}
	return s
}

func turnings(mean float64, in []Turning) series {
	s := series{mean: mean}
	for _, w := range in {
		s.add(float64(w.Amplitude), float64(w.Period), float64(w.Phase))
	}
	return s
}

func (s *series) add(amplitude, period, phase float64) {
	if amplitude != 0 {
		s.waves = append(s.waves, wave{amplitude, period, 2 * math.Pi / period, phase})
	}
}

// at sums value, first and second derivative. The whole periods are taken off t before it is turned into an angle:
// in an angle of thousands of radians the sine would lose the digits that the time still has.
func (s *series) at(t float64) Component {
	c := Component{Value: s.mean}
	for i := range s.waves {
		w := &s.waves[i]
		sin, cos := math.Sincos(w.omega*remaining(t, w.period) + w.phase)
		c.Value += w.amplitude * sin
		c.Rate += w.amplitude * w.omega * cos
		c.Accel -= w.amplitude * w.omega * w.omega * sin
	}
	return c
}

// remaining is math.Mod(t, period) for a positive period, ten times as fast: a remainder is a float64, so that one fused
// operation gives it without rounding once the number of whole periods is right.
func remaining(t, period float64) float64 {
	n := math.Trunc(t / period)
	if !(math.Abs(n) < 1<<52) {
		return math.Mod(t, period)
	}
	r := math.FMA(-n, period, t)
	switch { // the quotient has rounded across a whole number
	case t >= 0 && r < 0, t < 0 && r <= -period:
		r += period
	case t < 0 && r > 0, t >= 0 && r >= period:
		r -= period
	}
	return r
}
