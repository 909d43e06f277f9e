package scenarios

import (
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"swellbench/scenarios/gnss"
	"testing"
	"testing/fstest"
	"time"

	"swellbench/scenarios/strictyaml"
)

// good is a scenario with something in every part.
const good = `about: a test
start: 2026-06-01T12:00:00Z
duration: 30 s
seed: 7
installation:
  points:
    sensor: [0.35 m, -1.80 m, 0.60 m]
    antenna-primary: [-0.90 m, -3.10 m, 6.20 m]
    rotation-centre: [0.05 m, -0.50 m, 0.20 m]
track:
  position: {latitude: 50.1 deg, longitude: -4.2 deg, height: 51 m}
  heading: 217.3 deg
  speed: 6 kn
  turn: {rate: -2 deg/s}
motion:
  about: rotation-centre
  roll: [{amplitude: 6 deg, period: 9 s, phase: 100 deg}]
geoid: {undulation: 52.9 m}
magnetic-variation: -1.7 deg
gnss:
  fix: rtk-fixed
  satellites: 17
  hdop: 0.7
  conditions:
    - {condition: blocked, from: 10 s, until: 15 s}
device:
  latency: {constant: 30 ms, random: 5 ms}
  noise: {heading: 0.1 deg, rate-of-turn: 0.2 deg/s}
streams:
  - name: bridge
    format: nmea0183
    line: {baud: 38400, data-bits: 8, parity: none, stop-bits: 1}
    messages:
      - {type: GGA, rate: 10 Hz, decimals: {minutes: 6}}
      - {type: XDR, rate: 10 Hz, signs: {roll: -1}}
faults:
  - {fault: silence, from: 20 s, until: 22 s}
`

func TestParse(t *testing.T) {
	s, err := Parse("some/where/good.yaml", []byte(good))
	if err != nil {
		t.Fatal(err)
	}
	if s.Name != "good" {
		t.Errorf("name is %q, want good", s.Name)
	}
	if s.About != "a test" || s.Duration != 30 || s.Seed != 7 || s.GNSS.Fix != "rtk-fixed" || *s.GNSS.Satellites != 17 ||
		*s.GNSS.HDOP != 0.7 || s.Streams[0].Line.Baud != 38400 || s.Streams[0].Messages[1].Signs["roll"] != -1 ||
		s.Faults[0].Until != 22 || s.Device.Latency.Constant != 0.03 {
		t.Errorf("scenario is %+v", s)
	}
	for at, want := range map[float64]bool{9.999: false, 10: true, 14.999: true, 15: false} {
		if got := s.GNSS.Holds(gnss.Blocked, at); got != want {
			t.Errorf("blocked at %g s: %v, want %v", at, got, want)
		}
	}
	truth, err := s.Truth()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := truth.At(0).Attitude.Roll, 6*math.Pi/180*math.Sin(100*math.Pi/180); math.Abs(got-want) > 1e-6 {
		t.Errorf("roll at 0 s is %g rad, want %g", got, want)
	}
}

