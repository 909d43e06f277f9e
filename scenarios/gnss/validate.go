package gnss

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// Limits of what a file may ask for.
const (
	maxRangeError  = units.Length(1000)
	maxRateError   = units.Speed(100)
	maxCorrelation = units.Duration(86400)
	maxWait        = units.Duration(7 * 86400)
	maxShiftM      = units.Length(1e6)
	maxLossDB      = 60.0
	maxCycles      = 5
	maxSectors     = 64
	maxConditions  = 10000
	slackRad       = units.Angle(1e-12) // rounding of an angle written in another unit
	degree         = units.Angle(math.Pi / 180)
)

// problems collects what is wrong.
type problems []strictyaml.Problem

func (ps *problems) add(path, format string, args ...any) {
	*ps = append(*ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
}

// word adds a problem where a word is not of its enumeration; "" always is.
func (ps *problems) word(path, name, found string, words []string) {
	if found != "" && !slices.Contains(words, found) {
		ps.add(path, "%s is %s; %s", name, strictyaml.Quote(found), strictyaml.Allowed(found, words))
	}
}

func (ps *problems) duration(path, name string, d *units.Duration, lo, hi units.Duration) {
	if d != nil && !(*d >= lo && *d <= hi) {
		ps.add(path, "%s is %v; allowed: %v to %v", name, *d, lo, hi)
	}
}

func (ps *problems) angle(path, name string, a *units.Angle, lo, hi units.Angle) {
	if a != nil && !(*a >= lo-slackRad && *a <= hi+slackRad) {
		ps.add(path, "%s is %v; allowed: %v to %v", name, a.In("deg"), lo.In("deg"), hi.In("deg"))
	}
}

func (ps *problems) length(path, name string, l *units.Length, lo, hi units.Length) {
	if l != nil && !(*l >= lo && *l <= hi) {
		ps.add(path, "%s is %v; allowed: %v to %v", name, l.In("m"), lo.In("m"), hi.In("m"))
	}
}

func (ps *problems) number(path, name string, v *float64, lo, hi float64) {
	if v != nil && !(*v >= lo && *v <= hi) {
		ps.add(path, "%s is %g; allowed: %g to %g", name, *v, lo, hi)
	}
}

func (ps *problems) whole(path, name string, v *int, lo, hi int) {
	if v != nil && (*v < lo || *v > hi) {
		ps.add(path, "%s is %d; allowed: %d to %d", name, *v, lo, hi)
	}
}

// Validate returns all that is wrong, with paths relative to the section, for a run of that duration; 0 is a run of
// unknown duration.
func (s Spec) Validate(duration units.Duration) []strictyaml.Problem {
	var ps problems
	ps.word("fix", "fix", string(s.Fix), s.Fix.SchemaEnum())
	ps.whole("satellites", "satellites", s.Satellites, 4, 99)
	ps.number("hdop", "hdop", s.HDOP, 0.1, 99.9)
	ps.angle("mask", "mask", s.Mask, 0, 90*degree)
	ps.number("max-pdop", "max-pdop", s.MaxPDOP, 1, 1000)
	ps.word("start-up", "start-up", string(s.StartUp), s.StartUp.SchemaEnum())
	ps.sectors("sectors", s.Sectors)
	s.Corrections.validate(&ps)
	s.Times.validate(&ps)
	ps.angle("heading.sigma", "sigma of the heading", s.Heading.Sigma, 0, 90*degree)
	ps.duration("heading.correlation", "correlation", s.Heading.Correlation, minCorrelation, maxCorrelation)
	ps.whole("heading.min-satellites", "min-satellites", s.Heading.MinSatellites, 4, MaxSatellites)
	ps.number("heading.max-pdop", "max-pdop", s.Heading.MaxPDOP, 1, 1000)
	if e := s.Errors; e != nil {
		e.validate(&ps)
	}
	if e := s.Entered; e != nil {
		ps.angle("entered-position.latitude", "latitude", &e.Latitude, -90*degree, 90*degree)
		ps.angle("entered-position.longitude", "longitude", &e.Longitude, -180*degree, 180*degree)
		height := e.Height
		ps.length("entered-position.height", "height", &height, -1000, 10000)
		ps.length("entered-position.sigma", "sigma", e.Sigma, 0, maxShiftM)
	}
	if a := s.Almanac; a != nil {
		a.validate(&ps)
	}
	if n := len(s.Conditions); n > maxConditions {
		ps.add("conditions", "there are %d conditions; allowed: at most %d", n, maxConditions)
		return ps
	}
	boot := s.Times.settings().boot
	last := map[ConditionName]int{} // of those that do not stack, the one that ends last so far
	for _, i := range byStart(s.Conditions) {
		c := s.Conditions[i]
		at := fmt.Sprintf("conditions[%d]", i)
		row, ok := c.Condition.row()
		if !ok {
			ps.add(at+".condition", "condition is %s; %s", strictyaml.Quote(string(c.Condition)), strictyaml.Allowed(string(c.Condition), c.Condition.SchemaEnum()))
			continue
		}
		c.validate(&ps, at, row, duration)
		k, before := last[c.Condition]
		if before && !row.Stacks && float64(c.From) < s.Conditions[k].end(boot) {
			ps.add(at, "%s from %v runs into conditions[%d] of the same kind; make them one", c.Condition, c.From, k)
		}
		if !before || c.end(boot) > s.Conditions[k].end(boot) {
			last[c.Condition] = i
		}
	}
	return ps
}

// byStart gives the conditions' places in the order they begin.
func byStart(conditions []Condition) []int {
	order := make([]int, len(conditions))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch x, y := conditions[a].From, conditions[b].From; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	return order
}

func (c Condition) validate(ps *problems, at string, row ConditionRow, duration units.Duration) {
	keys := c.keys()
	for _, k := range keys {
		if !slices.Contains(row.Keys, k) {
			ps.add(at+"."+k, "%s does not belong to %s; %s", k, c.Condition, owners(k, row))
		}
	}
	for _, k := range row.Needed {
		if !slices.Contains(keys, k) {
			ps.add(at, "%s has no %s; add it", c.Condition, k)
		}
	}
	switch until := c.Until; {
	case !(c.From >= 0):
		ps.add(at+".from", "%s begins at %v, before the run; allowed: 0 s or later", c.Condition, c.From)
	case duration > 0 && c.From >= duration:
		ps.add(at+".from", "%s begins at %v, after the run, which lasts %v", c.Condition, c.From, duration)
	case until == nil:
	case *until < c.From:
		ps.add(at+".until", "%s ends at %v, before it begins at %v; swap the two", c.Condition, *until, c.From)
	case !(*until > c.From):
		ps.add(at+".until", "%s ends at %v, when it begins; give it a later end, or remove it", c.Condition, *until)
	case duration > 0 && *until > duration:
		ps.add(at+".until", "%s ends at %v, after the run, which lasts %v", c.Condition, *until, duration)
	}
	ps.sectors(at+".sectors", c.Sectors)
	ps.number(at+".loss-db", "loss-db", c.LossDB, 0, maxLossDB)
	ps.length(at+".amplitude", "amplitude", c.Amplitude, 0, maxRangeError)
	ps.length(at+".vertical", "vertical", c.Vertical, -maxRangeError, maxRangeError)
	ps.duration(at+".period", "period", c.Period, 1, maxCorrelation)
	ps.angle(at+".toward", "toward", c.Toward, -180*degree, 360*degree)
	if j := c.Jump; j != nil {
		ps.length(at+".jump.east", "east", &j.East, -maxShiftM, maxShiftM)
		ps.length(at+".jump.north", "north", &j.North, -maxShiftM, maxShiftM)
		ps.length(at+".jump.up", "up", &j.Up, -maxShiftM, maxShiftM)
	}
	words := []string{string(Hot), string(Warm), string(Cold)}
	ps.word(at+".start", "start", string(c.Start), words)
	ps.whole(at+".cycles", "cycles", c.Cycles, -maxCycles, maxCycles)
	if c.Cycles != nil && *c.Cycles == 0 {
		ps.add(at+".cycles", "cycles is 0, which changes nothing; allowed: -%d to %d but 0", maxCycles, maxCycles)
	}
}

// owners says where a key belongs instead.
func owners(key string, row ConditionRow) string {
	var names []string
	for _, r := range Conditions {
		if slices.Contains(r.Keys, key) {
			names = append(names, string(r.Name))
		}
	}
	text := "it belongs to " + strings.Join(names, " and ")
	if len(row.Keys) > 0 {
		text += fmt.Sprintf("; allowed in %s: %s", row.Name, strings.Join(row.Keys, ", "))
	}
	return text
}

func (ps *problems) sectors(path string, sectors []Sector) {
	if n := len(sectors); n > maxSectors {
		ps.add(path, "there are %d sectors; allowed: at most %d", n, maxSectors)
		return
	}
	for i, s := range sectors {
		at := fmt.Sprintf("%s[%d]", path, i)
		ps.word(at+".fixed-to", "fixed-to", string(s.Fixed), s.Fixed.SchemaEnum())
		ps.angle(at+".left", "left", s.Left, -180*degree, 360*degree)
		ps.angle(at+".right", "right", s.Right, -180*degree, 360*degree)
		ps.angle(at+".above", "above", s.Above, -90*degree, 90*degree)
		ps.angle(at+".below", "below", s.Below, -90*degree, 90*degree)
		if (s.Left == nil) != (s.Right == nil) {
			ps.add(at, "the sector has one edge only; give left and right, or neither for all around")
		}
		if above, below := or(s.Above, -math.Pi/2), or(s.Below, math.Pi/2); above >= below {
			ps.add(at, "the sector hides what is above %v and below %v, which is nothing; swap the two", units.Angle(above).In("deg"), units.Angle(below).In("deg"))
		}
	}
}

func (c Corrections) validate(ps *problems) {
	const at = "corrections."
	ps.duration(at+"interval", "interval", c.Interval, 0.05, 3600)
	ps.duration(at+"latency", "latency", c.Latency, 0, 3600)
	ps.duration(at+"fixed-until", "fixed-until", c.FixedUntil, 0, maxWait)
	ps.duration(at+"float-until", "float-until", c.FloatUntil, 0, maxWait)
	ps.duration(at+"differential-until", "differential-until", c.DifferentialUntil, 0, maxWait)
	distance := c.BaseDistance
	ps.length(at+"base-distance", "base-distance", &distance, 0, 2e7)
	ps.whole(at+"station", "station", c.Station, 0, 1023)
	s := c.settings()
	if !(s.fixed <= s.float && s.float <= s.differential) {
		ps.add("corrections", "integers hold until an age of %v, float until %v, differential until %v; the ages must not fall",
			units.Duration(s.fixed), units.Duration(s.float), units.Duration(s.differential))
	}
}

func (t Times) validate(ps *problems) {
	for _, d := range []struct {
		name string
		d    *units.Duration
	}{
		{"hot", t.Hot}, {"warm", t.Warm}, {"cold", t.Cold}, {"short-loss", t.ShortTo}, {"longer-loss", t.LongerTo},
		{"float", t.Float}, {"fixed", t.Fixed}, {"precise", t.Precise}, {"heading", t.Heading}, {"boot", t.Boot},
	} {
		ps.duration("times."+d.name, d.name, d.d, 0, maxWait)
	}
	if t.Boot != nil && *t.Boot == 0 {
		ps.add("times.boot", "boot is 0 s; allowed: more than that")
	}
	if s := t.settings(); s.short > s.longer {
		ps.add("times", "a short loss lasts up to %v, a longer one up to %v; swap the two", units.Duration(s.short), units.Duration(s.longer))
	}
}

func (e *Errors) validate(ps *problems) {
	for _, m := range []struct {
		name string
		e    ErrorModel
	}{
		{"autonomous", e.Autonomous}, {"precise", e.Precise}, {"differential", e.Differential}, {"rtk-float", e.Float}, {"rtk-fixed", e.Fixed},
	} {
		at := "errors." + m.name
		ps.length(at+".range", "range", m.e.Range, 0, maxRangeError)
		ps.duration(at+".correlation", "correlation", m.e.Correlation, minCorrelation, maxCorrelation)
		if v := m.e.RangeRate; v != nil && !(*v >= 0 && *v <= maxRateError) {
			ps.add(at+".range-rate", "range-rate is %v; allowed: 0 m/s to %v", v.In("m/s"), maxRateError.In("m/s"))
		}
	}
}

func (a *Almanac) validate(ps *problems) {
	ps.word("almanac.form", "form", string(a.Form), a.Form.SchemaEnum())
	switch {
	case a.Form == "":
		ps.add("almanac.form", "there is no form; %s", strictyaml.Allowed("", a.Form.SchemaEnum()))
	case a.Text == "" && a.Path == "":
		ps.add("almanac", "there is neither a path nor a text; give one")
	case a.Text == "":
		ps.add("almanac.path", "the almanac %s has not been read; give its text", strictyaml.Quote(a.Path))
	default:
		if _, err := ReadAlmanac(a.Form, a.Text); err != nil {
			path := "almanac.text"
			if a.Path != "" {
				path = "almanac.path"
			}
			ps.add(path, "%v", err)
		}
	}
}
