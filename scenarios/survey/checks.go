package survey

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/units"
)

// A Check is one comparison of what should agree.
type Check struct {
	ID      string `json:"id"`
	Subject string `json:"subject"` // which points or settings
	Unit    string `json:"unit"`
	// Difference is the one that is largest against its limit, of several such as three coordinates; Which names it.
	Difference float64 `json:"difference"`
	Which      string  `json:"which,omitempty"`
	Sigma      float64 `json:"sigma"`   // of the difference
	Limit      float64 `json:"limit"`   // the coverage factor times that
	Numbers    int     `json:"numbers"` // how many were compared
	Agrees     bool    `json:"agrees"`
	Advice     string  `json:"advice,omitempty"` // what to do where it does not agree
}

// checkers is the table of checks.
var checkers = []struct {
	id, what string
	run      func(v *Survey, add func(subject, advice string, ds ...difference))
}{
	{"tie", "tie points against the tie that fits them best", (*Survey).checkTies},
	{"tie-scale", "distances between tie points, by total station and before", (*Survey).checkTieScale},
	{"again", "a point measured in two sets", (*Survey).checkAgain},
	{"marks", "device marks against the mounting that fits them best", (*Survey).checkMarks},
	{"marks-scale", "distances between marks, measured and as drawn", (*Survey).checkMarksScale},
	{"sensor", "the device's centre, from its marks and measured", (*Survey).checkSensor},
	{"gnss-baseline", "the distance of the antennas, measured and by the receiver", (*Survey).checkGNSS},
	{"entered-mounting", "mounting angles, entered and measured", (*Survey).checkMounting},
	{"entered-antennas", "antenna positions, entered and measured", (*Survey).checkAntennas},
	{"entered-baseline", "baseline, entered and measured", (*Survey).checkBaseline},
	{"entered-sensor", "the device's position, entered and measured", (*Survey).checkEnteredSensor},
}

// A difference is one number that should be zero.
type difference struct {
	Estimate
	which, unit string
	step        float64 // to which one side was rounded when it was typed; 0: it was not
}

// checks runs the table. Numbers disagree where they differ by more than the coverage factor times the standard
// deviation of their difference. A typed number is taken as rounded: half a step to either side, all equally likely,
// which is step/√12 (JCGM 100:2008, 4.3.7 and F.2.2.1).
func (v *Survey) checks() []Check {
	out := []Check{}
	for _, c := range checkers {
		c.run(v, func(subject, advice string, ds ...difference) {
			worst, ratio := Check{}, math.Inf(-1)
			for _, d := range ds {
				sigma := math.Hypot(d.Sigma, d.step/math.Sqrt(12))
				limit := v.coverage()*sigma + 1e-9 // and rounding of the arithmetic
				if r := math.Abs(d.Value) / limit; r > ratio {
					ratio = r
					worst = Check{ID: c.id, Subject: subject, Unit: d.unit, Difference: d.Value, Which: d.which, Sigma: sigma, Limit: limit, Numbers: len(ds), Agrees: r <= 1}
				}
			}
			if !worst.Agrees {
				worst.Advice = advice
			}
			if worst.Unit == "deg" {
				worst.Difference, worst.Sigma, worst.Limit = frame.Deg(worst.Difference), frame.Deg(worst.Sigma), frame.Deg(worst.Limit)
			}
			out = append(out, worst)
		})
	}
	return out
}

var directions = [3]string{"right", "forward", "up"}

// offset makes the differences of a vector that should be zero.
func (v *Survey) offset(f func(*solution) r3.Vec, step float64) []difference {
	var out []difference
	for i, e := range v.vector(f) {
		out = append(out, difference{e, directions[i], "m", step})
	}
	return out
}

func (v *Survey) checkTies(add func(string, string, ...difference)) {
	for i := range v.model.sets {
		for j, k := range v.model.sets[i].tie {
			name := v.model.names[v.model.sets[i].points[k].name]
			add(name+" ("+v.Sheet.Sets[i].called(i)+")",
				"one of its two measurements is wrong, or it is not the same mark in both; measure it again, or leave it out of tie",
				v.offset(func(s *solution) r3.Vec { return s.sets[i].tie.Residuals[j] }, 0)...)
		}
	}
}