// Every row changes one thing of the good file and compares the whole error.
func TestBadFiles(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"no change", "seed: 7", "seed: 7", ""},
		{"start now", "2026-06-01T12:00:00Z", "now", ""},
		{"fraction of a second", "12:00:00Z", "12:00:00.25Z", ""},
		{"start in a zone", "2026-06-01T12:00:00Z", "2026-06-01T14:00:00+02:00",
			"bad.yaml:2:8: start is 2026-06-01T14:00:00+02:00, not in UTC; write it in UTC, 2026-06-01T12:00:00Z"},
		{"start a date", "2026-06-01T12:00:00Z", "2026-06-01",
			"bad.yaml:2:8: start is 2026-06-01; allowed: now, or an instant in UTC such as 2026-06-01T12:00:00Z"},
		{"start a number", "2026-06-01T12:00:00Z", "12",
			"bad.yaml:2:8: start is a whole number; allowed: now, or an instant in UTC such as 2026-06-01T12:00:00Z"},
		{"start in a leap second", "2026-06-01T12:00:00Z", "2016-12-31T23:59:60Z",
			"bad.yaml:2:8: start is 2016-12-31T23:59:60Z, within a leap second; take an instant before or after it"},
		{"start in the past", "2026-06-01T12:00:00Z", "1970-01-01T00:00:00Z",
			"bad.yaml:2:8: start is in the year 1970; allowed: the years 1980 to 2099"},
		{"no duration", "duration: 30 s\n", "",
			"bad.yaml:1:1: the file lacks duration; add duration: (a value such as 6.5 s)"},
		{"duration 0", "30 s", "0 s",
			"bad.yaml:3:11: duration is 0 s; allowed: more than 0 s"},
		{"negative duration", "30 s", "-30 s",
			"bad.yaml:3:11: duration is -30 s; allowed: more than 0 s"},
		{"endless", "30 s", "10000 h",
			"bad.yaml:3:11: duration is 10000 h; allowed: at most 8784 h"},
		{"duration without a unit", "30 s", "30",
			"bad.yaml:3:11: duration: 30 has no unit; write 30 s, 30 ms or 30 us"},
		{"unknown key", "seed: 7", "sed: 7",
			"bad.yaml:4:1: the key sed is not known here; did you mean seed? allowed: about, start, duration, seed, installation, track, motion, sea, hull, geoid, magnetic-variation, gnss, inertial, device, streams, faults"},
		{"negative seed", "seed: 7", "seed: -7",
			"bad.yaml:4:7: seed is -7; allowed: 0 to 18446744073709551615"},
		{"latitude", "50.1 deg", "95 deg",
			"bad.yaml:11:24: latitude is 95 deg; allowed: -90 deg to 90 deg"},
		{"wrong unit", "51 m", "51 kn",
			"bad.yaml:11:63: height: 51 kn is a speed, not a length; allowed units: m, mm, cm, km, ft, NM"},
		{"speed without heading", "  heading: 217.3 deg\n", "",
			"bad.yaml:12:10: speed is 6 kn but there is no heading; add one, such as heading: 42 deg"},
		{"unknown point", "about: rotation-centre", "about: rotation-center",
			"bad.yaml:16:10: there is no point rotation-center; did you mean rotation-centre? allowed: reference, antenna-primary, rotation-centre, sensor"},
		{"no period", "period: 9 s, ", "",
			"bad.yaml:17:10: roll[0] lacks period; add period: (a value such as 6.5 s)"},
		{"period 0", "9 s", "0 s",
			"bad.yaml:17:37: period is 0 s; allowed: 100 ms or more"},
		{"undulation", "52.9 m", "529 m",
			"bad.yaml:18:21: undulation is 529 m; allowed: -150 m to 150 m"},
		{"variation", "-1.7 deg", "-181 deg",
			"bad.yaml:19:21: magnetic variation is -181 deg; allowed: -180 deg to 180 deg"},
		{"unknown fix", "rtk-fixed", "rtk fixed",
			"bad.yaml:21:8: fix is rtk fixed; did you mean rtk-fixed? allowed: none, estimated, autonomous, differential, rtk-float, rtk-fixed, precise, manual, simulated"},
		{"satellites", "satellites: 17", "satellites: 3",
			"bad.yaml:22:15: satellites is 3; allowed: 4 to 99"},
		{"hdop", "hdop: 0.7", "hdop: 0",
			"bad.yaml:23:9: hdop is 0; allowed: 0.1 to 99.9"},
		{"unknown condition", "condition: blocked", "condition: blockd",
			"bad.yaml:25:19: condition is blockd; did you mean blocked? allowed: blocked, partly-blocked, corrections-lost, interference, multipath, position-jump, frozen-receiver, receiver-restart, secondary-lost, both-lost, wrong-integer"},
		{"condition swapped", "from: 10 s, until: 15 s", "from: 15 s, until: 10 s",
			"bad.yaml:25:47: blocked ends at 10 s, before it begins at 15 s; swap the two"},
		{"condition of no length", "from: 10 s, until: 15 s", "from: 15 s, until: 15 s",
			"bad.yaml:25:47: blocked ends at 15 s, when it begins; give it a later end, or remove it"},
		{"condition before the run", "from: 10 s, until: 15 s", "from: -1 s, until: 15 s",
			"bad.yaml:25:34: blocked begins at -1 s, before the run; allowed: 0 s or later"},
		{"condition after the run", "from: 10 s, until: 15 s", "from: 31 s, until: 35 s",
			"bad.yaml:25:34: blocked begins at 31 s, after the run, which lasts 30 s"},
		{"condition beyond the run", "from: 10 s, until: 15 s", "from: 10 s, until: 30.5 s",
			"bad.yaml:25:47: blocked ends at 30.5 s, after the run, which lasts 30 s"},
		{"condition twice", "until: 15 s}", "until: 15 s}\n    - {condition: blocked, from: 14 s, until: 16 s}",
			"bad.yaml:26:7: blocked from 14 s runs into conditions[0] of the same kind; make them one"},
		{"negative latency", "constant: 30 ms", "constant: -30 ms",
			"bad.yaml:27:23: constant latency is -30 ms; allowed: 0 s to 60 s"},
		{"negative noise", "heading: 0.1 deg,", "heading: -0.1 deg,",
			"bad.yaml:28:20: heading noise is -0.1 deg; allowed: 0 to 180 deg, 1 sigma"},
		{"noise of turn", "0.2 deg/s", "1e9 deg/s",
			"bad.yaml:28:43: rate-of-turn noise is 1e9 deg/s; allowed: 0 to 1800 deg/s, 1 sigma"},
		{"stream name", "name: bridge", "name: ../bridge",
			"bad.yaml:30:11: stream name is ../bridge; allowed: small letters, digits and hyphens, at most 32, such as bridge-1"},
		{"no format", "    format: nmea0183\n", "",
			"bad.yaml:30:5: streams[0] lacks format; add format: (text)"},
		{"baud 0", "baud: 38400", "baud: 0",
			"bad.yaml:32:18: baud is 0; allowed: 1 to 100000000, such as 4800, 38400 or 115200"},
		{"baud too fast", "baud: 38400", "baud: 1000000000",
			"bad.yaml:32:18: baud is 1000000000; allowed: 1 to 100000000, such as 4800, 38400 or 115200"},
		{"data bits", "data-bits: 8", "data-bits: 4",
			"bad.yaml:32:36: data-bits is 4; allowed: 5 to 9, and 8 is usual"},
		{"parity", "parity: none", "parity: no",
			"bad.yaml:32:47: parity is no; allowed: none, even, odd, mark, space"},
		{"stop bits", "stop-bits: 1", "stop-bits: 3",
			"bad.yaml:32:64: stop-bits is 3; allowed: 1, 1.5 or 2"},
		{"rate 0", "type: GGA, rate: 10 Hz", "type: GGA, rate: 0 Hz",
			"bad.yaml:34:27: rate is 0 Hz; allowed: from once a day to 1000 Hz"},
		{"rate too fast", "type: GGA, rate: 10 Hz", "type: GGA, rate: 1001 Hz",
			"bad.yaml:34:27: rate is 1001 Hz; allowed: from once a day to 1000 Hz"},
		{"decimals", "minutes: 6", "minutes: -1",
			"bad.yaml:34:54: decimals of minutes is -1; allowed: 0 to 12"},
		{"sign", "roll: -1", "roll: 2",
			"bad.yaml:35:48: sign of roll is 2; allowed: 1 or -1"},
		{"fault swapped", "from: 20 s, until: 22 s", "from: 22 s, until: 20 s",
			"bad.yaml:37:41: silence ends at 20 s, before it begins at 22 s; swap the two"},
		{"fault until the end", "from: 20 s, until: 22 s", "from: 20 s", ""},
		{"fault after the run", "from: 20 s, until: 22 s", "from: 30 s",
			"bad.yaml:37:28: silence begins at 30 s, after the run, which lasts 30 s"},
		{"fault beyond the run", "from: 20 s, until: 22 s", "from: 20 s, until: 32 s",
			"bad.yaml:37:41: silence ends at 32 s, after the run, which lasts 30 s"},
		{"fault every", "until: 22 s", "until: 22 s, every: -1",
			"bad.yaml:37:54: every is -1; allowed: 1 or more, and 1 is all"},
		{"second stream of the name", "faults:", "  - {name: bridge, format: nmea0183, line: {baud: 4800}, messages: [{type: HDT, rate: 1 Hz}]}\nfaults:",
			"bad.yaml:36:12: stream name bridge is taken by streams[0]; give each stream a name of its own"},
		{"stream without messages", "faults:", "  - {name: two, format: nmea0183, line: {baud: 4800}, messages: []}\nfaults:",
			"bad.yaml:36:65: the stream has no message; add one, such as {type: GGA, rate: 1 Hz}"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(good, c.old, c.new, 1)
			if text == good && c.old != c.new {
				t.Fatalf("%q is not in the good file", c.old)
			}
			s, err := Parse("bad.yaml", []byte(text))
			got := ""
			if err != nil {
				got = err.Error()
			}
			if got != c.want {
				t.Errorf("error:\n%s\nwant:\n%s", got, c.want)
			}
			if (s == nil) != (err != nil) {
				t.Errorf("scenario %v with error %v, want one of the two", s, err)
			}
		})
	}
}

