package survey

import (
	"math"
	"strings"
	"testing"

	"swellbench/scenarios/heave"
	"swellbench/scenarios/units"
)

// edited is the example with one text in place of another.
func edited(t *testing.T, edits ...string) []byte {
	t.Helper()
	text := string(Example)
	for i := 0; i < len(edits); i += 2 {
		if !strings.Contains(text, edits[i]) {
			t.Fatalf("%q is not in the example", edits[i])
		}
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	return []byte(text)
}

// Every sheet that cannot be right is refused with place, what was found, and what is allowed or to do.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"axes", []string{"axes: north-east-up", "axes: north-south-up"}, []string{"x.yaml:27:11: ", "axes are north-south-up; allowed: three directions"}},
		{"mixed axes", []string{"axes: forward-left-up", "axes: forward-east-up"}, []string{"axes are forward-east-up"}},
		{"axes of the device", []string{"    axes: forward-right-down\n    sigma: 0.2 mm", "    axes: north-east-up\n    sigma: 0.2 mm"},
			[]string{"axes are north-east-up; allowed: three directions of the device's own"}},
		{"no unit", []string{"sigma: 1.5 mm", "sigma: 1.5"}, []string{"x.yaml:28:12: ", "unit"}},
		{"no sigma", []string{"    sigma: 8 mm\n", ""}, []string{"sigma"}},
		{"zero sigma", []string{"sigma: 8 mm", "sigma: 0 mm"}, []string{"standard deviation is 0 m; allowed: more than 0 m, up to 10 m"}},
		{"negative sigma", []string{"sigma: [20 mm, 20 mm, 50 mm]", "sigma: [20 mm, -20 mm, 50 mm]"}, []string{"standard deviation is -0.02 m"}},
		{"two coordinates", []string{"sonar: [0.25 m, 2.40 m, -1.65 m]", "sonar: [0.25 m, 2.40 m]"}, []string{"x.yaml:47:14: ", "a list of 3"}},
		{"unknown key", []string{"control: true", "controls: true"}, []string{"controls"}},
		{"unknown origin", []string{"origin: sensor", "origin: mast-hand"}, []string{"no other set has the point mast-hand; allowed: antenna-primary,"}},
		{"origin of a station", []string{"sigma: 1.5 mm", "sigma: 1.5 mm\n    origin: sensor"}, []string{"an origin is stated for axes north-east-up"}},
		{"tie of vessel axes", []string{"sigma: 8 mm", "sigma: 8 mm\n    tie: [sonar]"}, []string{"a tie is stated for axes right-forward-up"}},
		{"tie unknown", []string{"sigma: 1.5 mm", "sigma: 1.5 mm\n    tie: [bow-stud, mast-foot, transom]"}, []string{"the set has no point transom; allowed: antenna-primary,"}},
		{"tie of two", []string{"sigma: 1.5 mm", "sigma: 1.5 mm\n    tie: [bow-stud, mast-foot]"}, []string{"must be tied to the vessel by 3 or more points", "common points: bow-stud, mast-foot"}},
		{"nothing in common", []string{"axes: forward-right-down\n    sigma: 2 mm", "axes: free\n    sigma: 2 mm"}, []string{"the axes free must be tied", "the axes north-east-up must be tied"}},
		{"tie in one line", []string{"sigma: 1.5 mm", "sigma: 1.5 mm\n    tie: [port-bollard, starboard-bollard, mid]", "      bow-stud: [281", "      mid: [292.3888 m, 414.54375 m, 3.54855 m]\n      bow-stud: [281",
			"      bow-stud: [8", "      mid: [-4.2265 m, -0.005 m, -0.976 m]\n      bow-stud: [8"}, []string{"tie total station to the vessel by its points mid, port-bollard, starboard-bollard", "in one line"}},
		{"left-handed station", []string{"axes: north-east-up", "axes: east-north-up"}, []string{"fit as a mirror image only"}},
		{"mirrored marks", []string{"case-d: [-110 mm, -85 mm, -65 mm]", "case-d: [-110 mm, -85 mm, 105 mm]"}, []string{"x.yaml:62:3: ", "mirror image only"}},
		{"marks in one line", []string{"case-a: [110 mm, -85 mm, 20 mm]", "case-a: [110 mm, 0 mm, 0 mm]", "case-b: [110 mm, 85 mm, 20 mm]", "case-b: [50 mm, 0 mm, 0 mm]",
			"case-c: [-110 mm, 85 mm, 20 mm]", "case-c: [-60 mm, 0 mm, 0 mm]", "case-d: [-110 mm, -85 mm, -65 mm]", "case-d: [-110 mm, 0 mm, 0 mm]"},
			[]string{"find how the device stands from its marks: the points lie in one line", "measure one more point"}},
		{"two marks", []string{"      case-c: [-110 mm, 85 mm, 20 mm]\n      case-d: [-110 mm, -85 mm, -65 mm]\n", ""}, []string{"there are 2 marks; 3 or more that are not in one line"}},
		{"mark not measured", []string{"      case-d: {at", "      case-e: {at"}, []string{"no set has the mark case-d; did you mean case-"}},
		{"mark too far", []string{"case-a: [110 mm,", "case-a: [110 m,"}, []string{"coordinate 1 (forward) is 110 m; allowed on a device"}},
		{"marks and mounting", []string{"device:\n", "device:\n  mounting: {heading: 31 deg, sigma: 1 deg}\n"}, []string{"mounting angles are stated beside marks"}},
		{"above unknown", []string{"antenna-secondary: 62 mm", "antenna-third: 62 mm"}, []string{"x.yaml:59:18: no set has the point antenna-third; allowed: antenna-primary,"}},
		{"above sensor", []string{"antenna-secondary: 62 mm", "sensor: 62 mm"}, []string{"x.yaml:59:11: the marks tell where the device's centre is; leave it out"}},
		{"far point", []string{"sonar: [0.25 m", "sonar: [2500 m"}, []string{"x.yaml:47:14: coordinate 1 (right) is 2500 m; allowed: -1000 m to 1000 m"}},
		{"pose", []string{"pitch: 0.6 deg", "pitch: 96 deg"}, []string{"the angle is 96 deg; allowed: -90 deg to 90 deg"}},
		{"gnss", []string{"length: 2.112 m", "length: -2.112 m"}, []string{"the length is -2.112 m; allowed: more than 0 m"}},
		{"entered", []string{"output-point: sensor", "output-point: sensr"}, []string{"there is no point sensr; did you mean sensor?"}},
		{"expected", []string{"{output-point: sonar}", "{output-point: echo}"}, []string{"there is no point echo"}},
		{"same name", []string{"name: tape from the device", "name: tape"}, []string{"the sets 3 and 4 are both called tape"}},
		{"coverage", []string{"gnss:\n", "checks: {coverage-factor: 0.5}\ngnss:\n"}, []string{"the coverage factor is 0.5; allowed: 1 to 10"}},
	} {
		_, err := Parse("x.yaml", edited(t, c.edits...))
		if err == nil {
			t.Errorf("%s: taken", c.name)
			continue
		}
		for _, want := range c.want {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%s: got\n%v\nwant %q", c.name, err, want)
			}
		}
		if !strings.HasPrefix(err.Error(), "x.yaml:") {
			t.Errorf("%s: no place in %v", c.name, err)
		}
	}
	for text, want := range map[string]string{
		"": "sets", "sets: []": "there are no sets of points",
		"sets: [{axes: right-forward-up, sigma: 1 mm, points: {sonar: [1 m, 2 m, 3 m]}}]":                                                                                        "there is no point sensor, where the device is; measure it",
		"sets: [{axes: right-forward-up, sigma: 1 mm, points: {}}]":                                                                                                              "the set has no points",
		"sets: [{axes: right-forward-up, sigma: 1 mm, origin: b, points: {a: [1 m, 2 m, 3 m]}}, {axes: right-forward-up, sigma: 1 mm, origin: a, points: {b: [1 m, 2 m, 3 m]}}]": "the origin b is in no set that can be placed before",
		"sets: [{axes: right-forward-up, sigma: 1 mm, points: {sensor: [1 m, 2 m, 3 m], antenna-primary: [1 m, 1 m, 1 m], antenna-secondary: [1 m, 1 m, 1 m]}}]":                 "antenna-secondary stands where antenna-primary does",
	} {
		if _, err := Parse("x.yaml", []byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want %q", text, err, want)
		}
	}
}

