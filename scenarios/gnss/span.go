package gnss

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// A span is a stretch of the run between two edges of conditions: what holds during it.
type span struct {
	from                                   float64
	blocked, noAntenna, noSecondary, noise bool // noise: interference
	down, frozen                           bool
	frozenAt                               float64
	lossDB                                 float64
	sectors                                []sector // besides those of the whole run
	jump                                   r3.Vec
	multipath                              []swing
	cycles                                 int
}

// disturbed tells whether the sky is not what it is in the undisturbed run.
func (s *span) disturbed() bool { return s.noise || len(s.sectors) > 0 }

// deaf tells whether the receiver gets nothing from the sky.
func (s *span) deaf() bool { return s.blocked || s.noAntenna || s.down }

// A swing is a slow error by reflections.
type swing struct {
	from, period         float64
	toward               r3.Vec // horizontal, of unit length
	amplitudeM, vertical float64
	oneSided             bool
}

// at is the error at t of a solution, in m. A carrier is off by a quarter wavelength at most (Hofmann-Wellenhof,
// Lichtenegger & Wasle, GNSS – Global Navigation Satellite Systems, 2008, ch. 5, from memory).
func (w *swing) at(t float64, carrier bool) r3.Vec {
	x := math.Sin(2 * math.Pi * (t - w.from) / w.period)
	if w.oneSided {
		x = (1 - math.Cos(2*math.Pi*(t-w.from)/w.period)) / 2
	}
	h, v := w.amplitudeM, w.vertical
	if carrier {
		h, v = min(h, quarterWavelengthM), math.Copysign(min(math.Abs(v), quarterWavelengthM), v)
	}
	e := r3.Scale(h*x, w.toward)
	e.Z = v * x
	return e
}

// A restart is when the receiver goes down and when it is up again.
type restart struct {
	from, up float64
	start    StartUp
}

// timeline cuts time at the edges of the conditions. The first span reaches back without end.
func timeline(conditions []Condition, boot float64) (spans []span, restarts []restart, lost [][2]float64) {
	edges := []float64{math.Inf(-1)}
	for _, c := range conditions {
		from, until := float64(c.From), c.end(boot)
		edges = append(edges, from)
		if !math.IsInf(until, 0) {
			edges = append(edges, until)
		}
		switch c.Condition {
		case ReceiverRestart:
			restarts = append(restarts, restart{from, until, cmp.Or(c.Start, Warm)})
		case CorrectionsLost:
			lost = append(lost, [2]float64{from, until})
		}
	}
	slices.Sort(edges)
	slices.SortFunc(restarts, func(a, b restart) int { return cmp.Compare(a.from, b.from) })
	slices.SortFunc(lost, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	for _, edge := range slices.Compact(edges) {
		s := span{from: edge}
		for _, c := range conditions {
			if from := float64(c.From); edge >= from && edge < c.end(boot) {
				s.add(c, restarts)
			}
		}
		spans = append(spans, s)
	}
	return spans, restarts, lost
}

// add lets a condition hold during the span.
func (s *span) add(c Condition, restarts []restart) {
	from := float64(c.From)
	switch c.Condition {
	case Blocked:
		s.blocked = true
	case PartlyBlocked:
		s.sectors = append(s.sectors, sectorsOf(c.Sectors)...)
	case Interference:
		s.noise, s.lossDB = true, orFloat(c.LossDB, 0)
	case Multipath:
		sin, cos := math.Sincos(or(c.Toward, 0))
		s.multipath = append(s.multipath, swing{from: from, period: or(c.Period, 1), toward: r3.Vec{X: sin, Y: cos},
			amplitudeM: or(c.Amplitude, 0), vertical: or(c.Vertical, 0), oneSided: c.OneSided})
	case PositionJump:
		if j := c.Jump; j != nil {
			s.jump = r3.Add(s.jump, r3.Vec{X: float64(j.East), Y: float64(j.North), Z: float64(j.Up)})
		}
	case FrozenReceiver: // a restart thaws it
		thawed := slices.ContainsFunc(restarts, func(r restart) bool { return r.from >= from && r.from <= s.from })
		s.frozen, s.frozenAt = !thawed, from
	case ReceiverRestart:
		s.down = true
	case SecondaryLost:
		s.noSecondary = true
	case BothLost:
		s.noAntenna, s.noSecondary = true, true
	case WrongInteger:
		s.cycles = orInt(c.Cycles, 1)
	}
}

func orFloat(p *float64, def float64) float64 { return or(p, def) }

// A sector is a part of the sky that is hidden.
type sector struct {
	vessel       bool
	left, width  float64 // rad, 0 ≤ left < 2π; width 2π is all around
	above, below float64 // rad
}

func sectorsOf(specs []Sector) []sector {
	out := make([]sector, len(specs))
	for i, s := range specs {
		out[i] = sector{vessel: s.Fixed == Vessel, width: 2 * math.Pi, above: or(s.Above, -math.Pi/2), below: or(s.Below, math.Pi/2)}
		if s.Left != nil && s.Right != nil {
			out[i].left = frame.Wrap2Pi(float64(*s.Left))
			if w := frame.Wrap2Pi(float64(*s.Right) - float64(*s.Left)); w > 0 {
				out[i].width = w
			}
		}
	}
	return out
}

// hides tells whether a direction lies in the sector.
func (s *sector) hides(azimuth, elevation float64) bool {
	return elevation >= s.above && elevation <= s.below && frame.Wrap2Pi(azimuth-s.left) <= s.width
}
