package installation

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/internal/vectors"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// harbour has all that an installation can have.
const harbour = `vessel: {length: 18.5 m, breadth: 5.2 m, draught: 1.4 m, displacement: 62 t}
points:                      # right, forward, up from the vessel reference point
  sensor:            [0.35 m, -1.80 m, 0.60 m]
  antenna-primary:   [-0.90 m, -3.10 m, 6.20 m]
  antenna-secondary: [1.10 m, -3.10 m, 6.20 m]
  rotation-centre:   [0.00 m, -0.50 m, 0.20 m]
  sonar:             [0.00 m, 2.40 m, -1.65 m]
mounting: {heading: 90 deg, pitch: 0 deg, roll: 0 deg}
entered:                     # what was typed into the device
  mounting: {heading: 90 deg}
  antennas: {axes: device, from: sensor, primary: [1.30 m, -1.25 m, 5.60 m], secondary: antenna-secondary}
  baseline: {azimuth: 90 deg, elevation: 0 deg, length: 2 m}
  sensor: sensor
  output-point: [0.00 m, 2.40 m, -1.65 m]
expected-of-consumer:        # what the consumer must still apply
  output-point: sonar
`

func parse(t *testing.T, text string) *Installation {
	t.Helper()
	in, err := Parse("i.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func TestWriteIsWhatWasRead(t *testing.T) {
	in := parse(t, harbour)
	if got := string(in.Append([]byte("# x\n"))); got != "# x\n"+harbour {
		t.Errorf("written:\n%s\nread:\n%s", got, harbour)
	}
	var b strings.Builder
	if err := in.WriteYAML(&b); err != nil || b.String() != harbour {
		t.Errorf("error %v, written:\n%s", err, b.String())
	}
}

func TestWriteLittle(t *testing.T) {
	in := parse(t, "points: {sensor: [1 m, 20 mm, 0.1234 m], \"12\": [1e-12 m, 0 m, 0 m], \"a \\\"b\\\": é\": [1 m, 1 m, 1 m], on: [1 m, 1 m, 1 m]}\nentered: {mounting: {}, antennas: {}}\n")
	const want = `points:                      # right, forward, up from the vessel reference point
  sensor:       [1.00 m, 0.02 m, 0.1234 m]
  "12":         [1e-12 m, 0.00 m, 0.00 m]
  "a \"b\": é": [1.00 m, 1.00 m, 1.00 m]
  "on":         [1.00 m, 1.00 m, 1.00 m]
mounting: {heading: 0 deg, pitch: 0 deg, roll: 0 deg}
entered:                     # what was typed into the device
  mounting: {heading: 0 deg}
  antennas: {}
`
	if got := string(in.Append(nil)); got != want {
		t.Errorf("written:\n%s\nwant:\n%s", got, want)
	}
	if back := parse(t, want); !reflect.DeepEqual(back, in) {
		t.Errorf("read back as %+v, was %+v", back, in)
	}
}

// Any valid installation is written so that the very same values are read back.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyInstallation(t)
		text := in.Append(nil)
		back, err := Parse("i.yaml", text)
		if err != nil || !reflect.DeepEqual(back, in) {
			t.Fatalf("error %v\nread back as %+v\nwas          %+v\n%s", err, back, in, text)
		}
	})
}