// Each mistake a person makes on a sheet or at the screen is found by its own check, and by none that has nothing to do
// with it; where what was typed fits another convention, the advice names it.
func TestChecks(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
		fails []string // ids; all others agree
		want  string   // of the advice of the first
	}{
		{"nothing", []string{"", ""}, nil, ""},
		{"wrong stud", []string{"mast-foot: [-2.901 m", "mast-foot: [-2.861 m"}, []string{"tie", "tie-scale", "entered-antennas"}, "measure it again, or leave it out of tie"},
		{"stud that is too far ahead", []string{"bow-stud: [8.598 m", "bow-stud: [8.648 m"}, []string{"tie", "tie-scale", "entered-antennas"}, ""},
		{"mark 10 mm off on the drawing", []string{"case-b: [110 mm, 85 mm, 20 mm]", "case-b: [110 mm, 95 mm, 20 mm]"}, []string{"marks", "marks-scale", "entered-mounting"}, "its coordinates on the device are wrong"},
		{"receiver's length", []string{"length: 2.112 m", "length: 2.162 m"}, []string{"gnss-baseline"}, "from phase centre to phase centre"},
		{"sonar by tape", []string{"sonar: [4.20 m,", "sonar: [4.30 m,"}, []string{"again"}, "not the same mark"},
		{"mounting heading sign", []string{"{heading: 31.0 deg", "{heading: -31.0 deg"}, []string{"entered-mounting"}, "a heading of the wrong sign"},
		{"mounting pitch sign", []string{"pitch: -7.0 deg", "pitch: 7.0 deg"}, []string{"entered-mounting"}, "a pitch of the wrong sign"},
		{"mounting roll sign", []string{"roll: 4.0 deg", "roll: -4.0 deg"}, []string{"entered-mounting"}, "a roll of the wrong sign"},
		{"mounting forward-left-up", []string{"{heading: 31.0 deg, pitch: -7.0 deg", "{heading: -31.0 deg, pitch: 7.0 deg"}, []string{"entered-mounting"}, "forward-left-up signs"},
		{"mounting the other way", []string{"{heading: 31.0 deg, pitch: -7.0 deg, roll: 4.0 deg}", "{heading: -31.4 deg, pitch: 3.9 deg, roll: -7.0 deg}"}, []string{"entered-mounting"}, "the turn back"},
		{"mounting elsewhere", []string{"{heading: 31.0 deg", "{heading: 33.0 deg"}, []string{"entered-mounting"}, "type them again; measured: heading 30.9"},
		{"antenna forward-right-down", []string{"primary: [-0.90 m, -3.10 m, 6.20 m]", "primary: [-3.10 m, -0.90 m, -6.20 m]"}, []string{"entered-antennas"}, "fits forward-right-down from the reference point"},
		{"antenna forward-left-up", []string{"primary: [-0.90 m, -3.10 m, 6.20 m]", "primary: [-3.10 m, 0.90 m, 6.20 m]"}, []string{"entered-antennas"}, "fits forward-left-up from the reference point"},
		{"antenna from sensor", []string{"primary: [-0.90 m, -3.10 m, 6.20 m]", "primary: [-1.25 m, -1.30 m, 5.60 m]"}, []string{"entered-antennas"}, "fits right-forward-up from the sensor; measured along the vessel's right, forward, up from the reference point: [-0.90 m, -3.10 m, 6.20 m]"},
		{"antenna along the device", []string{"primary: [-0.90 m, -3.10 m, 6.20 m]", "primary: [-0.77 m, -2.42 m, 5.31 m]"}, []string{"entered-antennas"}, "along the device's own axes"},
		{"antenna mirrored", []string{"primary: [-0.90 m, -3.10 m, 6.20 m]", "primary: [0.90 m, -3.10 m, 6.20 m]"}, []string{"entered-antennas"}, "fits left-forward-up from the reference point"},
		{"antennas swapped", []string{"primary: [-0.90 m, -3.10 m, 6.20 m]", "primary: [1.15 m, -2.65 m, 6.45 m]", "secondary: [1.15 m, -2.65 m, 6.45 m]", "secondary: [-0.90 m, -3.10 m, 6.20 m]"},
			[]string{"entered-antennas", "entered-antennas"}, "the antennas are swapped"},
		{"antenna off", []string{"primary: [-0.90 m, -3.10 m, 6.20 m]", "primary: [-0.90 m, -3.10 m, 6.25 m]"}, []string{"entered-antennas"}, "type it again"},
		{"baseline right", []string{"  output-point: sensor", "  baseline: {azimuth: 77.5 deg, elevation: 6.8 deg, length: 2.11 m}\n  output-point: sensor"}, nil, ""},
		{"baseline back", []string{"  output-point: sensor", "  baseline: {azimuth: 257.5 deg, elevation: -6.8 deg, length: 2.11 m}\n  output-point: sensor"}, []string{"entered-baseline"}, "from secondary to primary"},
		{"baseline the other way round", []string{"  output-point: sensor", "  baseline: {azimuth: -77.5 deg, elevation: 6.8 deg, length: 2.11 m}\n  output-point: sensor"}, []string{"entered-baseline"}, "counts counter-clockwise"},
		{"baseline mathematical", []string{"  output-point: sensor", "  baseline: {azimuth: 12.5 deg, elevation: 6.8 deg, length: 2.11 m}\n  output-point: sensor"}, []string{"entered-baseline"}, "from right towards forward"},
		{"baseline length", []string{"  output-point: sensor", "  baseline: {azimuth: 77.5 deg, elevation: 6.8 deg, length: 2.15 m}\n  output-point: sensor"}, []string{"entered-baseline"}, "length 2.114 m"},
		{"sensor typed", []string{"  output-point: sensor", "  sensor: [0.35 m, 1.80 m, 0.60 m]\n  output-point: sensor"}, []string{"entered-sensor"}, "fits right-aft-up from the reference point"},
		{"sensor measured too", []string{"sonar: [0.25 m, 2.40 m", "sensor: [0.35 m, -1.83 m, 0.60 m]\n      sonar: [0.25 m, 2.40 m"}, []string{"sensor"}, "from: elsewhere"},
	} {
		v, err := Parse("x.yaml", edited(t, c.edits...))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		found, advice := map[string]int{}, ""
		r := v.Report()
		for _, k := range r.Checks {
			if !k.Agrees {
				if advice == "" {
					advice = k.Advice
				}
				found[k.ID]++
			}
		}
		wanted := map[string]bool{}
		for i, id := range c.fails {
			wanted[id] = true
			if found[id] == 0 && i == 0 {
				t.Errorf("%s: %s agrees", c.name, id)
			}
		}
		for id := range found {
			if !wanted[id] {
				t.Errorf("%s: %s does not agree", c.name, id)
			}
		}
		if !strings.Contains(advice, c.want) {
			t.Errorf("%s: advice %q, want %q", c.name, advice, c.want)
		}
		if (r.Disagree() > 0) != (len(c.fails) > 0) {
			t.Errorf("%s: %d disagree", c.name, r.Disagree())
		}
	}
}

