package diagnose

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/conformance/compare"
	"swellbench/scenarios/frame"
)

// Conditions are those of the soundings for which the impact is worked out. What is zero is taken from the case, or a
// usual value: 40 m of depth, a beam 60° off nadir to starboard.
type Conditions struct {
	DepthM       float64 // below the transducer
	BeamAngleRad float64 // from the vessel's down axis, positive to starboard
	SpeedMS      float64 // over ground; matters for errors of time
	DraughtM     float64 // of the transducer: adds to the depth that the limits go by
}

// An Order is an order of survey of IHO S-44.
type Order struct {
	Name string
	// The total vertical uncertainty allowed at 95 % is √(A² + (B·depth)²), the total horizontal one C + D·depth.
	A, B, C, D float64
}

// Orders are those of IHO S-44, edition 6 (2020), sections 2.6, 3.2.3 and table 1, the strictest first.
var Orders = []Order{
	{"Exclusive Order", 0.15, 0.0075, 1, 0},
	{"Special Order", 0.25, 0.0075, 2, 0},
	{"Order 1a", 0.5, 0.013, 5, 0.05},
	{"Order 1b", 0.5, 0.013, 5, 0.05},
	{"Order 2", 1, 0.023, 20, 0.1},
}

// TVUM is the total vertical uncertainty allowed at a depth, m at 95 %.
func (o Order) TVUM(depth float64) float64 { return math.Hypot(o.A, o.B*depth) }

// THUM is the total horizontal uncertainty allowed at a depth, m at 95 %.
func (o Order) THUM(depth float64) float64 { return o.C + o.D*depth }

// A Bias is by how much what is reported differs from what is true.
type Bias struct {
	Attitude frame.Attitude // rad, each angle by itself
	Lever    r3.Vec         // of the lever arm, m right, forward, up
	Position r3.Vec         // of the position, m east, north, up
	HeaveM   float64        // up
}

// Sounding is where a beam meets a flat sea floor: the vector from the transducer, m east, north, up, and its length,
// for a constant speed of sound. Errors: none; a beam that does not go down meets nothing, and is not finite.
func (c Conditions) Sounding(a frame.Attitude) (at r3.Vec, rangeM float64) {
	u := a.Rotation().Apply(c.beam())
	rangeM = -c.DepthM / u.Z
	if !(u.Z < 0) {
		rangeM = math.Inf(1)
	}
	return r3.Scale(rangeM, u), rangeM
}

func (c Conditions) beam() r3.Vec {
	s, k := math.Sincos(c.BeamAngleRad)
	return r3.Vec{X: s, Z: -k}
}

// Shift is by how much a bias moves a sounding, m east, north, up: reported less true. The range is measured, and so
// the same in both.
func (c Conditions) Shift(a frame.Attitude, b Bias) r3.Vec {
	at, rangeM := c.Sounding(a)
	wrong := frame.Attitude{Heading: a.Heading + b.Attitude.Heading, Pitch: a.Pitch + b.Attitude.Pitch, Roll: a.Roll + b.Attitude.Roll}
	moved := r3.Sub(r3.Scale(rangeM, wrong.Rotation().Apply(c.beam())), at)
	moved = r3.Add(moved, a.Rotation().Apply(b.Lever))
	moved = r3.Add(moved, b.Position)
	moved.Z += b.HeaveM
	return moved
}

// conditions fills in what was not given.
func (k *kase) conditions(c Conditions) Conditions {
	if !(c.DepthM > 0) {
		c.DepthM = 40
	}
	if c.BeamAngleRad == 0 {
		c.BeamAngleRad = 60 * deg
	}
	if !(c.DraughtM > 0) {
		c.DraughtM = float64(k.device.Scenario().Installation.Vessel.Draught)
	}
	return c
}

