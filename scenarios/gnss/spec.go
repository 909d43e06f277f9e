package gnss

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/opt"
	"swellbench/scenarios/units"
)

// A Spec is the `gnss:` section of a scenario file. Its zero value is a receiver that has always been on, has an
// autonomous fix under an open sky of the nominal constellation, and no errors. Defaults that are numbers are common
// practice, no source, unless they say otherwise.
type Spec struct {
	Fix        Fix         `yaml:"fix" doc:"state of the undisturbed receiver. Default: autonomous"`
	Satellites *int        `yaml:"satellites" doc:"used in the fix while nothing disturbs, 4 to 99. Default: those of the sky"`
	HDOP       *float64    `yaml:"hdop" doc:"horizontal dilution of precision while nothing disturbs, 0.1 to 99.9; scales the others. Default: that of the sky"`
	Conditions []Condition `yaml:"conditions" doc:"what happens to the reception, and when"`

	Almanac     *Almanac     `yaml:"almanac" doc:"which satellites there are. Default: the published nominal constellation of 24"`
	Mask        *units.Angle `yaml:"mask" doc:"satellites lower than this are not used, 0 deg to 90 deg. Default: 5 deg"`
	Sectors     []Sector     `yaml:"sectors" doc:"what hides a part of the sky during the whole run"`
	MaxPDOP     *float64     `yaml:"max-pdop" doc:"no fix where the geometry is worse, 1 to 1000. Default: 20"`
	Corrections Corrections  `yaml:"corrections" doc:"how they come, and how old they may be"`
	Times       Times        `yaml:"times" doc:"how long it takes to a fix"`
	Heading     Heading      `yaml:"heading" doc:"from two antennas"`
	Errors      *Errors      `yaml:"errors" doc:"how far off the receiver is; {} for the usual. Default: not at all but for the conditions"`
	StartUp     StartUp      `yaml:"start-up" doc:"what the receiver knows at scenario time 0. Default: running"`
	Entered     *Entered     `yaml:"entered-position" doc:"typed in, and reported as manual until the first fix"`

	// Baseline is the vector between the antennas, in m right, forward, up. It comes from the installation; without it
	// the receiver has one antenna and no heading.
	Baseline opt.Opt[r3.Vec] `yaml:"-"`
}

// Fix is the word for the state of a position solution. In a Spec the zero value is autonomous.
type Fix string

// The states.
const (
	None         Fix = "none"
	Estimated    Fix = "estimated"
	Autonomous   Fix = "autonomous"
	Differential Fix = "differential"
	RTKFloat     Fix = "rtk-float"
	RTKFixed     Fix = "rtk-fixed"
	Precise      Fix = "precise"
	Manual       Fix = "manual"
	Simulated    Fix = "simulated"
)

// SchemaEnum lists the words.
func (Fix) SchemaEnum() []string {
	return []string{"none", "estimated", "autonomous", "differential", "rtk-float", "rtk-fixed", "precise", "manual", "simulated"}
}

// StartUp is the word for what a receiver knows when it begins.
type StartUp string

// What a receiver knows when it begins.
const (
	Running StartUp = "running" // it has long been on, and all has settled
	Hot     StartUp = "hot"     // time, place and ephemerides
	Warm    StartUp = "warm"    // time, place and almanac
	Cold    StartUp = "cold"    // nothing
)

// SchemaEnum lists the words.
func (StartUp) SchemaEnum() []string { return []string{"running", "hot", "warm", "cold"} }

// An Almanac says which satellites there are: the text, or a file that holds it.
type Almanac struct {
	Form AlmanacForm `yaml:"form,required" doc:"in which it is written"`
	Path string      `yaml:"path" doc:"of the file, relative to this one"`
	Text string      `yaml:"text" doc:"instead of a path: the almanac itself"`
}

