package compare

import (
	"math"

	"swellbench/emulator/wire"
)

// timed judges a quantity whose message carries its time: at the time of validity, and nowhere else.
func (c *Comparer) timed(r *Row, q Q, m *moment, s *selection) {
	v := &r.Values[q]
	if !m.own(q) {
		c.silent(r, q, s, m.t, m.t)
		return
	}
	if _, ok := r.fields[q].Value(); !ok {
		v.State = NullShown
		if !c.delivered(q, r.Point, m, s) {
			v.State = Unjudged
		}
		return
	}
	d, want, ok := c.residual(r, q, m)
	if !ok { // the device has it, but not all that it takes to bring it to the point
		v.State = Unjudged
		return
	}
	tol := c.tolerances(m, r.Point, s)
	v.State, v.Expected, v.Diff, v.Tolerance, v.Parts = Judged, want, d, tol.Total[q], &tol.Part[q]
	switch q {
	case Lat, Lon:
		c.sign(r, q, m, tol)
	case Course:
		c.course(r, tol, m.reading.SpeedMS.Or(0))
	}
	if v.State != Judged {
		return
	}
	if c.missing(q, m.t, s) {
		c.hurtTimed(r, q, m, s)
		return
	}
	c.lenient(q, v, m, tol, s)
}

// course works out the tolerance of the course for the speed of the moment, and leaves a course that means nothing
// unjudged: at rest, or where noise turns it by degrees.
func (c *Comparer) course(r *Row, tol *Tolerances, speed float64) {
	const (
		slowest = 0.05              // m/s
		vague   = 5 * math.Pi / 180 // noise that turns the course by more
	)
	v := &r.Values[Course]
	r.courseParts = tol.Part[Course]
	r.courseParts[Noise] = courseNoise(tol.speedNoise, speed)
	if tol.vector > 0 {
		r.courseParts[Resolution] = max(r.courseParts[Resolution], courseNoise(tol.vector, speed))
	}
	v.Parts, v.Tolerance = &r.courseParts, 0
	for _, x := range r.courseParts {
		v.Tolerance += x
	}
	if speed < slowest || v.Tolerance > vague {
		v.State = Unjudged
	}
}

// sign tells whether a latitude or longitude came out with the wrong sign: it is far off, and its mirror image is not.
func (c *Comparer) sign(r *Row, q Q, m *moment, tol *Tolerances) {
	v := &r.Values[q]
	scale := m.metres(q)
	// Far: more than a wrong lever arm, applied twice or the wrong way round, or the noise could do.
	far := 4*c.arms[r.Point] + 1 + 10*tol.Total[q]
	mirror := math.Abs(q.Angle(-v.Observed-v.Expected)) * scale
	off := math.Abs(q.Angle(v.Observed-v.Expected)) * scale
	v.SignTells = math.Abs(q.Angle(2*v.Expected))*scale > far
	if v.SignTells && off > far && mirror < off/4 {
		v.State = Mirrored
	}
	v.Gross = math.Abs(v.Diff) > 200*max(1, c.arms[r.Point])
}

// missing tells whether messages should have brought q at t, but each of them was hurt or lost.
func (c *Comparer) missing(q Q, t float64, s *selection) bool {
	due := false
	for _, k := range s.carriers[q] {
		e, off := k.Nearest(t)
		if math.Abs(off) > 1e-6 || e < 0 || e >= k.epochs {
			continue
		}
		if k.good.Has(e) {
			return false
		}
		due = true
	}
	return due
}

// delivered tells whether at the moment good messages brought q and all that it takes to bring it to the point.
func (c *Comparer) delivered(q Q, point int, m *moment, s *selection) bool {
	return c.good(s.carriers[q], m.t) && c.inputs(q, point, m, s)
}

// inputs is delivered but for the messages that bring q itself.
func (c *Comparer) inputs(q Q, point int, m *moment, s *selection) bool {
	if !c.at(m, point).c.expected(q).Has() {
		return false
	}
	for _, k := range s.carriers[q] {
		if k.mute(q, m.reading.Fix) {
			return false
		}
	}
	if m.yawed() && !c.consumer.yawOnly && (q == Heading || c.needs[point][q] == LeverArm) {
		return false // known from the attitude alone, at which nobody has to look for it
	}
	azimuth := q == Heading && c.consumer.reported.TwoAntennas && !c.consumer.reported.HeadingOfVessel
	if c.needs[point][q] == Nothing && !azimuth { // a consumer may correct a baseline for tilt that needs none
		return true
	}
	for _, in := range inputQ {
		if c.carried[in] && !c.good(s.carriers[in], m.t) {
			return false
		}
	}
	return true
}

// good tells whether any of the kinds has a good message at t.
func (c *Comparer) good(ks []*Kind, t float64) bool {
	for _, k := range ks {
		if e, off := k.Nearest(t); math.Abs(off) <= 1e-6 && k.good.Has(e) {
			return true
		}
	}
	return false
}

// lenient allows for heading, pitch and roll that were hurt or lost at this instant, and enter the quantity: a consumer
// may go on with the last ones it had.
func (c *Comparer) lenient(q Q, v *Value, m *moment, tol *Tolerances, s *selection) {
	if !v.Beyond() {
		return
	}
	for i, in := range inputQ {
		if in == q || tol.input[i][q] == 0 || !c.missing(in, m.t, s) {
			continue
		}
		for _, k := range s.carriers[in] {
			e, _ := k.Nearest(m.t)
			if last, ok := k.before(e); ok {
				v.Tolerance += tol.input[i][q] * c.errors.rates[i] * (m.t - k.At(last) + 1/k.Rate)
			}
		}
		v.Hurt, v.State = true, Unjudged // right or wrong, it proves nothing about the quantity itself
	}
	if v.Hurt {
		v.Wrong = !(math.Abs(v.Diff) <= v.Tolerance)
	}
}

