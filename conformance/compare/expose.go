package compare

import (
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
)

// What package diagnose needs of a comparer, besides the rows.

// TolerancesAt is what each quantity may be off by about scenario time t, at a point, in an observation of that source.
func (c *Comparer) TolerancesAt(t float64, point int, source string) *Tolerances {
	return c.tolerances(c.moment(t), point, c.selection(source))
}

// Origin is the instant of scenario time 0 by the host's clock; zero if that is not known.
func (c *Comparer) Origin() time.Time { return c.axis.origin }

// StepS is the interval of the most frequent message that carries its time, s; 0 if none does.
func (c *Comparer) StepS() float64 { return c.step }

// PointAt is where a point of a row is, m right, forward, up from the vessel reference point.
func (c *Comparer) PointAt(point int) r3.Vec {
	if point < 0 || point >= len(c.consumer.points) {
		return r3.Vec{}
	}
	return c.consumer.points[point]
}

// ExpectedPoint is the number of the point that the consumer is to deliver.
func (c *Comparer) ExpectedPoint() int { return max(0, c.consumer.expected) }

// Silent is [Comparer.Silent] at T of the row.
func (r *Row) Silent(q Q) bool { return r.silent&(1<<q) != 0 }

// Carriers are the messages that bring q to an observation of its source.
func (r *Row) Carriers(q Q) []*Kind { return r.selection.carriers[q] }

// Carriers are the messages that bring q to an observation of that source.
func (c *Comparer) Carriers(q Q, source string) []*Kind { return c.selection(source).carriers[q] }

// Sigma is the standard deviation that goes with a tolerance: half a step of rounding is √3 of them, noise as many as
// the tolerance was made of.
func (t *Tolerances) Sigma(q Q) float64 {
	p := &t.Part[q]
	return hypot(p[Resolution]/1.7, p[Digits]/1.7, p[Noise]/5.5, p[Staleness]/1.7, p[Arithmetic], p[Declared]/1.7)
}

// Field is the field of an observation for q; a heading that the consumer itself calls invalid is no value.
func (r *Row) Field(q Q) (value float64, said, known bool) {
	f := r.fields[q]
	v, ok := f.Value()
	return v, f.Said(), ok
}

func hypot(xs ...float64) float64 {
	s := 0.0
	for _, x := range xs {
		s += x * x
	}
	return math.Sqrt(s)
}

// Half is half the resolution of q in the message; for latitude and longitude rad.
func (k *Kind) Half(q Q) float64 { return k.half[q] }