// All that is wrong is told at once, in the order of the file.
func TestBadFileAllAtOnce(t *testing.T) {
	text := strings.NewReplacer("30 s", "-30 s", "50.1 deg", "95 deg", "baud: 38400", "baud: 0").Replace(good)
	_, err := Parse("bad.yaml", []byte(text))
	if err == nil {
		t.Fatal("no error")
	}
	want := "bad.yaml:3:11: duration is -30 s; allowed: more than 0 s\n" +
		"bad.yaml:11:24: latitude is 95 deg; allowed: -90 deg to 90 deg\n" +
		"bad.yaml:32:18: baud is 0; allowed: 1 to 100000000, such as 4800, 38400 or 115200"
	if err.Error() != want {
		t.Errorf("error:\n%v\nwant:\n%s", err, want)
	}
}

// The emulator's own findings get their places too.
func TestProblems(t *testing.T) {
	s, err := Parse("good.yaml", []byte(good))
	if err != nil {
		t.Fatal(err)
	}
	err = s.Problems([]strictyaml.Problem{{Path: "streams[0].messages[1].type", Text: "there is no message XDR"}})
	if want := "good.yaml:35:16: there is no message XDR"; err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
	if err := s.Problems(nil); err != nil {
		t.Errorf("no problems make the error %v", err)
	}
	err = new(Scenario).Problems([]strictyaml.Problem{{Path: "streams", Text: "there is no stream"}})
	if want := "scenario: streams: there is no stream"; err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	before, rest, _ := strings.Cut(good, "installation:\n")
	points, after, _ := strings.Cut(rest, "track:\n")
	text := before + "installation: {file: parts/vessel.yaml}\ntrack:\n" + after
	write := func(name, text string) string {
		name = filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return name
	}
	name := write("outing.yaml", text)
	write("parts/vessel.yaml", strings.ReplaceAll(points, "\n  ", "\n")[2:])

	s, err := Load(name)
	if err != nil {
		t.Fatal(err)
	}
	if p, ok := s.Installation.Point("antenna-primary"); !ok || p.Z != 6.2 || s.Name != "outing" {
		t.Errorf("antenna-primary is at %v (%v) in %q, want 6.2 m up in outing", p, ok, s.Name)
	}

	// The same from a file system.
	s, err = LoadFS(fstest.MapFS{
		"outing.yaml":       {Data: []byte(text)},
		"parts/vessel.yaml": {Data: []byte(strings.ReplaceAll(points, "\n  ", "\n")[2:])},
	}, "outing.yaml")
	if err != nil || s.Name != "outing" {
		t.Errorf("from a file system: %v", err)
	}

	if _, err := Load(filepath.Join(dir, "nothing.yaml")); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), filepath.Join(dir, "nothing.yaml")) {
		t.Errorf("a file that is not there: %v", err)
	}
	if _, err := Load(dir); err == nil {
		t.Error("a folder was loaded as a scenario")
	}
	if _, err := Load(""); err == nil {
		t.Error("nothing was loaded as a scenario")
	}
}