// impactOf says what the mistake with number i of a set does to a sounding, by what the consumer says with it and
// without it at the same stamps: 95 % of them are moved by less.
func (k *kase) impactOf(m *model, i int, view view, c Conditions) string {
	c = k.conditions(c)
	with, without := k.build(m.picks), k.build(m.without(i))
	scale := 1.0
	if c.SpeedMS > 0 && m.picks[i].v.slot == "stamp" {
		if v := k.meanSpeed(view); v > 0.1 {
			scale = c.SpeedMS / v
		}
	}
	// Depths are reduced by heave and tide, or by the ellipsoidal height of the position: the worse of the two counts.
	var across, up, upByHeight []float64
	var buf [8]float64
	for _, n := range view {
		r := &k.rows[n]
		ts := k.times(without, n, buf[:0])
		right := context{k: k, row: r, t: ts[0]}
		o := without.run(&right)
		ts = k.times(with, n, buf[:0])
		right.t = ts[0]
		x := with.run(&right)
		need := uint16(1<<compare.Pitch | 1<<compare.Roll | 1<<compare.Heading)
		if o.has&x.has&need != need {
			continue
		}
		a := frame.Attitude{Heading: o.v[compare.Heading], Pitch: o.v[compare.Pitch], Roll: o.v[compare.Roll]}
		height := 0.0
		b := Bias{Attitude: frame.Attitude{Heading: frame.WrapPi(x.v[compare.Heading] - a.Heading), Pitch: x.v[compare.Pitch] - a.Pitch, Roll: frame.WrapPi(x.v[compare.Roll] - a.Roll)}}
		if both := o.has & x.has; both&(1<<compare.Lat) != 0 && both&(1<<compare.Lon) != 0 {
			n, e := metres(o.v[compare.Lat], 0)
			b.Position.Y = (x.v[compare.Lat] - o.v[compare.Lat]) * n * scale
			b.Position.X = frame.WrapPi(x.v[compare.Lon]-o.v[compare.Lon]) * e * scale
			if both&(1<<compare.Height) != 0 {
				height = x.v[compare.Height] - o.v[compare.Height]
			}
		}
		if o.known(compare.Heave) && x.known(compare.Heave) {
			b.HeaveM = x.v[compare.Heave] - o.v[compare.Heave]
		}
		if s := c.Shift(a, b); !math.IsNaN(s.X+s.Y+s.Z) && !math.IsInf(s.X+s.Y+s.Z, 0) {
			across, up = append(across, math.Hypot(s.X, s.Y)), append(up, math.Abs(s.Z))
			upByHeight = append(upByHeight, math.Abs(s.Z-b.HeaveM+height))
		}
	}
	if len(across) == 0 {
		return ""
	}
	h, v, by := percentile(across, 0.95), percentile(up, 0.95), "depths by heave and tide"
	if e := percentile(upByHeight, 0.95); e > v {
		v, by = e, "depths by ellipsoidal height"
	}
	if h < 5e-4 && v < 5e-4 {
		return ""
	}
	return c.sentence(h, v, by)
}

func (k *kase) meanSpeed(v view) float64 {
	sum, n := 0.0, 0
	for _, i := range v {
		if r := k.raw(k.at(k.rows[i].s)); r.known(rSpeed) {
			sum, n = sum+r.v[rSpeed], n+1
		}
	}
	return sum / float64(max(1, n))
}

func percentile(x []float64, p float64) float64 {
	slices.Sort(x)
	return x[min(len(x)-1, int(math.Ceil(p*float64(len(x))))-1)]
}

// sentence tells a shift against the orders.
func (c Conditions) sentence(horizontal, vertical float64, by string) string {
	depth := c.DepthM + c.DraughtM
	var outside []string
	for _, o := range Orders {
		if horizontal > o.THUM(depth) || vertical > o.TVUM(depth) {
			outside = append(outside, o.Name)
		}
	}
	verdict := "alone it is within the limits of all orders of IHO S-44, of which it uses a part"
	if len(outside) > 0 {
		verdict = "outside IHO S-44 " + strings.Join(outside, ", ")
	}
	s := Orders[1]
	return fmt.Sprintf("At %.4g m below the transducer and %.3g° off nadir this moves a sounding by %s m horizontally and %s m vertically (95 %%, %s): %s (%s allows %s m and %s m).",
		c.DepthM, math.Abs(frame.Deg(c.BeamAngleRad)), size(horizontal), size(vertical), by, verdict, s.Name, size(s.THUM(depth)), size(s.TVUM(depth)))
}

// size is a length with two significant digits, or whole metres.
func size(x float64) string {
	switch {
	case x >= 1e5:
		return fmt.Sprintf("%.2g", x)
	case x >= 9.95:
		return fmt.Sprintf("%.0f", x)
	case x >= 0.995:
		return fmt.Sprintf("%.1f", x)
	case x >= 0.0995:
		return fmt.Sprintf("%.2f", x)
	}
	return fmt.Sprintf("%.3f", x)
}