func anyInstallation(t *rapid.T) *Installation {
	vector := rapid.Custom(func(t *rapid.T) Vector {
		c := rapid.Float64Range(-500, 500)
		return Vector{units.Length(c.Draw(t, "right")), units.Length(c.Draw(t, "forward")), units.Length(c.Draw(t, "up"))}
	})
	turn := rapid.Float64Range(-2*math.Pi, 2*math.Pi)
	mounting := rapid.Custom(func(t *rapid.T) Mounting {
		return Mounting{units.Angle(turn.Draw(t, "heading")), units.Angle(turn.Draw(t, "pitch")), units.Angle(turn.Draw(t, "roll"))}
	})
	in := &Installation{Points: map[string]Vector{Sensor: vector.Draw(t, "sensor")}}
	name := rapid.OneOf(rapid.SampledFrom([]string{AntennaPrimary, "sonar", "null", "12", "1e3", "a: b", "#", "'", `"`, "file name", "-", "~", "é\u0085\ufeff", "a.b[1]"}), rapid.StringN(1, 10, -1))
	for range rapid.IntRange(0, 5).Draw(t, "points") {
		if n := name.Draw(t, "name"); n != Reference && n != "file" && strings.ToValidUTF8(n, "") == n {
			in.Points[n] = vector.Draw(t, "point")
		}
	}
	point := rapid.SampledFrom(append(in.Names(), Reference))
	place := rapid.Custom(func(t *rapid.T) *Place {
		switch rapid.IntRange(0, 2).Draw(t, "place") {
		case 0:
			return nil
		case 1:
			return &Place{Name: point.Draw(t, "point")}
		}
		return &Place{Vector: vector.Draw(t, "vector")}
	})
	if rapid.Bool().Draw(t, "vessel") {
		in.Vessel = Vessel{units.Length(rapid.Float64Range(0, 400).Draw(t, "length")), 5.2, 0, units.Mass(rapid.Float64Range(0, 1e8).Draw(t, "displacement"))}
	}
	in.Mounting = mounting.Draw(t, "mounting")
	if rapid.Bool().Draw(t, "mounting entered") {
		m := mounting.Draw(t, "entered")
		in.Entered.Mounting = &m
	}
	if rapid.Bool().Draw(t, "antennas") {
		in.Entered.Antennas = &Antennas{rapid.SampledFrom([]Axes{"", VesselAxes, DeviceAxes}).Draw(t, "axes"),
			rapid.SampledFrom([]Origin{"", FromReference, FromSensor}).Draw(t, "from"), place.Draw(t, "primary"), place.Draw(t, "secondary")}
	}
	if rapid.Bool().Draw(t, "baseline") {
		in.Entered.Baseline = &Baseline{units.Angle(turn.Draw(t, "azimuth")), units.Angle(turn.Draw(t, "elevation") / 4), units.Length(rapid.Float64Range(0.001, 50).Draw(t, "length"))}
	}
	in.Entered.Sensor, in.Entered.OutputPoint = place.Draw(t, "sensor entered"), place.Draw(t, "output")
	if rapid.Bool().Draw(t, "expected") {
		in.Expected.OutputPoint = point.Draw(t, "expected point")
	}
	if len(in.Validate()) > 0 {
		t.Skip("not valid: ", in.Validate())
	}
	return in
}

