package conformance

import (
	"math"
	"slices"

	"swellbench/emulator"
	"swellbench/scenarios"
	"swellbench/scenarios/draws"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/sea"
	"swellbench/scenarios/units"
)

// A keep is what of a case is not drawn anew, because the case is about it.
type keep string

// What may be kept.
const (
	keepInstallation keep = "installation"
	keepPlace        keep = "place"
	keepHeading      keep = "heading"
	keepMotion       keep = "motion"
)

// SchemaEnum lists the words.
func (keep) SchemaEnum() []string {
	return []string{string(keepInstallation), string(keepPlace), string(keepHeading), string(keepMotion)}
}

// Vary draws installation, place, heading and motion of each case anew, within bounds, from a seed: so that no program can be
// tuned to the cases. What a case says it is about is kept, and so are times that are no "now", faults and line settings. A
// drawn case has no blind spot that the case as written has not, and its messages are no longer. Same seed, same cases,
// whichever of them are played. A case of which no draw is as good stays as written.
func (s *Suite) Vary(seed uint64) {
	s.Seed, s.Varied = seed, true
	for i := range s.Cases {
		s.Cases[i].vary(seed)
	}
}

const drawTries = 300

func (c *Case) vary(seed uint64) {
	sc := c.Scenario
	blind, size := len(BlindSpots(sc)), sizeOf(sc)
	for k := range drawTries {
		src := draws.At(seed, "case/"+c.Name, k)
		t := varied(sc, c.keeps, &src)
		if len(t.Validate()) > 0 || len(BlindSpots(t)) > blind {
			continue
		}
		if now := sizeOf(t); now.longest > max(size.longest, 82) || now.bytes > size.bytes*101/100 || now.bytes == 0 {
			continue
		}
		c.Scenario = t
		return
	}
}

// keeps tells whether something is kept: because the case says so, or because of the checks it is to prove.
func (c *Case) keeps(k keep) bool {
	wraps := slices.Contains(c.Checks, "parse.wrap")
	return slices.Contains(c.Keep, string(k)) || wraps && (k == keepPlace || k == keepHeading)
}

// A size is how much a scenario sends at its beginning.
type size struct{ longest, bytes int }

func sizeOf(sc *scenarios.Scenario) (s size) {
	const until = 20 // s of scenario time
	if sc.Start.Now {
		sc = sc.WithStart(someday)
	}
	d, err := emulator.New(sc)
	if err != nil {
		return s
	}
	for i := range d.Streams() {
		for m, err := range d.Messages(i) {
			if err != nil {
				return size{}
			}
			if m.Due > until {
				break
			}
			s.longest, s.bytes = max(s.longest, len(m.Bytes)), s.bytes+len(m.Bytes)
		}
	}
	return s
}

// varied is a scenario drawn anew from another.
func varied(was *scenarios.Scenario, keeps func(keep) bool, src *draws.Source) *scenarios.Scenario {
	sc := *was
	between := func(low, high float64) float64 { return low + (high-low)*src.Uniform() }
	either := func(x float64) float64 { return math.Copysign(x, src.Uniform()-0.5) }
	sc.Seed = 1 + src.Uint64()%1_000_000_000
	if !keeps(keepInstallation) && byName(&sc.Installation) {
		varyInstallation(&sc.Installation, between, either)
	}
	if !keeps(keepPlace) {
		p := &sc.Track.Position
		altitude := p.Height - sc.Geoid.Undulation
		p.Latitude = units.Angle(math.Copysign(frame.Rad(round(between(8, 66), 6)), float64(p.Latitude)))
		p.Longitude = units.Angle(math.Copysign(frame.Rad(round(between(3, 176), 6)), float64(p.Longitude)))
		low, high := 10.0, 62.0 // as many digits as it had
		if math.Abs(float64(sc.Geoid.Undulation)) < 10 {
			low, high = 5, 9.9
		}
		sc.Geoid.Undulation = units.Length(math.Copysign(round(between(low, high), 2), float64(sc.Geoid.Undulation)))
		p.Height = sc.Geoid.Undulation + altitude
		sc.Variation = units.Angle(either(frame.Rad(round(between(2, 24), 1))))
	}
	if h := sc.Track.Heading; h != nil && !keeps(keepHeading) {
		heading := units.Angle(frame.Rad(round(between(0, 360), 1)))
		if c := sc.Track.Course; c != nil {
			course := units.Angle(frame.Wrap2Pi(float64(*c - *h + heading)))
			sc.Track.Course = &course
		}
		sc.Track.Heading = &heading
	}
	if !keeps(keepMotion) {
		varyMotion(&sc.Motion, between, either)
	}
	return &sc
}

