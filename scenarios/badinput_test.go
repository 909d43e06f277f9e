package scenarios

import (
	"strings"
	"testing"
)

// busy is a scenario with a sea, manoeuvres, an inertial sensor and a clock that errs; nothing is wrong with it.
const busy = `about: a test
start: 2026-06-01T12:00:00Z
duration: 120 s
installation:
  vessel: {length: 18.5 m, breadth: 5.2 m, draught: 1.4 m, displacement: 62 t}
  points:
    sensor: [0.35 m, -1.80 m, 0.60 m]
    antenna-primary: [-0.90 m, -3.10 m, 6.20 m]
    antenna-secondary: [1.15 m, -2.65 m, 6.45 m]
track:
  position: {latitude: 50.1 deg, longitude: -4.2 deg, height: 51 m}
  heading: 40 deg
  speed: 6 kn
  manoeuvres:
    - run: {to: {latitude: 50.1009 deg, longitude: -4.1988 deg}, radius: 30 m}
    - run: {to: {latitude: 50.1012 deg, longitude: -4.1970 deg}, radius: 30 m}
    - hold: {for: 10 s}
sea:
  systems:
    - {spectrum: jonswap, height: 1.2 m, period: 6 s, from: 240 deg}
hull: {gm: 0.7 m}
gnss:
  fix: rtk-fixed
  mask: 10 deg
  sectors: [{what: quay wall, left: 200 deg, right: 260 deg, below: 30 deg}]
  conditions:
    - {condition: blocked, from: 20 s, until: 30 s}
  entered-position: {latitude: 50 deg, longitude: -4 deg}
  start-up: hot
inertial: {grade: tactical}
device:
  clock:
    starts: [{at: 10 s, offset-after: 30 s}]
    steps: [{at: 40 s, by: 1 s, until: 50 s}]
    drift: [{rate: 50 ppm, from: 60 s, until: 70 s}]
    out-of-order: [{share: 0.1, by: 300 ms, from: 80 s, until: 90 s}]
streams:
  - format: nmea0183
    line: {baud: 38400}
    messages:
      - {type: GGA, rate: 10 Hz}
faults:
  - {fault: silence, from: 100 s, until: 110 s}
`

