package compare

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// A Part names one contribution to a tolerance.
type Part int

// The parts.
const (
	Resolution Part = iota
	Digits
	Noise
	Staleness
	Arithmetic
	Declared
	NParts
)

// Parts explains the contributions.
var Parts = [NParts]struct{ Name, Why string }{
	Resolution: {"message resolution", "half the last digit of the message, carried through the geometry where other messages enter"},
	Digits:     {"consumer's digits", "half the last digit a consumer prints: as fine as the message, or as the example of the observation format"},
	Noise:      {"device noise", "white noise of the device, as many sigma as the number of samples makes likely once in a million runs"},
	Staleness:  {"age of attitude", "heading, pitch or roll may be as old as their messages are apart, where they come less often than others"},
	Arithmetic: {"arithmetic", "what another order of computing may cost"},
	Declared:   {"declared accuracy", "how far the program may be off by its own doing, as its profile declares, in place of its digits"},
}

// An Accuracy is how far off a program may be by its own doing, as it declares. SI and rad; what is not there is as fine as
// the digits of the messages.
type Accuracy struct {
	Position   opt.Opt[float64] // each of north and east, m
	Height     opt.Opt[float64]
	Speed      opt.Opt[float64]
	Course     opt.Opt[float64]
	Heading    opt.Opt[float64]
	Attitude   opt.Opt[float64] // each of pitch and roll
	Heave      opt.Opt[float64]
	RateOfTurn opt.Opt[float64]
	TimeS      opt.Opt[float64] // of stamps; values may then be off by what they change in that time
}

// of is what is declared for q.
func (a *Accuracy) of(q Q) opt.Opt[float64] {
	switch q {
	case Lat, Lon:
		return a.Position
	case Height:
		return a.Height
	case Speed:
		return a.Speed
	case Course:
		return a.Course
	case Heading:
		return a.Heading
	case Pitch, Roll:
		return a.Attitude
	case Heave:
		return a.Heave
	}
	return a.RateOfTurn
}

// Tolerances is what each quantity may be off by, in parts. SI and rad; m for latitude and longitude.
type Tolerances struct {
	Total [NQ]float64
	Part  [NQ][NParts]float64

	speedNoise float64              // of the velocity, m/s
	vector     float64              // resolution of a velocity in components, m/s
	input      [nInputs][NQ]float64 // change of each with heading, pitch and roll on the wire, per rad
}

// Inputs of a conclusion that have an uncertainty of their own and reach more than their own quantity.
const (
	inHeading = iota
	inPitch
	inRoll
	nInputs
)

var inputQ = [nInputs]Q{Heading, Pitch, Roll}

// An errorModel knows how the uncertainty of what is on the wire reaches a conclusion.
type errorModel struct {
	consumer *Consumer
	device   Device
	truth    scenarios.Truth
	carried  [NQ]bool
	headings bool        // what heading messages carry is carried
	yaws     bool        // the heading of the attitude is
	half     [NQ]float64 // coarsest resolution
	noise    scenarios.Noise
	declared Accuracy
	k        float64          // how many sigma
	stale    [nInputs]float64 // how old an input may be, s
	rates    [nInputs]float64 // the fastest each input changes, rad/s
	maxRate  [NQ]float64      // the fastest each conclusion changes; m/s for latitude and longitude

	// What the device does with its own noise, where settings were entered.
	arm      float64         // of its output point, m
	baseline opt.Opt[r3.Vec] // entered
	turning  float64         // fastest turning of the vessel, rad/s
}

func newErrorModel(c *Consumer, d Device, truth scenarios.Truth, book *Book, declared Accuracy) *errorModel {
	sc := d.Scenario()
	e := &errorModel{consumer: c, device: d, truth: truth, noise: sc.Device.Noise, declared: declared}
	e.carried, _ = book.carried()
	e.headings, e.yaws = book.headings(), book.yaws()
	for _, k := range book.Kinds {
		for q := range NQ {
			e.half[q] = max(e.half[q], k.half[q])
		}
	}
	settings := sc.Installation.Settings()
	e.baseline = settings.Baseline
	if out, ok := settings.OutputPoint.Value(); ok {
		primary, _ := settings.Primary.Value()
		e.arm = max(r3.Norm(r3.Sub(out, primary)), r3.Norm(r3.Sub(out, settings.Sensor)))
	}

	samples := 0.0
	fastest := 0.0
	for _, k := range book.Kinds {
		samples += k.Rate * float64(sc.Duration) * 4 // about as many quantities in each
	}
	for _, q := range []Q{Lat, Heading, Pitch, Roll} {
		fastest = max(fastest, book.rate(q))
	}
	e.k = sigmas(samples)
	for i, q := range inputQ {
		if r := book.rate(q); r > 0 && r < fastest*(1-1e-9) {
			e.stale[i] = 1 / r
		}
	}
	e.sampleRates()
	return e
}

