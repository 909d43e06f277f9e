package diagnose

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/conformance/compare"
	"swellbench/emulator/wire"
)

// How many observations are kept: enough for any fit, few enough for any log.
const (
	maxRows   = 3000 // spread over the run in blocks of blockS
	maxWorst  = 40   // besides, for each quantity, those furthest off
	maxSilent = 300  // besides, those that show what the device does not have
	blockS    = 0.5  // s: neighbours stay together, so that what repeats or lags is seen
	perBlock  = 150  // the first so many of a block
)

// A row is what is kept of one observation.
type row struct {
	line    int64
	s       float64 // scenario time of the stamp, s
	timed   bool    // it says a quantity whose message carries its time
	host    bool    // stamped by the host's clock, which plays at another date
	arrival float64 // scenario time when its line came, s; NaN if unknown
	at      r3.Vec  // the point it is about
	point   int
	source  string

	x       [compare.NQ]float64 // observed, SI and rad
	said    uint16              // values and nulls
	value   uint16              // values
	spared  uint16              // right by the comparer, though of another instant: not compared
	beyond  uint16              // beyond tolerance by the comparer
	sigma   [compare.NQ]float64
	tol     [compare.NQ]float64
	fix     wire.Fix
	fixSaid bool
	fixBad  bool // by the comparer

	kinds []*compare.Kind // that carry its timeless quantities
	only  string          // the one message that carries all it says; "" if several do
	wrong bool            // something about it is
}

// A sampler keeps a bounded sample of a stream of rows.
type sampler struct {
	cmp    *compare.Comparer
	start  float64 // observations before it are not judged, s
	stride int64
	blocks []block
	n      int // rows in the blocks
	worst  [compare.NQ][]kept
	silent []row
	seen   int64
	bad    int64
	kinds  map[string][]*compare.Kind
}

type block struct {
	number int64
	rows   []row
}

type kept struct {
	ratio float64
	row   row
}

func (s *sampler) add(r *compare.Row, raw float64) {
	stamp := r.StampS
	if r.Clock == compare.Nowhere {
		stamp = raw
	}
	if math.Abs(stamp) > 1e7 || r.UnknownPoint || r.Clock != compare.Nowhere && r.T < s.start {
		return
	}
	s.seen++
	bad, silent, worstQ, worst := s.verdict(r)
	if bad {
		s.bad++
	}
	number := int64(math.Floor(stamp / blockS))
	keep := s.stride <= 1 || number%s.stride == 0
	if n := len(s.blocks); keep && n > 0 && s.blocks[n-1].number == number {
		keep = len(s.blocks[n-1].rows) < perBlock
	}
	top := bad && worst > 0 && (len(s.worst[worstQ]) < maxWorst || worst > s.worst[worstQ][0].ratio)
	quiet := silent && len(s.silent) < maxSilent
	if !keep && !top && !quiet {
		return
	}
	x := s.row(r, stamp, bad)
	switch {
	case keep:
		if n := len(s.blocks); n == 0 || s.blocks[n-1].number != number {
			s.blocks = append(s.blocks, block{number: number})
		}
		b := &s.blocks[len(s.blocks)-1]
		b.rows = append(b.rows, x)
		if s.n++; s.n > maxRows {
			s.thin()
		}
	case quiet:
		s.silent = append(s.silent, x)
	case top: // the least of them stands first
		w := append(s.worst[worstQ], kept{worst, x})
		for i := len(w) - 1; i > 0; i-- {
			if w[i].ratio < w[0].ratio {
				w[i], w[0] = w[0], w[i]
			}
		}
		if len(w) > maxWorst {
			w = w[1:]
			least := 0
			for i := range w {
				if w[i].ratio < w[least].ratio {
					least = i
				}
			}
			w[0], w[least] = w[least], w[0]
		}
		s.worst[worstQ] = w
	}
}

// thin drops every other block.
func (s *sampler) thin() {
	for s.n > maxRows && s.stride < 1<<40 {
		s.stride = max(2, 2*s.stride)
		kept, n := s.blocks[:0], 0
		for _, b := range s.blocks {
			if b.number%s.stride == 0 {
				kept, n = append(kept, b), n+len(b.rows)
			}
		}
		clear(s.blocks[len(kept):])
		if n == 0 && len(kept) == 0 { // all in one block: a consumer whose stamp stands still
			s.blocks, s.n = kept, 0
			return
		}
		s.blocks, s.n = kept, n
		if n > maxRows && len(kept) == 1 {
			kept[0].rows, s.n = kept[0].rows[:maxRows/2], maxRows/2
		}
	}
}