// Where nobody measured how the device stands, what was typed is compared with nothing, and nothing pretends to know.
func TestMountingNotMeasured(t *testing.T) {
	const points = "sets: [{axes: right-forward-up, sigma: 1 mm, points: {sensor: [1 m, 2 m, 3 m]}}]\n"
	for text, want := range map[string]struct {
		from    string
		heading float64
	}{
		points: {"assumed", 0},
		points + "entered: {mounting: {heading: 90 deg}}\n":                                                      {"entered", 90},
		points + "entered: {mounting: {heading: 90 deg}}\ndevice: {mounting: {heading: 88 deg, sigma: 1 deg}}\n": {"stated", 88},
	} {
		v, err := Parse("x.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		r := v.Report()
		if m := r.Mounting; m.From != want.from || math.Abs(m.Heading.Value-want.heading) > 1e-12 || math.IsNaN(m.Heading.Sigma) != (want.from != "stated") {
			t.Errorf("%s: %+v", text, m)
		}
		if want := want.from == "stated"; (len(r.Checks) > 0) != want || r.Disagree() > 0 {
			t.Errorf("%s: %+v", text, r.Checks)
		}
	}
}

// Every check of the table runs on some sheet above or here: one that never compares anything would pass all.
func TestEveryCheckRuns(t *testing.T) {
	v, err := Parse("x.yaml", edited(t, "  output-point: sensor",
		"  baseline: {azimuth: 77.5 deg, elevation: 6.8 deg, length: 2.11 m}\n  sensor: [0.35 m, -1.80 m, 0.60 m]\n  output-point: sensor",
		"sonar: [0.25 m, 2.40 m", "sensor: [0.35 m, -1.80 m, 0.60 m]\n      sonar: [0.25 m, 2.40 m"))
	if err != nil {
		t.Fatal(err)
	}
	ran := map[string]bool{}
	for _, c := range v.Report().Checks {
		ran[c.ID] = true
	}
	seen := map[string]bool{}
	for _, c := range checkers {
		if !ran[c.id] || seen[c.id] || c.what == "" {
			t.Errorf("%s: ran %v, twice %v, what %q", c.id, ran[c.id], seen[c.id], c.what)
		}
		seen[c.id] = true
	}
}

// Two marks mistaken for one another: the advice names them.
func TestSwappedMarks(t *testing.T) {
	v, err := Parse("x.yaml", edited(t, "case-a: [110 mm, -85 mm, 20 mm]", "case-a: [110 mm, -60 mm, 20 mm]", "case-a: {at: [290.4635 m, 412.8137 m, 3.1792 m]", "case-b: {at: [290.4635 m, 412.8137 m, 3.1792 m]",
		"      case-b: {at: [290.6184 m, 412.7436 m, 3.1697 m]", "      case-a: {at: [290.6184 m, 412.7436 m, 3.1697 m]"))
	if err != nil {
		if !strings.Contains(err.Error(), "two points were mistaken for one another") {
			t.Error(err)
		}
		return
	}
	for _, c := range v.Report().Checks {
		if c.ID == "marks" && !c.Agrees && strings.Contains(c.Advice, "case-a and case-b would fit if each were the other") {
			return
		}
	}
	t.Errorf("not told: %+v", v.Report().Checks)
}

// What the sheet says of the heave filter is in the filter's own words and numbers; the filter itself is held against
// SciPy's in package heave. At the cut-off half the power passes: |H| = 1/√2, the definition of a cut-off.
func TestHeaveFilter(t *testing.T) {
	s := example(t).Sheet
	s.Periods = []units.Duration{20}
	h := solved(t, s).Report().Heave
	if len(h.Periods) != 1 || math.Abs(h.Periods[0].Gain-math.Sqrt2/2) > 1e-12 || math.Abs(h.Periods[0].DelayedError-0.5) > 1e-12 {
		t.Errorf("%+v", h)
	}
	s.Device.Heave = heave.Spec{}
	want := "wave-periods: wave periods serve to tell what the heave filter does, and there is none; add device: {heave-filter: {cut-off: ...}}"
	if ps := s.Validate(); len(ps) != 1 || ps[0].Path+": "+ps[0].Text != want {
		t.Errorf("%v", ps)
	}
	s.Periods = []units.Duration{0, 61}
	s.Device.Heave.CutOff = 0.5
	if ps := s.Validate(); len(ps) != 3 {
		t.Errorf("%v", ps)
	}
}
