package gnss

import (
	"math"
	"sync"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/units"
)

var (
	testStart = time.Date(2026, time.June, 1, 12, 0, 0, 0, time.UTC)
	testPlace = geo.Position{Lat: frame.Rad(50.14), Lon: frame.Rad(-4.23), Height: 55}
)

// still is an antenna that does not move.
func still(t float64) (geo.Position, frame.Attitude) { return testPlace, frame.Attitude{} }

func seconds(s float64) *units.Duration { return new(units.Duration(s)) }

// twoAntennas is a baseline of 2 m to starboard.
var twoAntennas = opt.Of(r3.Vec{X: 2})

func receiver(t testing.TB, s Spec, durationS float64) *Receiver {
	t.Helper()
	r, err := New(s, testStart, still, durationS, 7)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// at returns the states as words, such as "rtk-fixed", with a + where the heading is valid.
func words(r *Receiver, times ...float64) []string {
	var out []string
	for _, t := range times {
		s := r.At(t)
		w := string(s.Fix)
		if s.HeadingValid {
			w += "+"
		}
		if s.Down {
			w += " down"
		}
		if s.Frozen {
			w += " frozen"
		}
		out = append(out, w)
	}
	return out
}

func TestStates(t *testing.T) {
	blocked := func(from, until float64) Condition {
		return Condition{Condition: Blocked, From: units.Duration(from), Until: seconds(until)}
	}
	type step struct {
		t    float64
		want string
	}
	for _, c := range []struct {
		name string
		spec Spec
		want []step
	}{
		{"nothing said", Spec{}, []step{{-5, "autonomous"}, {0, "autonomous"}, {99.9, "autonomous"}, {1e5, "autonomous"}}},
		{"never", Spec{Fix: None, Baseline: twoAntennas}, []step{{0, "none"}, {50, "none"}}},
		{"simulated", Spec{Fix: Simulated, Conditions: []Condition{blocked(10, 20)}}, []step{{5, "simulated"}, {15, "none"}, {21.5, "simulated"}}},
		{"blocked as a whole", Spec{Fix: RTKFixed, Baseline: twoAntennas, Conditions: []Condition{blocked(14.5, 26.5)}},
			[]step{{14.49, "rtk-fixed+"}, {14.5, "none"}, {26.5, "none"}, {27.99, "none"}, {28, "rtk-float"}, {37.9, "rtk-float"},
				{38, "rtk-float+"}, {42.9, "rtk-float+"}, {43, "rtk-fixed+"}, {99, "rtk-fixed+"}}},
		{"blocked, and back at once", Spec{Fix: RTKFixed, Times: Times{Hot: seconds(0), Fixed: seconds(0), Heading: seconds(0)},
			Baseline: twoAntennas, Conditions: []Condition{blocked(14.5, 26.5)}},
			[]step{{14.49, "rtk-fixed+"}, {14.5, "none"}, {26.49, "none"}, {26.5, "rtk-fixed+"}}},
		{"a long loss", Spec{Times: Times{ShortTo: seconds(5), LongerTo: seconds(20)}, Conditions: []Condition{blocked(10, 15), blocked(20, 26)}},
			[]step{{16.4, "none"}, {16.5, "autonomous"}, {30, "none"}, {55.9, "none"}, {56, "autonomous"}}},
		{"the ladder", // epochs at whole seconds, in half a second later; the last one is of 9 s
			Spec{Fix: RTKFixed, Conditions: []Condition{{Condition: CorrectionsLost, From: 10, Until: seconds(80)}}},
			[]step{{18.99, "rtk-fixed"}, {19, "rtk-float"}, {38.99, "rtk-float"}, {39, "differential"}, {68.99, "differential"},
				{69, "autonomous"}, {80.49, "autonomous"}, {80.5, "rtk-float"}, {95.49, "rtk-float"}, {95.5, "rtk-fixed"}}},
		{"corrections lost for less than their age", Spec{Fix: RTKFixed, Conditions: []Condition{{Condition: CorrectionsLost, From: 10, Until: seconds(17)}}},
			[]step{{12, "rtk-fixed"}, {17.2, "rtk-fixed"}, {60, "rtk-fixed"}}},
		{"differential loses corrections", Spec{Fix: Differential, Corrections: Corrections{FixedUntil: seconds(2), FloatUntil: seconds(2), DifferentialUntil: seconds(5)},
			Conditions: []Condition{{Condition: CorrectionsLost, From: 10.6, Until: seconds(30)}}},
			[]step{{14.99, "differential"}, {15, "autonomous"}, {30.49, "autonomous"}, {30.5, "differential"}}},
		{"autonomous needs none", Spec{Conditions: []Condition{{Condition: CorrectionsLost, From: 1}}}, []step{{99, "autonomous"}}},
		{"secondary lost", Spec{Baseline: twoAntennas, Conditions: []Condition{{Condition: SecondaryLost, From: 10, Until: seconds(20)}}},
			[]step{{9.9, "autonomous+"}, {10, "autonomous"}, {29.9, "autonomous"}, {30, "autonomous+"}}},
		{"both lost", Spec{Baseline: twoAntennas, Conditions: []Condition{{Condition: BothLost, From: 10, Until: seconds(20)}}},
			[]step{{9.9, "autonomous+"}, {10, "none"}, {21.4, "none"}, {21.5, "autonomous"}, {31.5, "autonomous+"}}},
		{"one antenna", Spec{}, []step{{0, "autonomous"}}},
		{"restart", Spec{Fix: RTKFixed, Baseline: twoAntennas, Times: Times{Warm: seconds(20)}, Conditions: []Condition{{Condition: ReceiverRestart, From: 10}}},
			[]step{{9.9, "rtk-fixed+"}, {10, "none down"}, {14.9, "none down"}, {15, "none"}, {34.9, "none"}, {35, "rtk-float"}, {45, "rtk-float+"}, {50, "rtk-fixed+"}}},
		{"hot restart that lasts", Spec{Conditions: []Condition{{Condition: ReceiverRestart, From: 10, Until: seconds(12.5), Start: Hot}}},
			[]step{{12.4, "none down"}, {12.5, "none"}, {13.9, "none"}, {14, "autonomous"}}},
		{"frozen", Spec{Baseline: twoAntennas, Conditions: []Condition{{Condition: FrozenReceiver, From: 10, Until: seconds(30)}, blocked(15, 40)}},
			[]step{{9.9, "autonomous+"}, {10, "autonomous+ frozen"}, {20, "autonomous+ frozen"}, {30, "none"}, {41.5, "autonomous"}}},
		{"a restart thaws", Spec{Conditions: []Condition{{Condition: FrozenReceiver, From: 10, Until: seconds(30)}, {Condition: ReceiverRestart, From: 20, Start: Hot}}},
			[]step{{19.9, "autonomous frozen"}, {20, "none down"}, {25, "none"}, {26.5, "autonomous"}}},
		{"cold start", Spec{StartUp: Cold, Fix: Differential, Times: Times{Cold: seconds(40)}},
			[]step{{0, "none"}, {39.9, "none"}, {40, "differential"}}},
		{"cold start from an entered position", Spec{StartUp: Cold, Times: Times{Cold: seconds(40)}, Conditions: []Condition{blocked(0, 10), blocked(70, 80)},
			Entered: &Entered{Latitude: units.Angle(testPlace.Lat), Longitude: units.Angle(testPlace.Lon)}},
			[]step{{0, "manual"}, {49.9, "manual"}, {50, "autonomous"}, {75, "none"}}},
		{"precise takes its time", Spec{Fix: Precise, Times: Times{Precise: seconds(30)}, Conditions: []Condition{blocked(10, 11)}},
			[]step{{0, "precise"}, {12.5, "autonomous"}, {42.4, "autonomous"}, {42.5, "precise"}}},
		{"strong interference", Spec{Conditions: []Condition{{Condition: Interference, From: 10, Until: seconds(20), LossDB: new(30.0)}}},
			[]step{{9, "autonomous"}, {10, "none"}, {21.5, "autonomous"}}},
		{"mask that hides everything", Spec{Mask: new(units.Angle(frame.Rad(89.9)))}, []step{{0, "none"}, {99, "none"}}},
		{"half the sky", Spec{Baseline: twoAntennas, Sectors: []Sector{{Left: new(units.Angle(0)), Right: new(units.Angle(math.Pi * 1.9))}}}, []step{{0, "none"}}},
		{"upright baseline", Spec{Baseline: opt.Of(r3.Vec{Z: 2})}, []step{{0, "autonomous"}}},
		{"not a number", Spec{}, []step{{math.NaN(), "none"}, {math.Inf(1), "none"}, {1e300, "none"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := receiver(t, c.spec, 100)
			for _, s := range c.want {
				if got := words(r, s.t)[0]; got != s.want {
					t.Errorf("at %v s: %s, want %s", s.t, got, s.want)
				}
			}
		})
	}
}

// Asked backwards, in jumps, by several goroutines and of another receiver of the same seed, the answer is the same.
func TestRandomAccess(t *testing.T) {
	spec := Spec{Fix: RTKFixed, Errors: &Errors{}, Baseline: twoAntennas, Conditions: []Condition{
		{Condition: Blocked, From: 30.25, Until: seconds(44)},
		{Condition: Multipath, From: 5, Amplitude: new(units.Length(2)), Period: seconds(40)},
		{Condition: CorrectionsLost, From: 70},
		{Condition: Interference, From: 80, Until: seconds(90), LossDB: new(8.0)},
		{Condition: FrozenReceiver, From: 20, Until: seconds(23)},
	}}
	r := receiver(t, spec, 120)
	const n = 1200
	var forward [n]State
	for i := range forward {
		forward[i] = r.At(float64(i) * 0.1)
	}
	var wg sync.WaitGroup
	for g := range 4 {
		wg.Go(func() {
			other := r
			if g == 3 {
				other = receiver(t, spec, 120)
			}
			for i := range n {
				k := (i*7919 + g*311) % n // n and 7919 have no common factor
				if got := other.At(float64(k) * 0.1); got != forward[k] {
					t.Errorf("at %.1f s out of order: %+v, in order: %+v", float64(k)*0.1, got, forward[k])
					return
				}
			}
		})
	}
	wg.Wait()
	if other, err := New(spec, testStart, still, 120, 8); err != nil || other.At(3.3) == forward[33] {
		t.Errorf("another seed gives the same (%v)", err)
	}
}

func TestNoAllocation(t *testing.T) {
	r := receiver(t, Spec{Fix: RTKFixed, Errors: &Errors{}, Baseline: twoAntennas}, 1000)
	sats := make([]Sat, 0, MaxSatellites)
	k := 0.0
	if n := testing.AllocsPerRun(500, func() {
		k += 1.7
		r.At(k)
		sats = r.AppendSatellites(sats[:0], k)
	}); n != 0 {
		t.Errorf("%v allocations, want 0", n)
	}
}