// A Sector hides a part of the sky, seen from the antennas: clockwise from its left to its right edge, and between two
// elevations.
type Sector struct {
	What  string       `yaml:"what" doc:"for a person, such as quay wall or funnel"`
	Fixed FixedTo      `yaml:"fixed-to" doc:"earth: azimuths are true. vessel: they count from the bow, and all rolls with it. Default: earth"`
	Left  *units.Angle `yaml:"left" doc:"azimuth of the left edge, -180 deg to 360 deg. Default: all around"`
	Right *units.Angle `yaml:"right" doc:"azimuth of the right edge"`
	Above *units.Angle `yaml:"above" doc:"hides only what is higher, as a bridge overhead does. Default: -90 deg"`
	Below *units.Angle `yaml:"below" doc:"hides only what is lower, as a wall does. Default: 90 deg"`
}

// FixedTo is the word for what a sector belongs to. The zero value is earth.
type FixedTo string

// What a sector belongs to.
const (
	Earth  FixedTo = "earth"
	Vessel FixedTo = "vessel"
)

// SchemaEnum lists the words.
func (FixedTo) SchemaEnum() []string { return []string{"earth", "vessel"} }

// Corrections says how corrections come and how old they may be. Their kind is that of the fix.
type Corrections struct {
	Interval          *units.Duration `yaml:"interval" doc:"between corrections. Default: 1 s"`
	Latency           *units.Duration `yaml:"latency" doc:"from their epoch until they are in. Default: 0.5 s"`
	FixedUntil        *units.Duration `yaml:"fixed-until" doc:"age up to which integers hold. Default: 10 s"`
	FloatUntil        *units.Duration `yaml:"float-until" doc:"age up to which a float solution holds. Default: 30 s"`
	DifferentialUntil *units.Duration `yaml:"differential-until" doc:"age up to which a differential or precise solution holds. Default: 60 s"`
	BaseDistance      units.Length    `yaml:"base-distance" doc:"to the base station: adds 1 mm to the range error for each km. Default: 0 m"`
	Station           *int            `yaml:"station" doc:"number of the base station, 0 to 1023. Default: 0"`
}

// Times says how long a receiver takes.
type Times struct {
	Hot      *units.Duration `yaml:"hot" doc:"to a code fix after a short loss or a hot start. Default: 1.5 s"`
	Warm     *units.Duration `yaml:"warm" doc:"to a code fix after a longer loss or a warm start. Default: 30 s"`
	Cold     *units.Duration `yaml:"cold" doc:"to a code fix after a very long loss or a cold start. Default: 2 min"`
	ShortTo  *units.Duration `yaml:"short-loss" doc:"longest loss that counts as short. Default: 5 min"`
	LongerTo *units.Duration `yaml:"longer-loss" doc:"longest loss after which the receiver need not start cold. Default: 4 h"`
	Float    *units.Duration `yaml:"float" doc:"from a code fix with corrections to float. Default: 0 s"`
	Fixed    *units.Duration `yaml:"fixed" doc:"from a code fix with corrections to integers. Default: 15 s"`
	Precise  *units.Duration `yaml:"precise" doc:"from a code fix with corrections to a precise solution. Default: 10 min"`
	Heading  *units.Duration `yaml:"heading" doc:"from a code fix with both antennas to a heading. Default: 10 s"`
	Boot     *units.Duration `yaml:"boot" doc:"how long a receiver that restarts says nothing. Default: 5 s"`
}

// Heading says what two antennas can do.
type Heading struct {
	Sigma         *units.Angle    `yaml:"sigma" doc:"1 sigma of the heading for a baseline of 1 m; half of it for 2 m; the elevation of the baseline has twice as much. Default: 0.2 deg"`
	Correlation   *units.Duration `yaml:"correlation" doc:"time over which its error is correlated, 5 s to 1 day. Default: 20 s"`
	MinSatellites *int            `yaml:"min-satellites" doc:"for a heading, 4 to 64. Default: 5"`
	MaxPDOP       *float64        `yaml:"max-pdop" doc:"no heading where the geometry is worse, 1 to 1000. Default: 10"`
}