func TestStart(t *testing.T) {
	s, err := Parse("good.yaml", []byte(good))
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, time.June, 1, 12, 0, 0, 0, time.UTC)
	if s.Start != (Start{Time: start}) {
		t.Errorf("start is %+v", s.Start)
	}
	for _, c := range []struct {
		t    float64
		want time.Time
	}{
		{0, start},
		{0.1, start.Add(100 * time.Millisecond)},
		{-0.25, start.Add(-250 * time.Millisecond)},
		{43200, start.Add(12 * time.Hour)},
		{86400*365 + 0.123456789, start.AddDate(1, 0, 0).Add(123456789)},
	} {
		if got := s.UTC(c.t); got.Sub(c.want).Abs() > 4*time.Nanosecond || got.Location() != time.UTC { // 2e-9 s is what a float64 holds of a year
			t.Errorf("at %g s it is %v, want %v", c.t, got, c.want)
		}
	}

	later := time.Date(2030, time.January, 2, 3, 4, 5, 0, time.FixedZone("", 3600))
	moved := s.WithStart(later)
	if want := "2030-01-02T02:04:06Z"; moved.UTC(1).Format(time.RFC3339) != want {
		t.Errorf("moved, second 1 is %v, want %s", moved.UTC(1), want)
	}
	if s.UTC(0) != start {
		t.Error("WithStart changed the scenario it was asked of")
	}

	for _, text := range []string{strings.Replace(good, "2026-06-01T12:00:00Z", "now", 1), strings.Replace(good, "start: 2026-06-01T12:00:00Z\n", "", 1)} {
		s, err := Parse("now.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if !s.Start.Now || s.UTC(2) != StandIn.Add(2*time.Second) {
			t.Errorf("start is %+v, second 2 is %v; want now, and the stand-in", s.Start, s.UTC(2))
		}
		if m := s.WithStart(later); m.Start.Now || !m.UTC(0).Equal(later) {
			t.Errorf("with a start it starts %+v", m.Start)
		}
	}
}