// What a person must learn from a bad file, in full.
func TestErrors(t *testing.T) {
	const ok = "points:\n  sensor: [1 m, 2 m, 3 m]\n  antenna-primary: [1 m, 2 m, 5 m]\n  sonar: [0 m, 0 m, -1 m]\n"
	for _, r := range []struct{ name, text, want string }{
		{"no points", "mounting: {heading: 1 deg}\n", "i.yaml:1:1: the file lacks points; add points: (a mapping of names)"},
		{"no sensor", "points:\n  sonar: [1 m, 2 m, 3 m]\n", "i.yaml:1:1: there is no point sensor; add sensor: [right, forward, up], where the device is"},
		{"duplicate point", ok + "  sonar: [1 m, 2 m, 3 m]\n", "i.yaml:5:3: the key sonar is there twice, first in line 4; leave one out"},
		{"bare number", "points:\n  sensor: [1 m, -1.8, 3 m]\n", "i.yaml:2:17: sensor[1]: -1.8 has no unit; write -1.8 m, -1.8 mm or -1.8 cm"},
		{"wrong unit", ok + "mounting: {heading: 90 m}\n", "i.yaml:5:21: heading: 90 m is a length, not an angle; allowed units: deg, rad, mrad, arcmin, arcsec"},
		{"two coordinates", "points: {sensor: [1 m, 2 m]}\n", "i.yaml:1:18: sensor has 2 entries; allowed: a list of 3"},
		{"unknown key", ok + "entred: {}\n", "i.yaml:5:1: the key entred is not known here; did you mean entered? allowed: vessel, points, mounting, entered, expected-of-consumer"},
		{"unknown point entered", ok + "entered:\n  antennas: {primary: antena-primary}\n", "i.yaml:6:23: there is no point antena-primary; did you mean antenna-primary? allowed: sensor, antenna-primary, sonar, reference"},
		{"unknown point expected", ok + "expected-of-consumer: {output-point: sona}\n", "i.yaml:5:38: there is no point sona; did you mean sonar? allowed: sensor, antenna-primary, sonar, reference"},
		{"unknown output point", ok + "entered: {output-point: keel}\n", "i.yaml:5:25: there is no point keel; allowed: sensor, antenna-primary, sonar, reference"},
		{"unknown sensor", ok + "entered: {sensor: box}\n", "i.yaml:5:19: there is no point box; allowed: sensor, antenna-primary, sonar, reference"},
		{"place is a number", ok + "entered: {sensor: 5}\n", "i.yaml:5:19: a place is a whole number; allowed: the name of a point, or [right, forward, up] such as [0.35 m, -1.80 m, 0.60 m]"},
		{"place without unit", ok + "entered: {sensor: [1 m, 2 m, 3]}\n", "i.yaml:5:30: sensor[2]: 3 has no unit; write 3 m, 3 mm or 3 cm"},
		{"axes", ok + "entered: {antennas: {axes: vesel}}\n", "i.yaml:5:28: axes is vesel; did you mean vessel? allowed: vessel, device"},
		{"origin", ok + "entered: {antennas: {from: keel}}\n", "i.yaml:5:28: from is keel; allowed: reference, sensor"},
		{"reference moved", ok + "  reference: [0 m, 1 m, 0 m]\n", "i.yaml:5:14: the point reference is [0.00 m, 1.00 m, 0.00 m]; it is [0 m, 0 m, 0 m] always: leave it out, or give this point another name"},
		{"nameless", ok + "  \"\": [0 m, 1 m, 0 m]\n", "i.yaml:5:7: a point has an empty name; give it one"},
		{"no baseline", ok + "  antenna-secondary: [1 m, 2 m, 5 m]\n", "i.yaml:5:22: antenna-secondary stands where antenna-primary does, so the baseline has no direction; correct one, or leave out antenna-secondary"},
		{"no baseline entered", ok + "entered:\n  antennas:\n    primary: sensor\n    secondary: [1 m, 2 m, 3 m]\n", "i.yaml:8:16: the secondary antenna is entered where the primary is, so the baseline has no direction; correct one, or leave it out"},
		{"baseline without length", ok + "entered:\n  baseline: {azimuth: 400 deg, elevation: 91 deg, length: 0 m}\n", `i.yaml:6:23: baseline azimuth is 400 deg; allowed: -360 deg to 360 deg
i.yaml:6:43: baseline elevation is 91 deg; allowed: -90 deg to 90 deg
i.yaml:6:59: baseline length is 0 m; allowed: 1 mm to 1000 m`},
		{"baseline incomplete", ok + "entered: {baseline: {elevation: 1 deg}}\n", "i.yaml:5:21: baseline lacks azimuth, length; add azimuth: (a value such as 90 deg) and length: (a value such as 1.2 m)"},
		{"far away", ok + "  keel: [0 m, 1.2 km, 0 m]\nentered: {sensor: [0 m, 9 km, 0 m]}\n", `i.yaml:5:9: the point keel is 1200 m from its origin; allowed: 1000 m at most, so look at units and decimal points
i.yaml:6:19: the sensor entered is 9000 m from its origin; allowed: 1000 m at most, so look at units and decimal points`},
		{"mounting", ok + "mounting: {heading: 361 deg, pitch: -400 deg}\nentered: {mounting: {roll: 10 rad}}\n", `i.yaml:5:21: mounting heading is 361 deg; allowed: -360 deg to 360 deg
i.yaml:5:37: mounting pitch is -400 deg; allowed: -360 deg to 360 deg
i.yaml:6:28: mounting roll is 572.9577951308232 deg; allowed: -360 deg to 360 deg`},
		{"vessel", ok + "vessel: {length: -1 m, breadth: 5 km, draught: 2 m, displacement: -3 t}\n", `i.yaml:5:18: length of the vessel is -1 m; allowed: 0 m to 1000 m
i.yaml:5:33: breadth of the vessel is 5000 m; allowed: 0 m to 1000 m
i.yaml:5:67: displacement of the vessel is -3 t; allowed: 0 t to 1000000 t`},
	} {
		t.Run(r.name, func(t *testing.T) {
			in, err := Parse("i.yaml", []byte(r.text))
			if in != nil || err == nil || err.Error() != r.want {
				t.Errorf("error %v\nwant  %s", err, r.want)
			}
		})
	}
}

// What no file can hold, but a program can make.
func TestValidateMade(t *testing.T) {
	nan := units.Length(math.NaN())
	in := Installation{
		Vessel: Vessel{Length: nan}, Points: map[string]Vector{Sensor: {nan, 0, 0}, "file": {}}, Mounting: Mounting{Roll: units.Angle(math.Inf(1))},
		Entered: Entered{Antennas: &Antennas{Axes: "keel", From: "vesel"}, Baseline: &Baseline{Length: nan}},
	}
	const want = `vessel.length: length of the vessel is NaN m; allowed: 0 m to 1000 m
points.sensor: the point sensor is NaN m from its origin; allowed: 1000 m at most, so look at units and decimal points
points.file: a point is called file, which in a file pulls in another one; give it another name
mounting.roll: mounting roll is +Inf deg; allowed: -360 deg to 360 deg
entered.antennas.axes: axes is keel; allowed: vessel, device
entered.antennas.from: from is vesel; allowed: reference, sensor
entered.baseline.length: baseline length is NaN m; allowed: 1 mm to 1000 m
`
	if got := list(in.Validate()); got != want {
		t.Errorf("problems\n%s\nwant\n%s", got, want)
	}
}

