package track

import (
	"math"
	"strings"
	"testing"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

func lines(ps []strictyaml.Problem) string {
	var all []string
	for _, p := range ps {
		all = append(all, p.Path+": "+p.Text)
	}
	return strings.Join(all, "\n")
}

// Each row is a section that moves off at 3 m/s to the north, and goes through the manoeuvres.
func TestValidateManoeuvres(t *testing.T) {
	run := func(r Run) Manoeuvre { return Manoeuvre{Run: &r} }
	seconds := func(x float64) *units.Duration { return ptr(units.Duration(x)) }
	rate := func(x float64) *units.AngularRate { return ptr(units.AngularRate(x * math.Pi / 180)) }
	nan := math.NaN()
	for _, c := range []struct {
		name string
		ms   []Manoeuvre
		want string
	}{
		{"nothing", nil, ""},
		{"empty", []Manoeuvre{{}}, "manoeuvres[0]: there is none of hold, run, turn, lines, calibration, eight, keep, route; add one, such as run: {distance: 500 m, speed: 6 kn}"},
		{"two in one", []Manoeuvre{{Hold: &Hold{For: 1}, Keep: &Keep{For: 1}}}, "manoeuvres[0]: there are hold and keep, which exclude each other; keep one of them"},
		{"negative duration", []Manoeuvre{{Hold: &Hold{For: -5}}}, "manoeuvres[0].hold.for: for is -5 s; allowed: more than 0 s, at most 8784 h"},
		{"no duration at all", []Manoeuvre{{Hold: &Hold{For: units.Duration(nan)}}}, "manoeuvres[0].hold.for: for is NaN s; allowed: more than 0 s, at most 8784 h"},
		{"run nowhere", []Manoeuvre{run(Run{})}, "manoeuvres[0].run: there is none of to, distance, for; add one, such as distance: 500 m"},
		{"run by two", []Manoeuvre{run(Run{Distance: metres(5), For: seconds(3)})}, "manoeuvres[0].run: there are distance and for, which exclude each other; keep one of them"},
		{"way-point and course", []Manoeuvre{run(Run{To: from(quay, 500, 0), Course: degrees(4)})}, "manoeuvres[0].run.course: course is given, but the way-point says where to go; remove it"},
		{"latitude", []Manoeuvre{run(Run{To: &WayPoint{deg(91), deg(181)}})},
			"manoeuvres[0].run.to.latitude: latitude is 91 deg; allowed: -90 deg to 90 deg\n" +
				"manoeuvres[0].run.to.longitude: longitude is 181 deg; allowed: -180 deg to 180 deg"},
		{"speed 0", []Manoeuvre{run(Run{Distance: metres(5), Course: degrees(3), Speed: knots(0)})}, "manoeuvres[0].run.speed: speed is 0, but a run needs one; to lie still, write hold: {for: 30 s}"},
		{"backwards", []Manoeuvre{run(Run{Distance: metres(-5), Speed: knots(-1)})},
			"manoeuvres[0].run.distance: distance is -5 m; allowed: more than 0 m, at most 20000 km\n" +
				"manoeuvres[0].run.speed: speed is -1 kn; allowed: 0.01 m/s to 100 m/s"},
		{"small radius", []Manoeuvre{run(Run{Distance: metres(500), Radius: metres(0.5)})}, "manoeuvres[0].run.radius: radius is 0.5 m; allowed: 1 m to 10 km"},
		{"turn nowhere", []Manoeuvre{{Turn: &TurnTo{}}}, "manoeuvres[0].turn: there is none of by, to; add one, such as by: 90 deg"},
		{"turn by nothing", []Manoeuvre{{Turn: &TurnTo{By: degrees(0)}}}, "manoeuvres[0].turn.by: by is 0; allowed: an angle to turn by, positive to starboard"},
		{"turn too often", []Manoeuvre{{Turn: &TurnTo{By: degrees(3700)}}}, "manoeuvres[0].turn.by: by is 3700 deg; allowed: -3600 deg to 3600 deg"},
		{"turn with both", []Manoeuvre{{Turn: &TurnTo{By: degrees(90), Direction: Port, Radius: metres(5), Rate: rate(-4)}}},
			"manoeuvres[0].turn.direction: direction goes with to; the sign of by says the side, positive to starboard\n" +
				"manoeuvres[0].turn: there are radius and rate, which exclude each other; keep one of them\n" +
				"manoeuvres[0].turn.rate: rate is -4 deg/s; allowed: 0.001 deg/s to 90 deg/s"},
		{"lines", []Manoeuvre{{Lines: &Lines{Count: 0, Length: 0, Spacing: -4, RunIn: -1, Course: degrees(400)}}},
			"manoeuvres[0].lines.count: count is 0; allowed: 1 to 1000\n" +
				"manoeuvres[0].lines.length: length is 0 m; allowed: more than 0 m, at most 20000 km\n" +
				"manoeuvres[0].lines.spacing: spacing is -4 m; allowed: more than 0 m, at most 100 km\n" +
				"manoeuvres[0].lines.run-in: run-in is -1 m; allowed: 0 m to 20000 km\n" +
				"manoeuvres[0].lines.course: course is 400 deg; allowed: -180 deg to 360 deg"},
		{"calibration", []Manoeuvre{{Calibration: &Calibration{Length: 50, Pairs: ptr(0)}}}, "manoeuvres[0].calibration.pairs: pairs is 0; allowed: 1 to 1000"},
		{"eight", []Manoeuvre{{Eight: &Eight{Rounds: ptr(1001)}}},
			"manoeuvres[0].eight.radius: radius is 0 m; allowed: 1 m to 10 km\n" +
				"manoeuvres[0].eight.rounds: rounds is 1001; allowed: 1 to 1000"},
		{"keep", []Manoeuvre{{Keep: &Keep{For: 5, Radius: -1, Period: seconds(0)}}},
			"manoeuvres[0].keep.radius: radius is -1 m; allowed: 0 m to 1000 m\n" +
				"manoeuvres[0].keep.period: period is 0 s; allowed: 1 s to 8784 h"},
		{"hasty keep", []Manoeuvre{{Keep: &Keep{For: 50, Radius: 60}}},
			"manoeuvres[0].keep.for: for is 50 s, shorter than one period of the wander, 60 s; make it longer, or the period shorter\n" +
				"manoeuvres[0].keep.radius: a radius of 60 m with a period of 60 s makes a wander of up to 6.28 m/s; allowed: at most 5 m/s"},
		{"route of nothing", []Manoeuvre{{Route: &Route{}}}, "manoeuvres[0].route: there is none of csv, gpx; add one, such as gpx: outing.gpx"},
		{"route not read", []Manoeuvre{{Route: &Route{CSV: "a.csv", Name: "x"}}},
			"manoeuvres[0].route.name: name goes with gpx, whose files may hold several routes; remove it\n" +
				"manoeuvres[0].route.csv: the file a.csv was not read; a scenario pulls in files only where it is loaded from a file itself"},

		// What shows on the way.
		{"here already", []Manoeuvre{run(Run{To: from(quay, 0.001, 0)})}, "manoeuvres[0].run.to: the way-point is where the vessel is; move it, or leave it out"},
		{"twice", []Manoeuvre{run(Run{To: from(quay, 300, 0)}), run(Run{To: from(quay, 300, 0)})}, "manoeuvres[1].run.to: the way-point is where the vessel is; move it, or leave it out"},
		{"beside", []Manoeuvre{run(Run{To: from(quay, 40, 90)})},
			"manoeuvres[0].run.to: the way-point lies 40.0 m away, 90.0 deg off the course, closer than a turn of radius 50 m allows; move it, or give a smaller radius"},
		{"beside, but a tighter turn", []Manoeuvre{run(Run{To: from(quay, 40, 90), Radius: metres(12)})}, ""},
		{"corners too close", []Manoeuvre{run(Run{To: from(quay, 200, 0)}), run(Run{To: from(quay, 240, 20)}), run(Run{To: from(quay, 300, 0)})},
			"manoeuvres[1].run.to: the way-point is too close: 106.8 m from where the way to it begins, of which 43.1 m are left after turn and change of speed, and the turn at it needs 93.6 m; move it, or give a smaller radius or a slower speed"},
		{"no room for the corner", []Manoeuvre{run(Run{To: from(quay, 30, 0)}), run(Run{To: from(quay, 300, 60)})},
			"manoeuvres[0].run.to: the way-point is too close: 30.0 m from where the way to it begins, of which 30.0 m are left after turn and change of speed, and the turn at it needs 38.1 m; move it, or give a smaller radius or a slower speed"},
		{"back", []Manoeuvre{run(Run{To: from(quay, 500, 0)}), run(Run{To: from(quay, 1, 0)})},
			"manoeuvres[0].run.to: the course changes by 180.0 deg at the way-point; allowed: at most 170 deg, so put a way-point or a turn between"},
		{"no room to stop", []Manoeuvre{run(Run{To: from(quay, 30, 0)}), {Hold: &Hold{For: 5}}},
			"manoeuvres[0].run.to: the way-point is too close: 30.0 m from where the way to it begins, of which 30.0 m are left after turn and change of speed, and coming to rest needs 42.2 m; move it, or give a smaller radius or a slower speed"},
		{"no distance to stop", []Manoeuvre{run(Run{Distance: metres(30), Speed: knots(4)}), {Hold: &Hold{For: 5}}},
			"manoeuvres[0].run.distance: distance is 30 m, too short: the changes of speed take 42.2 m; make it longer, or the speed less"},
		{"no time to stop", []Manoeuvre{run(Run{For: seconds(10)}), {Hold: &Hold{For: 5}}},
			"manoeuvres[0].run.for: the run lasts 10 s, too short: the changes of speed take 28.1 s; make it longer, or the speed less"},
		{"radius at rest", []Manoeuvre{{Hold: &Hold{For: 5}}, {Turn: &TurnTo{By: degrees(9), Radius: metres(20)}}},
			"manoeuvres[1].turn.radius: radius is 20 m but the vessel does not move; give a rate instead, or let it run first"},
		{"spin", []Manoeuvre{{Eight: &Eight{Radius: 1}}}, "manoeuvres[0].eight: a radius of 1 m at 3 m/s turns by 171.9 deg/s; allowed: at most 90 deg/s"},
		{"hardly a turn", []Manoeuvre{{Turn: &TurnTo{By: degrees(90), Rate: rate(0.001)}}},
			"manoeuvres[0].turn.rate: rate is 0.001 deg/s, which at 3 m/s makes a radius of 1.719e+05 m; allowed: 1 m to 10 km"},
		{"endless", []Manoeuvre{{Eight: &Eight{Radius: 10e3, Rounds: ptr(1000)}}},
			"manoeuvres[0].eight: the track has too many turns; allowed: what makes at most 100000 parts, of which a turn takes three or more"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := Spec{Position: quay, Heading: degrees(0), Speed: 3, Manoeuvres: c.ms}
			if got := lines(s.Validate()); got != c.want {
				t.Errorf("problems:\n%s\nwant:\n%s", got, c.want)
			}
			p, err := New(s)
			if (err == nil) != (c.want == "") || (err == nil) != (p != nil) {
				t.Errorf("New: %v, %v, want an error where there are problems, else a path", p, err)
			}
			if _, err := Timetable(s); (err == nil) != (c.want == "") {
				t.Errorf("Timetable: %v, want an error where there are problems", err)
			}
		})
	}
}

