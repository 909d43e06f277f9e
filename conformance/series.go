package conformance

import (
	"math"

	"swellbench/conformance/compare"
	"swellbench/emulator/line"
	"swellbench/scenarios"
	"swellbench/scenarios/opt"
)

// A Series is one quantity of one case over scenario time, thinned out for a picture: of each of [SeriesSlots] spans of
// time the smallest and the largest deviation stay, so that no outlier is lost. Values and deviations are in Unit; of
// latitude and longitude there are deviations only, in metres north and east.
type Series struct {
	Quantity string
	Unit     string
	Points   []SeriesPoint // in order of time
}

// A SeriesPoint is one value that was judged.
type SeriesPoint struct {
	T                  float64 // scenario time it was held against, s
	Expected, Observed float64
	Deviation          float64 // observed minus expected
	Tolerance          float64
}

// A PlanPoint is how far a position was off, seen from the vessel: m to starboard and forward.
type PlanPoint struct{ Right, Forward float64 }

// SeriesSlots is how many spans of time a series is thinned to.
const SeriesSlots = 240

// series keeps what the pictures of a case show. Its memory does not grow with the run.
type series struct {
	truth scenarios.Truth
	slot  float64 // s
	by    [compare.NQ][]extremes
	plan  []opt.Opt[PlanPoint]
}

func newSeries(truth scenarios.Truth, durationS float64) *series {
	return &series{truth: truth, slot: durationS / SeriesSlots, plan: make([]opt.Opt[PlanPoint], SeriesSlots+1)}
}

// extremes are the values of one span of time with the smallest and the largest deviation.
type extremes struct {
	any       bool
	low, high SeriesPoint
}

func (s *series) add(q compare.Q, v *compare.Value) {
	k := int(v.T / s.slot)
	if k < 0 || k > SeriesSlots {
		return
	}
	p := SeriesPoint{v.T, q.Show(v.Expected), q.Show(v.Observed), q.Show(v.Diff), q.Show(v.Tolerance)}
	if q == compare.Lat || q == compare.Lon {
		p.Expected, p.Observed, p.Deviation, p.Tolerance = 0, v.Diff, v.Diff, v.Tolerance
	}
	if s.by[q] == nil {
		s.by[q] = make([]extremes, SeriesSlots+1)
	}
	x := &s.by[q][k]
	if !x.any {
		*x = extremes{true, p, p}
	}
	if p.Deviation < x.low.Deviation {
		x.low = p
	}
	if p.Deviation > x.high.Deviation {
		x.high = p
	}
}

// position notes how far a position was off, along the vessel's true heading.
func (s *series) position(r *compare.Row) {
	lat, lon := &r.Values[compare.Lat], &r.Values[compare.Lon]
	k := int(r.T / s.slot)
	if lat.State != compare.Judged || lon.State != compare.Judged || s.truth == nil || k < 0 || k > SeriesSlots {
		return
	}
	if s.plan[k].Has() {
		return
	}
	sh, ch := math.Sincos(s.truth.At(r.T).Attitude.Heading)
	s.plan[k] = opt.Of(PlanPoint{Right: lon.Diff*ch - lat.Diff*sh, Forward: lon.Diff*sh + lat.Diff*ch})
}

// all lists the series of what was judged, in the order of the quantities.
func (s *series) all() (all []Series, plan []PlanPoint) {
	for q := range compare.NQ {
		if len(s.by[q]) == 0 {
			continue
		}
		x := Series{Quantity: q.String(), Unit: q.Unit()}
		for _, e := range s.by[q] {
			if !e.any {
				continue
			}
			a, b := e.low, e.high
			if a.T > b.T {
				a, b = b, a
			}
			x.Points = append(x.Points, a)
			if a != b {
				x.Points = append(x.Points, b)
			}
		}
		all = append(all, x)
	}
	for _, p := range s.plan {
		if p, ok := p.Value(); ok {
			plan = append(plan, p)
		}
	}
	return all, plan
}

