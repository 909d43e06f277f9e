package emulator_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/scenarios"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/library"
)

// shows is what each ready-made scenario claims in its about, looked for in what the device says.
var shows = map[string]func(*testing.T, *emulator.Device){
	"almanac-sky":          showsAlmanacSky,
	"antimeridian":         showsAntimeridian,
	"bad-line":             showsBadLine,
	"both-lost":            showsBothLost,
	"bridge-passage":       showsBridgePassage,
	"broken-bytes":         showsFaults,
	"calibration-pair":     showsCalibrationPair,
	"circle":               showsCircle,
	"clock-drift":          showsClockDrift,
	"clock-step":           showsClockStep,
	"cold-start":           showsColdStart,
	"corrections-lost":     showsCorrectionsLost,
	"cross-current":        showsCrossCurrent,
	"csv-route":            showsCSVRoute,
	"far-north":            showsFarNorth,
	"figure-of-eight":      showsFigureOfEight,
	"frozen-receiver":      showsFrozenReceiver,
	"gnss-gap":             showsGNSSGap,
	"gpx-route":            showsGPXRoute,
	"harbour-swell":        showsHarbourSwell,
	"heave-delayed":        showsHeaveDelayed,
	"heave-real-time":      showsHeaveRealTime,
	"interference":         showsInterference,
	"leap-second":          showsLeapSecond,
	"leap-second-00-twice": showsLeapSecond00Twice,
	"leap-second-59-twice": showsLeapSecond59Twice,
	"leap-second-missed":   showsLeapSecondMissed,
	"leaving-the-berth":    showsLeavingTheBerth,
	"midnight":             showsMidnight,
	"misshapen-sentences":  showsFaults,
	"mistyped":             showsMistyped,
	"multipath":            showsMultipath,
	"north-weave":          showsNorthWeave,
	"outage-consumer":      showsOutage(7, 25),
	"outage-industrial":    showsOutage(2.5, 10),
	"outage-navigation":    showsOutage(0.3, 1),
	"outage-tactical":      showsOutage(0.6, 3),
	"overtaking-epochs":    showsOvertakingEpochs,
	"own-responses":        showsOwnResponses,
	"position-jump":        showsPositionJump,
	"quay-pose":            showsQuayPose,
	"quay-wall":            showsQuayWall,
	"restart-under-way":    showsRestartUnderWay,
	"restless-device":      showsRestlessDevice,
	"second-left-out":      showsSecondLeftOut,
	"secondary-lost":       showsSecondaryLost,
	"shallow-bar":          showsShallowBar,
	"slow-start":           showsSlowStart,
	"station-keeping":      showsStationKeeping,
	"storm-swell":          showsStormSwell,
	"survey-lines":         showsSurveyLines,
	"two-ports":            showsTwoPorts,
	"week-rollover":        showsWeekRollover,
	"wrong-integer":        showsWrongInteger,
}

// Each ready-made scenario shows what it says it shows, and its messages fit their lines.
func TestLibrary(t *testing.T) {
	for name := range shows {
		if !slices.Contains(library.Names(), name) {
			t.Errorf("there is no scenario %s", name)
		}
	}
	for _, name := range library.Names() {
		t.Run(name, func(t *testing.T) {
			d := fromLibrary(t, name, nil)
			for i := range d.Streams() {
				b, err := d.Budget(i)
				if err != nil {
					t.Fatal(err)
				}
				if own := b.OwnBaud(); !own.Fits() {
					t.Errorf("stream %s does not fit its line: %.0f %% of it", b.Stream, 100*own.WorstShare)
				}
			}
			if shows[name] == nil {
				t.Fatal("nothing is looked for; write what it shows")
			}
			shows[name](t, d)
		})
	}
}

// Every kind of fault of the line is in some scenario of the library.
func TestLibraryHasEveryFault(t *testing.T) {
	seen := map[string]bool{}
	for _, name := range library.Names() {
		sc, err := library.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range sc.Faults {
			seen[f.Fault] = true
		}
	}
	for _, f := range line.Faults {
		if !seen[f.Name] {
			t.Errorf("no ready-made scenario has the fault %s", f.Name)
		}
	}
}

// fromLibrary is the device of a ready-made scenario, changed before where change says how.
func fromLibrary(t testing.TB, name string, change func(*scenarios.Scenario)) *emulator.Device {
	t.Helper()
	sc, err := library.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	sc = sc.WithStart(sc.UTC(0))
	if change != nil {
		change(sc)
	}
	d, err := emulator.New(sc)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A sentence is one on the wire, taken apart at its commas only.
type sentence struct {
	valid, due float64
	hurt       string
	fields     []string // the first is talker and type
}

// sentences are those of one type of a stream; "" is all.
func sentences(t *testing.T, d *emulator.Device, stream int, kind string) (out []sentence) {
	t.Helper()
	for m, err := range d.Messages(stream) {
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(m.Kind, kind) {
			text, _, _ := strings.Cut(string(m.Bytes), "*")
			out = append(out, sentence{m.Valid, m.Due, m.Hurt, strings.Split(strings.TrimPrefix(text, "$"), ",")})
		}
	}
	if len(out) == 0 {
		t.Fatalf("no %s on the wire", kind)
	}
	return out
}

// runs lists the values of a field in order, each once for as long as it stays, with the time when it begins.
func runs(ss []sentence, field int) (values []string, from []float64) {
	for _, s := range ss {
		if n := len(values); n == 0 || values[n-1] != s.fields[field] {
			values, from = append(values, s.fields[field]), append(from, s.valid)
		}
	}
	return values, from
}

// wantRuns checks which values a field has, and from when, within tolerance.
func wantRuns(t *testing.T, what string, ss []sentence, field int, want []string, from []float64, tol float64) {
	t.Helper()
	got, at := runs(ss, field)
	if !slices.Equal(got, want) {
		t.Errorf("%s is %q from %v, want %q from %v", what, got, at, want, from)
		return
	}
	for i := range from {
		near(t, what+" "+want[i]+" from", at[i], from[i], tol)
	}
}

// offENU is how far off the reported position of the primary antenna, or of the entered output point, is: east, north, up,
// in m.
func offENU(t *testing.T, d *emulator.Device, at float64) r3.Vec {
	t.Helper()
	rep := d.Scenario().Installation.Reported()
	p := value(t, d.Ideal(at).Position, "position")
	return geo.LocalAt(d.Truth().At(at).Point(rep.PositionAt).Position).ENU(p)
}

func horizontal(v r3.Vec) float64 { return math.Hypot(v.X, v.Y) }

const degree = math.Pi / 180
