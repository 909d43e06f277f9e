package emulator_test

import (
	"math"
	"testing"

	"swellbench/emulator"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
)

func showsMistyped(t *testing.T, d *emulator.Device) {
	at := 10.0
	r, s := d.Ideal(at), d.Truth().At(at)
	if off := math.Abs(frame.AngleDiff(value(t, r.Heading, "heading"), s.Attitude.Heading)) / degree; off < 20 {
		t.Errorf("the heading is off by %g deg", off)
	}
	near(t, "error of pitch and roll together, deg", math.Hypot(value(t, r.Pitch, "pitch")-s.Attitude.Pitch, value(t, r.Roll, "roll")-s.Attitude.Roll)/degree, 14, 1)
	if off := horizontal(offENU(t, d, at)); off < 1 {
		t.Errorf("the position is off by %g m", off)
	}
}

func showsCircle(t *testing.T, d *emulator.Device) {
	if n := quadrants(d); n != 4 {
		t.Errorf("she heads into %d quadrants", n)
	}
	if least, most := turns(t, d); least < 3 || most > 13 {
		t.Errorf("rates of turn go from %g to %g deg/s, want about 8", least, most)
	}
}

func showsNorthWeave(t *testing.T, d *emulator.Device) {
	wraps := 0
	var last float64
	every(d, func(_ float64, s scenarios.State) {
		if math.Abs(s.Attitude.Heading-last) > math.Pi {
			wraps++
		}
		last = s.Attitude.Heading
	})
	if wraps < 6 {
		t.Errorf("the heading runs over north %d times", wraps)
	}
	if f := sentences(t, d, 0, "GGA")[0].fields; f[2][:2] != "03" || f[4][:3] != "007" || f[3] != "S" || f[5] != "W" {
		t.Errorf("latitude and longitude are %v", f[2:6])
	}
}

func showsQuayPose(t *testing.T, d *emulator.Device) {
	for _, kind := range []string{"HDT", "ROT", "XDR"} {
		all := sentences(t, d, 0, kind)
		for _, s := range all {
			for i, f := range s.fields {
				if f != all[0].fields[i] {
					t.Fatalf("%s changes at %g s: %v", kind, s.valid, s.fields)
				}
			}
		}
	}
}

func showsHarbourSwell(t *testing.T, d *emulator.Device) {
	s := d.Truth().At(3)
	if math.Abs(frame.AngleDiff(s.Attitude.Heading, math.Atan2(s.Velocity.X, s.Velocity.Y))) < degree {
		t.Error("she does not crab")
	}
	for what, x := range map[string]float64{
		"roll, deg":  deviation(d, func(_ float64, s scenarios.State) float64 { return s.Attitude.Roll / degree }) - 6/math.Sqrt2,
		"pitch, deg": deviation(d, func(_ float64, s scenarios.State) float64 { return s.Attitude.Pitch / degree }) - 2.5/math.Sqrt2,
	} {
		near(t, "standard deviation beyond that of its sinusoid, "+what, x, 0, 0.2)
	}
}

func showsSlowStart(t *testing.T, d *emulator.Device) {
	near(t, "time of the first message", sentences(t, d, 0, "")[0].valid, 4, 1e-9)
	for _, s := range sentences(t, d, 0, "HDT") {
		if none := s.fields[1] == ""; none != (s.valid < 14.5-1e-9) {
			t.Fatalf("at %g s the heading is %q", s.valid, s.fields[1])
		}
	}
	for _, kind := range []string{"GGA", "XDR"} {
		if f := sentences(t, d, 0, kind)[0].fields; f[2] == "" {
			t.Errorf("the first %s says %v", kind, f)
		}
	}
}