func list(ps []strictyaml.Problem) string {
	var b strings.Builder
	for _, p := range ps {
		fmt.Fprintf(&b, "%s: %s\n", p.Path, p.Text)
	}
	return b.String()
}

func TestWarnings(t *testing.T) {
	const ok = "points:\n  sensor: [1 m, 2 m, 3 m]\n  antenna-primary: [1 m, 2 m, 5 m]\n"
	const two = ok + "  antenna-secondary: [1 m, 4 m, 5 m]\n"
	for _, r := range []struct{ name, text, want string }{
		{"none", two + "mounting: {heading: 90 deg}\nentered: {mounting: {heading: 90 deg}, antennas: {primary: antenna-primary, secondary: antenna-secondary}, output-point: sensor}\n", ""},
		{"raw", ok, ""},
		{"all there is", harbour, "entered.baseline: a baseline is entered beside both antennas; the device takes the baseline\n"},
		{"no antenna", "points: {sensor: [0 m, 0 m, 0 m]}\n", "points: there is no point antenna-primary, so the device knows no position; add it, if the device has GNSS\n"},
		{"output point alone", ok + "entered: {output-point: sensor}\n",
			"entered.output-point: an output point is entered without the primary antenna, so it has no effect: position stays at antenna-primary and heave at sensor; enter antennas.primary too, or leave it out\n"},
		{"baseline of one antenna", ok + "entered: {baseline: {azimuth: 0 deg, length: 2 m}}\n",
			"entered.baseline: a baseline is entered, but there are no two antennas, so it has no effect; add the point antenna-secondary, or leave it out\n"},
		{"secondary of one antenna", ok + "entered: {antennas: {secondary: [1 m, 4 m, 5 m]}}\n",
			"entered.antennas.secondary: a secondary antenna is entered, but there are no two antennas, so it has no effect; add the point antenna-secondary, or leave it out\n" +
				"entered.antennas.secondary: the secondary antenna is entered without the primary, so it has no effect; enter antennas.primary too, or leave it out\n"},
		{"axes of names", ok + "entered: {antennas: {from: sensor, primary: antenna-primary}}\n",
			"entered.antennas: axes and from say what typed distances mean, but no distance is typed here; a point's name is where that point is\n"},
		{"device axes unknown", ok + "mounting: {heading: 90 deg}\nentered: {antennas: {axes: device, primary: [1 m, 2 m, 5 m]}}\n",
			"entered.antennas.axes: distances are typed along device axes without the mounting, so the device takes them to run along the vessel's; enter mounting too\n"},
		{"tilt of other axes", two + "mounting: {heading: 90 deg}\nentered: {baseline: {azimuth: 0 deg, length: 2 m}}\n",
			"entered.baseline: a baseline is entered without the mounting, so the device corrects it for the tilt of its own axes, not of the vessel; enter mounting too\n"},
		{"wrong mounting", ok + "mounting: {heading: 90 deg}\nentered: {mounting: {heading: -90 deg}}\n",
			"entered.mounting: the mounting entered is 180.00 deg off the actual one\n"},
		{"mounting a whole turn on", ok + "mounting: {heading: 270 deg}\nentered: {mounting: {heading: -90 deg}}\n", ""},
		{"wrong length", two + "entered: {baseline: {azimuth: 0 deg, length: 2.21 m}}\n", "entered.baseline.length: the baseline entered is 2.210 m long, the actual one 2.000 m\n"},
		{"length within 10 %", two + "entered: {baseline: {azimuth: 0 deg, length: 2.19 m}}\n", ""},
		{"wrong direction", two + "entered: {baseline: {azimuth: 180 deg, length: 2 m}}\n", "entered.baseline: the baseline entered points 180.00 deg beside the actual one\n"},
		{"swapped antennas", two + "entered: {antennas: {primary: antenna-secondary, secondary: antenna-primary}}\n",
			"entered.antennas.primary: the primary antenna is entered 2.00 m from where antenna-primary is\n" +
				"entered.antennas.secondary: the secondary antenna is entered 2.00 m from where antenna-secondary is\n" +
				"entered.antennas.secondary: the baseline entered points 180.00 deg beside the actual one\n"},
		{"wrong sensor", ok + "entered: {sensor: [1 m, 2 m, -3 m]}\n", "entered.sensor: the sensor is entered 6.00 m from where sensor is\n"},
		{"order of axes", "vessel: {length: 12 m, breadth: 4 m}\n" + ok + "  bow: [11 m, 0 m, 0 m]\n  stern: [0 m, -13 m, 0 m]\n",
			"points.bow: the point bow is 11 m to the right of the reference point, but the vessel is 4 m wide; look at the order right, forward, up\n" +
				"points.stern: the point stern is -13 m forward of the reference point, but the vessel is 12 m long; look at the order right, forward, up\n"},
	} {
		t.Run(r.name, func(t *testing.T) {
			if got := list(parse(t, r.text).Warnings()); got != r.want {
				t.Errorf("warnings\n%s\nwant\n%s", got, r.want)
			}
		})
	}
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	write("points.yaml", "sensor: [1 m, 2 m, 3 m]\nsensro: [1 m, 2 m, 3 kn]\n")
	_, err := Load(write("i.yaml", "points: {file: points.yaml}\n"))
	want := filepath.Join(dir, "points.yaml") + ":2:20: sensro[2]: 3 kn is a speed, not a length; allowed units: m, mm, cm, km, ft, NM"
	if err == nil || err.Error() != want {
		t.Errorf("error %v\nwant  %s", err, want)
	}
	in, err := Load(write("h.yaml", harbour))
	if err != nil || !reflect.DeepEqual(in, parse(t, harbour)) {
		t.Errorf("loaded %+v, error %v", in, err)
	}
	fsys := fstest.MapFS{"i.yaml": {Data: []byte("points: {file: p.yaml}\n")}, "p.yaml": {Data: []byte("sonar: [1 m, 2 m, 3 m]\n")}}
	if _, err = LoadFS(fsys, "i.yaml"); err == nil || err.Error() != "p.yaml:1:1: there is no point sensor; add sensor: [right, forward, up], where the device is" {
		t.Errorf("error %v", err)
	}
}

