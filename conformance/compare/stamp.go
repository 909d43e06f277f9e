package compare

import "math"

// stamp finds out whether the stamp of a row with timed quantities is the time of validity of its values.
//
// A stamp that is an epoch of a message, with a position that fits it, is right. Otherwise other epochs are tried: if
// the position fits one of those and clearly not the stamp, the stamp is wrong, and the row is held against the epoch
// that fits, so that a mistake of time is not told as one of position. A stamp that is no epoch but whose position
// fits it, and no epoch near by, is that of a consumer which computes values for instants of its own.
func (c *Comparer) stamp(r *Row, s *selection) {
	stamp := r.StampS
	at, onEpoch := c.epoch(stamp)
	if onEpoch {
		r.T = at
	}
	r.OnEpoch, r.StampIsEpoch = onEpoch, onEpoch
	byClock := r.Clock == Host // the time in the messages was not looked at
	off, known := c.positionOff(r, c.moment(r.T), s)
	switch {
	case !known && byClock:
		r.Stamp, r.LagS = StampWrong, stamp-c.lastEpoch(stamp)
		r.T, r.OnEpoch = stamp-r.LagS, true
		return
	case !known && onEpoch:
		r.Stamp = StampRight
		return
	case !known:
		r.Stamp = StampOpen
		return
	case onEpoch && off <= 1 && !byClock:
		r.Stamp = StampRight
		return
	}

	other, fits := c.look(r, s, onEpoch)
	switch {
	case fits && (off > 3 || byClock || !onEpoch && off > 1):
		r.Stamp, r.LagS, r.T, r.OnEpoch = StampWrong, stamp-other, other, true
	case byClock:
		r.Stamp, r.LagS = StampWrong, stamp-c.lastEpoch(stamp)
	case onEpoch:
		r.Stamp = StampRight // what is off is not the time, as far as can be told
	case off <= 1 && !fits:
		r.Stamp = StampResampled
	default:
		r.Stamp = StampOpen
	}
}

// rescue looks for the instant that the values of a row are of whose stamp is outside the run.
func (c *Comparer) rescue(r *Row, s *selection) bool {
	t, ok := c.look(r, s, false)
	if !ok {
		t, ok = c.whole(r)
	}
	if ok {
		r.Clock, r.Stamp, r.LagS, r.T, r.OnEpoch = Scenario, StampWrong, r.StampS-t, t, true
	}
	return ok
}

// whole is the epoch that a stamp outside the run is of if it is off by whole seconds: by when the observation came, which is
// less than half a second after its instant where all goes well.
func (c *Comparer) whole(r *Row) (float64, bool) {
	if r.Observation.Arrival.IsZero() || c.axis.origin.IsZero() {
		return 0, false
	}
	came := r.Observation.Arrival.Sub(c.axis.origin).Seconds()
	by := math.Round(r.StampS - came)
	if came < 0 || came > c.axis.duration+1 || math.Abs(by) < 2 || math.Abs(by) > 100 {
		return 0, false
	}
	return c.epoch(r.StampS - by)
}

// lastEpoch is the last epoch of a message that carries its time at or before t, or t where there is none.
func (c *Comparer) lastEpoch(t float64) float64 {
	last, found := math.Inf(-1), false
	for _, k := range c.Book.Kinds {
		if e := int(math.Floor(t*k.Rate + 1e-6)); k.Timed && e >= 0 && k.epochs > 0 {
			last, found = max(last, k.At(min(e, k.epochs-1))), true
		}
	}
	if !found {
		return t
	}
	return last
}

// look looks for an epoch that the position of a row fits: the lag that fitted the row before, then epochs before
// the stamp and a few after, then whole seconds and the offset of GPS time.
func (c *Comparer) look(r *Row, s *selection, onEpoch bool) (float64, bool) {
	stamp := r.StampS
	if onEpoch {
		stamp = r.T
	}
	fits := func(t float64) bool {
		if !c.axis.within(t) || onEpoch && t == stamp {
			return false
		}
		off, known := c.positionOff(r, c.moment(t), s)
		return known && off <= 1
	}
	if c.step > 0 && c.search.lag != 0 {
		for _, n := range [...]float64{0, -1, 1, -2, 2} { // lags vary with the length of messages
			t := c.step * (math.Round((stamp-c.search.lag)/c.step) + n)
			if fits(t) {
				c.search.lag = stamp - t
				return t, true
			}
		}
	}
	if c.search.budget <= 0 || c.step == 0 {
		return 0, false
	}
	c.search.budget--
	const back, ahead = 32, 4
	k := math.Floor(stamp/c.step + 1e-6)
	for n := 0; n <= back; n++ {
		if t := (k - float64(n)) * c.step; fits(t) {
			c.search.lag = stamp - t
			return t, true
		}
		if n < ahead {
			if t := (k + 1 + float64(n)) * c.step; fits(t) {
				c.search.lag = stamp - t
				return t, true
			}
		}
	}
	for _, whole := range [...]float64{1, -1, 2, -2, 3, -3, 18, -18, 15, -15, 37, -37, 60, -60} {
		if fits(stamp - whole) {
			c.search.lag = whole
			return stamp - whole, true
		}
	}
	return 0, false
}