// hurtTimed compares a value that only hurt messages could have brought with what a consumer may go on from: the last
// good one, kept or carried on, or a value between it and the next.
func (c *Comparer) hurtTimed(r *Row, q Q, m *moment, s *selection) {
	v := &r.Values[q]
	v.State, v.Hurt = Unjudged, true
	k := s.carriers[q][0]
	e, _ := k.Nearest(m.t)
	if k.spelledAt(e) && math.Abs(v.Diff) <= v.Tolerance {
		return
	}
	last, ok := k.before(e - 1)
	if !ok {
		v.Wrong = true // nothing has ever come: there is nothing to go on from
		return
	}
	old := c.moment(k.At(last))
	kept, _, ok := c.diff(q, r, old)
	if !ok {
		return
	}
	age := m.t - k.At(last)
	v.Wrong = !(math.Abs(v.Diff) <= v.Tolerance+1.5*age*c.errors.maxRate[q]) && !(math.Abs(kept) <= v.Tolerance)
	said, _ := c.word(q, r, c.moment(m.t))
	x := Value{Diff: said, Tolerance: v.Tolerance}
	c.telling(&x, c.ways(r, q, k, e), k, e)
	v.Telling, v.Fresh = x.Telling, x.Fresh
}

// telling decides whether a value is what a hurt message said. ways are the residuals, less that at the hurt epoch, of
// what a correct consumer could say instead.
func (c *Comparer) telling(v *Value, ways []float64, k *Kind, e int) {
	v.Telling = k.checksum.Has(e)
	v.Telling = v.Telling && ways != nil
	for _, w := range ways {
		v.Telling = v.Telling && math.Abs(w) > 3*v.Tolerance
	}
	v.Fresh = v.Telling && math.Abs(v.Diff) <= v.Tolerance
}

// silent judges a quantity of which the device has no value between two instants, as far as each message that carries
// it has said so by then.
func (c *Comparer) silent(r *Row, q Q, s *selection, from, until float64) {
	v := &r.Values[q]
	if _, ok := r.fields[q].Value(); !ok {
		v.State = NullRight
		return
	}
	if f, said := r.Observation.Fix.Value(); said && f == wire.FixNone && q <= Height && c.Void(from) {
		v.State = NullRight // it passes on what stands there, with the word that it is void
		return
	}
	v.State = Unjudged
	for _, k := range s.carriers[q] {
		if !c.saidNothing(k, from, until, func(m *moment) bool { return m.own(q) }) {
			return
		}
	}
	v.State = ValueShown
}

// saidNothing tells whether the last good message of the kind at or before from, and all until until, had no value.
func (c *Comparer) saidNothing(k *Kind, from, until float64, has func(*moment) bool) bool {
	const slack = 1e-6
	e, ok := k.before(int(math.Floor((from + slack) * k.Rate)))
	if !ok {
		return false
	}
	for ; e < k.epochs && k.At(e) <= until+slack; e++ {
		if has(c.moment(k.At(e))) {
			return false
		}
	}
	return true
}

// judgeFix judges the state of the fix.
func (c *Comparer) judgeFix(r *Row, m *moment, s *selection) {
	f := &r.Fix
	got := r.Observation.Fix
	f.Observed, _ = got.Value()
	state := m.reading.Fix
	f.Expected = wordFor(s.fix, state, f.Observed)
	settled := len(s.fix) > 0
	for _, k := range s.fix { // each message that carries it has said this state by now, and had the time to arrive
		from := r.T
		if !r.Timed {
			from -= k.DelayS + c.HostSlackS
		}
		settled = settled && c.saidNothing(k, from, r.T, func(x *moment) bool { return x.reading.Fix != state })
	}
	switch {
	case !got.Said():
		f.State = Absent
	case !settled:
		f.State = Unjudged
	case got.IsNull() && f.Expected == wire.FixNone:
		f.State = NullRight
	case got.IsNull():
		f.State = NullShown
	case f.Expected == wire.FixNone && f.Observed != wire.FixNone:
		f.State = ValueShown
	default:
		f.State = Judged
	}
}

// positionOff is how far off the position of a row is at a moment, in tolerances; ok is false where there is none to
// go by.
func (c *Comparer) positionOff(r *Row, m *moment, s *selection) (ratio float64, ok bool) {
	if r.UnknownPoint {
		return 0, false
	}
	r.position.known, r.position.t = true, m.t
	for q := range r.position.of {
		x := &r.position.of[q]
		x.d, x.want, x.ok = c.diff(Q(q), r, m)
	}
	var tol *Tolerances
	for _, q := range [...]Q{Lat, Lon, Height} {
		d, _, known := c.residual(r, q, m)
		if !known || !s.timed[q] {
			continue
		}
		if tol == nil {
			tol = c.tolerances(m, r.Point, s)
		}
		ratio, ok = max(ratio, math.Abs(d)/tol.Total[q]), true
	}
	return ratio, ok
}

// residual is diff, of the row at the moment.
func (c *Comparer) residual(r *Row, q Q, m *moment) (d, expected float64, ok bool) {
	if p := &r.position; p.known && p.t == m.t && q <= Height {
		return p.of[q].d, p.of[q].want, p.of[q].ok
	}
	return c.diff(q, r, m)
}