func TestValidateDriftAndHandling(t *testing.T) {
	here := Spec{Position: quay, Heading: degrees(0), Speed: 3}
	for _, c := range []struct {
		name   string
		change func(*Spec)
		want   string
	}{
		{"set", func(s *Spec) { s.Current = &Drift{deg(365), 1} }, "current.set: set is 365 deg; allowed: -180 deg to 360 deg"},
		{"drift", func(s *Spec) { s.WindDrift = &Drift{deg(5), -1} }, "wind-drift.drift: drift is -1 m/s; allowed: 0 m/s to 20 m/s"},
		{"too strong", func(s *Spec) { s.Current, s.WindDrift = &Drift{deg(5), 1.5}, &Drift{deg(5), 1} },
			"speed: speed is 3 m/s, too slow for current and wind drift of together 2.5 m/s; allowed: at least 3.125 m/s"},
		{"too strong for a run", func(s *Spec) {
			s.Current, s.Manoeuvres = &Drift{deg(5), 2}, []Manoeuvre{{Run: &Run{Distance: metres(500), Speed: ptr(units.Speed(2.2))}}}
		}, "manoeuvres[0].run.speed: speed is 2.2 m/s, too slow for current and wind drift of together 2 m/s; allowed: at least 2.5 m/s"},
		{"turn", func(s *Spec) { s.Current, s.Turn = &Drift{deg(5), 1}, &Turn{Rate: 0.1} },
			"turn: turn does not go with current or wind-drift; make it a manoeuvre, such as turn: {by: 90 deg, radius: 50 m}"},
		{"turn and manoeuvres", func(s *Spec) { s.Manoeuvres, s.Turn = []Manoeuvre{{Hold: &Hold{For: 5}}}, &Turn{Rate: 0.1} },
			"turn: turn does not go with manoeuvres; make it one of them, such as turn: {by: 90 deg, radius: 50 m}"},
		{"course and heading", func(s *Spec) { s.Current, s.Course = &Drift{deg(5), 1}, degrees(4) },
			"course: course and heading are both given, but manoeuvres, current and wind-drift make the crab; keep one of the two"},
		{"course at rest", func(s *Spec) {
			s.Speed, s.Course, s.Heading, s.Manoeuvres = 0, degrees(4), nil, []Manoeuvre{{Hold: &Hold{For: 5}}}
		}, "course: course is given but the speed is 0; add a speed, or give a heading instead"},
		{"no speed ever", func(s *Spec) { s.Speed, s.Manoeuvres = 0, []Manoeuvre{{Eight: &Eight{Radius: 20}}} },
			"manoeuvres[0].eight: eight has no speed and the vessel has none yet; add a speed, such as speed: 6 kn"},
		{"handling", func(s *Spec) {
			s.Handling = Handling{Acceleration: ptr(units.Acceleration(0)), TurnIn: ptr(units.Duration(0)), TurnRadius: metres(1e5), SwingRate: ptr(units.AngularRate(0))}
		}, "handling.acceleration: acceleration is 0 m/s2; allowed: 0.001 m/s2 to 10 m/s2\n" +
			"handling.turn-in: turn-in is 0 s; allowed: 0.1 s to 60 s\n" +
			"handling.turn-radius: turn-radius is 100 km; allowed: 1 m to 10 km\n" +
			"handling.swing-rate: swing-rate is 0 deg/s; allowed: 0.001 deg/s to 90 deg/s"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := here
			c.change(&s)
			if got := lines(s.Validate()); got != c.want {
				t.Errorf("problems:\n%s\nwant:\n%s", got, c.want)
			}
		})
	}
}

