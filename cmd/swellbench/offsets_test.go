package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"swellbench/emulator"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/survey"
)

// The worksheet of a sheet tells what the virtual device shows that has the installation of the same sheet, lying still
// in the same pose: raw, set up as measured, and as entered, right or wrong.
func TestWorksheetIsWhatTheDeviceShows(t *testing.T) {
	example := string(survey.Example)
	entered := example[strings.Index(example, "entered:"):strings.Index(example, "expected-of-consumer:")]
	for name, typed := range map[string]string{
		"as in the example": entered,
		"nothing":           "",
		"mounting only":     "entered: {mounting: {heading: 28 deg, pitch: -7 deg}}\n",
		"baseline only":     "entered: {baseline: {azimuth: 77 deg, elevation: 6 deg, length: 2.1 m}}\n",
		"along the device":  "entered: {mounting: {heading: 31 deg, pitch: -7 deg, roll: 4 deg}, antennas: {axes: device, from: sensor, primary: [-0.8 m, -2.4 m, 5.3 m]}, output-point: sonar}\n",
		"all wrong":         "entered: {mounting: {heading: -31 deg, pitch: 7 deg}, antennas: {primary: [0.9 m, 3 m, 6 m], secondary: [-1 m, 2 m, 6 m]}, sensor: [0 m, 1 m, 2 m], output-point: [1 m, 2 m, -3 m]}\n",
	} {
		t.Run(name, func(t *testing.T) {
			sheet := strings.Replace(example, entered, typed, 1)
			v, err := survey.Parse("sheet.yaml", []byte(sheet))
			if err != nil {
				t.Fatal(err)
			}
			for _, pose := range [][3]float64{{127.6, 0.6, -1.1}, {3, -12, 25}, {351, 8, -33}} {
				p, err := survey.ParsePoses([]string{fmt.Sprintf("%g,%g,%g", pose[0], pose[1], pose[2])})
				if err != nil {
					t.Fatal(err)
				}
				settings := map[string]string{"as-entered": typed, "raw": ""}
				for _, d := range v.ReportFor(p).Poses[0].Devices {
					typed, told := settings[d.Setting]
					if !told {
						m := v.Installation().Mounting
						typed = fmt.Sprintf("entered: {mounting: {heading: %s, pitch: %s, roll: %s}, antennas: {primary: antenna-primary, secondary: antenna-secondary}, output-point: %s}\n",
							m.Heading, m.Pitch, m.Roll, outputPoint(v))
					}
					compareWithDevice(t, v, typed, pose, d)
				}
			}
		})
	}
}

// outputPoint is the point that a device set up as measured has entered.
func outputPoint(v *survey.Survey) string {
	if p := v.Sheet.Entered.OutputPoint; p != nil && p.Name != "" {
		return p.Name
	}
	return "sensor"
}

func compareWithDevice(t *testing.T, v *survey.Survey, typed string, pose [3]float64, d survey.DeviceShows) {
	t.Helper()
	dir := t.TempDir()
	in := v.Installation()
	in.Entered, in.Expected = installation.Entered{}, installation.Expected{}
	if err := os.WriteFile(filepath.Join(dir, "installation.yaml"), append(in.Append(nil), typed...), 0o666); err != nil {
		t.Fatal(err)
	}
	text := fmt.Sprintf(`start: 2026-06-01T12:00:00Z
duration: 10 s
installation: {file: installation.yaml}
track:
  position: {latitude: 50 deg, longitude: -4 deg, height: 50 m}
  heading: %g deg
motion: {pose: {pitch: %g deg, roll: %g deg}}
streams:
  - format: nmea0183
    line: {baud: 4800}
    messages: [{type: HDT, rate: 1 Hz}]
`, pose[0], pose[1], pose[2])
	name := filepath.Join(dir, "scenario.yaml")
	if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	sc, err := scenarios.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	dev, err := emulator.New(sc)
	if err != nil {
		t.Fatal(err)
	}
	r := dev.Ideal(5)
	p, _ := r.Position.Value()
	enu := geo.LocalAt(dev.Truth().At(5).Position).ENU(p)
	value := func(x opt.Opt[float64]) float64 {
		if v, ok := x.Value(); ok {
			return v
		}
		return math.NaN()
	}
	want := map[string]float64{
		"heading": frame.Deg(value(r.Heading)), "yaw with attitude": frame.Deg(value(r.Yaw)), "pitch": frame.Deg(value(r.Pitch)), "roll": frame.Deg(value(r.Roll)),
		"heave by tilt alone": value(r.HeaveM), "position, east of reference": enu.X, "position, north of reference": enu.Y, "position, up of reference": enu.Z,
	}
	seen := 0
	for _, s := range d.Shows {
		w, ok := want[s.Name]
		if !ok {
			continue
		}
		seen++
		// The installation file is rounded to 0.1 mm and 0.0001 deg; 6 m from there that is a few of these.
		off, tol := s.Value.Value-w, 0.0005
		if s.Unit == "deg" {
			off, tol = frame.Deg(frame.AngleDiff(frame.Rad(s.Value.Value), frame.Rad(w))), 0.01 // 0.1 mm on 2 m is 0.003 deg
		}
		if !(math.Abs(off) <= tol) {
			t.Errorf("%s, pose %v: the worksheet has %s %.4f %s, the device shows %.4f", d.Setting, pose, s.Name, s.Value.Value, s.Unit, w)
		}
	}
	if seen != len(want) {
		t.Errorf("%s: compared %d readings of %d", d.Setting, seen, len(want))
	}
}
