package library

import (
	"errors"
	"io/fs"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/gnss"
)

// warnings are what a scenario is warned of because it is about just that; all others have none.
var warnings = map[string][]string{
	"clock-drift": {"device.clock.drift[0].rate: rate is 2000 ppm; a crystal keeps within 100 ppm"},
	"heave-delayed": {"device.heave-filter.cut-off: in waves of 11 s the heave filter of order 2 with a cut-off of 18 s, run forward and " +
		"backward, puts out 87.8 % of the true height without any lead, so delayed heave is wrong by 12.2 % of the amplitude; real-time heave " +
		"would be wrong by 88.2 %"},
	"heave-real-time": {"device.heave-filter.cut-off: in waves of 11 s the heave filter of order 2 with a cut-off of 18 s puts out 93.7 % of " +
		"the true height, but leads it by 54.1° (1.7 s), so real-time heave is wrong by 88.2 % of the amplitude; phase counts more than gain, " +
		"which alone would cost 6.3 %; delayed heave would be wrong by 12.2 %, and 10 % in real time takes a cut-off of 156 s, which settles " +
		"107 s after a change"},
	"mistyped": {
		"installation.entered.mounting: the mounting entered is 14.00 deg off the actual one",
		"installation.entered.antennas.primary: the primary antenna is entered 3.11 m from where antenna-primary is",
		"installation.entered.antennas.secondary: the secondary antenna is entered 5.37 m from where antenna-secondary is",
		"installation.entered.antennas.secondary: the baseline entered points 64.72 deg beside the actual one",
	},
}

// Most of them last at most a minute, so that they can all run at every push.
func TestMostAreShort(t *testing.T) {
	long := 0
	for _, name := range Names() {
		if s, err := Open(name); err == nil && s.Duration > 60 {
			long++
		}
	}
	if n := len(Names()); n < 26 || long*5 > n {
		t.Errorf("of %d scenarios %d last more than a minute; want at least 26, and at most one in five", n, long)
	}
}

// Every ready-made scenario loads, warns of nothing but what it is about, says what it is for, is short, and its truth is finite everywhere
// and on the Earth.
func TestEveryScenario(t *testing.T) {
	if len(Names()) == 0 {
		t.Fatal("no scenarios")
	}
	for _, name := range Names() {
		t.Run(name, func(t *testing.T) {
			s, err := Open(name)
			if err != nil {
				t.Fatal(err)
			}
			if s.Name != name {
				t.Errorf("its name is %q", s.Name)
			}
			if words := len(strings.Fields(s.About)); words < 15 {
				t.Errorf("about has %d words; say what it brings to light", words)
			}
			if s.Duration > 120 {
				t.Errorf("it lasts %v, allowed: at most two minutes", s.Duration)
			}
			var warned []string
			for _, w := range s.Warnings() {
				warned = append(warned, w.Path+": "+w.Text)
			}
			if want := warnings[name]; !slices.Equal(warned, want) {
				t.Errorf("it warns of:\n%s\nwant:\n%s", strings.Join(warned, "\n"), strings.Join(want, "\n"))
			}
			truth, err := s.Truth()
			if err != nil {
				t.Fatal(err)
			}
			for at := 0.0; at <= float64(s.Duration); at += 0.05 {
				st := truth.At(at)
				for point := range s.Installation.Points {
					l, _ := s.Installation.Point(point)
					p := st.Point(l)
					if n := r3.Norm(p.Position.ECEF()); !(n > 6.3e6 && n < 6.4e6) {
						t.Fatalf("at %g s %s is %g m from the middle of the Earth", at, point, n)
					}
					if v, a := r3.Norm(p.Velocity), r3.Norm(p.Acceleration); !(v < 15 && a < 10) {
						t.Fatalf("at %g s %s moves at %g m/s, %g m/s²; no launch does", at, point, v, a)
					}
				}
				if w := r3.Norm(st.Rate); !(w < 1) {
					t.Fatalf("at %g s the vessel turns at %g rad/s", at, w)
				}
			}
		})
	}
}

