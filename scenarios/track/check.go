package track

import (
	"fmt"
	"math"
	"strings"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// Limits of what manoeuvres may ask for.
const (
	minTurnRadius = units.Length(1)             // m
	maxTurnRadius = units.Length(10e3)          // m; a straight track does for wider ones
	minWay        = units.Speed(0.01)           // m/s
	maxWay        = units.Length(20e6)          // m, half round the Earth
	maxTime       = units.Duration(366 * 86400) // s
	maxSpacing    = units.Length(100e3)         // m
	maxCount      = 1000                        // lines, pairs, rounds
	maxTurnBy     = units.Angle(10 * full)      // rad, so that a turn ends
	maxDrift      = units.Speed(20)             // m/s
	maxWander     = units.Length(1000)          // m
	maxWanderMS   = 5.0                         // m/s, of the wander
	minPeriod     = units.Duration(1)           // s
	minSwing      = units.AngularRate(math.Pi / 180 / 1000)
)

// kind names what the manoeuvre is by the first of its fields that is set, and tells all those that are.
func (m *Manoeuvre) kind() (name string, all []string) {
	for _, k := range []struct {
		name string
		set  bool
	}{
		{"hold", m.Hold != nil}, {"run", m.Run != nil}, {"turn", m.Turn != nil}, {"lines", m.Lines != nil},
		{"calibration", m.Calibration != nil}, {"eight", m.Eight != nil}, {"keep", m.Keep != nil}, {"route", m.Route != nil},
	} {
		if k.set {
			all = append(all, k.name)
		}
	}
	if len(all) > 0 {
		name = all[0]
	}
	return name, all
}

// A checker gathers what is wrong with one part of the section.
type checker struct {
	at string // path of the part
	ps []strictyaml.Problem
}

func (c *checker) add(key, format string, args ...any) {
	path := c.at
	switch {
	case path == "":
		path = key
	case key != "":
		path += "." + key
	}
	c.ps = append(c.ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
}

// A quantity is one of package units.
type quantity interface {
	~float64
	In(symbol string) string
	String() string
}

// within checks that a quantity that is there lies between lo and hi, which the text gives in the units named.
func within[T quantity](c *checker, key string, v *T, lo T, loUnit string, hi T, hiUnit string) {
	if v != nil && !(*v >= lo && *v <= hi) {
		c.add(key, "%s is %v; allowed: %v to %v", key[strings.LastIndex(key, ".")+1:], *v, lo.In(loUnit), hi.In(hiUnit))
	}
}

// positive checks that a quantity that is there is more than 0 and at most hi.
func positive[T quantity](c *checker, key string, v *T, unit string, hi T, hiUnit string) {
	if v != nil && !(*v > 0 && *v <= hi) {
		c.add(key, "%s is %v; allowed: more than 0 %s, at most %v", key, *v, unit, hi.In(hiUnit))
	}
}

func (c *checker) angle(key string, v *units.Angle, lo, hi units.Angle) {
	if v != nil && !(*v >= lo-slackRad && *v <= hi+slackRad) {
		c.add(key, "%s is %v; allowed: %v to %v", key[strings.LastIndex(key, ".")+1:], v.In("deg"), lo.In("deg"), hi.In("deg"))
	}
}

func (c *checker) course(key string, v *units.Angle) { c.angle(key, v, -half, full) }
func (c *checker) speed(v *units.Speed)              { within(c, "speed", v, minWay, "m/s", maxSpeed, "m/s") }
func (c *checker) radius(key string, v *units.Length) {
	within(c, key, v, minTurnRadius, "m", maxTurnRadius, "km")
}

func (c *checker) count(key string, n int) {
	if n < 1 || n > maxCount {
		c.add(key, "%s is %d; allowed: 1 to %d", key, n, maxCount)
	}
}

// oneOf checks that just one of several keys is there.
func (c *checker) oneOf(set []string, all, example string) {
	switch {
	case len(set) == 0:
		c.add("", "there is none of %s; add one, such as %s", all, example)
	case len(set) > 1:
		c.add("", "there are %s, which exclude each other; keep one of them", strings.Join(set, " and "))
	}
}

// there lists the keys whose value is there; keys and values alternate.
func there(pairs ...any) (keys []string) {
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i+1].(bool) {
			keys = append(keys, pairs[i].(string))
		}
	}
	return keys
}

// checkManoeuvres returns what is wrong with manoeuvres, handling and drift as they stand.
func (s Spec) checkManoeuvres() []strictyaml.Problem {
	c := &checker{}
	manoeuvres, drifts := len(s.Manoeuvres) > 0, s.Current != nil || s.WindDrift != nil
	for _, d := range []struct {
		key string
		*Drift
	}{{"current", s.Current}, {"wind-drift", s.WindDrift}} {
		if d.Drift != nil {
			c.at = d.key
			c.course("set", &d.Set)
			within(c, "drift", &d.Drift.Drift, 0, "m/s", maxDrift, "m/s")
		}
	}
	c.at = ""
	switch {
	case s.Turn != nil && manoeuvres:
		c.add("turn", "turn does not go with manoeuvres; make it one of them, such as turn: {by: 90 deg, radius: 50 m}")
	case s.Turn != nil && drifts:
		c.add("turn", "turn does not go with current or wind-drift; make it a manoeuvre, such as turn: {by: 90 deg, radius: 50 m}")
	}
	if (manoeuvres || drifts) && s.Course != nil && s.Heading != nil {
		c.add("course", "course and heading are both given, but manoeuvres, current and wind-drift make the crab; keep one of the two")
	}
	if (manoeuvres || drifts) && s.Speed > 0 && s.Speed < minWay {
		c.add("speed", "speed is %v; allowed: %v or more, or 0 kn", s.Speed, minWay.In("m/s"))
	}
	c.at = "handling"
	h := s.Handling
	within(c, "acceleration", h.Acceleration, 0.001, "m/s2", 10, "m/s2")
	within(c, "turn-in", h.TurnIn, 0.1, "s", 60, "s")
	c.radius("turn-radius", h.TurnRadius)
	within(c, "swing-rate", h.SwingRate, minSwing, "deg/s", maxRate, "deg/s")
	for i := range s.Manoeuvres {
		c.at = fmt.Sprintf("manoeuvres[%d]", i)
		name, all := s.Manoeuvres[i].kind()
		if c.oneOf(all, "hold, run, turn, lines, calibration, eight, keep, route", "run: {distance: 500 m, speed: 6 kn}"); len(all) == 1 {
			c.at += "." + name
			s.Manoeuvres[i].check(c)
		}
	}
	return c.ps
}

