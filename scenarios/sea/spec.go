package sea

import (
	"fmt"
	"math"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// Limits of what a file may ask for.
const (
	minPeriod = units.Duration(0.1)  // no hull follows anything faster, and rates stay far from overflow
	maxShift  = units.Length(100)    // sum of the amplitudes of surge, sway or heave
	maxPitch  = 89 * math.Pi / 180   // beyond it heading and roll lose their meaning
	maxTurn   = 180 * math.Pi / 180  // roll and yaw
	maxPhase  = 1000 * math.Pi / 180 // more is a mistyped number, and costs digits
)

// A Spec is the `motion:` section of a scenario file. Its zero value is a vessel that keeps level on its path.
type Spec struct {
	// About is the name of the point that does exactly the surge, sway and heave; "" is the vessel reference point.
	About string    `yaml:"about" doc:"name of the point that does exactly the surge, sway and heave; all others move with the attitude too. Default: reference"`
	Pose  Pose      `yaml:"pose" doc:"mean trim and list, to which pitch and roll add"`
	Surge []Shift   `yaml:"surge" doc:"sum of sinusoids along the mean heading, positive forward"`
	Sway  []Shift   `yaml:"sway" doc:"sum of sinusoids across the mean heading, positive to starboard"`
	Heave []Shift   `yaml:"heave" doc:"sum of sinusoids, positive up"`
	Roll  []Turning `yaml:"roll" doc:"sum of sinusoids, positive starboard side down"`
	Pitch []Turning `yaml:"pitch" doc:"sum of sinusoids, positive bow up"`
	Yaw   []Turning `yaml:"yaw" doc:"sum of sinusoids added to the heading of the track, positive to starboard"`
}

// A Pose is a constant attitude.
type Pose struct {
	Pitch units.Angle `yaml:"pitch" doc:"positive bow up"`
	Roll  units.Angle `yaml:"roll" doc:"positive starboard side down"`
}

// A Shift is amplitude·sin(2πt/period + phase), in m.
type Shift struct {
	Amplitude units.Length   `yaml:"amplitude,required" doc:"value at time t = amplitude × sin(2π t / period + phase)"`
	Period    units.Duration `yaml:"period,required" doc:"100 ms or more"`
	Phase     units.Angle    `yaml:"phase" doc:"angle of the sinusoid at scenario time 0: 0 deg starts at zero and rising, 90 deg at the crest"`
}

// A Turning is amplitude·sin(2πt/period + phase), in rad.
type Turning struct {
	Amplitude units.Angle    `yaml:"amplitude,required" doc:"value at time t = amplitude × sin(2π t / period + phase)"`
	Period    units.Duration `yaml:"period,required" doc:"100 ms or more"`
	Phase     units.Angle    `yaml:"phase" doc:"angle of the sinusoid at scenario time 0: 0 deg starts at zero and rising, 90 deg at the crest"`
}

// Validate returns all that is wrong, with paths relative to the section. Whether the point About exists only the
// installation knows.
func (s Spec) Validate() []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	for _, dof := range []struct {
		name  string
		waves []Shift
	}{{"surge", s.Surge}, {"sway", s.Sway}, {"heave", s.Heave}} {
		var sum units.Length
		for i, w := range dof.waves {
			at := fmt.Sprintf("%s[%d]", dof.name, i)
			if !(w.Amplitude >= 0) {
				add(at+".amplitude", "amplitude is %v; allowed: 0 m or more, and a phase of 180 deg turns the sinusoid over", w.Amplitude)
			}
			sum += w.Amplitude
			checkWave(add, at, w.Period, w.Phase)
		}
		if !(sum <= maxShift) {
			add(dof.name, "amplitudes of %s add up to %v; allowed: at most %v", dof.name, sum, maxShift)
		}
	}
	for _, dof := range []struct {
		name  string
		mean  units.Angle
		waves []Turning
		limit float64
	}{{"roll", s.Pose.Roll, s.Roll, maxTurn}, {"pitch", s.Pose.Pitch, s.Pitch, maxPitch}, {"yaw", 0, s.Yaw, maxTurn}} {
		limit := units.Angle(dof.limit)
		if !(math.Abs(float64(dof.mean)) <= dof.limit) {
			add("pose."+dof.name, "pose has a %s of %v; allowed: -%v to %v", dof.name, dof.mean.In("deg"), limit.In("deg"), limit.In("deg"))
			continue
		}
		sum := units.Angle(0)
		for i, w := range dof.waves {
			at := fmt.Sprintf("%s[%d]", dof.name, i)
			if !(w.Amplitude >= 0) {
				add(at+".amplitude", "amplitude is %v; allowed: 0 deg or more, and a phase of 180 deg turns the sinusoid over", w.Amplitude.In("deg"))
			}
			sum += w.Amplitude
			checkWave(add, at, w.Period, w.Phase)
		}
		if most := math.Abs(float64(dof.mean)) + float64(sum); !(most <= dof.limit*(1+1e-12)) {
			add(dof.name, "%s reaches %.6g deg, pose and all amplitudes together; allowed: at most %v", dof.name, most*180/math.Pi, limit.In("deg"))
		}
	}
	return ps
}

// checkWave adds what is wrong with the period and the phase of the sinusoid at that path.
func checkWave(add func(path, format string, args ...any), at string, period units.Duration, phase units.Angle) {
	if !(period >= minPeriod) || math.IsInf(float64(period), 0) {
		add(at+".period", "period is %v; allowed: %v or more", period, minPeriod.In("ms"))
	}
	if !(math.Abs(float64(phase)) <= maxPhase) {
		add(at+".phase", "phase is %v; allowed: within 1000 deg of zero, and -180 deg to 180 deg says it all", phase.In("deg"))
	}
}