// What a file gets wrong about the world is an error, or a warning where it can be computed all the same; each says where
// and what is allowed. Every row changes one thing and compares the whole text.
func TestBadInput(t *testing.T) {
	for _, c := range []struct{ name, old, new, err, warn string }{
		{name: "no change", old: "fix:", new: "fix:"},

		// Impossible sea.
		{name: "too steep", old: "height: 1.2 m, period: 6 s", new: "height: 4.1 m, period: 6 s",
			warn: "bad.yaml:20:35: a significant height of 4.1 m at a peak period of 6 s has a steepness of 1/13.7; seas are measured up to 1/15 (DNV-RP-C205 section 3.5.4), which is 3.75 m at this period"},
		{name: "breaks", old: "height: 1.2 m, period: 6 s", new: "height: 9 m, period: 6 s",
			warn: "bad.yaml:20:35: a significant height of 9 m at a peak period of 6 s cannot be: waves of that length break at 7.98 m (Miche 1944); lower the height or lengthen the period"},
		{name: "too steep by its zero crossings", old: "height: 1.2 m, period: 6 s", new: "height: 3.1 m, zero-crossing-period: 4.4 s",
			warn: "bad.yaml:20:35: a significant height of 3.1 m at a zero-crossing period of 4.4 s has a steepness of 1/9.75; seas are measured up to 1/10 (DNV-RP-C205 section 3.5.4), which is 3.02 m at this period"},
		{name: "too high for the water", old: "sea:", new: "sea:\n  depth: 1.5 m",
			warn: "bad.yaml:19:10: a significant height of 1.2 m in 1.5 m of water: waves break there above about 0.9 m, 0.6 of the depth; deepen the water or lower the sea"},
		{name: "no period", old: "height: 1.2 m, period: 6 s", new: "height: 1.2 m",
			err: "bad.yaml:20:7: system has a height but no period; add one, such as period: 6 s"},
		{name: "negative height", old: "height: 1.2 m", new: "height: -1.2 m",
			err: "bad.yaml:20:35: significant height is -1.2 m; allowed: above 0 m, at most 30 m"},

		// Way-points closer than the turn allows.
		{name: "way-point within the turn", old: "latitude: 50.1009 deg, longitude: -4.1988 deg}, radius: 30 m", new: "latitude: 50.1000 deg, longitude: -4.1997 deg}, radius: 60 m",
			err: "bad.yaml:15:17: the way-point lies 21.5 m away, 50.0 deg off the course, closer than a turn of radius 60 m allows; move it, or give a smaller radius"},
		{name: "way-points too close for the corner", old: "latitude: 50.1012 deg, longitude: -4.1970 deg}, radius: 30 m", new: "latitude: 50.1006 deg, longitude: -4.1982 deg}, radius: 90 m",
			err: "bad.yaml:16:17: the way-point is too close: 109.0 m from where the way to it begins, of which 25.2 m are left after turn and change of speed, and coming to rest needs 44.7 m; move it, or give a smaller radius or a slower speed"},
		{name: "way-point where she is", old: "latitude: 50.1009 deg, longitude: -4.1988 deg", new: "latitude: 50.1 deg, longitude: -4.2 deg",
			err: "bad.yaml:15:17: the way-point is where the vessel is; move it, or leave it out"},
		{name: "way-point twice", old: "latitude: 50.1012 deg, longitude: -4.1970 deg", new: "latitude: 50.1009 deg, longitude: -4.1988 deg",
			err: "bad.yaml:16:17: the way-point is where the vessel is; move it, or leave it out"},

		// Speed zero with course.
		{name: "course without speed", old: "heading: 40 deg\n  speed: 6 kn", new: "course: 40 deg",
			err: "bad.yaml:12:11: course is given but the speed is 0; add a speed, or give a heading instead"},
		{name: "course with speed zero", old: "heading: 40 deg\n  speed: 6 kn", new: "course: 40 deg\n  speed: 0 kn",
			err: "bad.yaml:12:11: course is given but the speed is 0; add a speed, or give a heading instead"},
		{name: "run at no speed", old: "radius: 30 m}\n    - hold", new: "speed: 0 kn}\n    - hold",
			err: "bad.yaml:16:73: speed is 0, but a run needs one; to lie still, write hold: {for: 30 s}"},
		{name: "negative speed", old: "speed: 6 kn", new: "speed: -6 kn",
			err: "bad.yaml:13:10: speed is -6 kn; allowed: 0 kn or more, and a course opposite to the heading makes sternway"},

		// Latitude out of range.
		{name: "latitude of the start", old: "latitude: 50.1 deg", new: "latitude: 90.1 deg",
			err: "bad.yaml:11:24: latitude is 90.1 deg; allowed: -90 deg to 90 deg"},
		{name: "latitude of a way-point", old: "latitude: 50.1009 deg", new: "latitude: -501009 deg",
			err: "bad.yaml:15:28: latitude is -501009 deg; allowed: -90 deg to 90 deg"},
		{name: "latitude entered", old: "latitude: 50 deg", new: "latitude: 91 deg",
			err: "bad.yaml:28:32: latitude is 91 deg; allowed: -90 deg to 90 deg"},
		{name: "longitude", old: "longitude: -4.2 deg", new: "longitude: 184.2 deg",
			err: "bad.yaml:11:45: longitude is 184.2 deg; allowed: -180 deg to 180 deg"},

		// A mask that hides everything.
		{name: "mask that hides everything", old: "mask: 10 deg", new: "mask: 89 deg",
			warn: "bad.yaml:24:9: a mask of 89 deg leaves few satellites; 5 deg to 15 deg is usual\n" +
				"bad.yaml:24:9: the mask of 89 deg hides everything: at most 0 satellites of the sky stand above it at any time of the run, a fix needs 4"},
		{name: "mask beyond the zenith", old: "mask: 10 deg", new: "mask: 95 deg",
			err: "bad.yaml:24:9: mask is 95 deg; allowed: 0 deg to 90 deg"},
		{name: "sectors that hide everything", old: "left: 200 deg, right: 260 deg, below: 30 deg", new: "below: 88 deg",
			warn: "bad.yaml:25:12: the sectors hide everything: they leave at most 0 satellites of the sky at any time of the run, a fix needs 4"},
		{name: "a sector that is the sky", old: "left: 200 deg, right: 260 deg, below: 30 deg", new: "fixed-to: earth",
			warn: "bad.yaml:25:12: the sectors hide everything: they leave at most 0 satellites of the sky at any time of the run, a fix needs 4\n" +
				"bad.yaml:25:13: the sector hides the whole sky; give it edges, or an elevation below which it hides"},
		{name: "sector of one edge", old: "left: 200 deg, right: 260 deg", new: "left: 200 deg",
			err: "bad.yaml:25:13: the sector has one edge only; give left and right, or neither for all around"},
		{name: "sector upside down", old: "below: 30 deg", new: "below: 30 deg, above: 40 deg",
			err: "bad.yaml:25:13: the sector hides what is above 40 deg and below 30 deg, which is nothing; swap the two"},
		{name: "never a fix", old: "start-up: hot", new: "start-up: cold",
			warn: "bad.yaml:22:1: there is no fix at any time of the run: the conditions, the geometry or the times to a fix leave none"},

		// Negative durations.
		{name: "negative duration", old: "duration: 120 s", new: "duration: -120 s",
			err: "bad.yaml:3:11: duration is -120 s; allowed: more than 0 s"},
		{name: "negative hold", old: "for: 10 s", new: "for: -10 s",
			err: "bad.yaml:17:19: for is -10 s; allowed: more than 0 s, at most 8784 h"},
		{name: "negative period", old: "period: 6 s", new: "period: -6 s",
			err: "bad.yaml:20:50: peak period is -6 s; allowed: 0.5 s to 40 s"},
		{name: "negative time to a fix", old: "fix: rtk-fixed", new: "fix: rtk-fixed\n  times: {fixed: -5 s}",
			err: "bad.yaml:24:18: fixed is -5 s; allowed: 0 s to 168 h"},
		{name: "negative latency", old: "device:", new: "device:\n  latency: {random: -5 ms}",
			err: "bad.yaml:32:21: random latency is -5 ms; allowed: 0 s to 60 s"},
		{name: "condition backwards", old: "from: 20 s, until: 30 s", new: "from: 30 s, until: 20 s",
			err: "bad.yaml:27:47: blocked ends at 20 s, before it begins at 30 s; swap the two"},
		{name: "negative hold back", old: "by: 300 ms", new: "by: -300 ms",
			err: "bad.yaml:36:37: epochs are held by -0.3 s; allowed: more than 0 s, at most 60 s"},

		// Events outside the run.
		{name: "condition after the run", old: "from: 20 s, until: 30 s", new: "from: 120 s",
			err: "bad.yaml:27:34: blocked begins at 120 s, after the run, which lasts 120 s"},
		{name: "condition beyond the run", old: "from: 20 s, until: 30 s", new: "from: 20 s, until: 121 s",
			err: "bad.yaml:27:47: blocked ends at 121 s, after the run, which lasts 120 s"},
		{name: "condition before the run", old: "from: 20 s, until: 30 s", new: "from: -20 s, until: 30 s",
			err: "bad.yaml:27:34: blocked begins at -20 s, before the run; allowed: 0 s or later"},
		{name: "start after the run", old: "at: 10 s", new: "at: 120 s",
			err: "bad.yaml:33:19: start is at 120 s, after the run, which lasts 120 s"},
		{name: "step after the run", old: "at: 40 s, by: 1 s, until: 50 s", new: "at: 400 s, by: 1 s",
			err: "bad.yaml:34:18: the step begins at 400 s, after the run, which lasts 120 s"},
		{name: "step beyond the run", old: "at: 40 s, by: 1 s, until: 50 s", new: "at: 40 s, by: 1 s, until: 500 s",
			err: "bad.yaml:34:40: the step ends at 500 s, after the run, which lasts 120 s"},
		{name: "drift after the run", old: "from: 60 s, until: 70 s", new: "from: 600 s",
			err: "bad.yaml:35:34: the drift begins at 600 s, after the run, which lasts 120 s"},
		{name: "epochs held after the run", old: "from: 80 s, until: 90 s", new: "from: 800 s",
			err: "bad.yaml:36:51: it begins at 800 s, after the run, which lasts 120 s"},
		{name: "fault after the run", old: "from: 100 s, until: 110 s", new: "from: 1000 s",
			err: "bad.yaml:43:28: silence begins at 1000 s, after the run, which lasts 120 s"},
		{name: "manoeuvres longer than the run", old: "for: 10 s", new: "for: 500 s",
			warn: "bad.yaml:14:3: the manoeuvres last until 600.1 s, longer than the run, which ends at 120 s; make it longer, or leave some out"},
		{name: "leap second not in the run", old: "  clock:", new: "  clock:\n    leap-second: {insert: 2026-06-30}",
			warn: "bad.yaml:33:27: the run, 2026-06-01T12:00:00Z to 2026-06-01T12:02:00Z, does not go through the end of 2026-06-30"},

		// Unknown words.
		{name: "unknown grade", old: "grade: tactical", new: "grade: tacticool",
			err: "bad.yaml:30:19: grade is tacticool; did you mean tactical? allowed: consumer, industrial, tactical, navigation"},
		{name: "no grade", old: "inertial: {grade: tactical}", new: "inertial: {}",
			warn: "bad.yaml:30:11: no grade and no numbers: the inertial sensor has no errors, so position and heading stay exact for the 11.5 s without GNSS; add a grade"},
		{name: "unknown spectrum", old: "spectrum: jonswap", new: "spectrum: johnswap",
			err: "bad.yaml:20:18: spectrum is johnswap; did you mean jonswap? allowed: pierson-moskowitz, jonswap, two-parameter"},
		{name: "unknown manoeuvre", old: "- hold:", new: "- wait:",
			err: "bad.yaml:17:7: the key wait is not known here; allowed: hold, run, turn, lines, calibration, eight, keep, route"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(busy, c.old, c.new, 1)
			if text == busy && c.old != c.new {
				t.Fatalf("%q is not in the good file", c.old)
			}
			s, err := Parse("bad.yaml", []byte(text))
			got := ""
			if err != nil {
				got = err.Error()
			}
			if got != c.err {
				t.Fatalf("error:\n%s\nwant:\n%s", got, c.err)
			}
			if s == nil {
				return
			}
			warned := ""
			if err := s.Problems(s.Warnings()); err != nil {
				warned = err.Error()
			}
			if warned != c.warn {
				t.Errorf("warning:\n%s\nwant:\n%s", warned, c.warn)
			}
		})
	}
}
