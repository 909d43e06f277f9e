package survey

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
)

// What was typed wrongly is often right in another convention. These hints try the usual ones; they accuse nobody, for
// a symmetrical installation may fit several, and the likeliest stands first.

// reach is how near a typed place must be to a measured one for a hint, m, and a turn, rad: more than a check allows,
// for what is typed is often a little off as well.
const reach, reachAngle = 0.03, 0.3 * math.Pi / 180

// placeHint says what to type in place of a vector that is wrong.
func (v *Survey) placeHint(name string, written r3.Vec) string {
	right, _ := v.at(v.best, name)
	device := name != installation.Sensor
	correct := "measured along the vessel's right, forward, up from the reference point: " + v.typed(right)
	sensor := v.best.sensor
	type origin struct {
		words string
		vec   r3.Vec
	}
	origins := []origin{{"from the reference point", right}}
	if device {
		origins = append(origins, origin{"from the sensor", r3.Sub(right, sensor)},
			origin{"from the sensor along the device's own axes", v.best.mounting.Inverse().Apply(r3.Sub(right, sensor))})
	}
	// The usual conventions first, then any other order and signs; those that change least first.
	usual := []Axes{RightForwardUp, ForwardRightDown, ForwardLeftUp}
	axes := append(slices.Clone(usual), Axes("right-forward-down"), Axes("forward-right-up"), Axes("left-forward-up"), Axes("right-aft-up"))
	for _, a := range allAxes() {
		if l, ok := Axes(a).vessel(); ok && !l.station && !slices.Contains(axes, Axes(a)) {
			axes = append(axes, Axes(a))
		}
	}
	for _, a := range axes {
		l, _ := a.layout()
		for _, o := range origins {
			if d := r3.Norm(r3.Sub(l.vec([3]float64{written.X, written.Y, written.Z}), o.vec)); d > reach {
				continue
			}
			if a == RightForwardUp && o.words == origins[0].words {
				return "type it again; " + correct
			}
			return fmt.Sprintf("what was typed fits %s %s; %s", a, o.words, correct)
		}
	}
	if name == installation.AntennaPrimary || name == installation.AntennaSecondary {
		other := installation.AntennaPrimary
		if name == other {
			other = installation.AntennaSecondary
		}
		if p, ok := v.at(v.best, other); ok && r3.Norm(r3.Sub(p, written)) <= reach {
			return "what was typed fits " + other + ": the antennas are swapped; " + correct
		}
	}
	return "type it again; " + correct
}

// mountingHint says what to type in place of mounting angles that are wrong.
func (v *Survey) mountingHint(typed frame.Rotation) string {
	right := v.best.mounting
	a := right.Attitude()
	correct := fmt.Sprintf("measured: heading %.2f deg, pitch %.2f deg, roll %.2f deg", frame.Deg(a.Heading), frame.Deg(a.Pitch)+0, frame.Deg(a.Roll)+0)
	first := right.RollFirst()
	for _, h := range []struct {
		words string
		rot   frame.Rotation
	}{
		{"the turn back, of the vessel in the device", right.Inverse()},
		{"forward-left-up signs: heading and pitch reversed", frame.Attitude{Heading: -a.Heading, Pitch: -a.Pitch, Roll: a.Roll}.Rotation()},
		{"a heading of the wrong sign", frame.Attitude{Heading: -a.Heading, Pitch: a.Pitch, Roll: a.Roll}.Rotation()},
		{"a pitch of the wrong sign", frame.Attitude{Heading: a.Heading, Pitch: -a.Pitch, Roll: a.Roll}.Rotation()},
		{"a roll of the wrong sign", frame.Attitude{Heading: a.Heading, Pitch: a.Pitch, Roll: -a.Roll}.Rotation()},
		{"all three signs reversed", frame.Attitude{Heading: -a.Heading, Pitch: -a.Pitch, Roll: -a.Roll}.Rotation()},
		{"pitch and roll swapped", frame.Attitude{Heading: a.Heading, Pitch: a.Roll, Roll: a.Pitch}.Rotation()},
		{"roll before pitch", frame.Attitude{Heading: first.Heading, Pitch: first.Pitch, Roll: first.Roll}.Rotation()},
		{"a heading that is off by half a turn", frame.Attitude{Heading: a.Heading + math.Pi, Pitch: a.Pitch, Roll: a.Roll}.Rotation()},
	} {
		if right.AngleTo(h.rot) > 2*reachAngle && typed.AngleTo(h.rot) <= reachAngle {
			return "what was typed fits " + h.words + "; " + correct
		}
	}
	return "type them again; " + correct
}

// baselineHint says what to type in place of a baseline that is wrong.
func (v *Survey) baselineHint(typed frame.Baseline) string {
	right := frame.BaselineOf(v.antennas(v.best))
	correct := fmt.Sprintf("measured: azimuth %.2f deg, elevation %.2f deg, length %.3f m", frame.Deg(right.Azimuth), frame.Deg(right.Elevation)+0, right.Length)
	for _, h := range []struct {
		words      string
		azimuth, e float64
	}{
		{"the baseline from secondary to primary", right.Azimuth + math.Pi, -right.Elevation},
		{"an azimuth that is off by half a turn", right.Azimuth + math.Pi, right.Elevation},
		{"an azimuth that counts counter-clockwise", -right.Azimuth, right.Elevation},
		{"an azimuth that counts from right towards forward", math.Pi/2 - right.Azimuth, right.Elevation},
		{"an elevation of the wrong sign", right.Azimuth, -right.Elevation},
		{"an azimuth without its elevation", right.Azimuth, 0},
	} {
		near := func(a, b float64) bool { return math.Abs(frame.AngleDiff(a, b)) <= 2*reachAngle }
		already := near(h.azimuth, right.Azimuth) && near(h.e, right.Elevation)
		if !already && near(typed.Azimuth, h.azimuth) && near(typed.Elevation, h.e) {
			return "what was typed fits " + h.words + "; " + correct
		}
	}
	return "type it again; " + correct
}

// swapped tells of two marks that would fit if each were the other, or says nothing.
func (v *Survey) swapped() string {
	n := len(v.model.marks)
	pairs := make([]Pair, n)
	s := v.best
	for i, k := range v.model.marks {
		in := v.model.inputs[k.first:]
		pairs[i] = Pair{From: k.layout.vec([3]float64{in[0].value, in[1].value, in[2].value}), To: s.marks[i], SigmaM: 1}
	}
	best, words := s.rss(pairs, s.fit)/10, "" // a tenth of the squares at most, else it is no explanation
	for i := range n {
		for j := range i {
			pairs[i].To, pairs[j].To = pairs[j].To, pairs[i].To
			for k := range pairs {
				pairs[k].SigmaM = 0.001
			}
			if f, err := FitRotation(pairs); err == nil {
				if r := s.rss(pairs, f); r < best {
					best, words = r, fmt.Sprintf("%s and %s would fit if each were the other; ", v.model.names[v.model.marks[j].point], v.model.names[v.model.marks[i].point])
				}
			}
			pairs[i].To, pairs[j].To = pairs[j].To, pairs[i].To
		}
	}
	return words
}

// rss is the sum of the squares of residuals, m².
func (s *solution) rss(pairs []Pair, f Fit) (sum float64) {
	for _, p := range pairs {
		sum += r3.Norm2(r3.Sub(p.To, r3.Add(f.Rotation.Apply(p.From), f.Shift)))
	}
	return sum
}
