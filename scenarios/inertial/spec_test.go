package inertial

import (
	"math"
	"strings"
	"testing"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

func TestSpec(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"grade", "grade: tactical", ""},
		{"numbers", "gyro-bias: [0.5 deg/h, -0.2 deg/h, 1 deg/h]\naccelerometer-bias: [100 ug, 0 ug, -2 mg]\nangle-random-walk: 0.1 deg/sqrt(h)\naccelerometer-noise: 50 ug/sqrt(Hz)", ""},
		{"all", "grade: consumer\nalignment: stated\ntilt: {pitch: 0.1 deg, roll: -0.1 deg, heading: 1 deg}\nat-loss: {velocity: 0.1 m/s}\nheight: free\nrecovery: 5 s\nheading-limit: 2 deg", ""},
		{"unknown grade", "grade: perfect", `f.yaml:1:8: `},
		{"unknown alignment", "grade: tactical\nalignment: good", "self-levelled"},
		{"unknown height", "height: low", "held"},
		{"wild gyro", "gyro-bias: [0 deg/h, 0 deg/h, 11 deg/s]", "f.yaml:1:31: bias is 11 deg/s; allowed: -10 deg/s to 10 deg/s"},
		{"wild accelerometer", "accelerometer-bias: [11 m/s2, 0 ug, 0 ug]", "bias is 11 m/s2; allowed: -10 m/s2 to 10 m/s2"},
		{"two gyros", "gyro-bias: [0 deg/h, 0 deg/h]", "f.yaml:1:"},
		{"negative noise", "angle-random-walk: -1 deg/sqrt(h)", "allowed: 0 deg/sqrt(h) to 60 deg/sqrt(h)"},
		{"negative accelerometer noise", "accelerometer-noise: -1 ug/sqrt(Hz)", "allowed: 0 ug/sqrt(Hz) to 1 m/s2/sqrt(Hz)"},
		{"unit of noise", "angle-random-walk: 0.1 deg/h", `"0.1 deg/h" is not an angle random walk; allowed: a number and one of deg/sqrt(h), deg/s/sqrt(Hz), rad/sqrt(s), as in 0.1 deg/sqrt(h)`},
		{"no number", "accelerometer-noise: much", "is not a noise of an accelerometer"},
		{"infinite", "accelerometer-noise: inf ug/sqrt(Hz)", "is not a noise of an accelerometer"},
		{"tilt without stated", "tilt: {pitch: 0.1 deg}", "a tilt is given, but alignment is self-levelled"},
		{"stated without tilt", "alignment: stated", "no tilt is given"},
		{"wild tilt", "alignment: stated\ntilt: {pitch: 21 deg}", "error of pitch is 21 deg; allowed: -20 deg to 20 deg"},
		{"negative sigma", "at-loss: {heading: -1 deg}", "error of heading is -1 deg; allowed: 0 deg to 20 deg"},
		{"wild speed", "at-loss: {velocity: -1 m/s}", "error of velocity is -1 m/s; allowed: 0 m/s to 10 m/s"},
		{"negative recovery", "recovery: -1 s", "time constant is -1 s; allowed: 0 s to 1 h"},
		{"negative limit", "heading-limit: -1 deg", "limit is -1 deg; allowed: 0 deg to 180 deg"},
	} {
		var s Spec
		doc, err := strictyaml.DecodeBytes("f.yaml", []byte(c.text), &s)
		if err == nil {
			err = doc.Problems(s.Validate())
		}
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "f.yaml:")) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	nan := units.Duration(math.NaN())
	if len((Spec{Recovery: nan, Grade: "x", Alignment: "y", Height: "z", HeadingLimit: units.Angle(nan)}).Validate()) != 5 {
		t.Error("not everything wrong is told")
	}
}

func TestGrades(t *testing.T) {
	seen := map[Grade]bool{}
	for i, g := range Grades {
		if seen[g.Name] || g.What == "" || !(g.GyroBias > 0 && g.AccelBias > 0 && g.AngleRandomWalk > 0 && g.AccelNoise > 0 && g.Velocity > 0 && g.Tilt > 0 && g.Heading > 0) {
			t.Errorf("row %d: %+v", i, g)
		}
		seen[g.Name] = true
		if i > 0 && !(g.GyroBias < Grades[i-1].GyroBias && g.AccelBias < Grades[i-1].AccelBias) {
			t.Errorf("%s is no better than %s", g.Name, Grades[i-1].Name)
		}
	}
	// The navigation class is known for about one nautical mile an hour (Titterton & Weston 2004, from memory).
	if p := (Spec{Grade: "navigation"}).Forecast(3600).Position; p < 926 || p > 3704 {
		t.Errorf("navigation grade drifts %g m in an hour, want half to two nautical miles", p)
	}
}