// Attitude of a mounted device, whatever way up. Source in each row.
func TestMountingAgainstCheckValues(t *testing.T) {
	for _, row := range vectors.Load(t, "../frame/testdata/attitude_mounting.jsonl") {
		in := parse(t, fmt.Sprintf("points: {sensor: [0 m, 0 m, 0 m]}\nmounting: {heading: %v deg, pitch: %v deg, roll: %v deg}\n",
			row.In(t, "mount_heading_deg"), row.In(t, "mount_pitch_deg"), row.In(t, "mount_roll_deg")))
		vessel := frame.Attitude{Heading: frame.Rad(row.In(t, "vessel_heading_deg")), Pitch: frame.Rad(row.In(t, "vessel_pitch_deg")), Roll: frame.Rad(row.In(t, "vessel_roll_deg"))}
		m := frame.DeviceFromVessel(vessel.Rotation(), in.MountingRotation()).Matrix()
		row.Check(t, "device_dcm_rowmajor", m[:]...)
	}
}

// The baseline, entered as angles and length, and measured as two points. Source in each row.
func TestBaselineAgainstCheckValues(t *testing.T) {
	rows := vectors.Load(t, "../geo/testdata/leverarm_antennas.jsonl")
	for _, row := range rows {
		in := parse(t, fmt.Sprintf("points: {sensor: [0 m, 0 m, 0 m], antenna-primary: [%v m, %v m, %v m]}\nentered: {baseline: {azimuth: %v deg, elevation: %v deg, length: %v m}}\n",
			row.In(t, "ant1_right_m"), row.In(t, "ant1_fwd_m"), row.In(t, "ant1_up_m"),
			row.In(t, "baseline_az_deg"), row.In(t, "baseline_el_deg"), row.In(t, "baseline_length_m")))
		b, ok := in.Settings().Baseline.Value()
		if !ok {
			t.Fatal("no baseline")
		}
		if _, two := in.Baseline(); two {
			t.Error("two antennas, where there is one")
		}
		check := func(b r3.Vec) {
			row.Check(t, "baseline_right_m", b.X)
			row.Check(t, "baseline_fwd_m", b.Y)
			row.Check(t, "baseline_up_m", b.Z)
		}
		check(b)
		in.Points[AntennaSecondary] = VectorOf(r3.Add(in.Points[AntennaPrimary].Vec(), b))
		actual, ok := in.Baseline()
		if !ok {
			t.Fatal("no baseline")
		}
		check(actual)
		in.Entered = Entered{Antennas: &Antennas{Primary: &Place{Name: AntennaPrimary}, Secondary: &Place{Name: AntennaSecondary}}}
		b, _ = in.Settings().Baseline.Value()
		check(b)
	}
}