// No blind spots: what a wrong consumer could get right by luck is away from zero and from the multiples of 90°.
func TestNoBlindSpots(t *testing.T) {
	for _, name := range Names() {
		s, err := Open(name)
		if err != nil {
			t.Fatal(err)
		}
		for point := range s.Installation.Points {
			l, _ := s.Installation.Point(point)
			x, y, z := math.Abs(l.X), math.Abs(l.Y), math.Abs(l.Z)
			if x == y || y == z || z == x || x*y*z == 0 {
				t.Errorf("%s: %s is at %v; want three different components", name, point, l)
			}
		}
		m := s.Installation.Mounting
		if m.Heading == 0 || m.Pitch == 0 {
			t.Errorf("%s: the mounting is %+v; want more than roll", name, m)
		}
		way := s.Track.Heading
		if way == nil {
			way = s.Track.Course // which the bow follows, or crabs along
		}
		heading := frame.Deg(float64(*way))
		if r := math.Mod(heading, 90); name != "north-weave" && (r < 5 || r > 89) {
			t.Errorf("%s: the heading is %g deg; want one off the multiples of 90", name, heading)
		}
		if s.Track.Position.Latitude == 0 || s.Track.Position.Longitude == 0 || s.Geoid.Undulation == 0 || s.Variation == 0 {
			t.Errorf("%s: latitude, longitude, undulation or variation is zero", name)
		}
	}
}

// Each scenario shows what its name says.
func TestWhatTheyBringToLight(t *testing.T) {
	truths := map[string]func(at float64) scenarios.State{}
	for _, name := range Names() {
		s, err := Open(name)
		if err != nil {
			t.Fatal(err)
		}
		truth, err := s.Truth()
		if err != nil {
			t.Fatal(err)
		}
		truths[name] = truth.At
	}
	antenna := r3.Vec{X: -0.9, Y: -3.1, Z: 6.2}

	crossings, east := 0, true
	for at := 0.0; at <= 30; at += 0.1 {
		if e := truths["antimeridian"](at).Point(antenna).Position.Lon > 0; e != east {
			crossings, east = crossings+1, e
		}
	}
	if crossings < 3 {
		t.Errorf("antimeridian: the antenna crosses it %d times, want several", crossings)
	}

	quadrants := map[int]bool{}
	for at := 0.0; at <= 46; at += 0.1 {
		quadrants[int(truths["circle"](at).Attitude.Heading/(math.Pi/2))] = true
	}
	if len(quadrants) != 4 {
		t.Errorf("circle: it heads into %d quadrants, want 4", len(quadrants))
	}
	start, end := truths["circle"](0), truths["circle"](45)
	if d := r3.Norm(geo.LocalAt(start.Position).ENU(end.Position)); d > 1.5 {
		t.Errorf("circle: after one turn it is %g m from its start; want only the swell's share", d)
	}

	wraps := 0
	for at := 0.1; at <= 30; at += 0.1 {
		a, b := truths["north-weave"](at-0.1).Attitude.Heading, truths["north-weave"](at).Attitude.Heading
		if math.Abs(a-b) > math.Pi {
			wraps++
		}
	}
	if wraps < 6 {
		t.Errorf("north-weave: the heading runs over north %d times, want several", wraps)
	}

	if a, b := truths["quay-pose"](0), truths["quay-pose"](20); a.Position != b.Position || a.Attitude != b.Attitude {
		t.Errorf("quay-pose: it moves, from %+v to %+v", a, b)
	}

	gap, err := Open("gnss-gap")
	if err != nil {
		t.Fatal(err)
	}
	if !gap.GNSS.Holds(gnss.Blocked, 20) || gap.GNSS.Holds(gnss.Blocked, 5) || gap.GNSS.Holds(gnss.Blocked, 35) {
		t.Error("gnss-gap: want satellites before and after, none in the middle")
	}
	midnight, err := Open("midnight")
	if err != nil {
		t.Fatal(err)
	}
	if a, b := midnight.UTC(0).Year(), midnight.UTC(float64(midnight.Duration)).Year(); b != a+1 {
		t.Errorf("midnight: from the year %d to %d, want the turn of a year", a, b)
	}
	bad, err := Open("bad-line")
	if err != nil {
		t.Fatal(err)
	}
	if len(bad.Faults) == 0 {
		t.Error("bad-line: no faults")
	}
}

func TestOpenUnknown(t *testing.T) {
	_, err := Open("no-such-thing")
	if !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("error is %v, want that it does not exist", err)
	}
	want := `no ready-made scenario is called "no-such-thing", allowed: ` + strings.Join(Names(), ", ") + ": file does not exist"
	if err.Error() != want {
		t.Errorf("error is %q, want %q", err, want)
	}
	if _, err := Open("installations/launch-raw"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("an installation opened as a scenario: %v", err)
	}
	if !slices.IsSorted(Names()) || !slices.Contains(Names(), "harbour-swell") {
		t.Errorf("names are %v", Names())
	}
}