// The forecast is for texts; it must be near what the covariance gives.
func TestForecast(t *testing.T) {
	for _, g := range Grades {
		for _, alignment := range []Alignment{SelfLevelled, Perfect} {
			s := Spec{Grade: g.Name, Alignment: alignment}
			n := navigator(t, s, standing(0.9, 0.4), 1, Outage{From: 0, Until: 700})
			for _, at := range []float64{60, 600} {
				d, f := n.At(at).Sigma, s.Forecast(at)
				if !near(f.Position, d.PositionENU.X, 0, 0.25) || !near(f.Tilt, d.Pitch, 1e-5, 1) {
					t.Errorf("%s, %s, after %g s: forecast %g m and %g rad, covariance %g m and %g rad", g.Name, alignment, at, f.Position, f.Tilt, d.PositionENU.X, d.Pitch)
				}
			}
		}
	}
	if (Spec{Grade: "tactical"}).Forecast(math.NaN()) != (Growth{}) {
		t.Error("a forecast for no time")
	}
}

func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		spec   Spec
		outage float64
		want   string
	}{
		{Spec{}, 60, "no grade and no numbers"},
		{Spec{}, 0, ""},
		{Spec{Grade: "tactical"}, 600, ""},
		{Spec{Grade: "consumer"}, 36000, ""},
		{Spec{GyroBias: &Gyros{0.1 * degree, 0, 0}}, 3600, "linear equations"},
		{Spec{Grade: "nonsense"}, 60, ""},
	} {
		ws := c.spec.Warnings(c.outage)
		if c.want == "" && len(ws) > 0 || c.want != "" && (len(ws) != 1 || !strings.Contains(ws[0].Text, c.want)) {
			t.Errorf("%+v for %g s: %+v, want %q", c.spec, c.outage, ws, c.want)
		}
	}
}

func TestNoiseUnits(t *testing.T) {
	for text, want := range map[string]float64{"60 deg/sqrt(h)": degree, "1 deg/s/sqrt(Hz)": degree, "2 rad/sqrt(s)": 2} {
		var x AngleRandomWalk
		if err := x.UnmarshalText([]byte(text)); err != nil || !near(float64(x), want, 0, 1e-12) {
			t.Errorf("%s: %v, %v", text, x, err)
		}
		var y AngleRandomWalk
		if err := y.UnmarshalText([]byte(x.String())); err != nil || !near(float64(y), want, 0, 1e-11) {
			t.Errorf("%s comes back as %v, %v", x, y, err)
		}
	}
	for text, want := range map[string]float64{"100 ug/sqrt(Hz)": 9.80665e-4, "1 mg/sqrt(Hz)": 9.80665e-3, "0.06 m/s/sqrt(h)": 1e-3, "3 m/s2/sqrt(Hz)": 3} {
		var x AccelerometerNoise
		if err := x.UnmarshalText([]byte(text)); err != nil || !near(float64(x), want, 0, 1e-12) {
			t.Errorf("%s: %v, %v", text, x, err)
		}
	}
}

func FuzzNoise(f *testing.F) {
	f.Add("0.1 deg/sqrt(h)")
	f.Add("1e400 rad/sqrt(s)")
	f.Fuzz(func(t *testing.T, text string) {
		var x AngleRandomWalk = 7
		if err := x.UnmarshalText([]byte(text)); err != nil && x != 7 || math.IsNaN(float64(x)) || math.IsInf(float64(x), 0) {
			t.Errorf("%q reads as %v, %v", text, float64(x), err)
		}
	})
}

func TestSchema(t *testing.T) {
	schema, err := strictyaml.Schema(Spec{}, "inertial")
	if err != nil || !strings.Contains(string(schema), "deg/sqrt") || !strings.Contains(string(schema), "navigation") {
		t.Errorf("%v: %s", err, schema)
	}
}
