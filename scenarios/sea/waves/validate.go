package waves

import (
	"fmt"
	"math"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// Limits of what a file may ask for.
const (
	maxSystems    = 8
	minComponents = 30 // for each system; fewer come near to repeating within a day
	maxComponents = 5000
	maxHeight     = units.Length(30)    // m; the highest significant heights ever measured stay below 20 m
	minPeriod     = units.Duration(0.5) // s; shorter waves are ripples, which surface tension rules
	maxPeriod     = units.Duration(40)  // s; longer ones are no wind waves
	minWind       = units.Speed(0.5)    // m/s
	maxWind       = units.Speed(60)     // m/s
	minFetch      = units.Length(100)   // m
	maxFetch      = units.Length(2e6)   // m
	minDepth      = units.Length(0.1)   // m
	maxDepth      = units.Length(12000) // m, below any sea floor
	maxCut        = units.Frequency(10) // Hz
	maxGamma      = 20
	maxExponent   = 500
	minExponent   = 0.5
	full          = units.Angle(2 * math.Pi)
	slackRad      = units.Angle(1e-12)
)

// Validate returns all that is wrong, with paths relative to the section.
func (s Spec) Validate() []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	if n := len(s.Systems); n == 0 {
		add("systems", "sea has no systems; give one, such as {spectrum: jonswap, height: 1.2 m, period: 6 s, from: 240 deg}, or leave the sea out")
	} else if n > maxSystems {
		add("systems", "sea has %d systems; allowed: at most %d", n, maxSystems)
	}
	if s.Depth != nil && !(*s.Depth >= minDepth && *s.Depth <= maxDepth) {
		add("depth", "depth is %v; allowed: %v to %v, and none at all for deep water", *s.Depth, minDepth.In("m"), maxDepth.In("m"))
	}
	if least := minComponents * max(1, len(s.Systems)); s.Components != 0 && (s.Components < least || s.Components > maxComponents) {
		add("components", "sea has %d components for %d systems; allowed: %d to %d", s.Components, len(s.Systems), least, maxComponents)
	}
	if s.HighestFrequency != 0 && !(s.HighestFrequency > 0 && s.HighestFrequency <= maxCut) {
		add("highest-frequency", "highest frequency is %v; allowed: at most %v", s.HighestFrequency, maxCut.In("Hz"))
	}
	for i, w := range s.Systems {
		before := len(ps)
		ps = append(ps, strictyaml.Under(fmt.Sprintf("systems[%d]", i), w.validate())...)
		if len(ps) > before || s.HighestFrequency <= 0 || s.HighestFrequency > maxCut {
			continue
		}
		if peak := 1 / w.spectrum().TpS(); w.heightKnown() && float64(s.HighestFrequency) < 2*peak {
			add("highest-frequency", "highest frequency is %v, but systems[%d] has its peak at %.3g Hz; allowed: at least %.3g Hz, twice the peak", s.HighestFrequency, i, peak, 2*peak)
		}
	}
	return ps
}

// heightKnown tells whether the system is not calm.
func (s System) heightKnown() bool { return s.Wind > 0 || s.heightM() > 0 }

// validate returns what is wrong with the system, with paths relative to it.
func (s System) validate() []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	switch s.Spectrum {
	case PiersonMoskowitz, Jonswap, TwoParameter:
	default:
		add("spectrum", "%s", "spectrum is "+strictyaml.Quote(string(s.Spectrum))+"; "+strictyaml.Allowed(string(s.Spectrum), Kind("").SchemaEnum()))
	}
	if !(s.From >= -full/2-slackRad && s.From <= full+slackRad) {
		add("from", "waves come from %v; allowed: -180 deg to 360 deg", s.From.In("deg"))
	}
	if sp := s.Spreading; sp != nil {
		if sp.Law != CosN && sp.Law != Cos2S {
			add("spreading.law", "%s", "law is "+strictyaml.Quote(string(sp.Law))+"; "+strictyaml.Allowed(string(sp.Law), Law("").SchemaEnum()))
		}
		if !(sp.Exponent >= minExponent && sp.Exponent <= maxExponent) {
			add("spreading.exponent", "exponent is %g; allowed: %g to %d, and no spreading at all for long crests", sp.Exponent, minExponent, maxExponent)
		}
	}
	if s.Gamma != 0 {
		if s.Spectrum != Jonswap {
			add("gamma", "gamma goes with spectrum: jonswap only")
		} else if !(s.Gamma >= 1 && s.Gamma <= maxGamma) {
			add("gamma", "gamma is %g; allowed: 1 to %d", s.Gamma, maxGamma)
		}
	}
	s.checkHeight(add)
	s.checkPeriod(add)
	return ps
}

func (s System) checkHeight(add func(path, format string, args ...any)) {
	given := 0
	if s.Height != 0 {
		given++
		if !(s.Height > 0 && s.Height <= maxHeight) {
			add("height", "significant height is %v; allowed: above 0 m, at most %v", s.Height, maxHeight.In("m"))
		}
	}
	if s.State != nil {
		given++
		if *s.State < 0 || *s.State >= len(States) {
			add("state", "sea state is %d; allowed: 0 to %d", *s.State, len(States)-1)
		}
	}
	if s.Wind != 0 {
		given++
		switch {
		case !(s.Wind >= minWind && s.Wind <= maxWind):
			add("wind", "wind is %v; allowed: %v to %v", s.Wind, minWind.In("m/s"), maxWind.In("m/s"))
		case s.Spectrum == TwoParameter:
			add("wind", "a two-parameter spectrum knows no wind; give height and period, or take pierson-moskowitz or jonswap")
		case s.Spectrum == Jonswap && s.Fetch == 0:
			add("wind", "a wind makes a jonswap sea over a fetch only; add one, such as fetch: 60 km")
		}
	}
	switch {
	case given == 0:
		add("", "system has neither height, state nor wind; give one, such as height: 1.2 m")
	case given > 1:
		add("", "system has more than one of height, state and wind; keep one of them")
	}
	if s.Fetch != 0 {
		if s.Spectrum != Jonswap || s.Wind == 0 {
			add("fetch", "a fetch goes with a wind and spectrum: jonswap only")
		} else if !(s.Fetch >= minFetch && s.Fetch <= maxFetch) {
			add("fetch", "fetch is %v; allowed: %v to %v", s.Fetch, minFetch.In("m"), maxFetch.In("km"))
		}
	}
}

func (s System) checkPeriod(add func(path, format string, args ...any)) {
	check := func(path, name string, p units.Duration) {
		if p != 0 && !(p >= minPeriod && p <= maxPeriod) {
			add(path, "%s is %v; allowed: %v to %v", name, p, minPeriod.In("s"), maxPeriod.In("s"))
		}
	}
	check("period", "peak period", s.Period)
	check("zero-crossing-period", "zero-crossing period", s.ZeroCrossing)
	path := "period"
	if s.Period == 0 {
		path = "zero-crossing-period"
	}
	switch has := s.Period != 0 || s.ZeroCrossing != 0; {
	case s.Period != 0 && s.ZeroCrossing != 0:
		add(path, "system has both a peak period and a zero-crossing period; keep one of them")
	case has && s.Wind != 0:
		add(path, "the wind says the period already; leave the period out, or give a height instead of the wind")
	case has && s.Spectrum == PiersonMoskowitz:
		add(path, "a fully developed sea has the period that its height demands; leave the period out, or take spectrum: two-parameter")
	case !has && s.Height > 0 && (s.Spectrum == Jonswap || s.Spectrum == TwoParameter):
		add("", "system has a height but no period; add one, such as period: 6 s")
	}
}