// sigmas is how many standard deviations n samples of white noise stay within, but once in a million runs: so that no
// correct consumer is accused in many cases, seeds and quantities. 4.9 for a single sample, 6.1 for a thousand, 7.2
// for two million. Source: the error function, P(|z| > k) = erfc(k/√2).
func sigmas(n float64) float64 { return math.Sqrt2 * math.Erfcinv(1e-6/max(n, 1)) }

// sampleRates finds how fast inputs and conclusions change, at up to 500 instants of the run.
func (e *errorModel) sampleRates() {
	const most, step, margin = 500, 0.02, 1.25
	duration := float64(e.device.Scenario().Duration)
	n := int(max(1, min(most, duration/step)))
	var r0, r1 wire.Reading
	for i := range n {
		t := duration * float64(i) / float64(n)
		e.reading(t, &r0)
		e.reading(t+step, &r1)
		for j := range inputQ {
			a, ok0 := input(&r0, j).Value()
			b, ok1 := input(&r1, j).Value()
			if ok0 && ok1 {
				e.rates[j] = max(e.rates[j], margin*math.Abs(frame.AngleDiff(b, a))/step)
			}
		}
		e.turning = max(e.turning, margin*r3.Norm(e.truth.At(t).Rate))
		for _, l := range e.consumer.points {
			c0, c1 := e.consumer.Conclude(&r0, l), e.consumer.Conclude(&r1, l)
			for q, d := range deltas(&c1, &c0) {
				if !math.IsNaN(d) {
					e.maxRate[q] = max(e.maxRate[q], margin*math.Abs(d)/step)
				}
			}
		}
	}
}

// reading is the ideal reading at t with what no message carries left out.
func (e *errorModel) reading(t float64, r *wire.Reading) {
	truth := scenarios.MotionAt(e.truth, t)
	e.readingOf(&truth, r)
}

// readingOf is reading at an instant of which the truth is known.
func (e *errorModel) readingOf(truth *scenarios.Body, r *wire.Reading) {
	e.device.IdealOf(truth, r)
	if !e.headings {
		r.Heading = opt.None[float64]()
	}
	if !e.yaws {
		r.Yaw = opt.None[float64]()
	}
	e.mask(Pitch, &r.Pitch)
	e.mask(Roll, &r.Roll)
	e.mask(Heave, &r.HeaveM)
	e.mask(RateOfTurn, &r.RateOfTurn)
	e.mask(Speed, &r.SpeedMS)
	e.mask(Course, &r.CourseRad)
	if !e.carried[Lat] || !e.carried[Lon] {
		r.Position = opt.None[geo.Position]()
	}
}

func (e *errorModel) mask(q Q, field *opt.Opt[float64]) {
	if !e.carried[q] {
		*field = opt.None[float64]()
	}
}

func input(r *wire.Reading, i int) *opt.Opt[float64] {
	switch i {
	case inHeading:
		if !r.Heading.Has() && r.Yaw.Has() {
			return &r.Yaw
		}
		return &r.Heading
	case inPitch:
		return &r.Pitch
	}
	return &r.Roll
}

// deltas is a − b in the units of residuals; NaN where either is absent.
func deltas(a, b *Conclusion) (d [NQ]float64) {
	for q := range NQ {
		d[q] = math.NaN()
		x, ok1 := a.Value[q].Value()
		y, ok2 := b.Value[q].Value()
		if ok1 && ok2 {
			d[q] = q.diff(x, y)
		}
	}
	p, ok1 := a.Position.Value()
	r, ok2 := b.Position.Value()
	if ok1 && ok2 {
		enu := geo.LocalAt(r).ENU(p)
		d[Lat], d[Lon], d[Height] = enu.Y, enu.X, p.Height-r.Height
	}
	return d
}

// sensitivity is how much the conclusion about a point changes with each input, per rad, about a reading.
func (e *errorModel) sensitivity(r *wire.Reading, l r3.Vec) (j [nInputs][NQ]float64) {
	const step = 1e-5 // rad: far above rounding, far below the curvature of anything here
	base := e.consumer.Conclude(r, l)
	for i := range nInputs {
		v, ok := input(r, i).Value()
		if !ok {
			continue
		}
		moved := *r
		*input(&moved, i) = opt.Of(v + step)
		c := e.consumer.Conclude(&moved, l)
		for q, d := range deltas(&c, &base) {
			if !math.IsNaN(d) {
				j[i][q] = math.Abs(d) / step
			}
		}
	}
	return j
}