func (v *Survey) checkTieScale(add func(string, string, ...difference)) {
	for i := range v.model.sets {
		if v.model.sets[i].tie == nil {
			continue
		}
		e := v.length(func(s *solution) float64 { return s.sets[i].tie.Scale - 1 })
		add(v.Sheet.Sets[i].called(i), "the sets differ in scale; look at units, at the tape, and at the constants of prisms", difference{e, "", "", 0})
	}
}

func (v *Survey) checkAgain(add func(string, string, ...difference)) {
	for n, name := range v.model.names {
		first, firstAt := -1, 0
		for i := range v.model.sets {
			set := &v.model.sets[i]
			k := slices.IndexFunc(set.points, func(p modelPoint) bool { return p.name == n })
			switch {
			case k < 0 || n == 0 || slices.Contains(set.tie, k):
			case first < 0:
				first, firstAt = i, k
			default:
				add(fmt.Sprintf("%s (%s, %s)", name, v.Sheet.Sets[first].called(first), v.Sheet.Sets[i].called(i)),
					"one of the two is wrong, or they are not the same mark; measure it again",
					v.offset(func(s *solution) r3.Vec { return r3.Sub(s.sets[i].at[k], s.sets[first].at[firstAt]) }, 0)...)
			}
		}
	}
}

func (v *Survey) checkMarks(add func(string, string, ...difference)) {
	if len(v.model.marks) == 0 {
		return
	}
	hint, n := "", float64(v.best.fit.Freedom)
	if v.best.fit.Chi2 > n+3*math.Sqrt(2*n) { // chi-squared has mean n and variance 2n
		hint = v.swapped()
	}
	for i, k := range v.model.marks {
		add(v.model.names[k.point], "the mark was mistaken for another, or its coordinates on the device are wrong; "+hint+"measure it again",
			v.offset(func(s *solution) r3.Vec { return s.fit.Residuals[i] }, 0)...)
	}
}

func (v *Survey) checkMarksScale(add func(string, string, ...difference)) {
	if len(v.model.marks) > 0 {
		e := v.length(func(s *solution) float64 { return s.fit.Scale - 1 })
		add("marks", "the measured marks are not as far apart as drawn; look at units and at where on each mark was measured", difference{e, "", "", 0})
	}
}

func (v *Survey) checkSensor(add func(string, string, ...difference)) {
	if v.model.marksGiveSensor() && v.best.measured {
		add(installation.Sensor, "look whether the coordinates of the marks begin at the device's centre; if not, say from: elsewhere",
			v.offset(func(s *solution) r3.Vec { return r3.Sub(s.fromFit, s.direct) }, 0)...)
	}
}

// antennas is the vector from primary to secondary.
func (v *Survey) antennas(s *solution) r3.Vec {
	p, _ := v.at(s, installation.AntennaPrimary)
	q, _ := v.at(s, installation.AntennaSecondary)
	return r3.Sub(q, p)
}

func (v *Survey) checkGNSS(add func(string, string, ...difference)) {
	if _, two := v.actual(v.best).Baseline(); two && v.model.length >= 0 {
		e := v.length(func(s *solution) float64 { return r3.Norm(v.antennas(s)) - s.length })
		add("antennas", "measure the antennas again, from phase centre to phase centre; where the receiver's length wanders, it is the receiver", difference{e, "measured less receiver", "m", 0})
	}
}