// show puts into the result of a case what the pictures of its report need.
func (e *Evidence) show(res *CaseResult, rs []Result) {
	e.around(rs)
	if t := e.tally.tally; t != nil {
		res.Series, res.Plan = t.series.all()
	}
	in := &e.Device.Scenario().Installation
	for _, name := range in.Names() {
		if p, ok := in.Point(name); ok {
			res.Points = append(res.Points, VesselPoint{name, p.X, p.Y, p.Z})
		}
	}
}

// A SentMessage is one message that was sent near an example.
type SentMessage struct {
	Kind   string
	ValidS float64 // scenario time, s
	FirstS float64 // when its first bit left
	Hurt   string
	Lost   string // why it did not arrive whole
	Bytes  []byte
}

const (
	aroundS    = 0.15 // s of validity before and after an example
	aroundMost = 16
	// longestHoldS is how long a message may be held back and still be shown, s. Common practice, no source.
	longestHoldS = 120.0
	aroundBytes  = 512
)

// around finds the messages sent about the first example of each failed check, in one walk.
func (e *Evidence) around(rs []Result) {
	last := math.Inf(-1)
	for i := range rs {
		if rs[i].Outcome == Failed && len(rs[i].Examples) > 0 {
			last = max(last, rs[i].Examples[0].T)
		}
	}
	if math.IsInf(last, -1) || e.Sent == nil {
		return
	}
	for m := range e.Sent {
		if e.Device.Streams() == 1 && m.Due > last+aroundS+longestHoldS {
			return // the rest of a day need not be worked out again
		}
		for i := range rs {
			r := &rs[i]
			if r.Outcome != Failed || len(r.Examples) == 0 || len(r.Around) >= aroundMost || math.Abs(m.Valid-r.Examples[0].T) > aroundS {
				continue
			}
			r.Around = append(r.Around, sentMessage(m))
		}
	}
}

func sentMessage(m line.Sent) SentMessage {
	return SentMessage{Kind: m.Kind, ValidS: m.Valid, FirstS: m.First, Hurt: m.Hurt, Lost: m.Dropped, Bytes: append([]byte(nil), m.Bytes[:min(len(m.Bytes), aroundBytes)]...)}
}

// A quantiles counts magnitudes in buckets an eighth of an octave wide: a quantile is at most 9 % too large, and memory
// does not grow.
type quantiles struct {
	n      int
	counts []int32 // from smallest on
}

func (c *quantiles) add(x float64) {
	if c.counts == nil {
		c.counts = make([]int32, largest-smallest+1)
	}
	c.n++
	c.counts[bucket(math.Abs(x))-smallest]++
}

const smallest, largest = -400, 800 // in eighths of octaves: 1e-15 to 1e30

func bucket(x float64) int {
	switch {
	case !(x > 0):
		return smallest
	case math.IsInf(x, 1):
		return largest
	}
	const bits = 52 // of the fraction
	whole, f := int(math.Float64bits(x)>>bits)-1023, math.Float64bits(x)&(1<<bits-1)
	k := 0 // how many eighths are less than the fraction
	if f > eighths[3] {
		k = 4
	}
	if f > eighths[k+1] {
		k += 2
	}
	if f > eighths[k] {
		k++
	}
	if k == 7 && f > eighths[k] {
		k++
	}
	return max(smallest, min(largest, 8*whole+k))
}

// eighths are the fractions of 2^(k/8) for k from 0 to 7.
var eighths = func() (e [8]uint64) {
	for k := range e {
		e[k] = math.Float64bits(math.Exp2(float64(k)/8)) & (1<<52 - 1)
	}
	return e
}()

// at is the value that the share p of those counted does not exceed.
func (c *quantiles) at(p float64) float64 {
	need := int(math.Ceil(p * float64(c.n)))
	for k := smallest; k <= largest && c.n > 0; k++ {
		if need -= int(c.counts[k-smallest]); need <= 0 {
			if k == smallest {
				return 0
			}
			return math.Exp2(float64(k) / 8)
		}
	}
	return math.NaN()
}
