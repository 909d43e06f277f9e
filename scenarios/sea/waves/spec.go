package waves

import (
	"math"

	"swellbench/scenarios/units"
)

// A Spec is the `sea:` section of a scenario file: swell and wind sea are a system each. Its zero value has no system
// and is not valid; a scenario without sea has no section.
type Spec struct {
	Systems []System `yaml:"systems,required" doc:"wind sea and swells, each with its own spectrum and direction; they add up"`
	// Depth is nil for deep water.
	Depth *units.Length `yaml:"depth" doc:"of the water, which makes waves shorter; default: deep. The spectra are taken as they are"`
	// Components is 0 for [DefaultComponents].
	Components int `yaml:"components" doc:"how many sinusoids make the sea, all systems together; default: 200"`
	// HighestFrequency is 0 for what [System] says.
	HighestFrequency units.Frequency `yaml:"highest-frequency" doc:"where the spectra are cut off; default: ten times the peak, but no more than 1.5 Hz unless that is below five times the peak"`
}

// A System is one wind sea or one swell.
//
// How high it is says one of Height, State and Wind. How long it is says Period or ZeroCrossing, or, where neither is
// given, a Wind or a State: the latter then is a fully developed sea of that height.
type System struct {
	Spectrum Kind `yaml:"spectrum,required" doc:"pierson-moskowitz: fully developed, by wind, height or sea state; jonswap: growing wind sea or swell; two-parameter: Bretschneider, ITTC"`
	// From is the direction from which the waves come, as winds and seas are told.
	From         units.Angle    `yaml:"from,required" doc:"true direction from which the waves come"`
	Height       units.Length   `yaml:"height" doc:"significant wave height, four times the standard deviation of the elevation"`
	State        *int           `yaml:"state" doc:"sea state, code 0 to 9 of WMO table 3700, instead of the height: the middle of its class"`
	Wind         units.Speed    `yaml:"wind" doc:"wind speed instead of the height: at 19.5 m for pierson-moskowitz, at 10 m, with a fetch, for jonswap"`
	Fetch        units.Length   `yaml:"fetch" doc:"with a wind and jonswap: the length of water over which the wind blows"`
	Period       units.Duration `yaml:"period" doc:"peak period"`
	ZeroCrossing units.Duration `yaml:"zero-crossing-period" doc:"mean zero-crossing period, instead of the peak period"`
	// Gamma is 0 for the handbook's rule, see [GammaFor]; 3.3 with a wind.
	Gamma     float64 `yaml:"gamma" doc:"jonswap: peak enhancement, 1 to 20; default: by height and period as DNV-RP-C205 has it, 3.3 with a wind and fetch"`
	Spreading *Spread `yaml:"spreading" doc:"spread about the direction; default: none, long crests"`
}

// A Spread says how a system is spread about its main direction.
type Spread struct {
	Law      Law     `yaml:"law,required" doc:"cos-n: cosⁿθ within 90 deg; cos-2s: cos²ˢ(θ/2) all round"`
	Exponent float64 `yaml:"exponent,required" doc:"n or s; wind sea has n about 2 to 4, s about 10; swell s 25 and more"`
}

// Kind names a family of spectra.
type Kind string

// The kinds.
const (
	PiersonMoskowitz Kind = "pierson-moskowitz"
	Jonswap          Kind = "jonswap"
	TwoParameter     Kind = "two-parameter"
)

// SchemaEnum lists the words.
func (Kind) SchemaEnum() []string {
	return []string{string(PiersonMoskowitz), string(Jonswap), string(TwoParameter)}
}

// DefaultComponents is how many sinusoids make a sea where the file does not say.
const DefaultComponents = 200

// meanGamma is the mean peak enhancement of the JONSWAP measurements.
const meanGamma = 3.3

// heightM is the significant height that the system's Height or State asks for, m.
func (s System) heightM() float64 {
	if s.State != nil && *s.State >= 0 && *s.State < len(States) {
		return States[*s.State].TypeM
	}
	return float64(s.Height)
}

// spectrum is the spectrum of a valid system. A calm sea has a height of 0 and a peak period of 1 s.
func (s System) spectrum() Spectrum {
	if s.Wind > 0 {
		if s.Spectrum == PiersonMoskowitz {
			return FullyDeveloped(float64(s.Wind), GravityMS2)
		}
		gamma := s.Gamma
		if gamma == 0 {
			gamma = meanGamma
		}
		return FetchLimited(float64(s.Wind), float64(s.Fetch), gamma, GravityMS2)
	}
	hs := s.heightM()
	if hs == 0 {
		return NewSpectrum(0, 1, 1)
	}
	if s.Spectrum != Jonswap {
		return NewSpectrum(hs, s.peakS(hs, 1), 1)
	}
	gamma := s.Gamma
	if gamma == 0 {
		// The rule needs the peak period, which for a zero-crossing period depends on gamma.
		gamma = 1
		for range 30 {
			gamma = GammaFor(hs, s.peakS(hs, gamma))
		}
	}
	return NewSpectrum(hs, s.peakS(hs, gamma), gamma)
}

// peakS is the peak period in s of a sea of that height and peak enhancement.
func (s System) peakS(hs, gamma float64) float64 {
	switch {
	case s.Period > 0:
		return float64(s.Period)
	case s.ZeroCrossing > 0:
		return float64(s.ZeroCrossing) / NewSpectrum(1, 1, gamma).TzOverTp()
	}
	return FullyDevelopedPeriod(hs, GravityMS2)
}

// cutHz is where the spectrum with that peak is cut off.
func (s Spec) cutHz(peakHz float64) float64 {
	if s.HighestFrequency > 0 {
		return float64(s.HighestFrequency)
	}
	return max(5*peakHz, min(10*peakHz, 1.5))
}

// depthM is the depth of the water, +Inf where it is deep.
func (s Spec) depthM() float64 {
	if s.Depth == nil {
		return math.Inf(1)
	}
	return float64(*s.Depth)
}

// components is how many sinusoids make the sea.
func (s Spec) components() int {
	if s.Components == 0 {
		return DefaultComponents
	}
	return s.Components
}
