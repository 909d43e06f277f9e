package track

import (
	"math"
	"strings"
	"testing"

	"swellbench/scenarios/units"
)

func TestValidate(t *testing.T) {
	heading, course, wild, nan := deg(42), deg(50), deg(400), units.Angle(math.NaN())
	here := at(50.1, -4.2, 51)
	for _, c := range []struct {
		name string
		spec Spec
		want string // problems, one a line
	}{
		{"standing", Spec{Position: here}, ""},
		{"standing and heading", Spec{Position: here, Heading: &heading}, ""},
		{"at the corner of the world", Spec{Position: at(-90, -180, 0)}, ""},
		{"sternway", Spec{Position: here, Heading: &heading, Course: &course, Speed: 2}, ""},
		{"course alone", Spec{Position: here, Course: &course, Speed: 2}, ""},
		{"too far north", Spec{Position: at(90.5, -4.2, 51)}, "position.latitude: latitude is 90.5 deg; allowed: -90 deg to 90 deg"},
		{"too far west", Spec{Position: at(50.1, -180.25, 51)}, "position.longitude: longitude is -180.25 deg; allowed: -180 deg to 180 deg"},
		{"nowhere", Spec{Position: Position{Latitude: nan, Longitude: nan}},
			"position.latitude: latitude is NaN deg; allowed: -90 deg to 90 deg\n" +
				"position.longitude: longitude is NaN deg; allowed: -180 deg to 180 deg"},
		{"too high", Spec{Position: at(50.1, -4.2, 51000)}, "position.height: height is 51000 m; allowed: -1000 m to 10000 m above the ellipsoid"},
		{"heading round the clock", Spec{Position: here, Heading: &wild}, "heading: heading is 400 deg; allowed: -180 deg to 360 deg"},
		{"course round the clock", Spec{Position: here, Course: &wild, Speed: 1}, "course: course is 400 deg; allowed: -180 deg to 360 deg"},
		{"backwards", Spec{Position: here, Heading: &heading, Speed: -1},
			"speed: speed is -1 m/s; allowed: 0 kn or more, and a course opposite to the heading makes sternway"},
		{"rocket", Spec{Position: here, Heading: &heading, Speed: 101}, "speed: speed is 101 m/s; allowed: at most 100 m/s"},
		{"no heading", Spec{Position: here, Speed: 4}, "speed: speed is 4 m/s but there is no heading; add one, such as heading: 42 deg"},
		{"course without speed", Spec{Position: here, Course: &course},
			"course: course is given but the speed is 0; add a speed, or give a heading instead"},
		{"empty turn", Spec{Position: here, Heading: &heading, Speed: 4, Turn: &Turn{}},
			"turn: turn has neither a rate nor a radius; give one, such as rate: 2 deg/s, or leave the turn out"},
		{"two turns", Spec{Position: here, Heading: &heading, Speed: 4, Turn: &Turn{Rate: 0.1, Radius: 40}},
			"turn: turn has both a rate and a radius; keep one of them"},
		{"radius without direction", Spec{Position: here, Heading: &heading, Speed: 4, Turn: &Turn{Radius: 40}},
			"turn: turn has a radius but no direction; add direction: starboard or direction: port"},
		{"direction with a rate", Spec{Position: here, Heading: &heading, Speed: 4, Turn: &Turn{Rate: 0.1, Direction: Port}},
			"turn.direction: direction goes with a radius; the sign of the rate says the side, positive to starboard"},
		{"radius at rest", Spec{Position: here, Heading: &heading, Turn: &Turn{Radius: 40, Direction: Port}},
			"turn.radius: radius is 40 m but the speed is 0; add a speed, or give a rate instead"},
		{"negative radius", Spec{Position: here, Heading: &heading, Speed: 4, Turn: &Turn{Radius: -40, Direction: Port}},
			"turn.radius: radius is -40 m; allowed: 0.1 m to 1000 km"},
		{"too tight", Spec{Position: here, Heading: &heading, Speed: 4, Turn: &Turn{Radius: 0.5, Direction: Port}},
			"turn.radius: a radius of 0.5 m at 4 m/s turns by 458.4 deg/s; allowed: at most 90 deg/s"},
		{"too fast", Spec{Position: here, Heading: &heading, Turn: &Turn{Rate: units.AngularRate(math.Pi)}},
			"turn.rate: rate is 180 deg/s; allowed: at most 90 deg/s to either side"},
		{"hardly a turn", Spec{Position: here, Heading: &heading, Speed: 4, Turn: &Turn{Rate: 1e-9}},
			"turn.rate: rate is 1e-9 rad/s, which at 4 m/s makes a circle wider than 1000 km; allowed: a faster turn, or none"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var lines []string
			for _, p := range c.spec.Validate() {
				lines = append(lines, p.Path+": "+p.Text)
			}
			if got := strings.Join(lines, "\n"); got != c.want {
				t.Errorf("problems:\n%s\nwant:\n%s", got, c.want)
			}
			p, err := New(c.spec)
			if (err == nil) != (c.want == "") {
				t.Errorf("New: %v, want an error where there are problems", err)
			}
			if err == nil && p == nil {
				t.Error("New: neither a path nor an error")
			}
		})
	}
}
