package installation

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/units"
)

func apart(a, b r3.Vec) bool { return r3.Norm(r3.Sub(a, b)) > 1e-9 }

const points = "points:\n  sensor: [1 m, 2 m, 3 m]\n  antenna-primary: [1 m, 2 m, 5 m]\n  antenna-secondary: [1 m, 4 m, 5 m]\n  sonar: [0 m, 7 m, -1 m]\n"

// Distances as typed in every convention. Worked by hand: a device turned 90° clockwise has its forward axis along the
// vessel's right and its right axis along the vessel's aft; one turned upside down by roll 180° keeps forward and has
// right along left and up along down.
func TestSettings(t *testing.T) {
	for _, r := range []struct {
		name, entered string
		primary       opt.Opt[r3.Vec]
		secondary     opt.Opt[r3.Vec]
		baseline      opt.Opt[r3.Vec]
		sensor        r3.Vec
		out           opt.Opt[r3.Vec]
		outName       string
	}{
		{name: "nothing", sensor: r3.Vec{X: 1, Y: 2, Z: 3}},
		{name: "by name", entered: "{antennas: {primary: antenna-primary, secondary: antenna-secondary}, output-point: sonar}", sensor: r3.Vec{X: 1, Y: 2, Z: 3},
			primary: opt.Of(r3.Vec{X: 1, Y: 2, Z: 5}), secondary: opt.Of(r3.Vec{X: 1, Y: 4, Z: 5}), baseline: opt.Of(r3.Vec{Y: 2}), out: opt.Of(r3.Vec{Y: 7, Z: -1}), outName: "sonar"},
		{name: "vectors", entered: "{antennas: {primary: [1 m, 1 m, 1 m], secondary: [4 m, 5 m, 7 m]}, sensor: [9 m, 8 m, 7 m], output-point: [1 m, 0 m, 0 m]}",
			primary: opt.Of(r3.Vec{X: 1, Y: 1, Z: 1}), secondary: opt.Of(r3.Vec{X: 4, Y: 5, Z: 7}), baseline: opt.Of(r3.Vec{X: 3, Y: 4, Z: 6}),
			sensor: r3.Vec{X: 9, Y: 8, Z: 7}, out: opt.Of(r3.Vec{X: 1})},
		{name: "from the sensor as entered", entered: "{antennas: {from: sensor, primary: [1 m, 1 m, 1 m], secondary: sonar}, sensor: [9 m, 8 m, 7 m]}",
			primary: opt.Of(r3.Vec{X: 10, Y: 9, Z: 8}), secondary: opt.Of(r3.Vec{Y: 7, Z: -1}), baseline: opt.Of(r3.Vec{X: -10, Y: -2, Z: -9}), sensor: r3.Vec{X: 9, Y: 8, Z: 7}},
		{name: "from the actual sensor", entered: "{antennas: {from: sensor, primary: [1 m, 1 m, 1 m]}}",
			primary: opt.Of(r3.Vec{X: 2, Y: 3, Z: 4}), sensor: r3.Vec{X: 1, Y: 2, Z: 3}},
		{name: "device turned right", entered: "{mounting: {heading: 90 deg}, antennas: {axes: device, primary: [1 m, 10 m, 100 m]}}",
			primary: opt.Of(r3.Vec{X: 10, Y: -1, Z: 100}), sensor: r3.Vec{X: 1, Y: 2, Z: 3}},
		{name: "device upside down, from the sensor", entered: "{mounting: {roll: 180 deg}, antennas: {axes: device, from: sensor, primary: [1 m, 10 m, 100 m]}}",
			primary: opt.Of(r3.Vec{X: 0, Y: 12, Z: -97}), sensor: r3.Vec{X: 1, Y: 2, Z: 3}},
		{name: "device axes, but no mounting entered", entered: "{antennas: {axes: device, primary: [1 m, 10 m, 100 m]}}",
			primary: opt.Of(r3.Vec{X: 1, Y: 10, Z: 100}), sensor: r3.Vec{X: 1, Y: 2, Z: 3}},
		{name: "baseline goes first", entered: "{antennas: {primary: antenna-primary, secondary: antenna-secondary}, baseline: {azimuth: 90 deg, length: 3 m}}",
			primary: opt.Of(r3.Vec{X: 1, Y: 2, Z: 5}), secondary: opt.Of(r3.Vec{X: 1, Y: 4, Z: 5}), baseline: opt.Of(r3.Vec{X: 3}), sensor: r3.Vec{X: 1, Y: 2, Z: 3}},
		{name: "secondary alone", entered: "{antennas: {secondary: antenna-secondary}}", secondary: opt.Of(r3.Vec{X: 1, Y: 4, Z: 5}), sensor: r3.Vec{X: 1, Y: 2, Z: 3}},
		{name: "output point without antenna", entered: "{output-point: sonar}", sensor: r3.Vec{X: 1, Y: 2, Z: 3}},
		{name: "output point is the reference", entered: "{antennas: {primary: antenna-primary}, output-point: reference}", sensor: r3.Vec{X: 1, Y: 2, Z: 3},
			primary: opt.Of(r3.Vec{X: 1, Y: 2, Z: 5}), out: opt.Of(r3.Vec{}), outName: "reference"},
	} {
		t.Run(r.name, func(t *testing.T) {
			text := points + "mounting: {heading: 37 deg, pitch: 5 deg}\n" // what is actual must not count
			if r.entered != "" {
				text += "entered: " + r.entered + "\n"
			}
			s := parse(t, text).Settings()
			same := func(what string, got, want opt.Opt[r3.Vec]) {
				g, _ := got.Value()
				w, _ := want.Value()
				if got.Has() != want.Has() || apart(g, w) {
					t.Errorf("%s is %v, want %v", what, got, want)
				}
			}
			same("primary", s.Primary, r.primary)
			same("secondary", s.Secondary, r.secondary)
			same("baseline", s.Baseline, r.baseline)
			same("sensor", opt.Of(s.Sensor), opt.Of(r.sensor))
			same("output point", s.OutputPoint, r.out)
			if s.OutputName != r.outName {
				t.Errorf("the output point is called %q, want %q", s.OutputName, r.outName)
			}
		})
	}
}

