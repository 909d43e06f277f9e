package gnss

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// A State is what the receiver says at one instant, and how far it is off.
type State struct {
	Fix     Fix
	Down    bool // the receiver gives no answer at all, no time either
	Entered bool // the position is the one typed in: there has been no fix yet
	// Where Frozen is set, the receiver repeats what it said at scenario time FrozenAt: all else here is of that instant.
	Frozen   bool
	FrozenAt float64

	// Errors are what it says less what is true at the primary antenna: m and m/s, east, north, up. Sigmas are what it
	// reports as its accuracy, 1 sigma. All are 0 without a position.
	ErrorENU, SigmaENU           r3.Vec
	VelocityError, VelocitySigma r3.Vec
	CovarianceEN                 float64 // of the east and north errors, m²

	Satellites int              // used in the fix
	DOP        opt.Opt[DOP]     // absent without a fix from satellites
	AgeS       opt.Opt[float64] // of the corrections; absent where none are used

	// The heading is that of the baseline: errors in rad, positive to starboard, and of its elevation positive up.
	HeadingValid               bool
	HeadingError, HeadingSigma float64
	BaselineElevationError     float64
	BaselineElevationSigma     float64
}

// A Receiver is the GNSS receiver of one run. It never changes once made, but for copies of what it worked out, and may
// be asked from several goroutines.
type Receiver struct {
	spec       Spec
	startUnix  float64
	antenna    func(t float64) (geo.Position, frame.Attitude)
	duration   float64
	step       float64 // between samples of the sky, s
	satellites []Satellite
	maskSine   float64
	maxPDOP    float64
	sectors    []sector
	ages       correctionSettings
	times      timeSettings
	headings   headingSettings
	errors     [rungs]errorSettings
	best       rung
	entered    geo.Position

	spans     []span
	restarts  []restart
	lost      [][2]float64 // corrections
	intervals []interval
	seen      struct{ above, clear int } // most satellites at any time

	noise [rungs]*noise
	turn  [2]*process // heading and elevation of the baseline
	cache cache
}

// Sampling of the sky.
const (
	sampleS    = 1.0
	maxSamples = 4 * 86400
)

const (
	minBaselineM    = 0.1  // half a wavelength: below it two antennas give no direction (common practice, no source)
	velocityTauS    = 5.0  // correlation time of velocity errors (common practice, no source)
	perDistance     = 1e-6 // growth of the range error with the distance to the base (common practice, no source)
	elevationFactor = 2.0  // a baseline's elevation is so much worse than its azimuth (common practice, no source)
	enteredSigmaM   = 100.0
	maxPDOPDefault  = 20.0
)

// New makes the receiver of a run that begins at start and lasts durationS. antenna gives the position of the primary
// antenna and the attitude of the vessel at scenario time t; it is asked during New and later, must always give the
// same answer, and must not ask the Receiver. Read an almanac file first, with [Spec.ReadAlmanac].
//
// Errors: all that [Spec.Validate] finds, joined.
func New(spec Spec, start time.Time, antenna func(t float64) (geo.Position, frame.Attitude), durationS float64, seed uint64) (*Receiver, error) {
	if antenna == nil {
		return nil, errors.New("gnss: there is no antenna; give a function that tells where it is")
	}
	if !(durationS > 0 && durationS < tooFarInTimeSeconds) {
		return nil, fmt.Errorf("gnss: duration is %g s; allowed: more than 0 s", durationS)
	}
	if ps := spec.Validate(units.Duration(durationS)); len(ps) > 0 {
		return nil, joined(ps)
	}
	r := &Receiver{
		spec: spec, startUnix: unixSeconds(start), antenna: antenna, duration: durationS,
		step:       sampleS * max(1, math.Ceil(durationS/maxSamples)),
		satellites: Nominal(),
		maskSine:   math.Sin(or(spec.Mask, maskDefault)),
		maxPDOP:    orFloat(spec.MaxPDOP, maxPDOPDefault),
		sectors:    sectorsOf(spec.Sectors),
		ages:       spec.Corrections.settings(),
		times:      spec.Times.settings(),
		headings:   spec.Heading.settings(),
		errors:     spec.Errors.settings(),
		best:       bestRung(spec.Fix),
	}
	if a := spec.Almanac; a != nil {
		entries, err := ReadAlmanac(a.Form, a.Text)
		if err != nil {
			return nil, fmt.Errorf("gnss: %w", err)
		}
		r.satellites = Satellites(entries, start)
	}
	if e := spec.Entered; e != nil {
		r.entered = geo.Position{Lat: float64(e.Latitude), Lon: float64(e.Longitude), Height: float64(e.Height)}
	}
	r.spans, r.restarts, r.lost = timeline(spec.Conditions, r.times.boot)
	if spec.Errors != nil {
		for i := autonomous; i < rungs; i++ {
			r.noise[i] = newNoise(seed, i, r.errors[i].correlation)
		}
		r.turn = [2]*process{
			newProcess(seed, "gnss/heading", r.headings.correlation),
			newProcess(seed, "gnss/elevation", r.headings.correlation),
		}
	}
	r.run()
	return r, nil
}