// verdict tells whether anything about a row is wrong by the comparer, and the quantity furthest off.
func (s *sampler) verdict(r *compare.Row) (bad, silent bool, worst compare.Q, ratio float64) {
	bad = r.Clock == compare.Nowhere || r.Timed && r.Stamp == compare.StampWrong || r.ShiftS != 0 && !r.DateOpen
	for q := range compare.NQ {
		v := &r.Values[q]
		switch v.State {
		case compare.Judged:
			if v.Beyond() {
				bad = true
				if x := v.Ratio(); x > ratio {
					worst, ratio = q, x
				}
			}
		case compare.ValueShown:
			bad, silent = true, true
		case compare.Mirrored:
			bad = true
			if ratio < 1e6 {
				worst, ratio = q, 1e6
			}
		case compare.NullShown:
			bad = true
		}
	}
	if f := &r.Fix; f.State == compare.Judged && f.Observed != f.Expected || f.State == compare.ValueShown {
		bad = true
	}
	return bad, silent, worst, ratio
}

func (s *sampler) row(r *compare.Row, stamp float64, bad bool) row {
	o := r.Observation
	x := row{line: o.Line, s: stamp, timed: r.Timed, host: r.Clock == compare.Host, arrival: math.NaN(), point: r.Point, at: s.cmp.PointAt(r.Point), source: o.Source, wrong: bad}
	at := r.T
	if r.Clock == compare.Nowhere || math.IsNaN(at) {
		at = 0
	}
	tol := s.cmp.TolerancesAt(at, r.Point, o.Source)
	for q := range compare.NQ {
		v := &r.Values[q]
		y, said, known := r.Field(q)
		if said {
			x.said |= 1 << q
		}
		if known {
			x.value |= 1 << q
			x.x[q] = y
		}
		x.sigma[q], x.tol[q] = tol.Sigma(q), tol.Total[q]
		if q == compare.Course && v.Parts != nil && v.Tolerance > 0 {
			x.tol[q] = max(v.Tolerance, tol.Total[q])
			x.sigma[q] = max(tol.Sigma(q), v.Tolerance/5)
		}
		switch {
		case v.State == compare.Judged && v.Beyond(), v.State == compare.ValueShown, v.State == compare.NullShown, v.State == compare.Mirrored:
			x.beyond |= 1 << q
		case v.Hurt || v.State == compare.Unjudged && r.Clock != compare.Nowhere,
			r.Timed && v.State == compare.Judged && v.WindowS > 0 && math.Abs(v.T-at) > 1e-6,
			v.State == compare.NullRight && known:
			x.spared |= 1 << q
		}
	}
	if f, ok := o.Fix.Value(); ok {
		x.fix, x.fixSaid = f, r.Fix.State == compare.Judged || r.Fix.State == compare.ValueShown
		x.fixBad = x.fixSaid && (r.Fix.State == compare.ValueShown || r.Fix.Observed != r.Fix.Expected)
	}
	x.only = s.onlyKind(&x)
	if !r.Timed {
		key := o.Source
		ks, ok := s.kinds[key]
		if !ok {
			for q := range compare.NQ {
				if x.said&(1<<q) == 0 {
					continue
				}
				for _, c := range s.cmp.Carriers(q, o.Source) {
					if !contains(ks, c) {
						ks = append(ks, c)
					}
				}
			}
			if len(s.kinds) < 256 {
				s.kinds[key] = ks
			}
		}
		x.kinds = ks
	}
	return x
}

func contains(ks []*compare.Kind, k *compare.Kind) bool {
	for _, x := range ks {
		if x == k {
			return true
		}
	}
	return false
}

// rows are all that were kept.
func (s *sampler) rows() []row {
	var all []row
	seen := map[int64]bool{}
	take := func(r row) {
		if r.line == 0 || !seen[r.line] {
			seen[r.line] = true
			all = append(all, r)
		}
	}
	for _, b := range s.blocks {
		for _, r := range b.rows {
			take(r)
		}
	}
	for _, w := range s.worst {
		for _, k := range w {
			take(k.row)
		}
	}
	for _, r := range s.silent {
		take(r)
	}
	return all
}

// onlyKind is the one kind of message that all values of a row may have come in; "" if there are several.
func (s *sampler) onlyKind(x *row) string {
	only := ""
	for q := range compare.NQ {
		if x.said&(1<<q) == 0 {
			continue
		}
		for _, k := range s.cmp.Carriers(q, x.source) {
			if only != "" && k.Name != only {
				return ""
			}
			only = k.Name
		}
	}
	return only
}