func TestReported(t *testing.T) {
	one := "points:\n  sensor: [1 m, 2 m, 3 m]\n  antenna-primary: [1 m, 2 m, 5 m]\n  sonar: [0 m, 7 m, -1 m]\n"
	sensor, antenna, sonar := r3.Vec{X: 1, Y: 2, Z: 3}, r3.Vec{X: 1, Y: 2, Z: 5}, r3.Vec{Y: 7, Z: -1}
	raw := Reported{PositionAt: antenna, PositionName: "antenna-primary", HeaveAt: sensor, HeaveName: "sensor"}
	with := func(change func(*Reported)) Reported {
		r := raw
		change(&r)
		return r
	}
	for _, r := range []struct {
		name, text string
		want       Reported
	}{
		{"raw, one antenna", one, raw},
		{"raw, two antennas", points, with(func(r *Reported) { r.TwoAntennas = true })},
		{"mounting, one antenna", one + "entered: {mounting: {}}\n", with(func(r *Reported) { r.AttitudeOfVessel, r.HeadingOfVessel = true, true })},
		{"mounting, two antennas", points + "entered: {mounting: {}}\n", with(func(r *Reported) { r.AttitudeOfVessel, r.TwoAntennas = true, true })},
		{"baseline, one antenna", one + "entered: {baseline: {azimuth: 0 deg, length: 2 m}}\n", raw},
		{"baseline, two antennas", points + "entered: {baseline: {azimuth: 0 deg, length: 2 m}}\n", with(func(r *Reported) { r.HeadingOfVessel, r.TwoAntennas = true, true })},
		{"both antennas", points + "entered: {antennas: {primary: antenna-primary, secondary: antenna-secondary}}\n", with(func(r *Reported) { r.HeadingOfVessel, r.TwoAntennas = true, true })},
		{"primary alone", points + "entered: {antennas: {primary: antenna-primary}}\n", with(func(r *Reported) { r.TwoAntennas = true })},
		{"output point without antenna", one + "entered: {output-point: sonar}\n", raw},
		{"output point", one + "entered: {antennas: {primary: antenna-primary}, output-point: sonar}\n",
			Reported{PositionAt: sonar, PositionName: "sonar", HeaveAt: sonar, HeaveName: "sonar"}},
		{"output point as a vector", one + "entered: {antennas: {primary: antenna-primary}, output-point: [0 m, 7 m, -1 m]}\n", Reported{PositionAt: sonar, HeaveAt: sonar}},
		{"no antenna", "points: {sensor: [1 m, 2 m, 3 m]}\n", Reported{PositionAt: sensor, PositionName: "sensor", HeaveAt: sensor, HeaveName: "sensor"}},
	} {
		t.Run(r.name, func(t *testing.T) {
			if got := parse(t, r.text).Reported(); got != r.want {
				t.Errorf("got  %+v\nwant %+v", got, r.want)
			}
		})
	}
}