// byName tells whether all that was typed into the device is said by the names of points, or is what it really is.
func byName(in *installation.Installation) bool {
	named := func(ps ...*installation.Place) bool {
		return !slices.ContainsFunc(ps, func(p *installation.Place) bool { return p != nil && p.Name == "" })
	}
	e := &in.Entered
	return e.Baseline == nil && named(e.Sensor, e.OutputPoint) && (e.Antennas == nil || named(e.Antennas.Primary, e.Antennas.Secondary)) &&
		(e.Mounting == nil || *e.Mounting == in.Mounting)
}

// varyInstallation stretches the vessel along each axis, may mirror it, moves each point a little, and turns the device.
func varyInstallation(in *installation.Installation, between func(low, high float64) float64, either func(float64) float64) {
	stretch := [3]float64{either(between(0.8, 1.25)), between(0.8, 1.25), between(0.85, 1.15)}
	points := map[string]installation.Vector{}
	for _, name := range in.Names() { // in order
		v, ok := in.Points[name]
		if !ok {
			continue
		}
		for i := range v {
			v[i] = units.Length(round(float64(v[i])*stretch[i]+between(-0.2, 0.2), 2))
		}
		points[name] = v
	}
	in.Points = points
	m := &in.Mounting
	if *m == (installation.Mounting{}) {
		return
	}
	turn := func(a units.Angle) units.Angle {
		if size := math.Abs(frame.Deg(float64(a))); size > 60 { // upside down, or nearly upright: that is the point
			return units.Angle(frame.Rad(round(frame.Deg(float64(a))+between(-5, 5), 1)))
		}
		return units.Angle(either(frame.Rad(round(math.Abs(frame.Deg(float64(a)))*between(0.8, 1.2), 1))))
	}
	m.Heading = units.Angle(frame.Rad(round(between(-180, 180), 1)))
	m.Pitch, m.Roll = turn(m.Pitch), turn(m.Roll)
	if in.Entered.Mounting != nil {
		entered := *m
		in.Entered.Mounting = &entered
	}
}

// varyMotion draws sizes and periods about what they were, phases and signs anew.
func varyMotion(m *sea.Spec, between func(low, high float64) float64, either func(float64) float64) {
	m.Pose.Pitch = units.Angle(either(frame.Rad(round(math.Abs(frame.Deg(float64(m.Pose.Pitch)))*between(0.85, 1.2), 1))))
	m.Pose.Roll = units.Angle(either(frame.Rad(round(math.Abs(frame.Deg(float64(m.Pose.Roll)))*between(0.85, 1.2), 1))))
	for _, list := range []*[]sea.Shift{&m.Surge, &m.Sway, &m.Heave} {
		*list = slices.Clone(*list)
		for i := range *list {
			x := &(*list)[i]
			x.Amplitude *= units.Length(between(0.85, 1.2))
			x.Period *= units.Duration(between(0.9, 1.15))
			x.Phase = units.Angle(frame.Rad(round(between(0, 360), 0)))
		}
	}
	for _, list := range []*[]sea.Turning{&m.Roll, &m.Pitch, &m.Yaw} {
		*list = slices.Clone(*list)
		for i := range *list {
			x := &(*list)[i]
			x.Amplitude *= units.Angle(between(0.85, 1.2))
			x.Period *= units.Duration(between(0.9, 1.15))
			x.Phase = units.Angle(frame.Rad(round(between(0, 360), 0)))
		}
	}
}

func round(x float64, digits int) float64 {
	p := math.Pow10(digits)
	return math.Round(x*p) / p
}
