package waves

import (
	"math"
	"slices"
	"testing"

	"swellbench/scenarios/units"
)

func deg(x float64) units.Angle { return units.Angle(x * math.Pi / 180) }

func ptr[T any](x T) *T { return &x }

const units8m = units.Length(8)

func mustComponents(t testing.TB, s Spec, seed uint64) []Component {
	t.Helper()
	sea, err := New(s, seed, 600)
	if err != nil {
		t.Fatal(err)
	}
	return sea.Components()
}

// significant is the mean of the highest third.
func significant(heights []float64) float64 {
	h := slices.Clone(heights)
	slices.Sort(h)
	h = h[len(h)-len(h)/3:]
	sum := 0.0
	for _, x := range h {
		sum += x
	}
	return sum / float64(len(h))
}

// single skips a test of one goroutine under the race detector, which has nothing to find in it and takes minutes.
func single(t *testing.T) {
	t.Helper()
	if raceEnabled {
		t.Skip("one goroutine, much arithmetic: without -race only")
	}
}