func joined(ps []strictyaml.Problem) error {
	var errs []error
	for _, p := range ps {
		errs = append(errs, fmt.Errorf("gnss: %s: %s", p.Path, p.Text))
	}
	return errors.Join(errs...)
}

// bestRung is the rung of the undisturbed receiver. Words that say nothing about corrections stand for autonomous.
func bestRung(f Fix) rung {
	switch f {
	case None:
		return noFix
	case Differential:
		return differential
	case RTKFloat:
		return float
	case RTKFixed:
		return fixed
	case Precise:
		return precise
	}
	return autonomous
}

// word is the word for a rung of this receiver.
func (r *Receiver) word(s rung) Fix {
	switch s {
	case entered:
		return Manual
	case precise:
		return Precise
	case differential:
		return Differential
	case float:
		return RTKFloat
	case fixed:
		return RTKFixed
	case autonomous:
		switch r.spec.Fix {
		case Estimated, Manual, Simulated:
			return r.spec.Fix
		}
		return Autonomous
	}
	return None
}

// At returns the state at scenario time t, in s. Same t, same answer, asked in any order. Nothing is allocated. Before
// the run and after it the state is that of its first and last instant under the sky of t.
func (r *Receiver) At(t float64) State {
	if !(math.Abs(t) < tooFarInTimeSeconds) {
		return State{Fix: None}
	}
	i := r.spanAt(t)
	if sp := &r.spans[i]; sp.frozen {
		s := r.at(sp.frozenAt, r.spanAt(sp.frozenAt))
		s.Frozen, s.FrozenAt = true, sp.frozenAt
		return s
	}
	return r.at(t, i)
}

func (r *Receiver) at(t float64, i int) State {
	sp, st := &r.spans[i], &r.intervals[r.intervalAt(t)].state
	s := State{Fix: None, Down: st.down}
	switch {
	case st.rung == entered:
		at, _ := r.antenna(t)
		s.Fix, s.Entered = Manual, true
		s.ErrorENU = geo.LocalAt(at).ENU(r.entered)
		sigma := or(r.spec.Entered.Sigma, enteredSigmaM)
		s.SigmaENU = r3.Vec{X: sigma, Y: sigma, Z: sigma}
		return s
	case st.rung == noFix:
		return s
	}
	l := r.glance(t, i, st.rung)
	if !l.view.ok {
		return s // outside the run
	}
	r.position(&s, t, sp, st, &l)
	if st.heading {
		r.heading(&s, t, sp, &l)
	}
	return s
}

// position fills in the fix.
func (r *Receiver) position(s *State, t float64, sp *span, st *state, l *glance) {
	s.Fix = r.word(st.rung)
	s.Satellites = l.view.used
	if n := r.spec.Satellites; n != nil && !sp.disturbed() {
		s.Satellites = *n
	}
	s.DOP = opt.Of(l.view.geometry.DOP)
	if st.rung >= precise {
		if epoch := r.lastCorrection(t, st.corrections); !math.IsInf(epoch, 0) {
			s.AgeS = opt.Of(t - epoch)
		}
	}
	e, loss := &r.errors[st.rung], lossFactor(sp.lossDB)
	sigma := e.rangeM
	if st.rung >= float {
		sigma += perDistance * float64(r.spec.Corrections.BaseDistance)
	}
	sigma *= loss
	rate := e.rateMS * loss
	q := &l.view.geometry.Cofactor
	root := r3.Vec{X: math.Sqrt(q[0]), Y: math.Sqrt(q[1]), Z: math.Sqrt(q[2])}
	s.SigmaENU, s.VelocitySigma = r3.Scale(sigma, root), r3.Scale(rate, root)
	s.CovarianceEN = sigma * sigma * q[3]
	if n := r.noise[st.rung]; n != nil {
		f := t - math.Floor(t)
		s.ErrorENU = r3.Scale(sigma, l.shape.apply(n.position(l, f)))
		s.VelocityError = r3.Scale(rate, l.shape.apply(n.velocity(l, f)))
	}
	s.ErrorENU = r3.Add(s.ErrorENU, sp.jump)
	for i := range sp.multipath {
		s.ErrorENU = r3.Add(s.ErrorENU, sp.multipath[i].at(t, st.rung == fixed))
	}
}