// The device's turn is entered off by a small turn; its parts about the vessel's axes are those that tilt and heading
// are off by, at any mounting.
func (v *Survey) checkMounting(add func(string, string, ...difference)) {
	m := v.Sheet.Entered.Mounting
	if m == nil || len(v.model.marks) == 0 && v.model.angles < 0 {
		return // nothing to compare it with
	}
	typed := m.Rotation()
	off := func(s *solution) r3.Vec {
		q := typed.Mul(s.mounting.Inverse()).Quat()
		n := math.Sqrt(q.Imag*q.Imag + q.Jmag*q.Jmag + q.Kmag*q.Kmag)
		if n == 0 {
			return r3.Vec{}
		}
		turn := 2 * math.Atan2(n, math.Abs(q.Real)) / n * math.Copysign(1, q.Real)
		return r3.Vec{X: turn * q.Imag, Y: turn * q.Jmag, Z: turn * q.Kmag}
	}
	ds := v.offset(off, v.entryAngle())
	for i := range ds {
		ds[i].unit, ds[i].which = "deg", "about the "+directions[i]+" axis"
	}
	add("mounting", v.mountingHint(typed), ds...)
}

func (v *Survey) checkAntennas(add func(string, string, ...difference)) {
	a := v.Sheet.Entered.Antennas
	if a == nil {
		return
	}
	set := v.installed().Settings()
	for _, p := range []struct {
		name  string
		place *installation.Place
		at    func() (r3.Vec, bool)
	}{
		{installation.AntennaPrimary, a.Primary, set.Primary.Value},
		{installation.AntennaSecondary, a.Secondary, set.Secondary.Value},
	} {
		if typed, ok := p.at(); ok && p.place != nil && p.place.Name == "" {
			v.checkPlace(add, p.name, typed, p.place.Vector.Vec())
		}
	}
}

// installed is the actual installation with what was entered, not rounded.
func (v *Survey) installed() *installation.Installation { return v.actual(v.best) }

// checkPlace compares a place as the device takes it with the measured one; written is what was typed.
func (v *Survey) checkPlace(add func(string, string, ...difference), name string, taken, written r3.Vec) {
	if _, ok := v.at(v.best, name); !ok {
		return
	}
	add(name, v.placeHint(name, written), v.offset(func(s *solution) r3.Vec {
		p, _ := v.at(s, name)
		return r3.Sub(taken, p)
	}, v.entryLength())...)
}

func (v *Survey) checkEnteredSensor(add func(string, string, ...difference)) {
	if p := v.Sheet.Entered.Sensor; p != nil && p.Name == "" {
		v.checkPlace(add, installation.Sensor, p.Vector.Vec(), p.Vector.Vec())
	}
}

func (v *Survey) checkBaseline(add func(string, string, ...difference)) {
	b := v.Sheet.Entered.Baseline
	if _, two := v.actual(v.best).Baseline(); b == nil || !two {
		return
	}
	typed := frame.Baseline{Azimuth: float64(b.Azimuth), Elevation: float64(b.Elevation), Length: float64(b.Length)}
	of := func(s *solution) frame.Baseline { return frame.BaselineOf(v.antennas(s)) }
	hint := v.baselineHint(typed)
	add("baseline direction", hint,
		difference{v.angle(func(s *solution) float64 { return frame.AngleDiff(typed.Azimuth, of(s).Azimuth) }), "azimuth", "deg", v.entryAngle()},
		difference{v.angle(func(s *solution) float64 { return typed.Elevation - of(s).Elevation }), "elevation", "deg", v.entryAngle()})
	add("baseline length", hint,
		difference{v.length(func(s *solution) float64 { return typed.Length - of(s).Length }), "length", "m", v.entryLength()})
}

func (v *Survey) entryLength() float64 {
	if x := v.Sheet.Checks.EntryLength; x != 0 {
		return float64(x)
	}
	return 0.01
}

func (v *Survey) entryAngle() float64 {
	if x := v.Sheet.Checks.EntryAngle; x != 0 {
		return float64(x)
	}
	return frame.Rad(0.01)
}

// typed writes a place as a file has it, rounded to the step of what is typed.
func (v *Survey) typed(p r3.Vec) string {
	parts := 1 / v.entryLength()
	return installation.Vector{units.Length(round(p.X, parts)), units.Length(round(p.Y, parts)), units.Length(round(p.Z, parts))}.String()
}