// Errors says how far off the receiver is in each state.
type Errors struct {
	Autonomous   ErrorModel `yaml:"autonomous" doc:"Default: 1.5 m over 300 s, 0.03 m/s"`
	Precise      ErrorModel `yaml:"precise" doc:"Default: 0.05 m over 300 s, 0.02 m/s"`
	Differential ErrorModel `yaml:"differential" doc:"Default: 0.5 m over 100 s, 0.03 m/s"`
	Float        ErrorModel `yaml:"rtk-float" doc:"Default: 0.2 m over 100 s, 0.02 m/s"`
	Fixed        ErrorModel `yaml:"rtk-fixed" doc:"Default: 0.01 m over 60 s, 0.01 m/s"`
}

// An ErrorModel says how far off the receiver is in one state. Errors of the position are these times the dilution of
// precision.
type ErrorModel struct {
	Range       *units.Length   `yaml:"range" doc:"1 sigma of the distance to one satellite, 0 m to 1 km"`
	Correlation *units.Duration `yaml:"correlation" doc:"time over which the error is correlated, 5 s to 1 day"`
	RangeRate   *units.Speed    `yaml:"range-rate" doc:"1 sigma of the speed towards one satellite, correlated over 5 s"`
}

// Entered is a position that somebody typed in.
type Entered struct {
	Latitude  units.Angle   `yaml:"latitude,required" doc:"geodetic, WGS 84, positive north, -90 deg to 90 deg"`
	Longitude units.Angle   `yaml:"longitude,required" doc:"positive east, -180 deg to 180 deg"`
	Height    units.Length  `yaml:"height" doc:"above the ellipsoid"`
	Sigma     *units.Length `yaml:"sigma" doc:"how well it is known, each axis, 1 sigma. Default: 100 m"`
}

// or gives what a file says, or a default.
func or[T ~float64](p *T, def float64) float64 {
	if p == nil {
		return def
	}
	return float64(*p)
}

func orInt(p *int, def int) int {
	if p == nil {
		return def
	}
	return *p
}

// maskDefault is usual for marine receivers; the standard's own coverage figures have it too (GPS SPS PS 2001, 3.1).
const maskDefault = 5 * math.Pi / 180

type correctionSettings struct{ interval, latency, fixed, float, differential float64 }

func (c Corrections) settings() correctionSettings {
	return correctionSettings{or(c.Interval, 1), or(c.Latency, 0.5), or(c.FixedUntil, 10), or(c.FloatUntil, 30), or(c.DifferentialUntil, 60)}
}

type timeSettings struct{ hot, warm, cold, short, longer, float, fixed, precise, heading, boot float64 }

func (t Times) settings() timeSettings {
	return timeSettings{or(t.Hot, 1.5), or(t.Warm, 30), or(t.Cold, 120), or(t.ShortTo, 300), or(t.LongerTo, 4*3600),
		or(t.Float, 0), or(t.Fixed, 15), or(t.Precise, 600), or(t.Heading, 10), or(t.Boot, 5)}
}

// start is the time to a code fix from what the receiver knows.
func (t timeSettings) start(s StartUp) float64 {
	switch s {
	case Hot:
		return t.hot
	case Cold:
		return t.cold
	}
	return t.warm
}

type headingSettings struct {
	sigma, correlation float64
	satellites         int
	pdop               float64
}

func (h Heading) settings() headingSettings {
	return headingSettings{or(h.Sigma, 0.2*math.Pi/180), or(h.Correlation, 20), orInt(h.MinSatellites, 5), or(h.MaxPDOP, 10)}
}

type errorSettings struct{ rangeM, correlation, rateMS float64 }

func (e ErrorModel) settings(rangeM, correlation, rateMS float64) errorSettings {
	return errorSettings{or(e.Range, rangeM), or(e.Correlation, correlation), or(e.RangeRate, rateMS)}
}

// settings gives the error of each state, by rung.
func (e *Errors) settings() [rungs]errorSettings {
	if e == nil {
		e = &Errors{}
	}
	return [rungs]errorSettings{
		autonomous:   e.Autonomous.settings(1.5, 300, 0.03),
		precise:      e.Precise.settings(0.05, 300, 0.02),
		differential: e.Differential.settings(0.5, 100, 0.03),
		float:        e.Float.settings(0.2, 100, 0.02),
		fixed:        e.Fixed.settings(0.01, 60, 0.01),
	}
}
