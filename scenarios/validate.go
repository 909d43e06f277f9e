package scenarios

import (
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"

	"swellbench/scenarios/heave"
	"swellbench/scenarios/sea/waves"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// Limits of what a file may ask for.
const (
	maxDuration   = units.Duration(366 * 86400)     // s; a year
	maxUndulation = units.Length(150)               // m; the geoid lies within -107 m and 86 m (EGM96, from memory)
	maxVariation  = units.Angle(math.Pi)            // rad
	maxLatency    = units.Duration(60)              // s
	maxRate       = units.Frequency(1000)           // Hz
	minRate       = units.Frequency(1.0 / 86400)    // Hz; once a day
	maxBaud       = 100_000_000                     // bits a second
	maxFIFO       = 4096                            // bytes
	maxRefill     = units.Duration(1)               // s
	maxDecimals   = 12                              // more than float64 holds of a minute of arc
	maxNoiseM     = units.Length(10000)             // m
	maxNoiseMS    = units.Speed(1000)               // m/s
	maxNoiseRad   = units.Angle(math.Pi)            // rad
	maxNoiseRadS  = units.AngularRate(10 * math.Pi) // rad/s
)

// streamName is what a stream may be called: it becomes part of file names.
var streamName = regexp.MustCompile(`^[a-z0-9]([a-z0-9-]{0,30}[a-z0-9])?$`)

// problems collects what is wrong.
type problems []strictyaml.Problem

func (ps *problems) add(path, format string, args ...any) {
	*ps = append(*ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
}

// Validate returns all that is wrong with the scenario as far as it is known without bytes; [Scenario.Problems] gives
// it its places. A scenario from [Load] or [Parse] has nothing wrong.
func (s *Scenario) Validate() []strictyaml.Problem {
	var ps problems
	if !(s.Duration > 0) {
		ps.add("duration", "duration is %v; allowed: more than 0 s", s.Duration)
	} else if !(s.Duration <= maxDuration) {
		ps.add("duration", "duration is %v; allowed: at most %v", s.Duration, maxDuration)
	}
	ps = append(ps, strictyaml.Under("installation", s.Installation.Validate())...)
	ps = append(ps, strictyaml.Under("track", s.Track.Validate())...)
	ps = append(ps, strictyaml.Under("motion", s.Motion.Validate())...)
	ps = append(ps, s.validateSea()...)
	if about := s.Motion.About; about != "" {
		if _, ok := s.Installation.Point(about); !ok {
			ps.add("motion.about", "there is no point %s; %s", strictyaml.Quote(about), strictyaml.Allowed(about, s.pointNames()))
		}
	}
	if u := s.Geoid.Undulation; !(u >= -maxUndulation && u <= maxUndulation) {
		ps.add("geoid.undulation", "undulation is %v; allowed: %v to %v", u.In("m"), (-maxUndulation).In("m"), maxUndulation.In("m"))
	}
	if v := s.Variation; !(v >= -maxVariation && v <= maxVariation) {
		ps.add("magnetic-variation", "magnetic variation is %v; allowed: %v to %v", v.In("deg"), (-maxVariation).In("deg"), maxVariation.In("deg"))
	}
	ps = append(ps, strictyaml.Under("gnss", s.GNSS.Validate(s.Duration))...)
	if s.Inertial != nil {
		ps = append(ps, strictyaml.Under("inertial", s.Inertial.Validate())...)
	}
	s.Device.validate(&ps)
	ps = append(ps, strictyaml.Under("device.start-up", s.Device.StartUp.validate(s.Duration))...)
	ps = append(ps, strictyaml.Under("device.clock", s.Device.Clock.Validate(s.Duration))...)
	if s.Device.Heave != (heave.Spec{}) {
		ps = append(ps, strictyaml.Under("device.heave-filter", s.Device.Heave.Validate())...)
	}
	s.validateStreams(&ps)
	for i, f := range s.Faults {
		f.validate(&ps, fmt.Sprintf("faults[%d]", i), s)
	}
	return ps
}

// Warnings returns what is possible but probably not meant. The sky and the outages are those of the run that starts
// when [Scenario.UTC] has it.
func (s *Scenario) Warnings() []strictyaml.Problem {
	ps := append(strictyaml.Under("installation", s.Installation.Warnings()), s.warnSea()...)
	ps = append(ps, strictyaml.Under("track", s.Track.Warnings(s.Duration))...)
	ps = append(ps, s.warnGNSS()...)
	ps = append(ps, strictyaml.Under("device.clock", s.Device.Clock.Warnings(s.Start.Time, s.Duration))...)
	if s.Device.Heave != (heave.Spec{}) {
		if period := s.heavePeriodS(); period > 0 {
			ps = append(ps, strictyaml.Under("device.heave-filter", s.Device.Heave.Warnings(period))...)
		}
	}
	return ps
}

// warnGNSS adds what of the sky, and of the inertial sensor that stands in for it, is possible but probably not meant.
func (s *Scenario) warnGNSS() []strictyaml.Problem {
	calm := *s // the waves cost the most, and hardly change which satellites there are
	calm.Sea = waves.Spec{}
	truth, err := calm.Truth()
	if err != nil {
		return nil // a matter of Validate
	}
	r, err := s.Receiver(truth)
	if err != nil {
		return nil
	}
	ps := strictyaml.Under("gnss", r.Warnings())
	if s.Inertial != nil {
		longest := 0.0
		for _, o := range r.Outages() {
			longest = max(longest, o[1]-o[0])
		}
		ps = append(ps, strictyaml.Under("inertial", s.Inertial.Warnings(longest))...)
	}
	return ps
}

// heavePeriodS is the period, in s, of most of the heave: of the largest sinusoid, or of the highest waves; 0 where there
// is none. That a moving vessel meets waves at another period is left out.
func (s *Scenario) heavePeriodS() float64 {
	period, size := 0.0, 0.0
	for _, h := range s.Motion.Heave {
		if a := math.Abs(float64(h.Amplitude)); a > size {
			period, size = float64(h.Period), a
		}
	}
	if s.hasSea() {
		if surface, err := waves.New(s.Sea, s.Seed, float64(s.Duration)); err == nil && surface.HsM()/2 > size {
			for _, sp := range surface.Spectra() {
				if a := sp.HsM() / 2; a > size {
					period, size = sp.TpS(), a
				}
			}
		}
	}
	return period
}

// pointNames lists the points of the installation, the reference point first.
func (s *Scenario) pointNames() []string {
	return append([]string{"reference"}, slices.Sorted(maps.Keys(s.Installation.Points))...)
}

// checkSpan adds what is wrong with something that should begin and end during the run.
func checkSpan(ps *problems, at, what string, from, until, duration units.Duration) {
	switch {
	case !(from >= 0):
		ps.add(at+".from", "%s begins at %v, before the run; allowed: 0 s or later", what, from)
	case duration > 0 && from >= duration:
		ps.add(at+".from", "%s begins at %v, after the run, which lasts %v", what, from, duration)
	case until < from:
		ps.add(at+".until", "%s ends at %v, before it begins at %v; swap the two", what, until, from)
	case !(until > from):
		ps.add(at+".until", "%s ends at %v, when it begins; give it a later end, or remove it", what, until)
	case duration > 0 && until > duration:
		ps.add(at+".until", "%s ends at %v, after the run, which lasts %v", what, until, duration)
	}
}

func (d Device) validate(ps *problems) {
	if w := string(d.NoFix); w != "" && !slices.Contains(d.NoFix.SchemaEnum(), w) {
		ps.add("device.without-fix", "without-fix is %s; %s", strictyaml.Quote(w), strictyaml.Allowed(w, d.NoFix.SchemaEnum()))
	}
	for _, l := range []struct {
		name string
		v    units.Duration
	}{{"constant", d.Latency.Constant}, {"random", d.Latency.Random}} {
		if !(l.v >= 0 && l.v <= maxLatency) {
			ps.add("device.latency."+l.name, "%s latency is %v; allowed: 0 s to %v", l.name, l.v, maxLatency.In("s"))
		}
	}
	n := d.Noise
	noise := func(name string, v, most float64, text, limit string) {
		if !(v >= 0 && v <= most) {
			ps.add("device.noise."+name, "%s noise is %s; allowed: 0 to %s, 1 sigma", name, text, limit)
		}
	}
	noise("horizontal", float64(n.Horizontal), float64(maxNoiseM), n.Horizontal.String(), maxNoiseM.String())
	noise("vertical", float64(n.Vertical), float64(maxNoiseM), n.Vertical.String(), maxNoiseM.String())
	noise("speed", float64(n.Speed), float64(maxNoiseMS), n.Speed.String(), maxNoiseMS.In("m/s"))
	noise("heading", float64(n.Heading), float64(maxNoiseRad), n.Heading.In("deg"), maxNoiseRad.In("deg"))
	noise("pitch", float64(n.Pitch), float64(maxNoiseRad), n.Pitch.In("deg"), maxNoiseRad.In("deg"))
	noise("roll", float64(n.Roll), float64(maxNoiseRad), n.Roll.In("deg"), maxNoiseRad.In("deg"))
	noise("heave", float64(n.Heave), float64(maxNoiseM), n.Heave.String(), maxNoiseM.String())
	noise("rate-of-turn", float64(n.RateOfTurn), float64(maxNoiseRadS), n.RateOfTurn.In("deg/s"), maxNoiseRadS.In("deg/s"))
}

func (s *Scenario) validateStreams(ps *problems) {
	if len(s.Streams) == 0 {
		ps.add("streams", "there is no stream; add one, with a format, a line and messages")
	}
	for i, st := range s.Streams {
		at := fmt.Sprintf("streams[%d]", i)
		if st.Name != "" && !streamName.MatchString(st.Name) {
			ps.add(at+".name", "stream name is %s; allowed: small letters, digits and hyphens, at most 32, such as bridge-1", strictyaml.Quote(st.Name))
		}
		for k, other := range s.Streams[:i] {
			if st.Name != "" && other.Name == st.Name {
				ps.add(at+".name", "stream name %s is taken by streams[%d]; give each stream a name of its own", strictyaml.Quote(st.Name), k)
				break
			}
		}
		st.Line.validate(ps, at+".line")
		if st.MAVLink != (MAVLink{}) {
			if !st.Uses("mavlink") {
				ps.add(at+".mavlink", "mavlink is set for the format %s; it goes with format mavlink only", strictyaml.Quote(st.Format))
			}
			st.MAVLink.validate(ps, at+".mavlink")
		}
		st.validateNMEA2000(ps, at)
		st.validateNMEA0183(ps, at)
		st.validateLayout(ps, at)
		if len(st.Messages) == 0 {
			ps.add(at+".messages", "the stream has no message; add one, such as {type: GGA, rate: 1 Hz}")
		}
		for k, m := range st.Messages {
			m.validate(ps, fmt.Sprintf("%s.messages[%d]", at, k))
		}
	}
}

func (l Line) validate(ps *problems, at string) {
	if l.Baud < 1 || l.Baud > maxBaud {
		ps.add(at+".baud", "baud is %d; allowed: 1 to %d, such as 4800, 38400 or 115200", l.Baud, maxBaud)
	}
	if l.DataBits != 0 && (l.DataBits < 5 || l.DataBits > 9) {
		ps.add(at+".data-bits", "data-bits is %d; allowed: 5 to 9, and 8 is usual", l.DataBits)
	}
	switch l.StopBits {
	case 0, 1, 1.5, 2:
	default:
		ps.add(at+".stop-bits", "stop-bits is %g; allowed: 1, 1.5 or 2", l.StopBits)
	}
	if l.FIFO < 0 || l.FIFO > maxFIFO {
		ps.add(at+".fifo", "fifo is %d bytes; allowed: 0 to %d, and 16 is usual", l.FIFO, maxFIFO)
	}
	switch {
	case !(l.Refill >= 0 && l.Refill <= maxRefill):
		ps.add(at+".refill", "refill is %v; allowed: 0 s to %v", l.Refill, maxRefill.In("s"))
	case l.Refill > 0 && l.FIFO == 0:
		ps.add(at+".refill", "refill is %v, but there is no fifo; add one, such as fifo: 16", l.Refill)
	}
}

func (m MAVLink) validate(ps *problems, at string) {
	if m.Version < 0 || m.Version > 2 {
		ps.add(at+".version", "version is %d; allowed: 1 or 2", m.Version)
	}
	if m.System < 0 || m.System > 255 {
		ps.add(at+".system", "system is %d; allowed: 1 to 255", m.System)
	}
	if m.Component < 0 || m.Component > 255 {
		ps.add(at+".component", "component is %d; allowed: 1 to 255", m.Component)
	}
}

func (m Message) validate(ps *problems, at string) {
	if !(m.Rate >= minRate && m.Rate <= maxRate) {
		ps.add(at+".rate", "rate is %v; allowed: from once a day to %v", m.Rate, maxRate.In("Hz"))
	}
	for _, k := range slices.Sorted(maps.Keys(m.Decimals)) {
		if n := m.Decimals[k]; n < 0 || n > maxDecimals {
			ps.add(strictyaml.JoinPath(at+".decimals", k), "decimals of %s is %d; allowed: 0 to %d", strictyaml.Quote(k), n, maxDecimals)
		}
	}
	for _, k := range slices.Sorted(maps.Keys(m.Signs)) {
		if n := m.Signs[k]; n != 1 && n != -1 {
			ps.add(strictyaml.JoinPath(at+".signs", k), "sign of %s is %d; allowed: 1 or -1", strictyaml.Quote(k), n)
		}
	}
}

func (f Fault) validate(ps *problems, at string, s *Scenario) {
	duration := s.Duration
	until := f.Until
	if until == 0 { // the end of the run; where it begins after that, only From is wrong
		until = duration
		if f.From >= duration {
			until = units.Duration(math.Inf(1))
		}
	}
	checkSpan(ps, at, strictyaml.Quote(f.Fault), f.From, until, duration)
	if f.Every < 0 {
		ps.add(at+".every", "every is %d; allowed: 1 or more, and 1 is all", f.Every)
	}
	if f.Share != nil && !(*f.Share > 0 && *f.Share <= 1) {
		ps.add(at+".share", "share is %g; allowed: more than 0, up to 1, such as 0.01 for one message in a hundred", *f.Share)
	}
	if f.Rate != nil && !(*f.Rate > 0 && *f.Rate <= maxRate) {
		ps.add(at+".rate", "rate is %v; allowed: more than 0 Hz, up to %v", *f.Rate, maxRate.In("Hz"))
	}
	if f.Stream != "" {
		var names []string
		for i, st := range s.Streams {
			names = append(names, st.Name)
			if st.Name == "" {
				names[i] = strconv.Itoa(i + 1)
			}
		}
		if !slices.Contains(names, f.Stream) {
			ps.add(at+".stream", "there is no stream %s; %s", strictyaml.Quote(f.Stream), strictyaml.Allowed(f.Stream, names))
		}
	}
}