// check adds what is wrong with the one field that is set.
func (m *Manoeuvre) check(c *checker) {
	switch {
	case m.Hold != nil:
		positive(c, "for", &m.Hold.For, "s", maxTime, "h")
	case m.Run != nil:
		m.Run.check(c)
	case m.Turn != nil:
		m.Turn.check(c)
	case m.Lines != nil:
		l := m.Lines
		c.count("count", l.Count)
		positive(c, "length", &l.Length, "m", maxWay, "km")
		positive(c, "spacing", &l.Spacing, "m", maxSpacing, "km")
		within(c, "run-in", &l.RunIn, 0, "m", maxWay, "km")
		c.course("course", l.Course)
		c.speed(l.Speed)
		c.radius("radius", l.Radius)
	case m.Calibration != nil:
		l := m.Calibration
		positive(c, "length", &l.Length, "m", maxWay, "km")
		c.count("pairs", or(l.Pairs, 1))
		within(c, "run-in", &l.RunIn, 0, "m", maxWay, "km")
		c.course("course", l.Course)
		c.speed(l.Speed)
		c.radius("radius", l.Radius)
	case m.Eight != nil:
		c.radius("radius", &m.Eight.Radius)
		c.count("rounds", or(m.Eight.Rounds, 1))
		c.speed(m.Eight.Speed)
	case m.Keep != nil:
		m.Keep.check(c)
	case m.Route != nil:
		m.Route.check(c)
	}
}

func (k *Keep) check(c *checker) {
	positive(c, "for", &k.For, "s", maxTime, "h")
	within(c, "radius", &k.Radius, 0, "m", maxWander, "m")
	within(c, "period", k.Period, minPeriod, "s", maxTime, "h")
	c.course("heading", k.Heading)
	period := or(k.Period, defaultPeriod)
	if k.Radius > 0 && k.For > 0 && k.For < period {
		c.add("for", "for is %v, shorter than one period of the wander, %v; make it longer, or the period shorter", k.For, period)
	}
	if v := 2 * math.Pi * float64(k.Radius) / float64(period); v > maxWanderMS && period >= minPeriod && k.Radius <= maxWander {
		c.add("radius", "a radius of %v with a period of %v makes a wander of up to %.3g m/s; allowed: at most %g m/s", k.Radius, period, v, maxWanderMS)
	}
}

func (r *Run) check(c *checker) {
	c.oneOf(there("to", r.To != nil, "distance", r.Distance != nil, "for", r.For != nil), "to, distance, for", "distance: 500 m")
	if r.To != nil {
		c.angle("to.latitude", &r.To.Latitude, -quarter, quarter)
		c.angle("to.longitude", &r.To.Longitude, -half, half)
		if r.Course != nil {
			c.add("course", "course is given, but the way-point says where to go; remove it")
		}
	}
	positive(c, "distance", r.Distance, "m", maxWay, "km")
	positive(c, "for", r.For, "s", maxTime, "h")
	c.course("course", r.Course)
	if r.Speed != nil && *r.Speed == 0 {
		c.add("speed", "speed is 0, but a run needs one; to lie still, write hold: {for: 30 s}")
	} else {
		c.speed(r.Speed)
	}
	c.radius("radius", r.Radius)
}

func (t *TurnTo) check(c *checker) {
	c.oneOf(there("by", t.By != nil, "to", t.To != nil), "by, to", "by: 90 deg")
	c.angle("by", t.By, -maxTurnBy, maxTurnBy)
	if t.By != nil && *t.By == 0 {
		c.add("by", "by is 0; allowed: an angle to turn by, positive to starboard")
	}
	if t.By != nil && t.Direction != "" {
		c.add("direction", "direction goes with to; the sign of by says the side, positive to starboard")
	}
	c.course("to", t.To)
	if t.Radius != nil && t.Rate != nil {
		c.add("", "there are radius and rate, which exclude each other; keep one of them")
	}
	c.radius("radius", t.Radius)
	within(c, "rate", t.Rate, minSwing, "deg/s", maxRate, "deg/s")
}

func (r *Route) check(c *checker) {
	c.oneOf(there("csv", r.CSV != "", "gpx", r.GPX != ""), "csv, gpx", "gpx: outing.gpx")
	if r.Name != "" && r.GPX == "" {
		c.add("name", "name goes with gpx, whose files may hold several routes; remove it")
	}
	c.speed(r.Speed)
	c.radius("radius", r.Radius)
	if !r.read && (r.CSV == "") != (r.GPX == "") {
		c.add(r.key(), "the file %s was not read; a scenario pulls in files only where it is loaded from a file itself", strictyaml.Quote(r.CSV+r.GPX))
	}
}

// key is the key that names the file.
func (r *Route) key() string {
	if r.GPX != "" {
		return "gpx"
	}
	return "csv"
}