// heading fills in the heading from the baseline.
//
// Its standard deviation goes as the inverse of the baseline's horizontal length (common practice, no source). A wrong
// integer moves the far end of the baseline by one wavelength, c/1575.42 MHz = 19.03 cm (IS-GPS-200, 3.3.1.1).
func (r *Receiver) heading(s *State, t float64, sp *span, l *glance) {
	length := l.view.baseline
	if !(length >= minBaselineM) {
		return
	}
	s.HeadingValid = true
	s.HeadingSigma = r.headings.sigma / length * lossFactor(sp.lossDB)
	s.BaselineElevationSigma = elevationFactor * s.HeadingSigma
	if r.turn[0] != nil {
		f := t - math.Floor(t)
		s.HeadingError = s.HeadingSigma * r.turn[0].between(l.nodes[0][6], l.nodes[1][6], f)
		s.BaselineElevationError = s.BaselineElevationSigma * r.turn[1].between(l.nodes[0][7], l.nodes[1][7], f)
	}
	s.HeadingError += float64(sp.cycles) * l1WavelengthM / length
}

// AppendSatellites appends the satellites above the horizon at scenario time t to dst, in the order of their numbers.
// It allocates only what dst is short of. The sky is worked out once a second.
func (r *Receiver) AppendSatellites(dst []Sat, t float64) []Sat {
	if !(math.Abs(t) < tooFarInTimeSeconds) {
		return dst
	}
	i := r.spanAt(t)
	if sp := &r.spans[i]; sp.frozen {
		t = sp.frozenAt
		i = r.spanAt(t)
	}
	st := &r.intervals[r.intervalAt(t)].state
	if st.down {
		return dst
	}
	n := len(dst)
	r.look(r.sample(t), &r.spans[i], &dst)
	if st.rung < autonomous {
		for k := range dst[n:] {
			dst[n+k].Used = false
		}
	}
	return dst
}

// sample is the instant whose sky holds at t.
func (r *Receiver) sample(t float64) float64 { return math.Floor(t/r.step) * r.step }

// spanAt finds the span of t. There always is one.
func (r *Receiver) spanAt(t float64) int {
	return sort.Search(len(r.spans), func(i int) bool { return r.spans[i].from > t }) - 1
}

// intervalAt finds the interval of t, the first one before the run.
func (r *Receiver) intervalAt(t float64) int {
	return max(0, sort.Search(len(r.intervals), func(i int) bool { return r.intervals[i].from > t })-1)
}

// Outages lists when there is no fix from satellites, from and until, in s.
func (r *Receiver) Outages() [][2]float64 {
	return r.gaps(func(s state) bool { return s.rung < autonomous })
}

// HeadingOutages lists when there is no valid heading from the baseline, from and until, in s.
func (r *Receiver) HeadingOutages() [][2]float64 {
	return r.gaps(func(s state) bool { return !s.heading })
}

func (r *Receiver) gaps(gap func(state) bool) [][2]float64 {
	var out [][2]float64
	open := false
	for _, iv := range r.intervals {
		switch g := gap(iv.state); {
		case g && !open:
			out = append(out, [2]float64{iv.from, r.duration})
		case !g && open:
			out[len(out)-1][1] = iv.from
		}
		open = gap(iv.state)
	}
	return out
}

// Changes lists the instants at which the state of the fix or the validity of the heading changes, from 0 on, with the
// fix from then on. A plot shows them.
func (r *Receiver) Changes() []Change {
	var out []Change
	for _, iv := range r.intervals {
		c := Change{At: iv.from, Fix: r.word(iv.state.rung), HeadingValid: iv.state.heading}
		if n := len(out); n == 0 || out[n-1].Fix != c.Fix || out[n-1].HeadingValid != c.HeadingValid {
			out = append(out, c)
		}
	}
	return out
}

// A Change is what holds from an instant on.
type Change struct {
	At           float64 // scenario time, s
	Fix          Fix
	HeadingValid bool
}

// EnteredPosition is the position typed in.
func (r *Receiver) EnteredPosition() (geo.Position, bool) { return r.entered, r.spec.Entered != nil }