// at works out the tolerances at one reading for one point. half is the resolution of each quantity on the wire.
func (e *errorModel) at(r *wire.Reading, l r3.Vec, half *[NQ]float64, vector float64) (out Tolerances) {
	j := e.sensitivity(r, l)
	out.input, out.vector = j, vector
	sigma := e.sigmas(r)
	scale := metres(r)
	for q := range NQ {
		p := &out.Part[q]
		var noise float64
		for i, in := range inputQ {
			p[Resolution] += j[i][q] * half[in]
			noise = math.Hypot(noise, j[i][q]*sigma[in])
			p[Staleness] += j[i][q] * e.rates[i] * e.stale[i]
		}
		if !isInput(q) {
			p[Resolution] += half[q] * scale[q]
			noise = math.Hypot(noise, sigma[q])
		}
		if x, ok := e.declared.of(q).Value(); ok {
			p[Declared] = x
		} else {
			p[Digits] = max(half[q], quantities[q].digit) * scale[q]
		}
		p[Declared] += e.maxRate[q] * e.declared.TimeS.Or(0)
		p[Arithmetic] = quantities[q].floor
		p[Noise] = e.k * noise
	}
	e.velocity(r, sigma, &out)
	for q := range NQ {
		for _, x := range out.Part[q] {
			out.Total[q] += x
		}
	}
	return out
}

func isInput(q Q) bool { return q == Heading || q == Pitch || q == Roll }

// sigmas is the standard deviation of what the device reports of each quantity, with what its own use of noisy
// attitude adds: to the tilt correction of the entered baseline, and to the arm of the entered output point.
func (e *errorModel) sigmas(r *wire.Reading) (s [NQ]float64) {
	n := e.noise
	s[Heading], s[Pitch], s[Roll] = float64(n.Heading), float64(n.Pitch), float64(n.Roll)
	tilt := math.Hypot(s[Pitch], s[Roll])
	if b, ok := e.baseline.Value(); ok && tilt > 0 {
		const step = 1e-5
		p, q := r.Pitch.Or(0), r.Roll.Or(0)
		h := frame.HeadingFromBaseline(0, p, q, b)
		dp := frame.AngleDiff(frame.HeadingFromBaseline(0, p+step, q, b), h) / step
		dr := frame.AngleDiff(frame.HeadingFromBaseline(0, p, q+step, b), h) / step
		s[Heading] = math.Hypot(s[Heading], math.Hypot(dp*s[Pitch], dr*s[Roll]))
	}
	all := math.Hypot(s[Heading], tilt)
	s[Lat] = math.Hypot(float64(n.Horizontal), e.arm*all)
	s[Lon] = s[Lat]
	s[Height] = math.Hypot(float64(n.Vertical), e.arm*tilt)
	s[Heave] = math.Hypot(float64(n.Heave), e.arm*tilt)
	s[Speed] = math.Hypot(float64(n.Speed), e.arm*e.turning*all)
	// ḣ = (w_right sin r − w_up cos r)/cos p: its derivatives with pitch and roll are at most |w|·tan p/cos p and |w|/cos p.
	pitch := r.Pitch.Or(0)
	s[RateOfTurn] = math.Hypot(float64(n.RateOfTurn), e.turning/math.Cos(pitch)*(math.Abs(math.Tan(pitch))*s[Pitch]+s[Roll]))
	return s
}

// velocity fills in what noise does to speed and course: the vector moves in both, so that its length is off by up to
// as many sigma, and its direction by their angle.
func (e *errorModel) velocity(r *wire.Reading, sigma [NQ]float64, out *Tolerances) {
	if sigma[Speed] > 0 {
		out.speedNoise = (e.k + 0.5) * sigma[Speed] // the length of a vector of two is a little longer-tailed than one component
	}
	out.Part[Speed][Noise] = out.speedNoise
	out.Part[Course][Noise] = courseNoise(out.speedNoise, r.SpeedMS.Or(0))
	out.Part[Course][Resolution] = max(out.Part[Course][Resolution], courseNoise(out.vector, r.SpeedMS.Or(0)))
}

// courseNoise is the angle by which noise turns a velocity.
func courseNoise(noise, speed float64) float64 { return math.Asin(min(1, noise/max(speed, 1e-9))) }

// metres is what turns the resolution of a quantity into the unit of its residual: m a rad for latitude and longitude.
func metres(r *wire.Reading) (s [NQ]float64) {
	for q := range NQ {
		s[q] = 1
	}
	p := r.Position.Or(geo.Position{})
	s[Lat] = geo.MeridianRadius(p.Lat) + p.Height
	s[Lon] = (geo.PrimeVerticalRadius(p.Lat) + p.Height) * math.Abs(math.Cos(p.Lat))
	return s
}