func TestWarnings(t *testing.T) {
	s := outing(quay)
	stages, err := Timetable(s)
	if err != nil {
		t.Fatal(err)
	}
	end := stages[len(stages)-1].From
	if got := lines(s.Warnings(units.Duration(end + 1))); got != "" {
		t.Errorf("warnings of a good track:\n%s", got)
	}
	if got := lines(s.Warnings(60)); !strings.HasPrefix(got, "manoeuvres: the manoeuvres last until ") || !strings.Contains(got, "the run, which ends at 60 s;") {
		t.Errorf("warnings of a run too short:\n%s", got)
	}
	s = Spec{Position: quay, Current: &Drift{0, 1}}
	if got, want := lines(s.Warnings(0)), "current: current has no effect on a vessel that lies still; add a speed or manoeuvres, or remove it"; got != want {
		t.Errorf("warnings:\n%s\nwant:\n%s", got, want)
	}
	s = Spec{Position: quay, Heading: degrees(0), Speed: 12, Manoeuvres: []Manoeuvre{{Turn: &TurnTo{By: degrees(90), Radius: metres(40)}}}}
	if got, want := lines(s.Warnings(0)), "manoeuvres[0].turn: a turn of radius 40 m at 12 m/s accelerates the vessel by up to 3.6 m/s2 sideways, more than 2 m/s2, which is unusual; a wider or slower turn would be more like a vessel"; got != want {
		t.Errorf("warnings:\n%s\nwant:\n%s", got, want)
	}
}
