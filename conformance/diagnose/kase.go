package diagnose

import (
	"bytes"
	"iter"
	"math"
	"slices"
	"strings"

	"swellbench/conformance/compare"
	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// A kase is one played case as the diagnosis sees it: the device, and the observations that were kept.
type kase struct {
	device  compare.Device
	noisy   func(float64) wire.Reading // with the noise that was on the wire; nil if it is not known
	cmp     *compare.Comparer
	geo     geometry
	right   *pipeline // the correct one
	carried [compare.NQ]bool
	fix     bool // the state of the fix is carried
	rows    []row
	looks   int       // observations predicted so far
	step    float64   // of the most frequent message that carries its time, s
	rates   []float64 // of the messages that carry their time, Hz
	length  float64   // of the scenario, s

	bursts  []burst            // in order of validity
	spread  [2]float64         // what the scatter of stamps costs an observation, if they are those of arrival, or shifted by a constant
	byKind  map[string][]burst // the same of single messages
	water   map[int64]float64  // speed ahead through the water, m/s, that other equipment on the line told, by ms of validity
	rawOf   map[float64]raw
	history map[float64][nFields]float64 // when each field was last known before a time
}

// A burst is when the messages of one epoch had arrived.
type burst struct {
	valid, last float64 // s
}

// wireOf says which field of a reading belongs to which quantity on the wire.
var wireOf = [...]struct {
	f field
	q compare.Q
}{{rLat, compare.Lat}, {rLon, compare.Lon}, {rAlt, compare.Height}, {rSpeed, compare.Speed}, {rCourse, compare.Course},
	{rHeading, compare.Heading}, {rPitch, compare.Pitch}, {rRoll, compare.Roll}, {rHeave, compare.Heave}, {rTurn, compare.RateOfTurn}}

func newKase(d compare.Device, cmp *compare.Comparer, rows []row) *kase {
	k := &kase{device: d, cmp: cmp, right: correct(), geo: newGeometry(&d.Scenario().Installation), rows: rows, step: cmp.StepS(),
		length: float64(d.Scenario().Duration), rawOf: map[float64]raw{}, fix: cmp.CarriedFix(), history: map[float64][nFields]float64{}}
	if n, ok := d.(interface{ Reading(float64) wire.Reading }); ok {
		k.noisy = n.Reading
	}
	for q := range compare.NQ {
		k.carried[q] = cmp.Carried(q)
	}
	for _, b := range cmp.Book.Kinds {
		if b.Timed && !slices.Contains(k.rates, b.Rate) {
			k.rates = append(k.rates, b.Rate)
		}
	}
	return k
}

// hear reads from the sent-log when the epochs about the rows had arrived.
func (k *kase) hear(sent iter.Seq[line.Sent]) {
	if sent == nil {
		return
	}
	const before, after, most = 3, 1, 200_000
	var want compare.Bits
	for i := range k.rows {
		s := k.rows[i].s
		for n := math.Floor(s) - before; n <= math.Floor(s)+after && n < 1e8; n++ {
			want.Set(int(n))
		}
	}
	k.byKind = map[string][]burst{}
	for m := range sent {
		if m.Dropped != "" || m.Hurt != "" || len(m.Bytes) == 0 || !want.Has(int(math.Floor(m.Valid))) {
			continue
		}
		if strings.HasSuffix(m.Kind, "VBW") || bytes.Contains(m.Bytes[:min(len(m.Bytes), 7)], []byte("VBW")) {
			k.takeWater(&m)
		}
		last := m.Last + m.LateS + m.HeldS
		if ks := k.byKind[m.Kind]; len(ks) < most {
			k.byKind[m.Kind] = append(ks, burst{m.Valid, last})
		}
		if n := len(k.bursts); n > 0 && math.Abs(k.bursts[n-1].valid-m.Valid) < 1e-9 {
			k.bursts[n-1].last = max(k.bursts[n-1].last, last)
		} else if n < most {
			k.bursts = append(k.bursts, burst{m.Valid, last})
		}
	}
	defer k.scatter()
	slices.SortStableFunc(k.bursts, func(a, b burst) int {
		switch {
		case a.valid < b.valid:
			return -1
		case a.valid > b.valid:
			return 1
		}
		return 0
	})
}

// takeWater keeps the speed through the water that a sentence tells.
func (k *kase) takeWater(m *line.Sent) {
	var r wire.Reading
	if _, _, err := nmea0183.Family.Read(m.Bytes, &r); err != nil {
		return
	}
	if v, ok := r.WaterSpeed.Value(); ok {
		if k.water == nil {
			k.water = map[int64]float64{}
		}
		k.water[int64(math.Round(m.Valid*1e3))] = v[0]
	}
}

// arrivedBy is the validity of the last burst that was complete at scenario time s, or of the one message that the row
// is about.
func (k *kase) arrivedBy(r *row, s float64) (float64, bool) {
	const slack = 2e-3
	bursts := k.bursts
	if one := k.byKind[r.only]; one != nil {
		bursts = one
	}
	i, _ := slices.BinarySearchFunc(bursts, s, func(b burst, s float64) int {
		if b.last <= s+slack {
			return -1
		}
		return 1
	})
	if i == 0 {
		return 0, false
	}
	return bursts[i-1].valid, true
}

// raw is what is on the wire at t.
func (k *kase) raw(t float64) raw {
	if r, ok := k.rawOf[t]; ok {
		return r
	}
	read := k.device.Ideal
	if k.noisy != nil && k.onEpoch(t) {
		read = k.noisy
	}
	var r raw
	if t > -1e6 && t < 1e9 {
		w := read(t)
		r = k.take(&w)
	}
	if len(k.rawOf) > 60_000 {
		clear(k.rawOf)
	}
	k.rawOf[t] = r
	return r
}

// onEpoch tells whether t is an epoch of any message.
func (k *kase) onEpoch(t float64) bool {
	for _, b := range k.cmp.Book.Kinds {
		if math.Abs(math.Round(t*b.Rate)/b.Rate-t) < 1e-9 {
			return true
		}
	}
	return false
}

func (k *kase) take(w *wire.Reading) (r raw) {
	r.fix = w.Fix
	set := func(f field, q compare.Q, o opt.Opt[float64]) {
		if x, ok := o.Value(); ok && k.carried[q] {
			r.put(f, x)
		}
	}
	if p, ok := w.Position.Value(); ok && k.carried[compare.Lat] && k.carried[compare.Lon] {
		u := w.Undulation.Or(0)
		r.put(rLat, p.Lat)
		r.put(rLon, p.Lon)
		if k.carried[compare.Height] {
			r.put(rAlt, p.Height-u)
			r.put(rUnd, u)
		}
	}
	if p, ok := w.Void.Value(); ok && k.carried[compare.Lat] && k.carried[compare.Lon] {
		u := w.Undulation.Or(0)
		r.voided, r.void = true, [4]float64{p.Lat, p.Lon, p.Height - u, u}
	}
	set(rSpeed, compare.Speed, w.SpeedMS)
	set(rCourse, compare.Course, w.CourseRad)
	set(rHeading, compare.Heading, w.Heading)
	set(rPitch, compare.Pitch, w.Pitch)
	set(rRoll, compare.Roll, w.Roll)
	set(rHeave, compare.Heave, w.HeaveM)
	set(rTurn, compare.RateOfTurn, w.RateOfTurn)
	r.put(rVar, w.Variation.Or(0))
	if v, ok := w.WaterSpeed.Value(); ok {
		r.put(rWater, v[0])
	}
	return r
}

// assembled is what a consumer holds at t whose sources are late by lag.
func (k *kase) assembled(t float64, lag *[nSources]float64) raw {
	r := k.raw(t)
	if *lag == [nSources]float64{} {
		return r
	}
	for s, l := range lag {
		if l == 0 {
			continue
		}
		at := t - l
		if e := k.snap(at); math.Abs(e-at) < 1e-6 {
			at = e
		}
		o := k.raw(at)
		for f := range nFields {
			if sourceOf[f] == source(s) {
				r.v[f] = o.v[f]
				r.has = r.has&^(1<<f) | o.has&(1<<f)
			}
		}
		if source(s) == sPosition {
			r.fix = o.fix
		}
	}
	return r
}

// snap is the epoch of a message that carries its time, nearest to t.
func (k *kase) snap(t float64) float64 {
	best, off := t, math.Inf(1)
	for _, f := range k.rates {
		e := math.Round(t*f) / f
		if d := math.Abs(e - t); d < off {
			best, off = e, d
		}
	}
	return best
}

// lastKnown is when field f was last known before t, looking back a minute at most.
func (k *kase) lastKnown(f field, t float64) (float64, bool) {
	if h, ok := k.history[t]; ok && !math.IsNaN(h[f]) {
		return h[f], h[f] > -1e8
	}
	h, ok := k.history[t]
	if !ok {
		for i := range h {
			h[i] = math.NaN()
		}
	}
	step := k.step
	if step == 0 {
		step = 0.1
	}
	found := -1e9
	n := math.Floor(t/step + 1e-6)
	for i := range 600 {
		e := (n - float64(i)) * step
		if e < 0 {
			break
		}
		if e > t-1e-9 {
			continue
		}
		r := k.raw(e)
		if r.known(f) {
			found = e
			break
		}
	}
	h[f] = found
	k.history[t] = h
	return found, found > -1e8
}

// nextKnown is when field f is known again at or after t, looking ahead a minute at most.
func (k *kase) nextKnown(f field, t float64) (float64, bool) {
	step := k.step
	if step == 0 {
		step = 0.1
	}
	n := math.Ceil(t/step - 1e-6)
	for i := range 600 {
		e := (n + float64(i)) * step
		if e > k.length {
			break
		}
		if r := k.raw(e); r.known(f) {
			return e, true
		}
	}
	return 0, false
}

// metres are m a rad of latitude and longitude.
func metres(lat, height float64) (north, east float64) {
	return geo.MeridianRadius(lat) + height, (geo.PrimeVerticalRadius(lat) + height) * math.Max(1e-9, math.Abs(math.Cos(lat)))
}

// epochOf is the interval of the most frequent message that carries q, s.
func (k *kase) epochOf(q compare.Q) float64 {
	rate := 0.0
	for _, b := range k.cmp.Book.Kinds {
		if b.Carries(q) {
			rate = max(rate, b.Rate)
		}
	}
	if rate == 0 {
		return max(k.step, 0.1)
	}
	return 1 / rate
}

// scatter works out how much stamps scatter about the arrival of their burst, and about an even grid. A clock that is
// read on arrival scatters less about the former, a shift by a constant less about the latter.
func (k *kase) scatter() {
	const fine = 0.5e-3 // s: what stamps are printed to
	var arrival, grid []float64
	sin, cos := 0.0, 0.0
	for i := range k.rows {
		r := &k.rows[i]
		if !r.timed || r.host || k.step <= 0 {
			continue
		}
		t, ok := k.arrivedBy(r, r.s)
		if !ok {
			continue
		}
		bursts := k.bursts
		if one := k.byKind[r.only]; one != nil {
			bursts = one
		}
		j, _ := slices.BinarySearchFunc(bursts, t, func(b burst, t float64) int {
			if b.valid < t-1e-9 {
				return -1
			}
			return 1
		})
		if j == len(bursts) {
			continue
		}
		arrival = append(arrival, r.s-bursts[j].last)
		a := 2 * math.Pi * r.s / k.step
		sin, cos = sin+math.Sin(a), cos+math.Cos(a)
		grid = append(grid, a)
	}
	if len(arrival) < 8 {
		return
	}
	mean := 0.0
	for _, x := range arrival {
		mean += x / float64(len(arrival))
	}
	center := math.Atan2(sin, cos)
	var da, dg float64
	for i := range arrival {
		da += math.Abs(arrival[i]-mean) / float64(len(arrival))
		dg += math.Abs(math.Remainder(grid[i]-center, 2*math.Pi)) * k.step / (2 * math.Pi) / float64(len(arrival))
	}
	da, dg = math.Max(fine, da), math.Max(fine, dg)
	least := math.Min(da, dg)
	k.spread = [2]float64{2 * math.Log(da/least), 2 * math.Log(dg/least)}
}