func TestPoints(t *testing.T) {
	in := parse(t, points+"expected-of-consumer: {output-point: sonar}\n")
	if v, ok := in.Point("reference"); !ok || v != (r3.Vec{}) {
		t.Errorf("reference is at %v, %v", v, ok)
	}
	if v, ok := in.Point("sonar"); !ok || v != (r3.Vec{Y: 7, Z: -1}) {
		t.Errorf("sonar is at %v, %v", v, ok)
	}
	if _, ok := in.Point("keel"); ok {
		t.Error("there is no keel")
	}
	if v, name := in.ExpectedPoint(); name != "sonar" || v != (r3.Vec{Y: 7, Z: -1}) {
		t.Errorf("expected %s at %v", name, v)
	}
	if v, name := parse(t, points).ExpectedPoint(); name != "reference" || v != (r3.Vec{}) {
		t.Errorf("expected %s at %v", name, v)
	}
}

// Whatever way the device stands, and wherever, a point measured along its own axes from the sensor comes out where
// the point is, and the warnings are silent.
func TestDeviceAxesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyInstallation(t)
		in.Points[AntennaPrimary] = Vector{units.Length(rapid.Float64Range(-9, 9).Draw(t, "x")), 3, 5}
		m := in.Mounting
		in.Entered = Entered{Mounting: &m}
		sensor, _ := in.Point(Sensor)
		antenna, _ := in.Point(AntennaPrimary)
		typed := frame.LeverToDevice(antenna, in.MountingRotation(), sensor)
		in.Entered.Antennas = &Antennas{Axes: DeviceAxes, From: FromSensor, Primary: &Place{Vector: VectorOf(typed)}}
		got, ok := in.Settings().Primary.Value()
		if !ok || r3.Norm(r3.Sub(got, antenna)) > 1e-9 {
			t.Fatalf("the antenna at %v comes out at %v, %v", antenna, got, ok)
		}
		if math.Abs(r3.Norm(typed)-r3.Norm(r3.Sub(antenna, sensor))) > 1e-9 {
			t.Fatalf("typed %v is not as far as %v from %v", typed, antenna, sensor)
		}
		for _, w := range in.Warnings() {
			if w.Path == "entered.mounting" || w.Path == "entered.antennas.primary" {
				t.Fatalf("%s: %s", w.Path, w.Text)
			}
		}
	})
}

// Warnings and Settings answer whatever was entered, also where it is not valid.
func TestNoPanic(t *testing.T) {
	for _, in := range []*Installation{
		{}, {Entered: Entered{Mounting: &Mounting{}, Antennas: &Antennas{Primary: &Place{Name: "x"}, Secondary: &Place{}}, Baseline: &Baseline{}, Sensor: &Place{Name: "y"}, OutputPoint: &Place{Name: "z"}}},
		{Points: map[string]Vector{AntennaPrimary: {}, AntennaSecondary: {}}, Expected: Expected{OutputPoint: "q"}},
	} {
		in.Settings()
		in.Reported()
		in.ExpectedPoint()
		in.Append(nil)
		in.Warnings()
		if len(in.Validate()) == 0 {
			t.Errorf("%+v is valid", in)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{harbour, points, "points: {sensor: [1 m, 2 m, 3 m], \"a\\nb\": [1 m, 1 m, 1 m]}\nentered: {sensor: \"a\\nb\"}\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		in, err := Parse("i.yaml", data)
		if err != nil {
			return
		}
		in.Warnings()
		in.Reported()
		text := in.Append(nil)
		back, err := Parse("i.yaml", text)
		if err != nil {
			t.Fatalf("written as\n%s\nwhich is refused: %v", text, err)
		}
		if again := back.Append(nil); string(again) != string(text) {
			t.Fatalf("written as\n%s\nand then as\n%s", text, again)
		}
	})
}
